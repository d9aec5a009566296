"""Files that cannot be checked, each the way it turns up in a workshop or a mailbox."""

from __future__ import annotations

import random
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import xlsxwriter
from cli_helpers import HEADINGS, workbook

from harnessdrc.intake.formats.ole import single_stream_document

__all__ = ["BAD"]


def _empty(path: Path) -> None:
    path.write_bytes(b"")


def _blank_lines(path: Path) -> None:
    path.write_bytes(b"\r\n\r\n , ,\r\n")


def _empty_workbook(path: Path) -> None:
    openpyxl.Workbook().save(path)


def _headings_only(path: Path) -> None:
    workbook(path, ())


def _headings_only_text(path: Path) -> None:
    path.write_text(",".join(HEADINGS) + "\n", encoding="utf-8")


def _drawings_only(path: Path) -> None:
    with xlsxwriter.Workbook(str(path)) as book:
        sheet = book.add_worksheet("Faces")
        sheet.insert_textbox(1, 1, "ECU-A, seen from the wire side")


def _cut_short(path: Path) -> None:
    workbook(path)
    data = path.read_bytes()
    path.write_bytes(data[: len(data) * 2 // 3])


def _damaged_part(path: Path) -> None:
    """The zip's directory is whole; the packed bytes of the first sheet are not."""
    workbook(path)
    with zipfile.ZipFile(path) as package:
        info = package.getinfo("xl/worksheets/sheet1.xml")
    data = bytearray(path.read_bytes())
    start = info.header_offset + 30 + len(info.filename)
    data[start : start + info.compress_size] = b"\xff" * info.compress_size
    path.write_bytes(bytes(data))


def _password(path: Path) -> None:
    path.write_bytes(single_stream_document("EncryptedPackage", b"\x10" * 8192))


def _zip_bomb(path: Path) -> None:
    workbook(path)
    with zipfile.ZipFile(path) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as package:
        for name, content in parts.items():
            if name != "xl/worksheets/sheet1.xml":
                package.writestr(name, content)
                continue
            with package.open(name, "w", force_zip64=True) as part:
                part.write(content.partition(b"<sheetData>")[0] + b"<sheetData>")
                for _ in range(300):
                    part.write(b" " * 1024**2)
                part.write(b"</sheetData></worksheet>")


def _binary(path: Path) -> None:
    path.write_bytes(random.Random(3).randbytes(9000))


def _picture(path: Path) -> None:
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + random.Random(4).randbytes(900))


def _document(path: Path) -> None:
    path.write_bytes(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj\n<< >>\nendobj\n")


def _formulas_only(path: Path) -> None:
    book = openpyxl.Workbook()
    page = book.worksheets[0]
    page.title = "Loom"
    for row in range(1, 9):
        page.append([f"=Data!{letter}{row}" for letter in "ABCDEFG"])
    book.save(path)


def _formulas_below_headings(path: Path) -> None:
    workbook(path, [[f"=Data!{letter}{row}" for letter in "ABCDEFG"] for row in range(2, 9)], "Loom")


def _letter(path: Path) -> None:
    path.write_text("Dear Sir,\nplease find enclosed the loom.\nYours\n", encoding="utf-8")


def _shopping(path: Path) -> None:
    book = openpyxl.Workbook()
    page = book.worksheets[0]
    page.title = "Groceries"
    for row in (("Milk", 2), ("Bread", 3), ("Tea", 1)):
        page.append(row)
    book.save(path)


def _components_only(path: Path) -> None:
    book = openpyxl.Workbook()
    page = book.worksheets[0]
    page.title = "Devices"
    for row in (("Component", "Kind", "Place", "Current (A)"), ("FAN", "fan", "bay", 8), ("PUMP", "pump", "bay", 6)):
        page.append(row)
    book.save(path)


BAD: dict[str, tuple[str, Callable[[Path], None], tuple[str, ...]]] = {
    # what it is: name of the file, how it is made, what the sentence says beside that name
    "empty workbook file": ("loom.xlsx", _empty, ("is empty (0 bytes)", "Give a wire list")),
    "empty text": ("loom.csv", _empty, ("is empty (0 bytes)", "Give a wire list")),
    "blank lines": ("loom.csv", _blank_lines, ("nothing but blank lines", "Check that this is the right file")),
    "no filled cell": ("loom.xlsx", _empty_workbook, ("no sheet has a filled cell", "Check that this")),
    "headings only": ("loom.xlsx", _headings_only, ("sheet 'Wire list'", "cell A1", "no rows below", "template")),
    "headings only, text": ("loom.csv", _headings_only_text, ("cell A1", "no rows below", "template")),
    "drawings only": ("faces.xlsx", _drawings_only, ("'Faces'", "only drawings", "rows and columns")),
    "cut short": ("loom.xlsx", _cut_short, ("damaged", "save it under a new name")),
    "damaged part": ("loom.xlsx", _damaged_part, ("damaged", "save it under a new name")),
    "password": ("loom.xlsx", _password, ("password", "save a copy without a password")),
    "zip bomb": ("loom.xlsx", _zip_bomb, ("sheet1.xml", "zip bomb", "only the wire list")),
    "binary": ("loom.xls", _binary, ("binary data", "Give a wire list")),
    "binary as text": ("loom.csv", _binary, ("binary data", "Give a wire list")),
    "picture": ("loom.xlsx", _picture, ("a picture (PNG)", "Give a wire list")),
    "document": ("loom.xlsx", _document, ("a PDF document", "copy its table")),
    "formulas only": ("loom.xlsx", _formulas_only, ("sheet 'Loom'", "cell A1", "formula", "save it")),
    "formulas below headings": ("loom.xlsx", _formulas_below_headings, ("'Loom'", "cell A2", "formulas", "save it")),
    "a letter": ("loom.csv", _letter, ("row 1", "'Dear Sir'", "Expected: headings", "template")),
    "another table": ("loom.xlsx", _shopping, ("'Groceries'", "'Milk'", "Expected: headings", "template")),
    "components only": ("loom.xlsx", _components_only, ("sheet 'Devices'", "neither a wire list", "with the wires")),
}
