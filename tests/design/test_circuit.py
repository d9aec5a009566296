"""The circuit of odd lists: what is left out is named, nothing is invented, and laws of the whole hold."""

from __future__ import annotations

import random

import numpy as np
import pytest
from engine_looms import EngineLoom
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from text_lists import design_from, shipped_given, shipped_states

from harnessdrc.design import Design
from harnessdrc.design.analysis.limits import OffsetLimits
from harnessdrc.design.circuit import Circuit
from harnessdrc.solved import network_outcome

HEAD = "Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal\n"
FAN = "Component,Kind,Current (A)\nFAN,fan,6\n"
WAYS = "W1,Battery,+,FAN,1,2.5,1,Fan feed\nW2,FAN,2,Battery,-,2.5,1,Fan ground\n"


def reasons(design: Design) -> list[str]:
    return [item.reason for item in design.analysis.left_out]


def sound(design: Design) -> bool:
    """Every figure that is given out is finite and no further from zero than a few batteries; whether solved at all."""
    outcome = network_outcome(design, OffsetLimits())
    analysis = design.analysis
    assert len(outcome.not_solved) == len(analysis.left_out)
    assert all(sentence.endswith(".") and "{" not in sentence for sentence in outcome.not_solved)
    if not analysis.solved:
        assert outcome.not_solved
        assert not outcome.states
        return False
    assert len(outcome.states) == len(shipped_states())
    assert np.isfinite(outcome.node_v).all()
    assert np.isfinite(analysis.circuit.ohm()).all()
    assert (analysis.circuit.ohm() >= 0).all()
    return True


# --- lists that cannot be, or hardly -------------------------------------------------------------


@pytest.mark.parametrize(
    ("size", "length"),
    [("2.5", "0"), ("2.5", "-1"), ("0.01", "1"), ("5000", "1"), ("2.5", "10 km"), ("2.5", "10000"), ("", ""), ("x", "y")],
)
def test_absurd_wires(size: str, length: str) -> None:
    design = design_from(
        wires=HEAD + f"W1,Battery,+,FAN,1,{size},{length},Fan feed\nW2,FAN,2,Battery,-,2.5,1,Fan ground\n", components=FAN
    )
    assert sound(design)
    [part] = [p for p in design.circuit.parts if p.name == "W1"]
    assert part.ohm >= 0
    if length in ("-1", "y", ""):
        assert part.uncertain
        assert "length of wire W1" in part.lacking
    assert part.low_ohm <= part.ohm <= part.high_ohm


def test_a_ring_of_ideal_parts() -> None:
    """Three wires of no length around three splices, all joints of nothing: whatever flows, nothing drops."""
    design = design_from(
        dict.fromkeys(("contact_mohm", "stud_mohm", "splice_mohm"), 0.0),
        wires=HEAD + WAYS.replace("Battery,+,FAN", "Splice 1,,FAN") + "W3,Battery,+,Splice 1,,2.5,1,Feed\n"
        "W4,Splice 1,,Splice 2,,2.5,0,Feed\nW5,Splice 2,,Splice 3,,2.5,0,Feed\nW6,Splice 3,,Splice 1,,2.5,0,Feed\n",
        components=FAN,
    )
    assert sound(design)
    state = [s.name for s in design.analysis.states].index("full load")
    parts = design.circuit.parts
    [feed] = [n for n, p in enumerate(parts) if p.name == "W3"]
    assert abs(design.analysis.new.settled.amps[feed, state]) == pytest.approx(6.0)


def test_a_component_without_figures_is_named() -> None:
    design = design_from(
        wires=HEAD + WAYS.replace("FAN", "GADGET"), components="Component,Kind,Current (A)\nGADGET,load,\n"
    )
    assert sound(design)
    assert [(item.reason, item.name) for item in design.analysis.left_out] == [("no current", "GADGET")]


def test_two_batteries_behind_an_isolator_help_each_other() -> None:
    design = design_from(
        wires=HEAD + WAYS + "W3,Battery,+,Isolator,1,25,0.5,Battery feed\nW4,Isolator,2,Battery 2,+,25,0.5,Battery feed\n"
        "W5,Battery 2,-,Battery,-,25,1,Battery negative\n",
        components=FAN + "Battery 2,battery,\nIsolator,switch,\n",
    )
    assert sound(design)
    batteries = [n for n, p in enumerate(design.circuit.parts) if p.kind == "battery"]
    assert len(batteries) == 2
    state = 4
    amps = design.analysis.new.settled.amps[batteries, 0]
    assert design.analysis.states[state].name == "full load"
    assert amps.sum() == pytest.approx(design.analysis.new.settled.average_a[:, 0].sum())


def test_a_service_battery_of_its_own() -> None:
    design = design_from(
        wires=HEAD + WAYS + "W3,Service battery,+,LAMP,1,2.5,1,Lamp feed\nW4,LAMP,2,Service battery,-,2.5,1,Lamp ground\n",
        components=FAN + "Service battery,battery,\nLAMP,load,5\n",
    )
    assert sound(design)
    by_name = {p.name: n for n, p in enumerate(design.circuit.parts)}
    amps = design.analysis.new.settled.amps[:, 0]
    assert abs(amps[by_name["W3"]]) == pytest.approx(5.0)
    batteries = {p.name: abs(amps[n]) for n, p in enumerate(design.circuit.parts) if p.kind == "battery"}
    assert sorted(batteries.values())[-1] == pytest.approx(5.0)


def test_two_batteries_in_series() -> None:
    design = design_from(
        wires=HEAD + "W1,Battery 1,+,Battery 2,-,25,0.3,Link\nW2,Battery 2,+,FAN,1,2.5,1,Fan feed\n"
        "W3,FAN,2,Battery 1,-,2.5,1,Fan ground\n",
        components=FAN + "Battery 1,battery,\nBattery 2,battery,\n",
    )
    assert not sound(design)
    assert reasons(design) == ["in series"]


@pytest.mark.parametrize(
    ("name", "column"), [("Battery 24V", ""), ("Battery 48 V", ""), ("Battery", "24"), ("Battery", "48 V"), ("Battery 6V", "")]
)
def test_another_voltage(name: str, column: str) -> None:
    design = design_from(
        wires=HEAD + WAYS.replace("Battery", name),
        components=f"Component,Kind,Current (A),Voltage (V)\nFAN,fan,6,\n{name},battery,,{column}\n",
    )
    assert not sound(design)
    assert reasons(design) == ["another voltage"]


@pytest.mark.parametrize(("name", "column"), [("Battery 12V", ""), ("Battery", "12"), ("Battery", "14.4 V"), ("Battery 2", "")])
def test_twelve_volts_are_solved(name: str, column: str) -> None:
    design = design_from(
        wires=HEAD + WAYS.replace("Battery", name),
        components=f"Component,Kind,Current (A),Voltage (V)\nFAN,fan,6,\n{name},battery,,{column}\n",
    )
    assert sound(design)


def test_a_battery_shorted_to_ground() -> None:
    design = design_from(
        wires=HEAD + WAYS + "W3,Battery,+,Engine stud,,25,1,Battery feed\n", components=FAN,
        earth_points="Earth point,Body\nEngine stud,engine\n",
    )  # fmt: skip
    assert not sound(design)
    assert reasons(design) == ["battery shorted"]


def test_a_fused_net_shorted_to_ground_is_left_out_alone() -> None:
    design = design_from(
        wires=HEAD + WAYS + "W3,Battery,+,Fuse 1,1,2.5,1,Battery feed\nW4,Fuse 1,2,LAMP,1,1,1,Fused feed\n"
        "W5,Fuse 1,2,Engine stud,,1,1,Fused feed\nW6,LAMP,2,Battery,-,1,1,Lamp ground\n",
        components=FAN + "LAMP,load,5\n", earth_points="Earth point,Body\nEngine stud,engine\n",
    )  # fmt: skip
    assert sound(design)
    assert "net shorted" in reasons(design)
    by_name = {p.name: n for n, p in enumerate(design.circuit.parts)}
    assert abs(design.analysis.new.settled.amps[by_name["W2"], 4]) == pytest.approx(6.0)
    assert np.nanmax(np.abs(design.analysis.new.settled.amps[:, 4])) < 50


def test_no_battery_at_all() -> None:
    design = design_from(
        wires=HEAD + "W1,Fuse 1,2,FAN,1,2.5,1,Fan feed\nW2,FAN,2,Engine stud,,2.5,1,Fan ground\n", components=FAN,
        earth_points="Earth point,Body\nEngine stud,engine\n",
    )  # fmt: skip
    assert sound(design)
    assert {a.what for a in design.circuit.assumptions} >= {"battery", "feed"}


def test_no_earth_point_and_no_battery_negative() -> None:
    design = design_from(wires=HEAD + "W1,Battery,+,FAN,1,2.5,1,Fan feed\nW2,FAN,2,Splice 1,,2.5,1,Fan ground\n", components=FAN)
    assert not sound(design) or reasons(design)
    assert "no battery negative" in reasons(design) or "no way home" in reasons(design)


def test_a_load_without_a_way_home_is_named() -> None:
    design = design_from(
        wires=HEAD + WAYS + "W3,Battery,+,LAMP,1,1,1,Lamp feed\nW4,LAMP,2,Splice 5,,1,1,Lamp ground\n",
        components=FAN + "LAMP,load,5\n",
    )
    assert sound(design)
    assert [(i.reason, i.name) for i in design.analysis.left_out] == [("no way home", "LAMP")]


def test_an_empty_list() -> None:
    assert not sound(design_from(wires=HEAD + "W1,SPARE 1,1,SPARE 2,1,1,1,Spare\n"))


# --- laws of the whole ---------------------------------------------------------------------------


def outcome(design: Design) -> dict[tuple[object, ...], tuple[np.ndarray, np.ndarray, np.ndarray]]:
    new = design.analysis.new
    return {
        (v.kind, v.device.name): (new.average_v[n], new.low_v[n], new.high_v[n]) for n, v in enumerate(design.analysis.victims)
    }  # fmt: skip


def same(one: Design, other: Design, names: dict[str, str] | None = None) -> int:
    first, second = outcome(one), outcome(other)
    renamed = {(kind, (names or {}).get(str(name), name)): values for (kind, name), values in first.items()}
    assert set(renamed) == set(second)
    for key, values in renamed.items():
        for left, right in zip(values, second[key], strict=True):
            np.testing.assert_allclose(right, left, rtol=1e-6, atol=1e-9, err_msg=str(key))
    return len(renamed)


seeds = st.integers(0, 10_000)
few = settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))


@few
@given(seeds)
def test_the_order_of_rows_changes_nothing(seed: int) -> None:
    loom = EngineLoom(seed, lacking=0.1)
    before = loom.design()
    chance = random.Random(seed)
    for rows in loom.tables.values():
        chance.shuffle(rows)
    # the first controller of a list is its main one
    loom.tables["components"].sort(key=lambda row: row[0] != "ECU")
    assert same(before, loom.design()) > 2


@few
@given(seeds)
def test_swapping_the_ends_of_wires_changes_nothing(seed: int) -> None:
    loom = EngineLoom(seed, lacking=0.1)
    before = loom.design()
    chance = random.Random(seed)
    loom.tables["wires"] = [
        (row[0], row[3], row[4], row[1], row[2], *row[5:]) if chance.random() < 0.5 else row for row in loom.tables["wires"]
    ]
    same(before, loom.design())


@few
@given(seeds)
def test_new_names_change_nothing(seed: int) -> None:
    loom = EngineLoom(seed)
    before = loom.design()
    names = {"Splice 1": "Splice 81", "Splice 2": "Splice 75", "Splice 30": "Splice 3", "Fan": "Cooling fan", "Splice 11": "Splice 5"}
    loom.tables = {
        table: [tuple(names.get(str(cell), cell) for cell in row) for row in rows] for table, rows in loom.tables.items()
    }
    same(before, loom.design(), names)


@few
@given(seeds)
def test_a_wire_in_two_halves_at_a_splice_is_the_same_wire(seed: int) -> None:
    loom = EngineLoom(seed)
    nothing = {"splice_mohm": 0.0, "splice_aged_mohm": 0.0}
    before = loom.design(nothing)
    chance = random.Random(seed)
    number = chance.choice([n for n, row in enumerate(loom.tables["wires"]) if float(str(row[5])) < 5])
    name, *ends, size, length, signal, amps = loom.tables["wires"][number]
    half = float(str(length)) / 2
    loom.tables["wires"][number] = (name, ends[0], ends[1], "Splice 77", "", size, half, signal, amps)
    loom.tables["wires"].append((f"{name}b", "Splice 77", "", ends[2], ends[3], size, half, signal, amps))
    same(before, loom.design(nothing))


@few
@given(seeds)
def test_a_wire_in_parallel_lowers_the_resistance_between_its_ends(seed: int) -> None:
    loom = EngineLoom(seed)
    before = loom.design()
    row = random.Random(seed).choice(loom.tables["wires"])
    loom.tables["wires"].append(("W900", *row[1:]))
    after = loom.design()

    def between(design: Design) -> float:
        [part] = [p for p in design.circuit.parts if p.name == row[0]] or [None]
        if part is None:
            return 0.0
        number = design.circuit.node_number
        return float(design.analysis.new.settled.network.resistance_between_ohm(number[part.a], number[part.b]))

    assert between(after) <= between(before) * (1 + 1e-9)


@pytest.mark.parametrize("scale", [0.5, 3.0])
def test_currents_scale_offsets_where_nothing_is_a_resistance(scale: float) -> None:
    """Key on, fixed loads alone; the batteries' own voltage drives nothing through the grounds."""

    def made(factor: float) -> Design:
        return design_from(
            wires=HEAD + "W1,Battery,+,FAN,1,2.5,1,Fan feed\nW2,FAN,2,Splice 1,,2.5,1,Fan ground\n"
            "W3,Splice 1,,Engine stud,,2.5,1,Power ground\nW4,SEAT,2,Splice 1,,0.75,1,Power ground\n"
            "W5,Battery,+,SEAT,1,1,1,Battery feed\nW6,ECU,2,Engine stud,,1,1,Power ground\nW7,Battery,+,ECU,1,1,1,Battery feed\n"
            "W8,ECU,7,SEAT,7,0.5,1,CAN high\nW9,ECU,8,SEAT,8,0.5,1,CAN low\n",
            components="Component,Kind,Current (A)\n"
            f"ECU,controller,{0.4 * factor}\nSEAT,controller,{0.5 * factor}\nFAN,fan,{2 * factor}\n",
            earth_points="Earth point,Body\nEngine stud,engine\n",
        )

    once, other = made(1.0), made(scale)
    state = [s.name for s in once.analysis.states].index("key on")
    for values in ("average_v", "low_v", "high_v"):
        first, second = (getattr(d.analysis.new, values)[:, state] for d in (once, other))
        np.testing.assert_allclose(second, first * scale, rtol=1e-9, atol=1e-12)
        assert np.abs(first).max() > 1e-6


def test_what_the_circuit_has_hangs_together() -> None:
    for seed in range(10):
        circuit: Circuit = EngineLoom(seed).design().circuit
        assert len(circuit.nodes) == len(set(circuit.nodes))
        assert circuit.ends.max() == len(circuit.nodes) - 1
        assert set(circuit.ends.ravel().tolist()) == set(range(len(circuit.nodes)))
        assert all(0 <= n < len(circuit.nodes) for n in circuit.port_nodes.ravel().tolist())
        assert (circuit.ohm(aged=True) >= circuit.ohm() - 1e-12).all()
        wires = {w.name for w in circuit.harness.wires}
        assert {circuit.parts[n].name for n in circuit.wire_parts} <= wires
    assert shipped_given()["battery_inner_mohm"] > 0
