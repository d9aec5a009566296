"""What a file is, by its content and not by its name.

Magic numbers decide; names serve only to word a note when the two disagree. Content that is no wire list
is named as what it looks like, with the way to get a readable file out of it.
"""

from __future__ import annotations

import re
from typing import Literal, TypeAlias

from harnessdrc.errors import FileUnreadableError
from harnessdrc.intake.formats.encodings import looks_binary
from harnessdrc.intake.formats.ole import MAGIC as OLE_MAGIC
from harnessdrc.intake.formats.ole import CompoundDocument, DamagedContainerError
from harnessdrc.intake.formats.package import Package, damaged, password_protected
from harnessdrc.intake.formats.xls_scan import workbook_stream_name

__all__ = ["Content", "kind_of"]

Content: TypeAlias = Literal["xlsx", "xls", "ods", "text"]
"""What can be read; ``xlsx`` covers .xlsm here, ``text`` covers csv and tsv."""

_SAVE_AS_XLSX = "Open it in a spreadsheet program, save it as .xlsx and give that file."
_GIVE_A_LIST = "Give a wire list as .xlsx, .xlsm, .xls, .ods, .csv or .tsv."

_SIGNATURES: tuple[tuple[bytes, str, str], ...] = (
    (b"%PDF-", "a PDF document", "Give the list it was printed from, or copy its table into a workbook."),
    (b"\x89PNG\r\n\x1a\n", "a picture (PNG)", _GIVE_A_LIST),
    (b"\xff\xd8\xff", "a picture (JPEG)", _GIVE_A_LIST),
    (b"GIF8", "a picture (GIF)", _GIVE_A_LIST),
    (b"BM", "a picture (BMP)", _GIVE_A_LIST),
    (b"II*\0", "a picture (TIFF)", _GIVE_A_LIST),
    (b"MM\0*", "a picture (TIFF)", _GIVE_A_LIST),
    (b"AC10", "a CAD drawing (DWG)", "Export its wire table as .csv and give that file."),
    (b"{\\rtf", "a rich text document", "Copy its table into a workbook and give that."),
    (b"\x1f\x8b", "a gzip archive", "Unpack it and give the file inside."),
    (b"7z\xbc\xaf'\x1c", "a 7z archive", "Unpack it and give the file inside."),
    (b"Rar!\x1a\x07", "a rar archive", "Unpack it and give the file inside."),
    (b"BZh", "a bzip2 archive", "Unpack it and give the file inside."),
    (b"\xfd7zXZ\0", "an xz archive", "Unpack it and give the file inside."),
    (b"\x28\xb5\x2f\xfd", "a Zstandard archive", "Unpack it and give the file inside."),
    (b"SQLite format 3\0", "a database (SQLite)", "Export its wire table as .csv and give that file."),
    (b"\0\x01\0\0Standard ", "a database", "Export its wire table as .csv and give that file."),
    (b"PAR1", "a Parquet table", "Export it as .csv and give that file."),
    (b"\x7fELF", "a program", _GIVE_A_LIST),
    (b"MZ\x90\0", "a program", _GIVE_A_LIST),
    (b"\0\0\x02\0\x06\x04", "a Lotus 1-2-3 workbook", _SAVE_AS_XLSX),
    (b"\0\0\x1a\0", "a Lotus 1-2-3 workbook", _SAVE_AS_XLSX),
)
_TEXTUAL_SIGNATURES = (b"%PDF-", b"{\\rtf")
_OLD_BIFF = re.compile(rb"\x09[\x00\x02\x04\x08][\x04-\x10]\x00", re.DOTALL)
_MARKUP = re.compile(
    rb"\s*(?:<!--.*?-->\s*)*<(?:!doctype\s+html|html|head|body|table|meta|style)\b", re.DOTALL | re.IGNORECASE
)
_ZIP_HEADS = (b"PK\x03\x04", b"PK\x05\x06", b"PK\x07\x08")
_SAMPLE_BYTES = 4096


def kind_of(data: bytes, file: str) -> tuple[Content, Package | CompoundDocument | None]:
    """What the bytes are, and the container where there is one.

    Raises
    ------
    FileUnreadableError
        If they are nothing that can be read, naming what they look like and what to do.
    """
    if not data:
        raise FileUnreadableError("the file is empty (0 bytes).", file=file, remedy=_GIVE_A_LIST)
    if data.startswith(_ZIP_HEADS):
        package = Package(data, file)
        return _zip_kind(package), package
    if data.startswith(OLE_MAGIC):
        try:
            document = CompoundDocument(data)
        except DamagedContainerError as fault:
            raise damaged(file, "its container is cut short or contradicts itself") from fault
        _check_compound(document, file)
        return "xls", document
    for signature, name, remedy in _SIGNATURES:
        # A list may begin with a wire named BM1 or AC1015: only what goes on as binary data is a picture.
        if data.startswith(signature) and (signature in _TEXTUAL_SIGNATURES or looks_binary(data)):
            raise _looks_like(file, name, remedy)
    if _OLD_BIFF.match(data):
        raise _looks_like(file, "a workbook of a very old format (Excel 4 or before)", _SAVE_AS_XLSX)
    _check_markup(data, file)
    if looks_binary(data):
        raise _looks_like(file, "binary data of no known kind", _GIVE_A_LIST)
    return "text", None


def _looks_like(file: str, name: str, remedy: str) -> FileUnreadableError:
    return FileUnreadableError(f"the file looks like {name}, which cannot be read.", file=file, remedy=remedy)


def _zip_kind(package: Package) -> Content:
    names = package.names
    if "mimetype" in names:
        kind = package.read("mimetype", 1 << 20)[:200].decode("ascii", "replace").strip()
        if kind.startswith("application/vnd.oasis.opendocument.spreadsheet"):
            return "ods"
        if kind.startswith("application/vnd.oasis.opendocument"):
            word = kind.rpartition(".")[2].partition("-")[0]
            raise _looks_like(package.file, f"an OpenDocument {word}", "Copy its table into a workbook and give that.")
    if any(name.endswith("xl/workbook.bin") for name in names):
        raise _looks_like(package.file, "a binary workbook (.xlsb)", _SAVE_AS_XLSX)
    if any(name.startswith("index/") and name.endswith(".iwa") for name in names) or "index.zip" in names:
        raise _looks_like(package.file, "a Numbers document", "Export it from Numbers as .xlsx and give that file.")
    if any(name.startswith("word/") for name in names):
        raise _looks_like(package.file, "a Word document", "Copy its table into a workbook and give that.")
    if any(name.startswith("ppt/") for name in names):
        raise _looks_like(package.file, "a presentation", "Copy its table into a workbook and give that.")
    if any(name.startswith("visio/") for name in names):
        raise _looks_like(package.file, "a drawing (Visio)", "Export its wire table as .csv and give that.")
    if any(name.startswith("xl/") for name in names) or "[content_types].xml" in names:
        return "xlsx"
    if "content.xml" in names and "meta-inf/manifest.xml" in names:
        return "ods"
    raise _looks_like(package.file, "a zip archive", "Unpack it and give the files inside.")


def _check_compound(document: CompoundDocument, file: str) -> None:
    names = document.names
    if "EncryptedPackage" in names or "EncryptionInfo" in names:
        raise password_protected(file)
    if workbook_stream_name(document):
        return
    for stream, name in (
        ("WordDocument", "a Word document"),
        ("PowerPoint Document", "a presentation"),
        ("VisioDocument", "a drawing (Visio)"),
        ("__properties_version1.0", "a saved e-mail"),
        ("Contents", "a document of another program"),
    ):
        if stream in names:
            raise _looks_like(file, name, "Copy its table into a workbook and give that.")
    raise damaged(file, "the container holds no workbook")


def _check_markup(data: bytes, file: str) -> None:
    head = data[:_SAMPLE_BYTES]
    for mark, codec in ((b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"), (b"\xef\xbb\xbf", "")):
        if head.startswith(mark):
            head = head[len(mark) :]
            if codec:
                head = head.decode(codec, "replace").encode("utf-8", "replace")
    head = head.lstrip()
    if head.startswith(b"<?xml"):
        if b"schemas-microsoft-com:office:spreadsheet" in head:
            raise _looks_like(file, "an XML spreadsheet of 2003", _SAVE_AS_XLSX)
        if b"opendocument" in head:
            raise _looks_like(file, "a flat OpenDocument file", "Save it as .ods and give that file.")
        if b"<html" not in head.lower():
            raise _looks_like(file, "an XML file", _SAVE_AS_XLSX)
    if head.startswith(b"<?xml") or _MARKUP.match(head):
        raise _looks_like(file, "a web page (HTML) under another name", _SAVE_AS_XLSX)
    if head.startswith(b"MIME-Version:"):
        raise _looks_like(file, "a saved web page (MHTML)", _SAVE_AS_XLSX)
    if head.startswith((b"{", b"[")) and _is_json(data):
        raise _looks_like(file, "a JSON file", "Export the list as .csv and give that file.")


def _is_json(data: bytes) -> bool:
    import json

    try:
        return isinstance(json.loads(data), dict | list)
    except (ValueError, RecursionError):
        return False
