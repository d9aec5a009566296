"""Expected resistances against the tables, by hand, and as a range that every sound wire lies in."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from measured_lists import GENERATOR, designed

from harnessdrc.bench.continuity import continuity_lines
from harnessdrc.papers import ContinuityLine

REFERENCE = Path(__file__).parents[3] / "shared" / "reference"
needs_reference = pytest.mark.skipif(not REFERENCE.is_dir(), reason="the reference tables stand beside the repository only")

HEAD = "Wire,From,From cavity,To,To cavity,Size,Length (m),Signal\n"
NO_JOINTS = {"contact_mohm": 0.0, "splice_mohm": 0.0, "stud_mohm": 0.0, "bolted_from_mm2": 500.0}


def lines_of(rows: str, **given_values: float) -> dict[str, ContinuityLine]:
    """Lines of a wire list by wire."""
    return {line.wire: line for line in continuity_lines(designed({"wires": HEAD + rows}, given_values))}


def reference(name: str) -> list[dict[str, str]]:
    """Rows of a reference table."""
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


# --- against tables -----------------------------------------------------------------------------


@needs_reference
def test_every_metric_size_is_expected_at_the_maximum_of_its_table() -> None:
    """ISO 6722, maxima of plain copper at 20 °C (from memory, as the table says of itself)."""
    rows = reference("iso6722_copper.csv")
    assert len(rows) > 20
    text = "".join(f"W{n},X1,{n},X2,{n},{row['mm2']} mm2,10,Signal {n}\n" for n, row in enumerate(rows))
    lines = lines_of(text, **NO_JOINTS)
    for number, row in enumerate(rows):
        line = lines[f"W{number}"]
        assert line.expected_mohm == pytest.approx(10 * float(row["max_mohm_per_m_20C_plain"]), rel=1e-9)
        nominal_mohm = 10 * 17.241 / float(row["mm2"])
        # 3 % of length, 5 K of 0.393 %, and 1 % of the meter below copper of the whole area without any lay
        low = nominal_mohm * 0.97 * (1 - 5 * 0.00393) * 0.99 - (0.1 if line.four_wire else 10.0)
        assert line.low_mohm == pytest.approx(max(0.0, low), rel=1e-6)


@needs_reference
def test_every_gauge_is_expected_by_astm_b258_with_the_lay_of_its_strands() -> None:
    """ohm_per_1000ft of the NBS tables is of solid wire; 1.02 is the lay of concentric stranding (ASTM B8, memory)."""
    rows = [row for row in reference("awg_copper.csv") if row["ohm_per_1000ft_computed_b258_d"] and int(row["n"]) <= 30]
    assert len(rows) > 20
    text = "".join(f"W{n},X1,{n},X2,{n},{row['awg']} AWG,10,Signal {n}\n" for n, row in enumerate(rows))
    lines = lines_of(text, **NO_JOINTS)
    for number, row in enumerate(rows):
        solid_mohm = float(row["ohm_per_km_20C_computed_exact_d"]) * 10
        line = lines[f"W{number}"]
        assert line.expected_mohm == pytest.approx(1.02 * solid_mohm, rel=5e-4)
        # gauged road-vehicle cable may have 8 % less copper
        most = 1.02 * solid_mohm / 0.92 * 1.03 * (1 + 5 * 0.00393) * 1.01 + (0.1 if line.four_wire else 10.0)
        assert line.high_mohm == pytest.approx(most, rel=5e-4)


def test_a_wire_with_its_joints_by_hand() -> None:
    """2 m of 1 mm² at 18.5 mΩ/m (ISO 6722, memory), a contact of 2 mΩ at one end and a ring of 0.1 at the other."""
    line = lines_of("W1,ECU,1,Head stud,,1 mm2,2,Power ground\nW2,ECU,2,TPS,1,1 mm2,4,Signal\n")["W1"]
    assert line.expected_mohm == pytest.approx(2 * 18.5 + 2.0 + 0.1)
    assert line.four_wire
    assert line.high_mohm == pytest.approx((37.0 * 1.03 * 1.01965 + 2 * 2.1) * 1.01 + 0.1, rel=1e-6)
    assert line.low_mohm == pytest.approx(2 * 17.241 * 0.97 * 0.98035 * 0.99 - 0.1, rel=1e-6)


def test_a_warmer_bench_expects_more_of_copper_and_no_more_of_joints() -> None:
    text = "W1,ECU,1,TPS,1,1 mm2,2,Signal\n"
    cold, warm = (lines_of(text, test_degc=t)["W1"].expected_mohm or 0.0 for t in (20.0, 30.0))
    assert warm - 4.0 == pytest.approx((cold - 4.0) * 1.0393)


def test_measurements_and_solution_do_not_change_what_is_expected() -> None:
    plain = {line.wire: line.expected_mohm for line in continuity_lines(designed())}
    rows = [["C8", "W8", "ECU 2", "Head stud", None, 90, None, None]]
    assert {line.wire: line.expected_mohm for line in continuity_lines(designed(tests=rows))} == plain


# --- which meter --------------------------------------------------------------------------------


def test_grounds_straps_and_wires_below_fifty_milliohm_want_four_leads() -> None:
    lines = {line.wire: line for line in continuity_lines(designed())}
    four = {name for name, line in lines.items() if line.four_wire}
    assert {"W7", "W8", "W9", "W10", "W21", "W24", "strap G1", "strap G2"} <= four  # on studs
    assert {"W13", "W14", "W15"} <= four  # sensor ground
    for name, line in lines.items():
        assert line.expected_mohm is not None
        assert name in four or line.expected_mohm >= 50.0
    assert not lines["W18"].four_wire  # 2.2 m of 0.5 mm²: 86 mΩ, on no ground


# --- what is lacking ----------------------------------------------------------------------------


def test_every_wire_and_strap_has_one_line_and_says_what_it_lacks() -> None:
    rows = "W1,ECU,1,TPS,1,,1,Signal\nW2,ECU,2,TPS,2,0.5 mm2,,Signal\nW3,ECU,3,open,,0.5 mm2,1,Shield drain\nW4,ECU,4,TPS,4,0.5 mm2,1,Signal\n"
    lines = lines_of(rows)
    assert list(lines) == ["W1", "W2", "W3", "W4"]
    assert lines["W1"].lacking == ("size of wire W1",)
    assert lines["W2"].lacking == ("length of wire W2",)
    assert lines["W3"].lacking == ("an end that is not cut back",)
    assert lines["W3"].b == "open"
    for name in ("W1", "W2", "W3"):
        assert (lines[name].expected_mohm, lines[name].low_mohm, lines[name].high_mohm) == (None, None, None)
    assert lines["W4"].lacking == ()
    straps = designed({**GENERATOR, "straps": "Strap,From body,To body,Size (mm2),Length (m)\nG1,engine,battery negative,,0.5\n"})
    strap = continuity_lines(straps)[-1]
    assert strap.wire == "strap G1"
    assert strap.lacking == ("resistance, or size and length, of strap G1",)


def test_tests_are_numbered_in_the_order_of_the_list() -> None:
    tests = [line.test for line in continuity_lines(designed())]
    assert tests == [f"C{number}" for number in range(1, len(tests) + 1)]


# --- any wire -----------------------------------------------------------------------------------

SIZES = st.one_of(
    st.sampled_from([0.13, 0.22, 0.35, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 95.0]).map(lambda s: f"{s:g} mm2"),
    st.floats(0.2, 90.0).map(lambda s: f"{s:.2f} mm2"),
    st.integers(2, 30).map(lambda n: f"{n} AWG"),
)


@settings(max_examples=80, deadline=None)
@given(SIZES, st.floats(0.05, 30.0))
def test_what_is_expected_passes_and_so_does_sound_copper(size: str, length_m: float) -> None:
    line = lines_of(f"W1,ECU,1,TPS,1,{size},{length_m:.3f},Signal\n")["W1"]
    assert line.expected_mohm is not None
    assert line.low_mohm is not None
    assert line.high_mohm is not None
    assert 0.0 <= line.low_mohm < line.expected_mohm < line.high_mohm
    assert math.isfinite(line.high_mohm)
    rest_mohm = 0.1 if line.four_wire else 10.0
    # twice as much wire, or a bad joint of half of it, does not pass
    assert 2.2 * (line.expected_mohm + rest_mohm) > line.high_mohm
