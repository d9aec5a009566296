"""What a file is goes by its content; what cannot be read is named, with the way to a readable file."""

from __future__ import annotations

import io
import struct
import zipfile
from pathlib import Path

import openpyxl
import pytest
import xlwt
from workbook_parts import (
    biff8_stream,
    biff_record,
    ods,
    ods_parts,
    put,
    rows_xml,
    text_cell,
    xlsx,
    xlsx_parts,
    zipped,
)

from harnessdrc.errors import FileUnreadableError, NothingToReadError
from harnessdrc.intake.files import open_file
from harnessdrc.intake.formats.ole import single_stream_document

ONE_CELL = rows_xml('<row r="1"><c r="A1" t="inlineStr"><is><t>wire</t></is></c></row>')
ODS_BODY = f'<table:table table:name="S"><table:table-row>{text_cell("wire")}</table:table-row></table:table>'


def xls_bytes() -> bytes:
    book = xlwt.Workbook()
    book.add_sheet("S").write(0, 0, "wire")
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def refused(path: Path) -> str:
    with pytest.raises(FileUnreadableError) as caught:
        open_file(path)
    assert str(caught.value).startswith(path.name)
    assert caught.value.remedy
    return str(caught.value)


CONTENTS = {
    "xlsx": lambda: xlsx(ONE_CELL),
    "xls": xls_bytes,
    "ods": lambda: ods(ODS_BODY),
    "csv": lambda: b"wire",
}


@pytest.mark.parametrize("named", ["xlsx", "xls", "ods", "csv", "txt", "pdf"])
@pytest.mark.parametrize("content", CONTENTS)
def test_content_decides_and_a_false_name_is_noted(tmp_path: Path, content: str, named: str) -> None:
    opened = open_file(put(tmp_path, f"loom.{named}", CONTENTS[content]()))
    assert opened.kind == content
    assert opened.grids[0].rows == [["wire"]]
    notes = [note for note in opened.notes if note.what == "file kind"]
    agrees = named == content or (content, named) == ("csv", "txt")
    assert len(notes) == (0 if agrees else 1)
    if notes:
        assert f"'.{named}'" in notes[0].because and notes[0].subject == f"loom.{named}"


def test_tab_separated_text_is_tsv_whatever_its_name(tmp_path: Path) -> None:
    opened = open_file(put(tmp_path, "loom.csv", "wire\tfrom\tto\nW1\tECU\tINJ1\n"))
    assert opened.kind == "tsv"
    assert not [note for note in opened.notes if note.what == "file kind"]


def test_a_name_without_ending(tmp_path: Path) -> None:
    opened = open_file(put(tmp_path, "loom", xlsx(ONE_CELL)))
    assert opened.kind == "xlsx" and "no ending" in opened.notes[0].because


def test_a_workbook_with_macros_is_xlsm(tmp_path: Path) -> None:
    parts = xlsx_parts(ONE_CELL) | {"xl/vbaProject.bin": b"\0\1\2"}
    opened = open_file(put(tmp_path, "loom.xlsm", zipped(parts)))
    assert (opened.kind, opened.notes) == ("xlsm", ())


def test_a_macro_workbook_by_its_content_type_alone(tmp_path: Path) -> None:
    parts = xlsx_parts(ONE_CELL)
    parts["[Content_Types].xml"] = (
        str(parts["[Content_Types].xml"])
        .replace("officedocument.spreadsheetml.sheet.main", "ms-excel.sheet.macroEnabled.main")
        .replace("application/vnd.openxmlformats-ms-excel", "application/vnd.ms-excel")
    )
    assert open_file(put(tmp_path, "loom.xlsm", zipped(parts))).kind == "xlsm"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"%PDF-1.7\n%\xe2\xe3", "PDF"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "PNG"),
        (b"\xff\xd8\xff\xe0\0\x10JFIF", "JPEG"),
        (b"GIF89a\1\0\1\0", "GIF"),
        (b"BM\x8a\0\0\0\0\0\0\0", "BMP"),
        (b"\x1f\x8b\x08\0\0\0", "gzip"),
        (b"7z\xbc\xaf\x27\x1c\0\4", "7z"),
        (b"Rar!\x1a\x07\x01\0", "rar"),
        (b"SQLite format 3\0\x10\0", "SQLite"),
        (b"{\\rtf1\\ansi W1}", "rich text"),
        (b"\x09\x08\x08\x00\x00\x05\x10\x00" + bytes(40), "very old format"),
        (b"\x09\x00\x04\x00\x07\x00\x10\x00" + bytes(40), "very old format"),
        (b"\x09\x02\x06\x00\x00\x00\x10\x00" + bytes(40), "very old format"),
        (b"\x09\x04\x06\x00\x00\x00\x10\x00" + bytes(40), "very old format"),
        (b"<html><body><table><tr><td>W1</td></tr></table></body></html>", "HTML"),
        (b"\xef\xbb\xbf  <TABLE><tr><td>W1</td></tr></TABLE>", "HTML"),
        (b"\xff\xfe" + "<html><table></table></html>".encode("utf-16-le"), "HTML"),
        (b"<!-- made by hand -->\n<!DOCTYPE html>\n<title>loom</title>", "HTML"),
        (b'<?xml version="1.0"?>\n<html xmlns="http://www.w3.org/1999/xhtml"/>', "HTML"),
        (
            b'<?xml version="1.0"?><Workbook xmlns="urn:schemas-microsoft-com:office:spreadsheet"/>',
            "XML spreadsheet of 2003",
        ),
        (
            b'<?xml version="1.0"?><office:document xmlns:office="urn:oasis:opendocument"/>',
            "flat OpenDocument",
        ),
        (b'<?xml version="1.0"?><loom/>', "XML file"),
        (b"MIME-Version: 1.0\nContent-Type: multipart/related", "MHTML"),
        (b'[{"wire": "W1"}]', "JSON"),
        (b'{"wire": "W1"}', "JSON"),
        (b"W1\0\0\0ECU\1\2\3", "binary data"),
        (bytes(range(256)) * 8, "binary data"),
    ],
)
def test_what_cannot_be_read_is_named(tmp_path: Path, content: bytes, words: str) -> None:
    for name in ("loom.xls", "loom.csv"):
        assert words in refused(put(tmp_path, name, content))


def test_unicode_text_saved_as_xls(tmp_path: Path) -> None:
    opened = open_file(put(tmp_path, "loom.xls", "wire\tcolour\r\nW1\tgrün\r\n".encode("utf-16")))
    assert opened.kind == "tsv" and opened.grids[0].rows == [["wire", "colour"], ["W1", "grün"]]
    assert [note.what for note in opened.notes] == ["file kind", "separator"]


@pytest.mark.parametrize(
    "text",
    ["[1], [2], [3]\n", "{W1};{ECU}\n", "BM1,ECU\n", "GIF8,1\n", "AC1015,ECU\n", "BZh,1\n", "<5 V,W1\n", "PK,1\n"],
)
def test_text_that_only_begins_like_something_else_is_text(tmp_path: Path, text: str) -> None:
    assert open_file(put(tmp_path, "loom.csv", text)).kind == "csv"


@pytest.mark.parametrize(
    ("names", "words"),
    [
        (["xl/workbook.bin", "[Content_Types].xml"], ".xlsb"),
        (["Index/Document.iwa", "Metadata/Properties.plist"], "Numbers"),
        (["word/document.xml", "[Content_Types].xml"], "Word"),
        (["ppt/presentation.xml", "[Content_Types].xml"], "presentation"),
        (["visio/document.xml", "[Content_Types].xml"], "Visio"),
        (["photos/connector.jpg"], "zip archive"),
        ([], "zip archive"),
    ],
)
def test_zips_that_are_no_workbook(tmp_path: Path, names: list[str], words: str) -> None:
    assert words in refused(put(tmp_path, "loom.xlsx", zipped(dict.fromkeys(names, "x"))))


def test_opendocument_text_is_no_spreadsheet(tmp_path: Path) -> None:
    parts = ods_parts(ODS_BODY) | {"mimetype": "application/vnd.oasis.opendocument.text"}
    assert "an OpenDocument text" in refused(put(tmp_path, "loom.ods", zipped(parts)))


@pytest.mark.parametrize(
    ("stream", "words"),
    [
        ("WordDocument", "Word"),
        ("PowerPoint Document", "presentation"),
        ("VisioDocument", "Visio"),
        ("EncryptedPackage", "password"),
        ("EncryptionInfo", "password"),
        ("Whatever", "holds no workbook"),
    ],
)
def test_compound_documents_that_are_no_workbook(tmp_path: Path, stream: str, words: str) -> None:
    assert words in refused(put(tmp_path, "loom.xlsx", single_stream_document(stream, b"x" * 100)))


def test_an_encrypted_xls(tmp_path: Path) -> None:
    filepass = biff_record(0x002F, struct.pack("<HHH", 0, 0x1234, 0x5678))
    path = put(tmp_path, "loom.xls", single_stream_document("Workbook", biff8_stream(globals_extra=filepass)))
    text = refused(path)
    assert "protected by a password" in text and "without a password" in text


def test_an_encrypted_ods(tmp_path: Path) -> None:
    parts = ods_parts(ODS_BODY)
    parts["META-INF/manifest.xml"] = (
        '<manifest:manifest xmlns:manifest="urn:x"><manifest:file-entry manifest:full-path="content.xml">'
        '<manifest:encryption-data manifest:checksum="x"/></manifest:file-entry></manifest:manifest>'
    )
    parts["content.xml"] = bytes(range(256))
    assert "protected by a password" in refused(put(tmp_path, "loom.ods", zipped(parts)))


def test_a_zip_with_encrypted_parts(tmp_path: Path) -> None:
    data = bytearray(xlsx(ONE_CELL))
    for mark, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = data.find(mark)
        while at >= 0:
            data[at + offset] |= 1
            at = data.find(mark, at + 4)
    assert "protected by a password" in refused(put(tmp_path, "loom.xlsx", bytes(data)))


@pytest.mark.parametrize("make", [xls_bytes, lambda: xlsx(ONE_CELL), lambda: ods(ODS_BODY)])
def test_a_workbook_cut_short_anywhere_is_refused_or_whole(tmp_path: Path, make: object) -> None:
    data = make()  # type: ignore[operator]
    outcomes = set()
    for share in range(1, 20):
        path = put(tmp_path, "loom.bin", data[: len(data) * share // 20])
        try:
            rows = open_file(path).grids[0].rows
        except FileUnreadableError:
            outcomes.add("refused")
        else:
            assert rows == [["wire"]]  # an .xls may end in padding that nobody misses
    assert "refused" in outcomes


def test_a_wrong_check_sum(tmp_path: Path) -> None:
    parts = xlsx_parts(ONE_CELL)
    data = bytearray(zipped(parts, zipfile.ZIP_STORED))
    at = data.find(b"<t>wire</t>") + 3
    data[at : at + 4] = b"WIRE"
    text = refused(put(tmp_path, "loom.xlsx", bytes(data)))
    assert "damaged" in text and "sheet1.xml" in text


@pytest.mark.parametrize(
    "part",
    ["xl/workbook.xml", "xl/_rels/workbook.xml.rels", "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml"],
)
def test_bad_xml_in_a_part(tmp_path: Path, part: str) -> None:
    sheet = rows_xml('<row r="1"><c r="A1" t="s"><v>0</v></c></row>')
    parts = xlsx_parts(sheet, shared="<si><t>wire</t></si>")
    parts[part] = str(parts[part])[:-12]
    assert "damaged" in refused(put(tmp_path, "loom.xlsx", zipped(parts)))


@pytest.mark.parametrize("part", ["xl/workbook.xml", "xl/worksheets/sheet1.xml"])
def test_a_missing_part(tmp_path: Path, part: str) -> None:
    parts = xlsx_parts(ONE_CELL)
    del parts[part]
    assert "missing" in refused(put(tmp_path, "loom.xlsx", zipped(parts)))


def test_a_part_named_twice(tmp_path: Path) -> None:
    buffer = io.BytesIO(xlsx(ONE_CELL))
    with zipfile.ZipFile(buffer, "a") as package:
        package.writestr("XL/worksheets/sheet1.xml", "<worksheet/>")
    assert "twice" in refused(put(tmp_path, "loom.xlsx", buffer.getvalue()))


def test_drawings_only_names_the_sheets(tmp_path: Path) -> None:
    parts = xlsx_parts(rows_xml(), rows_xml(), names=("Faces", "Empty"))
    parts["xl/worksheets/_rels/sheet1.xml.rels"] = (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        '<Relationship Id="rId1" Target="../drawings/drawing1.xml" Type='
        '"http://schemas.openxmlformats.org/officeDocument/2006/relationships/drawing"/></Relationships>'
    )
    with pytest.raises(NothingToReadError, match="'Faces' holds only drawings"):
        open_file(put(tmp_path, "loom.xlsx", zipped(parts)))


def test_chart_sheets_only(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.create_chartsheet("Curve").add_chart(openpyxl.chart.LineChart())
    del book["Sheet"]
    book.save(tmp_path / "loom.xlsx")
    with pytest.raises(NothingToReadError, match="'Curve' holds only drawings"):
        open_file(tmp_path / "loom.xlsx")


def test_drawings_only_in_an_xls(tmp_path: Path) -> None:
    shape = biff_record(0x005D, struct.pack("<HHHHH", 0x15, 0x12, 0x1E, 1, 0) + bytes(12))
    data = single_stream_document("Workbook", biff8_stream(shape, name="Faces"))
    with pytest.raises(NothingToReadError, match="'Faces' holds only drawings"):
        open_file(put(tmp_path, "loom.xls", data))


def test_no_filled_cell_at_all(tmp_path: Path) -> None:
    with pytest.raises(NothingToReadError, match="no sheet has a filled cell"):
        open_file(put(tmp_path, "loom.xlsx", xlsx(rows_xml('<row r="3"><c r="C3" s="0"/></row>'))))


def test_nothing_but_formulas_never_calculated(tmp_path: Path) -> None:
    sheet = rows_xml('<row r="2"><c r="B2"><f>A1</f><v></v></c></row>')
    with pytest.raises(NothingToReadError, match=r"sheet 'S1', cell B2: .*never saved"):
        open_file(put(tmp_path, "loom.xlsx", xlsx(sheet)))
