"""What is printed, filled in and read back gives the same network; what was measured worse gives the worse one."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from measured_lists import GENERATOR, continuity_rows, designed, isolation_rows, sheet_of, voltage_rows, with_tests
from text_lists import shipped_given, shipped_ruleset, shipped_states

from harnessdrc.api import check_lists, open_and_read, shop_papers
from harnessdrc.bench.readback import read_back
from harnessdrc.checks.registry import CHECKS, load_checks
from harnessdrc.design import Design, design_of
from harnessdrc.findings import Finding
from harnessdrc.render.papers.workbook import papers_workbook

SAMPLES = Path(__file__).parents[2] / "sample_wirelists"
CLEAN = sorted((SAMPLES / "clean").glob("*.xlsx"))
_SLOW = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))

load_checks()


def said(design: Design, check: str) -> list[Finding]:
    """Findings of one check."""
    return [o for o in CHECKS[check].run(design, None) if isinstance(o, Finding)]


def digit_volts(design: Design, step_ohm: float) -> np.ndarray[Any, Any]:
    """Most that rounding every measured resistance by half a step can shift any potential, V, for each state.

    A change dR of a part that carries I acts like a source of I dR; no potential of a passive network moves by more
    than the sum of all sources. Twice that covers what the changed currents of the machines add.
    """
    amps = np.abs(design.analysis.new.settled.amps)
    carrying = [n for n, part in enumerate(design.circuit.parts) if part.kind in ("wire", "strap")]
    return 2.0 * amps[carrying].sum(axis=0) * step_ohm / 2.0


# --- predicted values ---------------------------------------------------------------------------


@pytest.mark.parametrize("path", CLEAN, ids=lambda path: path.stem)
def test_predicted_values_give_the_same_network(path: Path) -> None:
    _, reading = open_and_read([path])
    design = design_of(reading, shipped_given(), shipped_states())
    assert any(test.expected_ohm for test in design.testing.continuity)
    filled = sheet_of(continuity_rows(design))
    again = design_of(with_tests(reading, filled), shipped_given(), shipped_states())
    assert len(again.testing.measured_ohms) == len(filled.of("measurements")[0].frame)
    shift_v = np.abs(again.analysis.new.average_v - design.analysis.new.average_v)
    assert shift_v.size
    assert (shift_v <= digit_volts(design, 1e-6) + 1e-12).all()
    exact = design_of(with_tests(reading, sheet_of(continuity_rows(design, digits=12))), shipped_given(), shipped_states())
    assert np.abs(exact.analysis.new.average_v - design.analysis.new.average_v).max() < 1e-9


@pytest.mark.parametrize("path", CLEAN, ids=lambda path: path.stem)
def test_no_predicted_value_fails(path: Path) -> None:
    _, reading = open_and_read([path])
    design = design_of(reading, shipped_given(), shipped_states())
    rows = [*continuity_rows(design), *isolation_rows(design), *voltage_rows(design)]
    again = design_of(with_tests(reading, sheet_of(rows)), shipped_given(), shipped_states())
    assert len(again.testing.readings) == len(rows)
    assert {reading.verdict for reading in again.testing.readings} == {"pass"}
    assert not again.testing.unfit
    for check in ("measured.resistance", "measured.isolation", "measured.voltage", "measured.sheet"):
        assert not said(again, check)


@pytest.mark.parametrize("path", CLEAN, ids=lambda path: path.stem)
def test_the_workbook_as_printed_is_read_back(path: Path, tmp_path: Path) -> None:
    """From the files of the papers, filled in with another program, back to the rules."""
    papers, plain = shop_papers([path])
    book = openpyxl.load_workbook(io.BytesIO(papers_workbook(papers)))
    expected = {line.test: line.expected_mohm for line in papers.continuity}
    volts = {line.test: line.expected_mv for line in papers.voltages}
    written = 0
    for sheet in book:
        at: dict[str, int] = {}
        for row in sheet.iter_rows():
            texts = {str(cell.value): cell.column - 1 for cell in row if cell.value is not None}
            if "Test" in texts and any(text.startswith("Measured (") for text in texts):
                at = texts
                continue
            test = row[at["Test"]].value if at else None
            if test in expected and expected[test] is not None and "Measured (mΩ)" in at:
                row[at["Measured (mΩ)"]].value = round(expected[test], 3)
            elif test in volts and "Measured (mV)" in at:
                row[at["Measured (mV)"]].value = round(volts[test], 2)
            elif test and "Measured (MΩ)" in at:
                row[at["Measured (MΩ)"]].value = "> 500"
            else:
                continue
            written += 1
    assert written == sum(v is not None for v in expected.values()) + len(papers.isolation) + len(papers.voltages)
    filled = tmp_path / "filled.xlsx"
    book.save(filled)
    result = check_lists([path], measured=filled)
    assert len(result.measured.lines) == result.measured.count("pass") == written
    assert not result.measured.unfit
    assert all(sheet.fits for sheet in result.measured.sheets)
    for before, after in zip(plain.network.offsets, result.network.offsets, strict=True):
        assert before.victim == after.victim
        assert after.average_mv == pytest.approx(before.average_mv, abs=0.05)


# --- worse joints -------------------------------------------------------------------------------

WIRES = [test.name for test in designed().testing.continuity if test.wire is not None]
JOINTS = {
    test.name: f"{test.name} {test.a}" for test in designed().testing.continuity if test.wire is not None
}
"""Name of the joint at the first end of every wire, as a joints sheet has it."""


def compare(joints: dict[str, float]) -> None:
    """A list measured from a loom whose joints are worse gives the offsets of the list that has these joints."""
    worse = designed(joints={JOINTS[name]: mohm for name, mohm in joints.items()})
    assert not [left for left in worse.analysis.left_out if left.reason == "joint not known"]
    measured = designed(tests=continuity_rows(worse, digits=12))
    assert len(measured.testing.measured_ohms) == len(worse.testing.continuity)
    shift_v = measured.analysis.new.settled.volts - worse.analysis.new.settled.volts
    assert np.abs(shift_v).max() < 1e-8  # the machines settle to a few nV
    assert np.abs(measured.analysis.new.average_v - worse.analysis.new.average_v).max() < 1e-9


def test_a_bad_ring_on_the_controllers_ground_is_found_again() -> None:
    worse = designed(joints={JOINTS["W8"]: 60.0, JOINTS["W9"]: 60.0})
    moved = np.abs(worse.analysis.new.average_v - designed().analysis.new.average_v).max()
    assert moved > 1e-3  # else nothing would be shown by the comparison
    compare({"W8": 60.0, "W9": 60.0})


@_SLOW
@given(st.dictionaries(st.sampled_from(WIRES), st.floats(2.0, 400.0), min_size=1, max_size=8))
def test_measured_values_give_the_circuit_that_they_were_taken_from(joints: dict[str, float]) -> None:
    compare(joints)


def test_aged_joints_are_never_better_than_measured() -> None:
    worse = designed(tests=continuity_rows(designed(), {"W8": 900.0}))
    [part] = [part for part in worse.circuit.parts if part.name == "W8" and part.kind == "wire"]
    assert part.aged_joint_ohm >= part.joint_ohm > 0.89
    for one, other in zip(worse.circuit.ohm().tolist(), worse.circuit.ohm(aged=True).tolist(), strict=True):
        assert other >= one


# --- failed rows --------------------------------------------------------------------------------


@_SLOW
@given(st.dictionaries(st.sampled_from(WIRES), st.sampled_from(["high", "low", "open"]), max_size=6))
def test_failed_rows_are_found_at_their_cells_and_none_else(bad: dict[str, str]) -> None:
    design = designed()
    tests = {test.name: test for test in design.testing.continuity}
    changed: dict[str, Any] = {}
    for name, how in bad.items():
        low, high = tests[name].low_ohm, tests[name].high_ohm
        assert low is not None
        assert high is not None
        # a little over, or under by a quarter: no slip of the unit by any reading
        changed[name] = "OL" if how == "open" else high * 1001 if how == "high" else max(low * 750, 1e-6)
    rows = continuity_rows(design, changed)
    found = said(designed(tests=rows), "measured.resistance")
    assert {finding.subject[1] for finding in found} == set(bad)
    for finding in found:
        at = [row[1] for row in rows].index(finding.subject[1])
        assert finding.marks[0].place.cell == f"F{at + 2}"
        assert finding.variant == {"high": "", "low": "low", "open": "open"}[bad[finding.subject[1]]]


def test_failed_isolation_and_voltages_are_found_at_their_cells_and_none_else() -> None:
    design = designed()
    volts = {test.test: test for test in design.testing.voltages if test.high_v is not None}
    bad = next(iter(volts))
    rows = [
        *isolation_rows(design, {"I2": 0.5, "I5": "9.99"}),
        *voltage_rows(design, {bad: (volts[bad].high_v or 0.0) * 1001}),
    ]
    again = designed(tests=rows)
    cells = {f.marks[0].place.cell for check in ("measured.isolation", "measured.voltage") for f in said(again, check)}
    at = {row[0]: number for number, row in enumerate(rows, 2)}
    assert cells == {f"G{at['I2']}", f"G{at['I5']}", f"H{at[bad]}"}
    assert not said(again, "measured.resistance")
    assert not said(again, "measured.sheet")


def test_a_half_filled_sheet_is_read_as_far_as_it_is_filled() -> None:
    design = designed()
    rows = continuity_rows(design)
    for row in rows[::2]:
        row[5] = None
    again = designed(tests=rows)
    assert {reading.test.name for reading in again.testing.resistances} == {row[1] for row in rows[1::2]}
    assert not again.testing.unfit
    assert np.abs(again.analysis.new.average_v - design.analysis.new.average_v).max() < 1e-3


def test_a_sheet_of_another_issue_says_so_and_only_fitting_rows_count() -> None:
    reading, moved = designed(), dict(GENERATOR)
    moved["wires"] = moved["wires"].replace("W9,ECU,3,", "W9,ECU,13,").replace("W24,", "W44,")
    rows = continuity_rows(reading)
    sheets = sheet_of(rows, ["Issue of the list: 0123456789ab"])
    from measured_lists import rows_of
    from text_lists import read_rows

    design = design_of(with_tests(read_rows(rows_of(moved)), sheets), shipped_given(), shipped_states())
    found = {(f.subject[1], f.variant): f for f in said(design, "measured.sheet")}
    assert set(found) == {("Bench", "issue"), ("C9", "ends"), ("C24", "wire")}
    assert found["Bench", "issue"].marks[0].place.cell == "A1"
    assert found["C9", "ends"].evidence["a"] == "ECU 13"
    cause = ("measured.sheet", found["Bench", "issue"].subject)
    assert [found[key].follows_from for key in (("C9", "ends"), ("C24", "wire"))] == [cause, cause]
    assert found["Bench", "issue"].follows_from is None
    used = {name for _, name in design.testing.measured_ohms}
    assert "W9" not in used
    assert "W8" in used


def test_papers_show_what_was_read_back() -> None:
    from text_lists import read_rows

    from harnessdrc.bench.assembling import make_papers
    from harnessdrc.engine import run

    plain = designed()
    rows = [*continuity_rows(plain, {"W8": 80.0}), *isolation_rows(plain)[:3], *voltage_rows(plain)[:2]]
    measured = designed(tests=rows)
    from measured_lists import rows_of

    result = run(plain, shipped_ruleset(), load_checks(), read_rows(rows_of(GENERATOR)))
    papers = read_back(make_papers(plain, result, name="case"), measured)
    by_wire = {line.wire: line for line in papers.continuity}
    assert by_wire["W8"].measured_mohm == pytest.approx(80.0)
    assert by_wire["W8"].verdict == "fail"
    assert by_wire["W7"].verdict == "pass"
    assert [line.verdict for line in papers.isolation[:4]] == ["pass", "pass", "pass", ""]
    assert papers.isolation[0].above
    assert sum(line.measured_mv is not None for line in papers.voltages) == 2
