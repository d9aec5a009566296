"""The shipped samples through the whole of ``check``: the clean ones silent, the faulty ones as expected."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from harnessdrc import check_lists
from harnessdrc.render.findings_json import to_dict

SAMPLES = Path(__file__).parents[2] / "sample_wirelists"
CLEAN = [
    [SAMPLES / "clean" / "hill_climb_single_seater.xlsx"],
    [SAMPLES / "clean" / "rescue_boat_v8.xlsx"],
    sorted((SAMPLES / "clean" / "hill_climb_csv").glob("*.csv")),
]
FAULTY = sorted((SAMPLES / "faulty").glob("*.expected.csv"))


@pytest.mark.parametrize("paths", CLEAN, ids=lambda paths: paths[0].stem)
def test_a_clean_build_is_silent(paths: list[Path]) -> None:
    result = check_lists(paths)
    assert [f.message for f in result.findings] == []
    assert [(u.rule, u.subject) for u in result.undecided] == []
    assert [r.rule for r in result.rules if r.crashed] == []
    assert sum(r.looked_at for r in result.rules) > 1000


@pytest.mark.parametrize("expected", FAULTY, ids=lambda path: path.stem)
def test_a_faulty_build_gives_what_its_list_expects(expected: Path) -> None:
    with expected.open(encoding="utf-8", newline="") as file:
        wanted = {
            (row["check"], row["subject_kind"], row["subject"], row["sheet"], row["cell"])
            for row in csv.DictReader(file)
        }
    result = check_lists([expected.with_name(expected.name.replace(".expected.csv", ".xlsx"))])
    found = {
        (f.check, *f.subject, f.marks[0].place.sheet, f.marks[0].place.cell)
        for f in result.findings
        if f.follows_from is None
    }
    assert found == wanted


def test_the_csv_set_and_the_workbook_are_one_loom() -> None:
    workbook, csv_set = check_lists(CLEAN[0]), check_lists(CLEAN[2])
    assert workbook.read.wires == csv_set.read.wires
    assert to_dict(workbook)["network"] == to_dict(csv_set)["network"]
    assert [(r.rule, r.looked_at) for r in workbook.rules] == [(r.rule, r.looked_at) for r in csv_set.rules]
