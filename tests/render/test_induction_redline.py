"""The sheet Loops and triggers, as read back."""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import xlsxwriter
from induction_made import EXTREME, RPM, USUAL, hall, loop, many, pickup, result, trigger
from network_made import network, offset
from openpyxl.worksheet.worksheet import Worksheet

from harnessdrc.render.redline import RedlineSource, SheetRows, write_redline
from harnessdrc.results import InductionOutcome, NetworkOutcome, SettingLine

NAME = "Loops and triggers"


@pytest.fixture
def source(tmp_path: Path) -> RedlineSource:
    book = xlsxwriter.Workbook(tmp_path / "loom.xlsx")
    sheet = book.add_worksheet("Wire list")
    for row in range(12):
        sheet.write_row(row, 0, [f"W{row}", "ECU", "COIL1"])
    book.close()
    return RedlineSource("loom.xlsx", tmp_path / "loom.xlsx", None)


def book(source: RedlineSource, outcome: InductionOutcome, solved: NetworkOutcome | None = None) -> openpyxl.Workbook:
    folder = source.path.parent / "out"
    folder.mkdir(exist_ok=True)
    [path] = write_redline(result(outcome, network=solved, file=source.file), [source], folder)
    return openpyxl.load_workbook(path)


def sheet(source: RedlineSource, outcome: InductionOutcome) -> Worksheet:
    page = book(source, outcome)[NAME]
    assert isinstance(page, Worksheet)
    return page


def rows(page: Worksheet) -> list[list[Any]]:
    return [list(row) for row in page.iter_rows(values_only=True)]


def below(page: Worksheet, section: str) -> list[list[Any]]:
    """Rows below the headings of a section, up to the next one."""
    every = rows(page)
    first = next(at for at, row in enumerate(every) if str(row[0]).startswith(section))
    found = []
    for row in every[first + 2 :]:
        if all(value is None for value in row[1:]):
            break
        found.append(row)
    return found


def test_the_sheet_is_added_only_where_there_is_something(source: RedlineSource) -> None:
    assert book(source, InductionOutcome()).sheetnames == ["Wire list", "Findings", "Assumptions", "Coverage"]
    assert book(source, InductionOutcome(not_worked_out=("No coil.",))).sheetnames[2] == NAME
    names = book(source, USUAL, network([offset("COIL1", 476.0)])).sheetnames
    assert names[1:] == ["Findings", "Ground offsets", NAME, "Currents", "Assumptions", "Coverage"]


def test_a_list_with_a_sheet_of_this_name_keeps_its_own(tmp_path: Path) -> None:
    (tmp_path / "loom.csv").write_text("x")
    source = RedlineSource("loom.csv", tmp_path / "loom.csv", [SheetRows(NAME, [["own"]])])
    made = book(source, USUAL)
    assert made[NAME]["A1"].value == "own"
    assert f"{NAME} (redline)" in made.sheetnames


def test_loops_with_bounds_ways_and_places(source: RedlineSource) -> None:
    page = sheet(source, USUAL)
    assert page["A2"].value == "14 loops and 2 trigger sensors looked at: 1 margin below the limit."
    assert "estimate with its range" in str(page["A3"].value)
    assert "the oscilloscope on the bench decides" in str(page["A3"].value)
    assert rows(page)[3][:6] == ["Belongs to", "Loop", "Round it\nm", "Area\ncm²", "Best layout\ncm²", "Times the\nbest"]
    assert page["A5"].value == "LOOPS (14)"
    first = rows(page)[5]
    assert first[:6] == ["COIL1", "high-voltage return", 1.92, 2934, 121, 24.25]
    assert first[6] == " → ".join(USUAL.loops[0].way)
    assert first[13:] == ["no capacitor closes it", "Wire list A2"]
    assert "≤" in page["D6"].number_format
    assert "≤" in page["F6"].number_format
    assert "≤" not in page["D14"].number_format
    assert page["O6"].hyperlink is not None
    assert page["O6"].hyperlink.location == "'Wire list'!A2"
    lacking = rows(page)[18]
    assert lacking[:6] == ["CAM SENSOR", "trigger pair", None, None, None, None]
    assert lacking[12] == "length of wire W77"
    assert "G6:L6" in {str(area) for area in page.merged_cells.ranges}
    assert page.auto_filter.ref == "A4:O19"
    assert page.freeze_panes == "B5"


def test_every_sensor_at_its_worst_speed(source: RedlineSource) -> None:
    outcome = replace(USUAL, triggers=(*USUAL.triggers, replace(trigger("NEAR"), limit_db=10.0), replace(trigger("DEAD"), margin_db=(float("nan"),) * 5, lacking=("lay",))))
    page = sheet(source, outcome)
    assert page["A2"].value == "14 loops and 4 trigger sensors looked at: 1 margin below the limit, 1 more may be below it, at the end of the range, 1 not known."
    crank, cam, near, dead = below(page, "TRIGGER SENSORS (4)")
    assert crank[:9] == ["CRANK SENSOR", "reluctor sensor", 60, 13.8, 4.8, 22.8, 20, 61, 366]
    assert crank[9].startswith("twisted, lay 30 mm")
    assert crank[12].startswith("COIL1's high-voltage return at breakdown")
    assert crank[13].startswith("a threshold of 0.13 to 0.24 V with no filter")
    assert crank[14] == "Wire list A6"
    assert cam[2:4] == [7000, 46]
    assert near[3] == 13.8
    assert dead[2:6] == [None] * 4
    assert dead[13] == "lacking: lay"
    at = next(row[0].row for row in page.iter_rows() if row[0].value == "CRANK SENSOR" and row[3].value == 13.8)
    looks = [(page.cell(row, 4).fill.patternType, page.cell(row, 4).border.left.style) for row in (at, at + 1, at + 2)]
    assert looks == [("solid", "medium"), (None, "thin"), ("lightUp", "medium")]


def test_margin_settings_and_pickups_are_told_in_figures(source: RedlineSource) -> None:
    bad = SettingLine(60.0, 5.0, None, None)
    page = sheet(source, InductionOutcome((), (trigger(settings=(SettingLine(60.0, 0.0, 0.1, 0.4), bad)), hall())))
    margins = below(page, "MARGIN OVER ENGINE SPEED")
    assert len(margins) == 2 * len(RPM)
    first = ["CRANK SENSOR", "reluctor sensor", 60, 300, 0, 61, 10.17, 366, 13.8, 4.8, 22.8, 20, "the worst, below the limit"]
    assert margins[0][:13] == first
    assert margins[1][12] is None
    assert margins[9][:13] == ["CAM SENSOR", "Hall sensor", 7000, 2500, 140, 12, 2, 72, 46, 29, 58, 20, "the worst"]
    settings = below(page, "SETTINGS OF THE CONTROLLER")
    assert settings[0][:7] == ["CRANK SENSOR", "reluctor sensor", 60, 0, 0.1, 0.4, None]
    assert settings[1][2:7] == [60, 5, None, None, "no threshold leaves margin"]
    pickups = below(page, "WHAT EACH LOOP INDUCES")
    assert pickups[0][:13] == ["CRANK SENSOR", "COIL1", 0.05, 2.7, 0.15, 18, 54, 9, 324, "high-voltage return", None, None, "breakdown"]
    assert [row[1] for row in pickups] == ["COIL1", "INJ1", "COIL4"]


def test_a_printed_page_never_stands_under_headings_of_another_table(source: RedlineSource) -> None:
    page = sheet(source, USUAL)
    assert not page.print_title_rows
    assert page.page_setup.orientation == "landscape"
    assert str(page.page_setup.paperSize) == "9"
    assert page.page_setup.fitToHeight == 0
    starts = {str(page.cell(row.id + 1, 1).value).split(" ")[0] for row in page.row_breaks.brk}
    assert starts
    assert starts <= {"TRIGGER", "MARGIN", "SETTINGS", "WHAT"}
    long = sheet(source, many(200, 3))
    row = next(row[0].row for row in long.iter_rows() if str(row[0].value).startswith("FURTHER LOOPS"))
    assert long.print_title_rows == f"${row + 1}:${row + 1}"
    assert long.cell(row + 1, 1).value == "Belongs to"
    assert row - 1 in {one.id for one in long.row_breaks.brk}


def test_of_many_loops_the_last_ones_stand_below_all_tables(source: RedlineSource) -> None:
    outcome = many(120, 2)
    page = sheet(source, outcome)
    assert page["A5"].value == "LOOPS, the first 40 of 120; the others at the end of this sheet"
    assert page.auto_filter.ref == "A4:O45"
    rest = below(page, "FURTHER LOOPS (80)")
    assert [row[0] for row in rest] == [f"COIL{n}" for n in range(40, 120)]
    assert rest[0][1:7] == ["primary", 1.04, 140, 121, 1.16, " → ".join(outcome.loops[40].way)]
    last = page.max_row
    assert page.cell(last, 15).value == f"Wire list A{119 % 11 + 1}"
    assert page.cell(last, 15).hyperlink.location == f"'Wire list'!A{119 % 11 + 1}"
    for row in (last, last - 1, last - 2):
        number = int(str(page.cell(row, 1).value)[4:])
        assert ("≤" in page.cell(row, 4).number_format) == outcome.loops[number].bound


def test_hard_names_and_numbers_do_no_harm(source: RedlineSource) -> None:
    page = sheet(source, EXTREME)
    every = rows(page)
    assert every[5][0] == '<COIL & "1">'
    assert every[5][2:4] == ["no end", "no end"]
    assert every[6][0] == "=1+1"
    assert page["A7"].data_type in ("s", "inlineStr")
    assert every[6][2] == "not known"
    [hard, no_noise, *_] = below(page, "TRIGGER SENSORS")
    assert hard[3] == "none left"
    assert no_noise[3] == "no noise"
    assert any(row[0] == "One thing <was> left out." for row in every)
    sheet(source, InductionOutcome(many(60).loops[:50] + EXTREME.loops))


def test_a_high_row_holds_a_long_way(source: RedlineSource) -> None:
    page = sheet(source, InductionOutcome((loop("C1"), loop("C2", way=[f"wire W{n}" for n in range(60)]))))
    assert page.row_dimensions[7].height > 2 * page.row_dimensions[6].height


def test_thousands_of_loops_take_no_second(source: RedlineSource) -> None:
    folder = source.path.parent / "out"
    folder.mkdir()
    outcome = result(many())
    start = time.perf_counter()
    [path] = write_redline(outcome, [source], folder)
    assert time.perf_counter() - start < 1
    page = openpyxl.load_workbook(path, read_only=True)[NAME]
    assert sum(1 for _ in page.iter_rows()) > 6500 + 100 * (len(RPM) * 3 + 20)


def test_pickups_without_a_best_layout_leave_the_cell_empty(source: RedlineSource) -> None:
    page = sheet(source, InductionOutcome((), (trigger(pickups=[replace_best(None), replace_best(0.0)]),)))
    first, second = below(page, "WHAT EACH LOOP INDUCES")
    assert first[4:6] == [None, None]
    assert second[4:6] == [0, None]


def replace_best(best: float | None) -> Any:
    return pickup()._replace(best_mutual_nh=best)
