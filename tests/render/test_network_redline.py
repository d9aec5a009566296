"""The sheets Currents and Ground offsets, and proposals and ranges on Findings, as read back."""

from __future__ import annotations

import math
import re
import time
import tracemalloc
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import openpyxl
import pytest
import xlsxwriter
from network_made import NOT_SOLVED, RING, STARS, STATES, network, offset, result
from openpyxl.worksheet.worksheet import Worksheet

from harnessdrc.findings import Mark
from harnessdrc.places import Place
from harnessdrc.render.redline import RedlineSource, SheetRows, write_redline
from harnessdrc.render.redline.bulkrows import BulkColumn, bulk_rows
from harnessdrc.render.redline.looks import Look
from harnessdrc.render.redline.stylesheet import Stylesheet
from harnessdrc.results import NetworkOutcome, Proposal, ReportedFinding, ReportedUndecided, ReserveLine, Result

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"


@pytest.fixture
def source(tmp_path: Path) -> RedlineSource:
    book = xlsxwriter.Workbook(tmp_path / "loom.xlsx")
    sheet = book.add_worksheet("Wire list")
    for row in range(12):
        sheet.write_row(row, 0, [f"W{row}", "ECU", "COIL1"])
    book.close()
    return RedlineSource("loom.xlsx", tmp_path / "loom.xlsx", None)


def made(source: RedlineSource, outcome: Result, folder: Path) -> Path:
    folder.mkdir(exist_ok=True)
    [path] = write_redline(outcome, [source], folder)
    return path


def sheet(path: Path, name: str) -> Worksheet:
    found = openpyxl.load_workbook(path)[name]
    assert isinstance(found, Worksheet)
    return found


def rows(page: Worksheet) -> list[list[Any]]:
    return [list(row) for row in page.iter_rows(values_only=True)]


def row_of(page: Worksheet, first: str, second: str | None = None) -> list[Any]:
    return next(row for row in rows(page) if row[0] == first and (second is None or row[4] == second))


# --- which sheets ------------------------------------------------------------------------------------


def test_sheets_are_added_only_where_something_was_solved(source: RedlineSource, tmp_path: Path) -> None:
    def names(solved: NetworkOutcome) -> list[str]:
        return openpyxl.load_workbook(made(source, result(solved), tmp_path / "out")).sheetnames[1:]

    assert names(NetworkOutcome()) == ["Findings", "Assumptions", "Coverage"]
    assert names(NetworkOutcome(not_solved=("It floats.",))) == ["Findings", "Ground offsets", "Assumptions", "Coverage"]
    assert names(network()) == ["Findings", "Ground offsets", "Currents", "Assumptions", "Coverage"]


def test_a_list_with_sheets_of_these_names_keeps_its_own(tmp_path: Path) -> None:
    (tmp_path / "loom.csv").write_text("x")
    own = [SheetRows("Currents", [["own"]]), SheetRows("Ground offsets", [["own"]])]
    source = RedlineSource("loom.csv", tmp_path / "loom.csv", own)
    book = openpyxl.load_workbook(made(source, result(network(), file="loom.csv"), tmp_path / "out"))
    assert book.sheetnames[2:5] == ["Findings", "Ground offsets (redline)", "Currents (redline)"]
    assert book["Currents"]["A1"].value == "own"


# --- currents ----------------------------------------------------------------------------------------


def test_currents_wire_by_wire(source: RedlineSource, tmp_path: Path) -> None:
    page = sheet(made(source, result(network(wires=4)), tmp_path / "out"), "Currents")
    assert str(page["A2"].value) == "4 wires in 4 operating states, at 85 °C, joints as new."
    assert "estimates, to be measured on the bench" in str(page["A3"].value)
    assert rows(page)[3] == [
        "Wire", "Cell", "greatest A", "drop then, mV", "in state",
        *(f"{state.name}\naverage A" for state in STATES), *(f"{state.name}\ndrop mV" for state in STATES),
    ]  # fmt: skip
    assert row_of(page, "W3") == ["W3", "Wire list A4", 12, 48, "full load", 2, 4, 6, 8, -8, -16, -24, -32]
    assert row_of(page, "W1") == ["W1", "Wire list A2", 0, 0, None, *[0] * 8]
    assert page.freeze_panes == "B5"
    assert page.auto_filter.ref == "A4:M8"
    assert page["F6"].number_format == '#,##0.00;-#,##0.00;"–"'
    assert page["J6"].number_format == '#,##0.0;-#,##0.0;"–"'
    assert page["B6"].hyperlink is not None
    assert page["B6"].hyperlink.location == "'Wire list'!A3"
    assert page.print_title_rows == "$4:$4"


def test_the_greatest_current_is_an_amount_with_its_own_state(source: RedlineSource, tmp_path: Path) -> None:
    peak = np.array([[1.0, 5.0, 4e-3], [-9.0, np.nan, 1e-12], [2.0, 3.0, 0.0], [0.0, np.nan, 0.0]])
    solved = replace(network(wires=3), peak_a=peak, peak_drop_mv=peak * -10)
    page = sheet(made(source, result(solved), tmp_path / "out"), "Currents")
    assert row_of(page, "W1")[2:5] == [9, 90, "cranking"]
    assert row_of(page, "W2")[2:5] == [5, 50, "key on"]
    assert row_of(page, "W3")[2:5] == [0, 0, None], "a current that is told as a dash has no state"


def test_what_is_not_known_leaves_its_cell_empty(source: RedlineSource, tmp_path: Path) -> None:
    amps = np.array(network(wires=3).average_a)
    amps[1, 2], amps[2, 2] = np.nan, -np.inf
    solved = replace(network(wires=3), average_a=amps, peak_a=np.full((4, 3), np.nan), wire_marks=(None,) * 3)
    page = sheet(made(source, result(solved), tmp_path / "out"), "Currents")
    assert row_of(page, "W3")[1:9] == [None, None, 12, None, 2, None, None, 8]


def test_texts_of_a_list_stay_text(source: RedlineSource, tmp_path: Path) -> None:
    names = ("=1+1", "<v>nan</v>", 'A&B "x" %s', "half \ud800", "_x0041_")  # the last one must not be read as an A
    solved = network([offset("=cmd()", 500.0)], wires=5, names=names, not_solved=("=2+2 floats",))
    path = made(source, result(solved), tmp_path / "out")
    page = sheet(path, "Currents")
    cells = [page.cell(row, 1) for row in range(5, 10)]
    assert [cell.value for cell in cells] == ["=1+1", "<v>nan</v>", 'A&B "x" %s', "half \ufffd", "_x005F_x0041_"]
    assert {cell.data_type for cell in cells} <= {"s", "inlineStr"}
    offsets = sheet(path, "Ground offsets")
    assert {cell.data_type for row in offsets.iter_rows() for cell in row} <= {"s", "n", "inlineStr"}


def test_links_lead_to_cells_rows_and_nowhere_else(source: RedlineSource, tmp_path: Path) -> None:
    marks = tuple(
        Mark(Place(file, sheet_name, cell), "wire") if file else None
        for file, sheet_name, cell in (
            ("loom.xlsx", "Wire list", "A3"), ("loom.xlsx", "Wire list", "7"), ("other.xlsx", "S", "B2"), ("", "", ""),
        )
    )  # fmt: skip
    page = sheet(made(source, result(replace(network(wires=4), wire_marks=marks)), tmp_path / "out"), "Currents")
    cells = [page.cell(row, 2) for row in range(5, 9)]
    assert [cell.value for cell in cells] == ["Wire list A3", "Wire list row 7", "other.xlsx, S B2", None]
    assert [cell.hyperlink.location if cell.hyperlink else None for cell in cells] == [
        "'Wire list'!A3", "'Wire list'!A7", None, None,
    ]  # fmt: skip


# --- ground offsets ----------------------------------------------------------------------------------


def offsets_sheet(source: RedlineSource, tmp_path: Path) -> Worksheet:
    lines = [
        offset("COIL1", 476.0, mark=Mark(Place("loom.xlsx", "Wire list", "C5"), "coil"),
               reserves=(RING, ReserveLine("stud", None, 12.0, "idle", None), ReserveLine("open", None, math.inf, "idle", None))),
        offset("COIL9", 900.0, reserves=(RING._replace(mohm=0.0),), error=0.04, unit="K"),
        offset("CLT", -60.0, what="sensor reading", low=-53, high=53, worst=1, between=(-30.0, -61.0), error=2.1, unit="K"),
        offset("S1", 1.0, low=None, high=None, reserves=()),
    ]  # fmt: skip
    solved = network(lines, stars=STARS, not_solved=NOT_SOLVED)
    return sheet(made(source, result(solved), tmp_path / "out"), "Ground offsets")


def test_each_victim_in_its_worst_state(source: RedlineSource, tmp_path: Path) -> None:
    page = offsets_sheet(source, tmp_path)
    assert page["A2"].value == "4 grounds looked at in 4 operating states: 3 over the limit, joints new or aged."
    assert "to be measured on the bench" in str(page["A3"].value)
    assert row_of(page, "COIL1") == [
        "COIL1", "coil input", "ECU ground", "-400 to 700", "full load", 476, 809.2, 1.156, 238, 404.6, None, None,
        "charge 428 mV, own current 48 = 476 mV",
        "ring of G1 on battery negative: 4.8 mΩ; stud: 12.0 mΩ in idle", "Wire list C5",
    ]  # fmt: skip
    assert row_of(page, "CLT")[3:12] == ["±53", "cranking", -60, -102, 1.925, -30, -51, "-61.0 to -30.0", "+2.1 K"]
    assert row_of(page, "COIL9")[11:14:2] == [None, "ring of G1 on battery negative: no rise left"]
    assert row_of(page, "S1")[3:8] == ["none", "full load", 1, 1.7, None]
    assert page.freeze_panes == "B5"
    coil = next(cell.row for cell in page["A"] if cell.value == "COIL1")
    assert page.cell(coil, 15).hyperlink.location == "'Wire list'!C5"
    assert page.cell(coil, 8).number_format == "0 %"
    fills = [page.cell(coil + at, 8).fill.patternType for at in range(4)]
    assert fills[0] == "lightUp", "crossed when aged"
    assert fills[1] == fills[2] == "solid", "crossed as new"
    assert fills[3] in (None, "none")


def test_the_tables_below(source: RedlineSource, tmp_path: Path) -> None:
    page = offsets_sheet(source, tmp_path)
    firsts = [str(row[0]) for row in rows(page)]
    bands = [str(cell.value) for cell in page["A"] if cell.font.sz == 11 and cell.value]
    assert bands == [
        "EVERY GROUND IN ITS WORST STATE (4), the nearest to its limit first",
        "STAR POINT: an analysis, not a rule; every candidate solved again, the best first",
        "OPERATING STATES (4)",
        "NOT SOLVED, left out of the network (1)",
        "EVERY GROUND IN EVERY STATE (4 x 4)",
    ]
    assert row_of(page, "CHASSIS STUD on chassis")[1:8] == ["as listed", "COIL1", 1.92, "full load", 476, 1.19, None]
    assert row_of(page, "BATTERY NEGATIVE")[3] is None
    assert row_of(page, "BATTERY NEGATIVE")[7] == "length of wire G3; length of wire G9"
    assert row_of(page, "cranking")[:7] == ["cranking", 250, 200, 0, 30, 10.1, "the starter turns the engine"]
    assert NOT_SOLVED[0] in firsts


def test_every_ground_in_every_state(source: RedlineSource, tmp_path: Path) -> None:
    page = offsets_sheet(source, tmp_path)
    start = next(n for n, row in enumerate(rows(page)) if str(row[0]).startswith("EVERY GROUND IN EVERY"))
    table = rows(page)[start + 1 :]
    assert len(table) == 4 * len(STATES)
    assert [row[4] for row in table[:4]] == [state.name for state in STATES]
    assert table[0][:10] == ["COIL1", "coil input", "ECU ground", "-400 to 700", "key on", 47.6, 80.9, 0.116, 23.8, 40.5]
    assert table[9][5:8] == [-60, -102, 1.925]
    assert table[15][7] is None


def test_a_list_without_victims_says_so(source: RedlineSource, tmp_path: Path) -> None:
    page = sheet(made(source, result(network()), tmp_path / "out"), "Ground offsets")
    assert "No ground of a coil input" in str(page["A2"].value)
    assert "None in this list." in [row[0] for row in rows(page)]


# --- findings ----------------------------------------------------------------------------------------


def test_a_proposal_stands_below_its_remedy(source: RedlineSource, tmp_path: Path) -> None:
    mark = Mark(Place("loom.xlsx", "Wire list", "C5"), "earth")
    proposal = Proposal("Move the end of wire W12.", ("W12",), 476.0, 69.0, "mV", 2, ("a" * 16, "b" * 16))
    found = ReportedFinding(
        "r", "c", "hold", ("component", "COIL1"), "It stands off.", "Take it home.", 476.0, 400.0, "mV", (mark,), {}, None,
        None, "a" * 16, proposal,
    )  # fmt: skip
    page = sheet(made(source, result(network(), found, replace(found, remedy="", thumbprint="c" * 16)), tmp_path / "out"), "Findings")
    told = [str(row[7]) for row in rows(page) if row[1] == "HOLD"]
    proposed = (
        "Proposed: Move the end of wire W12.\n"
        "476 → 69 mV, proved by solving again together with 2 other changes, clears 1 more finding."
    )
    assert told == [f"Take it home.\n{proposed}", proposed]


def test_an_undecided_tells_its_range(source: RedlineSource, tmp_path: Path) -> None:
    asked = ReportedUndecided("r", "c", "hold", ("component", "COIL2"), ("length of W14",), (), 120.0, 810.0, 500.0, "mV")
    bare = ReportedUndecided("r", "c", "query", ("component", "COIL3"), ("length of W15",), ())
    page = sheet(made(source, result(network(), undecided=(asked, bare)), tmp_path / "out"), "Findings")
    told = {row[2]: row[3:8] for row in rows(page) if row[1] == "UNDECIDED"}
    assert told == {
        "component COIL2": [
            "Not decided: between 120 and 810 mV by what is known (a finding would be on hold).", "120 … 810", 500, "mV",
            "Give: length of W14",
        ],
        "component COIL3": ["Not decided (a finding would be a query).", None, None, None, "Give: length of W15"],
    }  # fmt: skip


# --- in bulk -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [0, 1, 1023, 1024, 1025, 3000])
def test_bulk_rows_are_well_formed_at_any_number(count: int) -> None:
    styles = Stylesheet(None)
    values = np.arange(count) / 7
    columns = [BulkColumn(Look(), [f"W{n}" for n in range(count)]), BulkColumn(Look(bold=True), values, 2)]
    text = b"".join(bulk_rows(columns, count, 5, styles)).decode()
    found = list(ElementTree.fromstring(f"<rows>{text}</rows>"))
    assert [int(row.get("r", 0)) for row in found] == list(range(5, 5 + count))
    for number, row in enumerate(found):
        text_cell, figure = row
        assert (text_cell.get("r"), figure.get("r")) == (f"A{number + 5}", f"B{number + 5}")
        assert "".join(text_cell.itertext()) == f"W{number}"
        assert float(figure.findtext("v") or "nan") == pytest.approx(values[number], abs=0.005)


def test_the_sheets_are_in_the_order_of_the_format(source: RedlineSource, tmp_path: Path) -> None:
    import zipfile

    path = made(source, result(network([offset("COIL1", 500.0)], stars=STARS)), tmp_path / "out")
    with zipfile.ZipFile(path) as package:
        parts = [package.read(name) for name in package.namelist() if re.search(r"worksheets/sheet[34]\.xml", name)]
    assert len(parts) == 2
    order = ["sheetPr", "dimension", "sheetViews", "sheetFormatPr", "cols", "sheetData", "autoFilter", "mergeCells",
             "hyperlinks", "pageMargins", "pageSetup", "headerFooter", "ignoredErrors"]  # fmt: skip
    for part in parts:
        root = ElementTree.fromstring(part)
        tags = [child.tag.removeprefix(MAIN) for child in root]
        assert [order.index(tag) for tag in tags] == sorted(order.index(tag) for tag in tags)
        last = max(int(row.get("r", 0)) for row in root.iter(f"{MAIN}row"))
        dimension = root.find(f"{MAIN}dimension")
        assert dimension is not None
        assert str(dimension.get("ref")).endswith(str(last))


def test_twenty_thousand_wires_cost_little_and_are_never_held(source: RedlineSource, tmp_path: Path) -> None:
    """Two calls of the same kind in one run: with 20,000 wires the sheet takes little room beside its result."""
    wires = 20_000
    rng = np.random.default_rng(3)
    amps = rng.normal(0, 9, (4, wires))
    large = replace(network(wires=wires), average_a=amps, peak_a=amps, average_drop_mv=amps, peak_drop_mv=amps)

    def peak_bytes(solved: NetworkOutcome) -> int:
        tracemalloc.start()
        try:
            made(source, result(solved), tmp_path / "out")
            return tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()

    peak_bytes(network())  # what is loaded once
    assert peak_bytes(large) - peak_bytes(network()) < 24 << 20
    start = time.process_time()
    made(source, result(large), tmp_path / "out")
    assert time.process_time() - start < 2.0
