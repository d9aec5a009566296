"""Workbooks and results that the redline's tests share."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from xml.etree import ElementTree

import xlsxwriter

from harnessdrc.findings import Grade, Mark
from harnessdrc.places import Place
from harnessdrc.render.redline.package import CellMark, RedlinePackage
from harnessdrc.render.redline.page import Page, PageCell
from harnessdrc.render.redline.pagelooks import BODY
from harnessdrc.results import (
    AssumptionLine,
    GivenValue,
    ReadSummary,
    ReportedFinding,
    ReportedUndecided,
    Result,
    RuleOutcome,
    SetAsideLine,
    SourceFile,
)

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
M = f"{{{MAIN}}}"
SHEET_ORDER = [
    "sheetPr", "dimension", "sheetViews", "sheetFormatPr", "cols", "sheetData", "sheetCalcPr",
    "sheetProtection", "protectedRanges", "scenarios", "autoFilter", "sortState", "dataConsolidate",
    "customSheetViews", "mergeCells", "phoneticPr", "conditionalFormatting", "dataValidations", "hyperlinks",
    "printOptions", "pageMargins", "pageSetup", "headerFooter", "rowBreaks", "colBreaks", "customProperties",
    "cellWatches", "ignoredErrors", "smartTags", "drawing", "legacyDrawing", "legacyDrawingHF", "drawingHF",
    "picture", "oleObjects", "controls", "webPublishItems", "tableParts", "extLst",
]  # fmt: skip


def png(width: int = 12, height: int = 8) -> bytes:
    """A small picture, made by hand."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    rows = b"".join(b"\x00" + bytes([200, 60, 30]) * width for _ in range(height))
    packed = zlib.compress(rows)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")


def rich_workbook(path: Path, *, macros: bool = False) -> Path:
    """A workbook with everything that a rewrite through a cell library tends to lose."""
    book = xlsxwriter.Workbook(path)
    wires = book.add_worksheet("Wire list")
    head = book.add_format({"bold": True, "bg_color": "#1F3864", "font_color": "white", "border": 1})
    cell = book.add_format({"border": 1, "num_format": "0.00", "locked": False})
    wires.write_row(0, 0, ["Wire", "From", "To", "Size", "Length", "Loss"], head)
    for row in range(1, 31):
        wires.write_row(row, 0, [f"W{row}", f"Coil {row % 4}", "ECU & co <1>"])
        wires.write_row(row, 3, [0.5 + row % 3, row * 0.1], cell)
        wires.write_formula(row, 5, f"=E{row + 1}*D{row + 1}", cell, row * 0.1 * (0.5 + row % 3))
    wires.insert_textbox(1, 8, "Connector face A\n1 2 3\n4 5 6")
    wires.insert_image(12, 8, "face.png", {"image_data": io.BytesIO(png()), "description": "face"})
    chart = book.add_chart({"type": "line"})
    chart.add_series({"values": "='Wire list'!$E$2:$E$31"})
    wires.insert_chart(18, 8, chart)
    wires.add_sparkline(1, 6, {"range": "'Wire list'!D2:F2"})
    wires.data_validation("D2:D31", {"validate": "list", "source": ["0.5", "0.75", "1.5"]})
    wires.conditional_format("E2:E31", {"type": "data_bar", "data_bar_2010": True})
    wires.conditional_format("D2:D31", {"type": "cell", "criteria": ">", "value": 2, "format": head})
    wires.write_comment("B3", "Ask the engine shop", {"author": "Loom shop"})
    wires.insert_button("G20", {"caption": "Sort", "macro": "SortWires"})
    wires.write_url("A5", "https://example.org/drawing", string="W4")
    wires.merge_range("A33:C34", "Checked by the bench", head)
    wires.set_landscape()
    wires.print_area("A1:F31")
    wires.repeat_rows(0)
    wires.set_header("&CLoom 7")
    wires.freeze_panes(1, 0)
    wires.autofilter("A1:F31")
    wires.set_column("A:C", 14)
    pins = book.add_worksheet("Pin list")
    pins.write_row(0, 0, ["Connector", "Cavity", "Signal"])
    pins.write_row(1, 0, ["C1", 1, "CLT return"])
    pins.insert_checkbox(3, 0, True)
    hidden = book.add_worksheet("Old issue")
    hidden.write(0, 0, "kept")
    hidden.hide()
    plot = book.add_chartsheet("Plot")
    drawn = book.add_chart({"type": "column"})
    drawn.add_series({"values": "='Wire list'!$D$2:$D$31"})
    plot.set_chart(drawn)
    book.define_name("Ambient", "=85")
    book.define_name("'Pin list'!Local", "='Pin list'!$A$1")
    if macros:
        project = path.with_suffix(".bin")
        project.write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(range(256)) * 8)
        book.add_vba_project(str(project))
    book.close()
    return path


def parts_of(path: Path) -> dict[str, bytes]:
    """All parts of a package."""
    with zipfile.ZipFile(path) as package:
        assert package.testzip() is None
        return {name: package.read(name) for name in package.namelist()}


def rezip(source: Path, target: Path, changes: Mapping[str, bytes | None]) -> Path:
    """Copy a package with parts replaced, added or (None) left out."""
    parts: dict[str, bytes | None] = {**parts_of(source), **changes}
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as out:
        for name, data in parts.items():
            if data is not None:
                out.writestr(name, data)
    return target


def simple_mark(grade: Grade = "hold", note: str = "HOLD\nwhat was found", row: int = 3) -> CellMark:
    """A mark that leads to a row of the added sheet."""
    return CellMark(grade, note, f"'Findings'!A{row}", "Finding 1")


def page(name: str = "Findings") -> Page:
    """A small sheet to add."""
    made = Page(name, [10.0, 30.0], "D9563A", "foot")
    made.heading_row = made.add([PageCell("No.", BODY), PageCell("What", BODY)])
    made.add([PageCell(1, BODY), PageCell("=1+1", BODY)])
    made.filtered_to = 2
    return made


def mark_file(
    source: Path,
    target: Path,
    marks: Mapping[str, Mapping[str, CellMark]],
    pages: Sequence[Page] | None = None,
) -> RedlinePackage:
    """Mark cells of a file by sheet and cell name."""
    from harnessdrc.render.redline.cellrefs import parse_cell

    package = RedlinePackage.of_file(source)
    try:
        names = [sheet.name for sheet in package.sheets]
        found: dict[int, dict[tuple[int, int], CellMark]] = {}
        for name, cells in marks.items():
            index = names.index(name)
            wanted = {(int(cell), None) if cell.isdigit() else parse_cell(cell): mark for cell, mark in cells.items()}
            places = package.resolve(index, [key for key in wanted if key])
            found[index] = {places[key]: mark for key, mark in wanted.items() if key}
        with target.open("wb") as out:
            package.write(out, found, [page()] if pages is None else pages)
    finally:
        package.close()
    return package


def tree(data: bytes) -> ElementTree.Element:
    """A part, parsed; also proof that it is well-formed."""
    return ElementTree.fromstring(data)


def cells_of(sheet: ElementTree.Element) -> dict[str, ElementTree.Element]:
    """Cells of a sheet by name."""
    return {cell.get("r", ""): cell for cell in sheet.iter(f"{M}c")}


def in_order(sheet: ElementTree.Element) -> bool:
    """Whether the children of a worksheet stand in the order of its schema."""
    ranks = [
        SHEET_ORDER.index(child.tag.rpartition("}")[2])
        for child in sheet
        if child.tag.rpartition("}")[2] in SHEET_ORDER
    ]
    return ranks == sorted(ranks)


def finding(
    number: int,
    grade: Grade,
    places: Sequence[Place],
    *,
    message: str = "",
    follows_from: str | None = None,
    concession: str | None = None,
    measured: float | None = 31.4159,
) -> ReportedFinding:
    """A finding whose thumbprint is its number."""
    return ReportedFinding(
        f"rule-{number}",
        "ground.two_paths",
        grade,
        ("wire", f"W{number}"),
        message or f"Wire W{number} lifts the ground by 31.4 mV.",
        f"Take W{number} to the star point.",
        measured,
        10.0,
        "mV",
        tuple(Mark(place, "" if not index else f"place {index}") for index, place in enumerate(places)),
        {},
        follows_from,
        concession,
        f"print-{number}",
    )


def result(
    findings: Sequence[ReportedFinding],
    *,
    file: str = "loom.xlsx",
    sheet: str = "Wire list",
    undecided: Sequence[ReportedUndecided] = (),
) -> Result:
    """An outcome with something on every sheet."""
    return Result(
        "0.1.0",
        (SourceFile(file, "ab" * 32),),
        "engine-loom",
        "2",
        (GivenValue("ambient_degc", 85.0, "°C", "ruleset"), GivenValue("cable", "thin wall", "", "--given")),
        ReadSummary(32, 31, (SetAsideLine(file, sheet, 33, "no wire in it"),), 30, 60, 5),
        (
            RuleOutcome("rule-1", "ground.two_paths", "hold", 9, 2, 1, None, "why", "source", "controllers"),
            RuleOutcome("bus-ends", "bus.ends", "query", 0, 0, 0, None, "why", "source", "buses"),
            RuleOutcome("fuse-wire", "fuse.wire", "hold", 7, 0, 0, None, "why", "source", "fuses"),
            RuleOutcome("seals", "cavity.seal", "note", 3, 0, 0, "no such column", "why", "source", "cavities"),
        ),
        tuple(findings),
        tuple(undecided),
        (
            AssumptionLine("role", "CLT return", "sensor ground", "the word 'return'", None, 1),
            AssumptionLine("unit", "Size", "mm²", "the heading", Mark(Place(file, sheet, "D1"), "heading"), 30),
        ),
        rules_off=(("bundle-heat", "no bundles in this build"),),
    )


def handmade(
    path: Path,
    sheet: str | bytes,
    *,
    sheet_rels: str = "",
    styles: str | None = "",
    workbook: str = "",
    rels: str = "",
    types: str = "",
    extra: Mapping[str, str | bytes] | None = None,
    office: str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships",
    main: str = MAIN,
) -> Path:
    """A package written by hand, to hold what the usual writers never write."""
    packages = "http://schemas.openxmlformats.org/package/2006"
    kinds = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    relation = f'<Relationships xmlns="{packages}/relationships">'
    parts: dict[str, str | bytes] = {
        "[Content_Types].xml": (
            f'<Types xmlns="{packages}/content-types"><Default Extension="rels" '
            'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
            '<Default Extension="xml" ContentType="application/xml"/>'
            f'<Override PartName="/xl/workbook.xml" ContentType="{kinds}.sheet.main+xml"/>'
            f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{kinds}.worksheet+xml"/>'
            f"{types}</Types>"
        ),
        "_rels/.rels": (
            f'{relation}<Relationship Id="rId1" Type="{office}/officeDocument" Target="/xl/workbook.xml"/>'
            f"{rels}</Relationships>"
        ),
        "xl/workbook.xml": workbook
        or (
            f'<workbook xmlns="{main}" xmlns:r="{office}"><sheets>'
            '<sheet name="List" sheetId="7" r:id="rId1"/></sheets></workbook>'
        ),
        "xl/_rels/workbook.xml.rels": (
            f'{relation}<Relationship Id="rId1" Type="{office}/worksheet" Target="worksheets/sheet1.xml"/>'
            + (f'<Relationship Id="rId2" Type="{office}/styles" Target="styles.xml"/>' if styles else "")
            + "</Relationships>"
        ),
        "xl/worksheets/sheet1.xml": sheet,
    }
    if sheet_rels:
        parts["xl/worksheets/_rels/sheet1.xml.rels"] = f"{relation}{sheet_rels}</Relationships>"
    if styles:
        parts["xl/styles.xml"] = styles
    parts.update(extra or {})
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as out:
        for name, data in parts.items():
            out.writestr(name, data)
    return path
