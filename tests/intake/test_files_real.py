"""The real lists that somebody else wrote, opened whole."""

from __future__ import annotations

from pathlib import Path

import pytest

from harnessdrc.intake.files import open_file
from harnessdrc.intake.grid import Grid

REAL = Path(__file__).parents[2] / ".." / "shared" / "real_wirelists"
pytestmark = pytest.mark.skipif(not REAL.is_dir(), reason="the folder of real wire lists is not here")


def sheets(path: str) -> dict[str, Grid]:
    return {grid.sheet: grid for grid in open_file(REAL / path).grids}


def test_robot_cut_list() -> None:
    (grid,) = sheets("robot_cut_list/wiring.xlsx").values()
    assert len(grid.rows) == 1 + 75
    ids = [row[0] for row in grid.rows[1:]]
    assert ids == list(range(1, 76)) and all(type(number) is int for number in ids)
    cells = [value for row in grid.rows for value in row]
    assert any(isinstance(value, str) and value.endswith("18”") for value in cells)
    assert any(isinstance(value, str) and "– splice" in value for value in cells)
    assert grid.formulas_without_value == ()


@pytest.mark.parametrize(
    ("file", "banners", "data", "legend"), [("Wiring_C2Mega.xls", 1, 80, 13), ("Wiring_C2PCB.xls", 2, 106, 10)]
)
def test_trike_wiring(file: str, banners: int, data: int, legend: int) -> None:
    grids = sheets(f"trike_wiring/{file}")
    assert list(grids) == ["Internal", "Power"]
    assert len(grids["Power"].rows) == 1 + 42
    filled = sum(bool(row) for row in grids["Internal"].rows)
    assert filled == banners + 1 + data + legend


def test_trike_power_sheet_is_the_same_in_both_files() -> None:
    first, second = (sheets(f"trike_wiring/{name}.xls")["Power"] for name in ("Wiring_C2Mega", "Wiring_C2PCB"))
    assert first.rows == second.rows
    assert sum("round" in str(row).lower() or "gnd" in str(row).lower() for row in first.rows[1:]) >= 12


def test_steering_cable() -> None:
    (path,) = (REAL / "steering_cable").glob("*.csv")
    opened = open_file(path)
    (grid,) = opened.grids
    assert opened.kind == "csv" and len(grid.rows) == 1 + 8
    assert all(len(row) == 4 for row in grid.rows)
    assert all(value == str(value).strip() for row in grid.rows for value in row)
    assert [row[0] for row in grid.rows if row[1] == "GND"] == ["1", "3", "5"]
    assert [row[0] for row in grid.rows if row[1] == "5v"] == ["7", "8"]


def test_every_real_list_opens() -> None:
    paths = [path for path in REAL.rglob("*") if path.suffix in (".xlsx", ".xls", ".csv", ".ods")]
    assert len(paths) >= 4
    for path in paths:
        opened = open_file(path)
        assert any(grid.rows for grid in opened.grids)
        assert not [note for note in opened.notes if note.what == "file kind"]
