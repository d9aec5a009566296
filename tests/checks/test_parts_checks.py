"""Crimps, seals and connectors against published values, and what holds whatever the list."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from text_lists import design_from, read_text

from harnessdrc.checks.registry import CHECKS, Outcome, load_checks
from harnessdrc.design import Design
from harnessdrc.design.crimpfits import compare, in_range, outer_of
from harnessdrc.findings import Finding, Undecided
from harnessdrc.harness.build import build_harness
from harnessdrc.harness.parts import fitted_at
from harnessdrc.physics.conductor import awg_diameter_mm
from harnessdrc.physics.crimping import copper_range_mm2, joined_awg, joined_mm2
from harnessdrc.units import Size, parse_size

load_checks()
SHARED = Path(__file__).parents[2] / ".." / "shared" / "reference"
needs_shared = pytest.mark.skipif(not SHARED.is_dir(), reason="the reference tables beside the repository are not here")

TERMINAL = "Part,Kind,Smallest wire,Largest wire\nT,terminal,{},{}\n"


def said(check: str, design: Design) -> list[Outcome]:
    """All that a check without limits says."""
    return list(CHECKS[check].run(design, None))


def two_in_one(first: str, second: str, least: str, most: str) -> list[Outcome]:
    """Two wires in one crimp of a terminal with this range."""
    wires = (
        "Wire,From,From cavity,From terminal,To,Size,Signal\n"
        f"W1,ECU,1,T,G1,{first},Power ground\nW2,ECU,1,T,G1,{second},Power ground\n"
    )
    return said("terminal.two_wires", design_from(wires=wires, parts=TERMINAL.format(least, most)))


# --- two wires in one crimp: NASA-STD-8739.4, add circular mil areas, use the next larger size (read) -------------


@pytest.mark.parametrize(
    ("gauges", "circular_mils", "together"),
    [((20, 20), 2043, 16), ((22, 22), 1284, 18), ((24, 24), 808, 20), ((20, 22), 1664, 16), ((18, 18), 3248, 14),
     ((16, 16), 5166, 12), ((22, 22, 22), 1927, 16)],
)  # fmt: skip
def test_gauges_add_by_their_circular_mils(gauges: tuple[int, ...], circular_mils: int, together: int) -> None:
    """Circular mils are the squared diameter in thousandths of an inch (ASTM B258)."""
    total = sum((awg_diameter_mm(gauge) / 0.0254) ** 2 for gauge in gauges)
    assert total == pytest.approx(circular_mils, rel=2e-3)
    assert joined_awg([(awg_diameter_mm(gauge) / 2) ** 2 * 3.141592653589793 for gauge in gauges]) == together


@pytest.mark.parametrize(
    ("areas", "together"), [((0.5, 0.5), 1.0), ((0.5, 0.75), 1.25), ((0.75, 1.0), 2.0), ((2.5, 2.5), 6.0), ((95.0, 95.0), None)]
)
def test_metric_sizes_add_by_area(areas: tuple[float, ...], together: float | None) -> None:
    assert joined_mm2(areas) == together


def test_the_sum_is_held_against_the_range_through_a_list() -> None:
    assert isinstance(two_in_one("20 AWG", "20 AWG", "22 AWG", "18 AWG")[0], Finding)
    assert two_in_one("20 AWG", "20 AWG", "20 AWG", "16 AWG") == []
    assert two_in_one("22 AWG", "22 AWG", "22 AWG", "18 AWG") == []
    assert two_in_one("0.5 mm2", "0.5 mm2", "0.5 mm2", "1 mm2") == []
    assert isinstance(two_in_one("0.5 mm2", "0.75 mm2", "0.5 mm2", "1 mm2")[0], Finding)


@given(st.lists(st.sampled_from([0.35, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0]), min_size=1, max_size=4), st.floats(0.13, 4.0))
def test_one_wire_more_is_never_less(areas: list[float], more: float) -> None:
    alone, together = joined_mm2(areas), joined_mm2([*areas, more])
    assert alone is not None and (together is None or together >= alone >= sum(areas) * (1 - 1e-6))


# --- ranges ---------------------------------------------------------------------------------------------------------


@needs_shared
def test_a_metric_label_has_the_copper_that_its_resistance_says() -> None:
    """ISO 6722 maxima, table of the reference: 17.241 mohm mm2/m over the resistance lies in the range of the label."""
    with (SHARED / "iso6722_copper.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    checked = 0
    for row in rows:
        size = float(row["mm2"])
        copper = 17.241 / float(row["max_mohm_per_m_20C_plain"])
        low, high = copper_range_mm2(size, None)
        assert low <= copper <= high, size
        checked += 1
    assert checked > 20


@needs_shared
def test_outer_diameters_of_a_list_are_those_read_in_the_cable_sheet() -> None:
    """Cable sheet that cites ISO 6722 class B, read: the most that cable of a size has over its insulation."""
    with (SHARED / "thinwall_cable_read.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["provenance"] == "read"]
    text = "Wire,From,To,Size (mm2)\n" + "".join(f"W{n},A{n},B{n},{row['mm2']}\n" for n, row in enumerate(rows))
    wires = {wire.name: wire for wire in build_harness(read_text({"wires": text})).wires}
    assert len(wires) >= 10
    for number, row in enumerate(rows):
        outer = outer_of(wires[f"W{number}"], {})
        assert outer is not None
        assert outer.high_m * 1e3 == pytest.approx(float(row["max_OD_mm"]))
        assert 0.0 < outer.low_m < outer.high_m


@pytest.mark.parametrize(("awg", "inches"), [(20, 0.050), (18, 0.060), (16, 0.068), (14, 0.085), (12, 0.103)])
def test_thin_aircraft_cable_is_no_thinner_than_a_gauge_may_be(awg: int, inches: float) -> None:
    """AS22759/32 (ETFE) nominal diameters over the insulation, from memory: usual in motor sport, so not ruled out."""
    wires = build_harness(read_text({"wires": f"Wire,From,To,Size\nW1,A,B,{awg} AWG\n"})).wires
    outer = outer_of(wires[0], {})
    assert outer is not None
    assert outer.low_m <= inches * 0.0254 <= outer.high_m


def test_one_inch_in_a_column_of_millimetres_makes_no_inches_of_the_others() -> None:
    """A strip length of 4 inches is none."""
    text = "Part,Kind,Strip length,Smallest insulation,Largest insulation\n"
    rows = "T-1,terminal,4,1.2,1.7\nT-2,terminal,0.16 in,0.05 in,0.07 in\nT-3,terminal,4.5,1.4,2.1\n"
    wires = "Wire,From,To,Size\nW1,A,B,0.5 mm2\n"
    parts = build_harness(read_text({"wires": wires, "parts": text + rows})).parts
    assert [round((parts[key].strip_m or 0.0) * 1e3, 3) for key in sorted(parts)] == [4.0, 4.064, 4.5]
    assert [round((parts[key].insulation_max_m or 0.0) * 1e3, 3) for key in sorted(parts)] == [1.7, 1.778, 2.1]
    inches = rows.replace("4,1.2,1.7", "0.15,0.05,0.07").replace("4.5,1.4,2.1", "0.18,0.06,0.09")
    parts = build_harness(read_text({"wires": wires, "parts": text + inches})).parts
    assert [round((parts[key].strip_m or 0.0) / 0.0254, 3) for key in sorted(parts)] == [0.15, 0.16, 0.18]


@pytest.mark.parametrize(
    ("one", "other", "verdict"),
    [("20 AWG", "0.5 mm2", "unclear"), ("16 AWG", "1 mm2", "above"), ("16 AWG", "1.5 mm2", "unclear"),
     ("16 AWG", "2.5 mm2", "below"), ("20 AWG", "20 AWG", "in"), ("22 AWG", "20 AWG", "below"), ("2/0 AWG", "1/0 AWG", "above"),
     ("0.75 mm2", "0.75 mm2", "in"), ("1 mm2", "18 AWG", "above")],
)  # fmt: skip
def test_sizes_of_two_systems_are_compared_only_where_it_is_clear(one: str, other: str, verdict: str) -> None:
    """16 AWG has 1.31 mm2, sold as 1.5; 20 AWG 0.52, sold as 0.5 (ASTM B258)."""
    assert compare(parse_size(one), parse_size(other)) == verdict


_SIZES = st.one_of(
    st.sampled_from([Size("", "mm2", csa_mm2=a) for a in (0.22, 0.35, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0)]),
    st.sampled_from([Size("", "awg", awg=n) for n in (24, 22, 20, 18, 16, 14, 12, 10, 8)]),
)
_OPPOSITE = {"below": "above", "above": "below", "in": "in", "unclear": "unclear"}


@given(_SIZES, _SIZES)
def test_comparing_the_other_way_round_says_the_opposite(one: Size, other: Size) -> None:
    assert compare(one, other) == _OPPOSITE[compare(other, one)]


@settings(max_examples=40, deadline=None)
@given(_SIZES, _SIZES, _SIZES)
def test_a_wider_range_never_refuses_what_a_narrower_one_takes(size: Size, least: Size, most: Size) -> None:
    narrow = design_from(wires="Wire,From,To\nW1,A,B\n", parts=TERMINAL.format(least, most)).harness.parts["t"]
    wide = design_from(wires="Wire,From,To\nW1,A,B\n", parts="Part,Kind,Largest wire\nT,terminal," + f"{most}\n").harness.parts["t"]
    if in_range(size, narrow) == "in":
        assert in_range(size, wide) == "in"


# --- what stands at an end ------------------------------------------------------------------------------------------


def test_the_wires_row_counts_before_the_pin_list() -> None:
    design = design_from(
        wires="Wire,From,From cavity,From terminal,From seal,To,To cavity\nW1,ECU,1,T-1,,CLT,1\nW2,ECU,2,,,CLT,2\n"
        "W3,ECU,3,bare,,CLT,3\n",
        pins="Connector,Cavity,Terminal,Seal\nECU,1,T-9,SL-1\nECU,2,T-2,SL-2\nECU,3,T-3,\nCLT,1,C-1,\n",
    )
    found = {wire.name: fitted_at(design.harness, wire, wire.a) for wire in design.harness.wires if wire.a}
    assert [(f.terminal, f.seal, f.place.sheet, f.place.cell) for f in found.values()] == [
        ("T-1", "SL-1", "wires", "D2"), ("T-2", "SL-2", "pins", "C3"), (None, None, "wires", "C4"),
    ]  # fmt: skip
    first = design.harness.wires[0]
    assert first.b is not None
    assert fitted_at(design.harness, first, first.b).terminal == "C-1"


def test_a_wire_listed_at_both_its_ends_has_the_terminals_of_both() -> None:
    design = design_from(
        wires="Wire,From,From cavity,From terminal,To,To cavity,Colour\nW1,ECU,1,T-1,CLT,2,RD\nW1,CLT,2,C-1,ECU,1,RD\n"
    )
    (wire,) = design.harness.wires
    assert wire.fitted.a_terminal == "T-1"
    assert wire.fitted.b_terminal == "C-1"


def test_a_list_without_parts_has_nothing_looked_at() -> None:
    design = design_from(wires="Wire,From,From cavity,To,To cavity,Size (mm2)\nW1,ECU,1,CLT,1,0.5\n")
    names = [name for name in CHECKS if name.split(".")[0] in ("part", "terminal", "seal", "connector")]
    assert len(names) == 15
    for name in names:
        assert list(CHECKS[name].subjects(design, None)) == []
        assert said(name, design) == []
    assert design.fitting.ends == ()


def test_without_a_parts_table_each_part_is_undecided_once() -> None:
    design = design_from(
        wires="Wire,From,From cavity,From terminal,To,To cavity\nW1,ECU,1,T-1,CLT,1\nW2,ECU,2,t-1,CLT,2\nW3,ECU,3,T-2,CLT,3\n"
    )
    outcomes = said("part.not_listed", design)
    assert [(o.subject, o.missing) for o in outcomes if isinstance(o, Undecided)] == [
        (("part", "T-1"), ("a parts table",)), (("part", "T-2"), ("a parts table",)),
    ]  # fmt: skip
    assert len(outcomes) == 2
    assert said("terminal.wire_size", design) == []


# --- how parts tables are written -----------------------------------------------------------------------------------


def test_rows_full_of_words_that_head_other_tables_stay_rows() -> None:
    reading = read_text(
        {
            "wires": "Wire,From,To\nW1,A,B\n",
            "parts": "Part No,Type,Series,Gender,Min wire (AWG),Max wire (AWG),Ways,Sealed\n"
            "socket,terminal,connector,socket,20,18,,\npin,connector,seal,pin,,,6,yes\nwire,cable,wire,,18,18,,\n",
        }
    )
    (table,) = reading.of("parts")
    assert table.frame["part"].tolist() == ["socket", "pin", "wire"]
    assert table.frame["kind"].tolist() == ["terminal", "connector", "cable"]
    assert table.frame["cavities"].tolist() == [None, 6, None]
    assert table.frame["sealed"].tolist() == [None, True, None]


@pytest.mark.parametrize(
    ("heading", "cell", "metres"),
    [("Largest insulation (mm)", "1.7", 0.0017), ("Largest insulation (in)", "0.067", 0.067 * 0.0254),
     ("OD max", "0.067 in", 0.067 * 0.0254), ("Max insulation", "1.7", 0.0017), ("Max insulation", "0.067", 0.067 * 0.0254)],
)  # fmt: skip
def test_insulation_in_millimetres_and_inches(heading: str, cell: str, metres: float) -> None:
    reading = read_text({"wires": "Wire,From,To\nW1,A,B\n", "parts": f"Part,Kind,{heading}\nT,terminal,{cell}\n"})
    assert reading.of("parts")[0].frame["insulation_max_m"].tolist()[0] == pytest.approx(metres)
    assert not reading.unreadable


@pytest.mark.parametrize(
    ("column", "cell", "expected"),
    [("Kind", "thingummy", "terminal"), ("Sex", "neuter", "pin"), ("Cavities", "many", "whole number"), ("Pack", "a few", "pieces"),
     ("Largest wire", "Size 16", "not the size of the contact"), ("Sealed", "perhaps", "yes or no"), ("Bore (mm)", "0", "zero")],
)  # fmt: skip
def test_what_is_not_understood_stands_with_its_cell(column: str, cell: str, expected: str) -> None:
    heads = ["Part", "Strip length (mm)", "Cavities", "Kind", "Sex", "Pack", "Largest wire", "Sealed", "Bore (mm)"]
    row = {"Part": "T", "Kind": "terminal", column: cell}
    text = ",".join(heads) + "\n" + ",".join(row.get(head, "") for head in heads) + "\n"
    (bad,) = read_text({"wires": "Wire,From,To\nW1,A,B\n", "parts": text}).unreadable
    assert bad.text == cell
    assert bad.place.cell == f"{'ABCDEFGHI'[heads.index(column)]}2"
    assert expected in bad.expected


def test_a_component_list_headed_part_is_no_parts_table() -> None:
    reading = read_text({"wires": "Wire,From,To\nW1,ECU,B\n", "components": "Part,Kind,Current (A)\nECU,controller,1\n"})
    assert not reading.of("parts")
    assert reading.of("components")[0].frame["component"].tolist() == ["ECU"]


def test_connectors_with_rows_of_their_own_are_the_devices() -> None:
    design = design_from(
        wires="Wire,From,From cavity,To,To cavity\nW1,ECU-A,1,CLT,1\nW2,J2,1,CLT,2\n",
        pins="Connector,Cavity,Component,Signal\nJ2,1,ECU,Sensor ground\n",
        components="Component,Kind,Part\nECU-A,connector,H-1\nECU,controller,\nJ2,connector,H-2\nCLT,temperature sensor,\n",
    )
    items = design.harness.items
    assert {key: (items[key].owner, items[key].kind) for key in ("ecu-a", "j2")} == {
        "ecu-a": ("ecu", "controller"), "j2": ("ecu", "controller"),
    }  # fmt: skip
    assert set(design.fitting.connectors) == {"ecu-a", "j2"}
