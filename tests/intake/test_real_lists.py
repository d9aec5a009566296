"""The real lists that somebody else wrote, with the counts that their README states."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import pytest
from make_grids import LISTS, check_account, ends, only

from harnessdrc.intake.grid import Grid, OpenedFile
from harnessdrc.intake.reading import read_lists
from harnessdrc.tables.model import Reading

pytestmark = pytest.mark.skipif(not LISTS.is_dir(), reason="the real wiring lists are not beside this checkout")


def _open(path: Path) -> OpenedFile:
    """A file as cells, without the opening that has tests of its own."""
    if path.suffix == ".csv":
        with path.open(encoding="utf-8", newline="") as stream:
            rows: list[list[Any]] = [list(row) for row in csv.reader(stream)]
        return OpenedFile(path, path.name, "csv", "0" * 64, (Grid(path.name, path.stem, rows),))
    import python_calamine

    book = python_calamine.CalamineWorkbook.from_path(str(path))
    grids = []
    for name in book.sheet_names:
        rows = [
            [None if c == "" else int(c) if isinstance(c, float) and c.is_integer() else c for c in row]
            for row in book.get_sheet_by_name(name).to_python(skip_empty_area=False)
        ]
        grids.append(Grid(path.name, name, rows))
    return OpenedFile(path, path.name, "xlsx", "0" * 64, tuple(grids))


def _read(*names: str) -> Reading:
    files = [_open(LISTS / name) for name in names]
    reading = read_lists(files)
    check_account(reading, [g for f in files for g in f.grids])
    return reading


def _aside(reading: Reading, sheet: str, words: str) -> list[int]:
    return [s.row for s in reading.set_aside if s.sheet == sheet and words in s.reason]


def test_robot_cut_list_rows_and_conductors() -> None:
    reading = _read("robot_cut_list/wiring.xlsx")
    frame = only(reading, "wires").frame
    assert reading.rows_used == 75
    assert sorted({int(w) for w in frame["wire"]}) == list(range(1, 76))
    pairs = frame[frame["colour_written"] == "R+B"]
    assert len(set(pairs["row"])) == 47
    assert len(pairs) == 94
    assert sorted(set(pairs["core"])) == ["BK", "RD"]
    pwm = frame[frame["colour_written"] == "PWM"]
    assert len(pwm) == 16
    assert set(pwm["cores"]) == {3}
    assert not reading.unreadable


def test_robot_cut_list_values() -> None:
    reading = _read("robot_cut_list/wiring.xlsx")
    by_id = {int(r.wire): r for r in only(reading, "wires").frame.itertuples()}
    assert by_id[1].length_m == pytest.approx(0.4572)  # 18 in
    assert by_id[74].length_m == pytest.approx(1.8288)  # 6 ft
    assert str(by_id[1].size) == "12 AWG"
    assert {str(by_id[i].size) for i in (38, 39, 42, 46)} == {"18 AWG"}
    assert sum(r.size is None for r in by_id.values()) == 4  # "N/A"
    assert [i for i, r in sorted(by_id.items()) if "Compressor – splice" in (r.from_item, r.to_item)] == [14, 18, 23]
    assert by_id[2].to_item == "BLK_BR"  # a place, not a colour
    assert by_id[1].from_terminal == "0.5” bare"  # a strip length
    assert by_id[1].to_terminal == "Ring"


def test_trike_power_sheet_and_its_copy() -> None:
    reading = _read("trike_wiring/Wiring_C2Mega.xls", "trike_wiring/Wiring_C2PCB.xls")
    (power,) = [t for t in reading.tables if t.sheet == "Power"]
    assert power.form == "wires"
    assert len(power.frame) == 42
    copies = [s for s in reading.set_aside if s.sheet == "Power" and s.file == "Wiring_C2PCB.xls"]
    assert len(copies) == 43
    assert {s.reason for s in copies} == {"exact copy of sheet 'Power' of Wiring_C2Mega.xls"}
    ground = [r for r in power.frame.itertuples() if "ground" in f"{r.from_item} {r.to_item} {r.signal}".lower()]
    assert len(ground) == 12
    colours = dict(zip(power.frame["row"], power.frame["colour"], strict=True))
    assert (colours[2], colours[3], colours[5], colours[12]) == ("WHBU", "GNWH", "BK", None)


def test_trike_power_is_read_the_same_from_either_file() -> None:
    first = _read("trike_wiring/Wiring_C2Mega.xls").tables[-1]
    second = _read("trike_wiring/Wiring_C2PCB.xls").tables[-1]
    assert (first.sheet, second.sheet) == ("Power", "Power")
    assert first.frame.equals(second.frame)


def test_trike_internal_of_the_first_board() -> None:
    reading = _read("trike_wiring/Wiring_C2Mega.xls")
    tables = [t for t in reading.tables if t.sheet == "Internal"]
    used = {r for t in tables for r in t.frame["row"]}
    assert used == set(range(3, 83))  # 80 data rows
    assert _aside(reading, "Internal", "legend") == list(range(83, 96))
    assert _aside(reading, "Internal", "headings") == [2]
    pin_table = next(t for t in tables if t.form == "pins")
    assert set(pin_table.frame["connector"]) == {"Mega", "J3"}
    reserved = {r for r, u in zip(pin_table.frame["row"], pin_table.frame["unused"], strict=True) if u}
    assert len(reserved) == 17
    wires = next(t for t in tables if t.form == "wires")
    assert not reserved & set(wires.frame["row"])
    assert len(wires.frame) == 63
    assert ("Mega", "A13", "C3", "9") in ends(wires)
    by_row = {r.row: r for r in wires.frame.itertuples()}
    assert by_row[42].colour == "WHGN"
    assert by_row[48].colour == "GNWH"
    assert by_row[11].colour == "GN"  # "4-Green": core of cable 4
    assert by_row[77].from_item == "Power distribution"  # location code 2 by the legend
    assert len(pin_table.frame[pin_table.frame["row"] == 62]) == 12  # "D42-D53"


def test_trike_internal_of_the_second_board() -> None:
    reading = _read("trike_wiring/Wiring_C2PCB.xls")
    tables = [t for t in reading.tables if t.sheet == "Internal"]
    assert {r for t in tables for r in t.frame["row"]} == set(range(4, 110))  # 106 data rows
    assert _aside(reading, "Internal", "legend") == list(range(111, 121))
    assert sorted(s.row for s in reading.set_aside if s.sheet == "Internal" and s.row < 4) == [1, 2, 3]
    wires = next(t for t in tables if t.form == "wires")
    assert ("Mega", "D33", "X1", "01") in ends(wires)
    assert ("Mega", "GND", "X4", "1") in ends(wires)


def test_steering_cable() -> None:
    reading = _read("steering_cable/Steering pinout on cat5.csv")
    wires = only(reading, "wires")
    assert list(wires.frame["from_cavity"]) == [str(n) for n in range(1, 9)]
    assert list(wires.frame["signal"]) == ["GND", "L_STR", "GND", "R_STR", "GND", "PWM", "5v", "5v"]
    assert list(wires.frame["colour"]) == ["OGWH", "OG", "GNWH", "BU", "BUWH", "GN", "BNWH", "BN"]
    groups: dict[str, list[int]] = {}
    for pin, twist in zip(wires.frame["from_cavity"], wires.frame["twist"], strict=True):
        groups.setdefault(twist, []).append(int(pin))
    assert sorted(groups.values()) == [[1, 2], [3, 6], [4, 5], [7, 8]]
