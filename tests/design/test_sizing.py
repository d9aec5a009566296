"""What heats wires, what they may carry where they lie, and the sizes they need: worked out again by other means."""

from __future__ import annotations

import dataclasses
import itertools
import math
import random
from pathlib import Path

import networkx as nx
import numpy as np
import pytest
from engine_looms import sample
from text_lists import design_from, shipped_given, shipped_states

import harnessdrc.sized
from harnessdrc.checks.registry import load_checks
from harnessdrc.design import Design
from harnessdrc.design.sizing import loads
from harnessdrc.design.sizing.bundles import ambient_of, zones_of
from harnessdrc.design.sizing.columns import is_size, rated_range, time_constant_s, wire_columns
from harnessdrc.design.sizing.needed import NEEDED_GOVERNS, allowed_drop_v, needed_sizes
from harnessdrc.design.sizing.paths import Paths
from harnessdrc.physics.ampacity import allowed_a, wire_degc
from harnessdrc.physics.free_air import free_air_a
from harnessdrc.physics.operation import coil_rms_a, injector_duty
from harnessdrc.physics.smallest_size import STANDARD_AWG
from harnessdrc.sized import sizing_outcome
from harnessdrc.units import Size

load_checks()

GIVEN = shipped_given()
SAMPLES = sorted((Path(__file__).parents[2] / "sample_wirelists").glob("*/*.xlsx"))
SAMPLES = [path for path in SAMPLES if "redline" not in path.name]
HEAD = "Wire,From,From cavity,To,To cavity,Signal,Length (m),Size,Branch,Insulation,Current (A)\n"


def pump(
    amps: float = 10.0,
    size: str = "14 AWG",
    zone: str = "engine bay",
    branch: str = "B1",
    insulation: str = "class B",
    length_m: str = "2",
    more: str = "",
    **given: float,
) -> Design:
    """A pump on one wire of a branch, with its ground elsewhere."""
    return design_from(
        given,
        wires=HEAD
        + f"W1,BATTERY,+,FUEL PUMP,1,Pump feed,{length_m},{size},{branch},{insulation},\n"
        + "W2,FUEL PUMP,2,CHASSIS STUD,,Pump ground,1,10 AWG,B2,class B,\n"
        + more,
        components=f"Component,Kind,Current (A)\nFUEL PUMP,fuel pump,{amps}\n",
        branches=f"Branch,From point,To point,Zone\nB1,P1,P2,{zone}\nB2,P2,P3,cabin\n",
        earth_points="Earth point,Body\nCHASSIS STUD,chassis\n",
    )  # fmt: skip


def signals(count: int) -> str:
    """So many more wires in branch B1 that carry nothing."""
    return "".join(f"S{n},ECU,{n},BOX,{n},Speed signal {n},1,22 AWG,B1,class B,\n" for n in range(count))


def engine(coils: int = 4, injectors: int = 4) -> Design:
    """Coils and injectors fed through a common wire each."""
    rows = ["F1,BATTERY,+,SPL C,,Coil feed,1,2.5,B1,class B,", "F2,BATTERY,+,SPL I,,Injector feed,1,1.5,B1,class B,"]
    for n in range(1, coils + 1):
        rows += [
            f"C{n},SPL C,,COIL {n},1,Coil feed,1,1,B1,class B,",
            f"G{n},COIL {n},3,HEAD STUD,,Coil ground,1,1,B1,class B,",
        ]
        rows += [f"T{n},ECU,{n},COIL {n},2,Coil {n} input,1,0.5,B1,class B,"]
    for n in range(1, injectors + 1):
        rows += [
            f"I{n},SPL I,,INJ {n},1,Injector feed,1,0.75,B1,class B,",
            f"D{n},INJ {n},2,ECU,{20 + n},Injector {n},1,0.75,B1,class B,",
        ]
    rows += [
        "P1,ECU,40,HEAD STUD,,Power ground,1,2.5,B1,class B,",
        "P2,BATTERY,+,ECU,41,Controller feed,1,1.5,B1,class B,",
    ]
    kinds = [f"COIL {n},coil" for n in range(1, coils + 1)] + [f"INJ {n},injector" for n in range(1, injectors + 1)]
    return design_from(
        wires=HEAD + "\n".join(rows) + "\n",
        components="Component,Kind\nECU,controller\n" + "\n".join(kinds) + "\n",
        splices="Splice\nSPL C\nSPL I\n",
        branches="Branch,From point,To point,Zone\nB1,P1,P2,engine bay\n",
        earth_points="Earth point,Body\nHEAD STUD,head\n",
    )


# --- what heats a wire ----------------------------------------------------------------------------


def test_a_wire_to_one_coil_has_the_effective_value_of_its_ramp() -> None:
    design = engine()
    expected = max(coil_rms_a(8.0, s.dwell_ms, s.rpm) for s in shipped_states() if s.rpm > 0)
    for name in ("C1", "G2"):
        load = design.sizing.of(name)
        assert load.current_a == pytest.approx(expected, rel=1e-3)
        assert load.average_a is not None and load.average_a < 0.8 * expected
        assert load.peak_a == pytest.approx(8.0, rel=1e-3)


def test_a_wire_to_one_injector_has_the_effective_value_of_its_square() -> None:
    expected = max(0.941 * math.sqrt(injector_duty(s.pulse_ms, s.rpm)) for s in shipped_states())
    assert engine().sizing.of("I3").current_a == pytest.approx(expected, rel=1e-3)


def test_a_common_feed_adds_the_variances_of_its_units() -> None:
    """Four coils that fire independently: simulated, with charging times drawn at random."""
    design = engine()
    load = design.sizing.of("F1")
    state = next(s for s in shipped_states() if s.name == load.state)
    rng = np.random.default_rng(7)
    duty = state.dwell_ms * state.rpm / 120_000
    total = np.zeros(400_000)
    for _ in range(4):
        phase = rng.random(len(total))
        total += np.where(phase < duty, 8.0 * phase / duty, 0.0)
    assert load.current_a == pytest.approx(min(math.sqrt((total**2).mean()), load.peak_a or 0.0), rel=0.01)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_effective_currents_lie_between_average_and_peak(path: Path) -> None:
    design = sample(path)
    sizing = design.sizing
    lasting = np.array([sizing.state_name(n) not in ("cranking",) for n in range(len(sizing.current_a))])
    checked = lasting & ~np.isnan(sizing.current_a)
    assert checked.sum() > 50
    assert (sizing.current_a <= sizing.peak_a * 1.00001)[checked].all()
    steady = design.analysis.part_currents.average
    parts = design.circuit.wire_parts
    running = [n for n, state in enumerate(design.states) if not state.starter]
    for part, average in zip(parts.tolist(), np.abs(steady[parts][:, running]).max(axis=1).tolist(), strict=True):
        if design.circuit.parts[part].wire.cores == 1:
            assert sizing.of(design.circuit.parts[part].name).current_a >= average * 0.99999


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_ways_by_the_fewest_steps_agree_with_shares_by_resistance_where_there_is_one_way(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    exact = sample(path).sizing.current_a
    monkeypatch.setattr(loads, "_EXACT", 0)
    tree = sample(path).sizing.current_a
    both = ~np.isnan(exact)
    assert (both == ~np.isnan(tree)).all()
    close = np.isclose(exact[both], tree[both], rtol=0.02, atol=0.01)
    assert close.mean() > 0.97
    assert (np.abs(exact - tree)[both] < 0.25 * np.maximum(exact[both], 1.0)).all()


def test_cranking_counts_by_the_time_it_lasts() -> None:
    """The same by stepping the heat balance of one metre of wire through the time."""
    mm2, seconds, amps = 25.0, 15.0, 180.0
    constant_s = float(time_constant_s(np.array([mm2]), np.array([np.nan]))[0])
    at_60 = float(free_air_a(60.0, csa_mm2=mm2))
    steady_k = 60.0 * (amps / at_60) ** 2
    rise_k, step_s = 0.0, 0.01
    heat_w = amps**2 * 1.7241e-8 * 1.02 * (1 + 0.00393 * 85) / (mm2 * 1e-6)
    loss_w_per_k = heat_w / steady_k
    for _ in range(round(seconds / step_s)):
        rise_k += step_s * (heat_w - loss_w_per_k * rise_k) / (3.45e6 * mm2 * 1e-6)
    counted = amps * math.sqrt(-math.expm1(-seconds / constant_s))
    assert 60.0 * (counted / at_60) ** 2 == pytest.approx(rise_k, rel=0.01)
    assert 100 < constant_s < 600


def test_a_thin_wire_warms_up_sooner_than_a_thick_one() -> None:
    sizes = np.array([0.35, 0.75, 1.5, 4.0, 16.0, 50.0])
    assert (np.diff(time_constant_s(sizes, np.full(6, np.nan))) > 0).all()
    gauges = np.array([22.0, 18.0, 12.0, 4.0, -1.0])
    assert (np.diff(time_constant_s(np.full(5, np.nan), gauges)) > 0).all()


def test_a_starter_cable_is_not_judged_as_if_it_were_cranked_for_hours() -> None:
    design = sample(SAMPLES[0].parents[1] / "clean" / "hill_climb_single_seater.xlsx")
    load = design.sizing.of("W103")
    assert load.state == "cranking"
    assert load.average_a is not None and load.current_a is not None
    assert load.average_a > 3 * load.current_a
    longer = Design(design.harness, {**design.given, "cranking_s": 1e6}, design.states).sizing.of("W103")
    assert longer.current_a == pytest.approx(load.average_a, rel=0.01)


def test_a_wire_outside_the_circuit_has_its_listed_current_and_a_signal_wire_none() -> None:
    design = pump(
        more="L1,BOX,1,OTHER BOX,1,Something,1,1,B1,class B,7\nS1,ECU,1,BOX,5,Speed signal,1,0.5,B1,class B,\n"
        "X1,BOX,2,OTHER BOX,2,Something else,1,1,B1,class B,\n"
    )
    assert (design.sizing.of("L1").current_a, design.sizing.of("L1").state) == (7.0, "as listed")
    assert design.sizing.of("S1").current_a == 0.0
    unknown = design.sizing.of("X1")
    assert unknown.current_a is None
    assert "current of wire X1" in unknown.lacking


def test_a_load_of_unknown_current_is_carried_as_a_range() -> None:
    text = {
        "wires": HEAD + "W1,BATTERY,+,WINCH,1,Load feed,2,14 AWG,B1,class B,\nW2,WINCH,2,CHASSIS STUD,,Load return,1,10 AWG,B1,class B,\n",
        "components": "Component,Kind,Current (A)\nWINCH,load,{}\n",
        "branches": "Branch,From point,To point,Zone\nB1,P1,P2,engine bay\n",
        "earth_points": "Earth point,Body\nCHASSIS STUD,chassis\n",
    }  # fmt: skip
    load = design_from(**{**text, "components": text["components"].format("")}).sizing.of("W1")
    assert load.current_a == pytest.approx(0.0, abs=1e-6)
    assert load.current_high_a == pytest.approx(GIVEN["unknown_current_high_a"], rel=1e-5)
    assert load.lacking == ("current of loads on wire W1",)
    known = design_from(**{**text, "components": text["components"].format(4)}).sizing.of("W1")
    assert known.current_high_a == known.current_a == pytest.approx(4.0, rel=1e-5)
    assert known.lacking == ()


# --- what it may carry ----------------------------------------------------------------------------


def test_a_wire_alone_with_everything_known_is_the_law_itself() -> None:
    load = pump().sizing.of("W1")
    assert load.lacking == ()
    assert load.allowed_low_a == load.allowed_a == load.allowed_high_a
    assert load.allowed_a == pytest.approx(4.19 * 15**0.482, rel=1e-5)
    assert load.conductor_degc == pytest.approx(85 + 15 * (10 / (4.19 * 15**0.482)) ** (1 / 0.482), abs=0.01)
    assert (load.bundle_wires, load.bundle_loading) == (1, pytest.approx(10 / (4.19 * 15**0.482), rel=1e-4))


def test_a_bundle_is_loaded_by_its_current_over_what_it_could_carry() -> None:
    design = pump(amps=12, more=signals(6))
    load = design.sizing.of("W1")
    room_a = 4.19 * 15**0.482 + 6 * 1.83 * 15**0.442
    assert load.bundle_wires == 7
    assert load.bundle_loading == pytest.approx(max(0.2, 12 / room_a), rel=1e-4)
    assert load.allowed_a == pytest.approx(float(allowed_a(85, 100, 7, 12 / room_a, awg=14)), rel=1e-5)
    assert load.conductor_degc == pytest.approx(float(wire_degc(12, 85, 7, 12 / room_a, awg=14)), rel=1e-4)


def test_of_several_branches_the_worst_counts() -> None:
    hot = pump(branch='"B1, B2"').sizing.of("W1")
    assert (hot.ambient_degc, hot.lacking) == (85, ())
    cool = pump(branch="B2").sizing.of("W1")
    assert cool.ambient_degc == 60
    assert cool.allowed_a > hot.allowed_a


def test_a_cable_counts_in_its_bundle_with_its_cores() -> None:
    colour = "Wire,From,From cavity,To,To cavity,Signal,Length (m),Size,Branch,Insulation,Colour\n"
    design = design_from(
        wires=colour + "W1,ECU,1,BOX,1,Speed signal,1,0.5,B1,class B,RD\nK1,ECU,,BOX,,Lamps,1,0.5,B1,class B,PWM\n",
        branches="Branch,From point,To point,Zone\nB1,P1,P2,bay\n",
    )
    assert [wire.cores for wire in design.harness.wires] == [1, 3]
    assert design.sizing.of("W1").bundle_wires == 4
    load = design.sizing.of("K1")
    assert (load.current_a, load.allowed_a, load.lacking) == (None, None, ("cores of cable K1",))


@pytest.mark.parametrize(
    ("change", "lacking"),
    [
        ({"size": ""}, "size of wire W1"), ({"branch": ""}, "branch of wire W1"), ({"zone": ""}, "zone of branch B1"),
        ({"zone": "somewhere"}, "zone of branch B1"), ({"insulation": ""}, "insulation of wire W1"),
        ({"insulation": "thin wall"}, "which insulation 'thin wall' is"),
        ({"insulation": "purple"}, "which insulation 'purple' is"),
    ],
)  # fmt: skip
def test_what_is_lacking_is_named_and_opens_the_range(change: dict[str, str], lacking: str) -> None:
    load = pump(**change).sizing.of("W1")
    assert load.lacking == (lacking,)
    assert load.allowed_low_a < load.allowed_high_a
    assert load.allowed_low_a <= load.allowed_a <= load.allowed_high_a


def test_every_wire_that_may_be_lies_within_the_range_of_one_of_which_nothing_is_known() -> None:
    nothing = pump(insulation="", branch="", more=signals(20)).sizing.of("W1")
    for zone, insulation, wires in itertools.product(
        ("cylinder head", "engine bay", "chassis", "cabin"), ("class A", "class B", "class C"), (0, 9, 32)
    ):
        load = pump(amps=3, zone=zone, insulation=insulation, more=signals(wires)).sizing.of("W1")
        if load.rated_degc - load.ambient_degc >= GIVEN["least_rise_k"]:
            assert nothing.allowed_low_a <= load.allowed_a * 1.0001, (zone, insulation, wires)
            assert load.allowed_a <= nothing.allowed_high_a * 1.0001, (zone, insulation, wires)


def test_nobody_lays_an_unknown_wire_where_it_cannot_be_but_a_known_one_is_told() -> None:
    assert pump(zone="cylinder head", insulation="").sizing.of("W1").allowed_low_a > 0
    assert pump(zone="", insulation="class A").sizing.of("W1").allowed_low_a > 0
    assert pump(zone="cylinder head", insulation="class A").sizing.of("W1").allowed_high_a == 0


def test_worse_conditions_never_allow_more() -> None:
    def allowed(**change: object) -> float:
        return pump(**{"amps": 5, **change}).sizing.of("W1").allowed_a or 0.0  # type: ignore[arg-type]

    zones = [allowed(zone=z, insulation="class C") for z in ("cylinder head", "engine bay", "cabin", "chassis")]
    assert zones == sorted(zones) and zones[0] < zones[-1]
    ratings = [allowed(insulation=f"class {c}") for c in "ABCDEF"]
    assert ratings == sorted(ratings) and ratings[0] < ratings[-1]
    crowd = [allowed(more=signals(n)) for n in (40, 20, 10, 4, 2)]
    assert crowd == sorted(crowd) and crowd[0] < crowd[-1]
    sizes = [allowed(size=f"{g} AWG") for g in (22, 20, 18, 16, 14, 12, 10, 8, 4, 2)]
    assert sizes == sorted(sizes) and len(set(sizes)) == 10


def test_the_order_of_the_rows_changes_nothing() -> None:
    design = engine()
    expected = {wire.name: design.sizing.of(wire.name) for wire in design.harness.wires}
    rows = engine().harness.wires
    shuffled = list(rows)
    random.Random(3).shuffle(shuffled)

    other = Design(dataclasses.replace(design.harness, wires=tuple(shuffled)), design.given, design.states)
    for name, load in expected.items():
        again = other.sizing.of(name)
        assert again.state == load.state
        assert again[:2] == pytest.approx(load[:2], rel=1e-5)
        assert again.allowed_a == pytest.approx(load.allowed_a, rel=1e-5)


def test_a_list_that_cannot_be_solved_is_judged_by_its_listed_currents() -> None:
    design = design_from(wires=HEAD + "W1,BOX,1,BOX 2,1,Something,1,1,B1,class B,6\nW2,BOX,2,BOX 2,2,More,1,1,,,\n")
    assert not design.analysis.solved
    assert design.sizing.of("W1").current_a == 6
    assert design.sizing.of("W2").current_a is None


def test_a_design_of_nothing_has_no_sizes() -> None:
    design = design_from(earth_points="Earth point,Body\nCHASSIS STUD,chassis\n")
    assert len(design.sizing.current_a) == 0
    outcome = sizing_outcome(design)
    assert (outcome.wires, outcome.copper_g, outcome.not_worked_out) == ((), 0.0, ())
    with pytest.raises(KeyError):
        design.sizing.of("W1")


# --- words and columns ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "zones"),
    [
        ("head", ("head",)), ("Engine bay", ("bay",)), ("engine", ("head",)), ("ENGINE ROOM", ("bay",)),
        ("cabin", ("cabin",)), ("under the dash", ("cabin",)), ("bay / cabin", ("bay", "cabin")), ("Motorraum", ("bay",)),
        ("chassis rail", ("chassis",)), ("boot", ("chassis",)), ("wheelhouse", ("cabin",)), ("moon", ()), ("header", ()),
        ("control panel", ("cabin",)), ("fuel tank", ("chassis",)),
    ],
)  # fmt: skip
def test_zones_are_found_by_their_words(text: str, zones: tuple[str, ...]) -> None:
    assert zones_of(text) == zones


def test_of_several_zones_the_hottest_counts() -> None:
    assert ambient_of("cabin and engine bay", GIVEN).usual_degc == GIVEN["ambient_bay_degc"]
    assert ambient_of("cabin and engine bay", GIVEN).known
    unknown = ambient_of(None, GIVEN)
    assert (unknown.low_degc, unknown.usual_degc, unknown.high_degc) == (50, 85, 110)
    assert not unknown.known


def test_insulations_that_may_be_several_have_their_range() -> None:
    thin = rated_range("thin wall", GIVEN)
    assert thin.low_degc < thin.high_degc
    assert not thin.known
    assert rated_range("TXL", GIVEN) == (125, 125, 125, True)
    assert rated_range(None, GIVEN) == (85, 105, 125, False)


def test_a_gauge_that_is_not_made_counts_as_not_known() -> None:
    assert is_size(Size("", "awg", awg=-3)) and is_size(Size("", "awg", awg=40))
    assert not is_size(Size("", "awg", awg=41)) and not is_size(Size("", "awg", awg=-4))
    columns = wire_columns(pump(size="").harness, GIVEN)
    assert columns.sized.tolist() == [False, True]


# --- ways -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_ways_are_those_with_the_fewest_steps(path: Path) -> None:
    design = sample(path)
    circuit = design.circuit
    tree = Paths(circuit, circuit.ohm()).tree
    graph = nx.Graph((p.a, p.b) for p in circuit.parts if p.kind != "battery")
    posts = [circuit.nodes[0], *(p.b for p in circuit.parts if p.kind == "battery")]
    steps = nx.multi_source_dijkstra_path_length(graph, [p for p in posts if p in graph])
    found = {circuit.nodes[n]: level for level, nodes in enumerate(tree.levels, 1) for n in nodes.tolist()}
    assert found == {node: count for node, count in steps.items() if count}


def test_a_wire_may_drop_the_part_of_the_limit_that_it_has_of_the_way() -> None:
    design = design_from(
        wires=HEAD
        + "W1,BATTERY,+,SPL A,,Feed,1,2.5,B1,class B,\nW2,SPL A,,FUEL PUMP,1,Pump feed,3,1.5,B1,class B,\n"
        + "W3,SPL A,,FAN,1,Fan feed,1,1.5,B1,class B,\nW4,FUEL PUMP,2,STUD,,Pump ground,2,1.5,B1,class B,\n"
        + "W5,FAN,2,STUD,,Fan ground,1,1.5,B1,class B,\nW6,SPL A,,SPL B,,Tail,9,1.5,B1,class B,\n",
        components="Component,Kind\nFUEL PUMP,fuel pump\nFAN,fan\n",
        splices="Splice\nSPL A\nSPL B\n",
        earth_points="Earth point,Body\nSTUD,chassis\n",
    )
    lengths = design.sizing.length_m.astype(float)
    found = allowed_drop_v(design, lengths, 0.5)
    # what is not copper of wires is taken off: the drop by the rule less that of the copper
    copper_ohm = {p.name: p.ohm for p in design.circuit.parts if p.wire is not None}
    left = {}
    for load in design.loads.all:
        drop = design.drops.feed(load)
        assert drop is not None
        left[load.device.name] = 0.5 - drop.drop_v + sum(w.current_a * copper_ohm[w.wire.name] for w in drop.wires)
    to_pump, to_fan = left["FUEL PUMP"], left["FAN"]
    joints_v = {w.wire.name: w.drop_v - w.current_a * copper_ohm[w.wire.name] for w in design.drops.wires}
    joints_v.setdefault("W6", 0.0)
    assert found[:3].tolist() == pytest.approx([min(to_pump / 4, to_fan / 2), to_pump * 3 / 4, to_fan / 2])
    assert found[5] == pytest.approx((0.5 - joints_v["W1"] - joints_v["W6"]) * 9 / 10)
    assert found[3] < 0.5 and found[4] < 0.5
    assert allowed_drop_v(design, np.where(lengths == 9, np.nan, lengths), 0.5)[1] == pytest.approx(to_pump * 3 / 4)


# --- needed sizes ---------------------------------------------------------------------------------


def stands_its_short_circuit(design: Design, number: int, gauge: int) -> bool:
    """Whether a wire of this gauge stands a fault at its end until its fuse has cleared; True where no size would."""
    from harnessdrc.design.sizing.faults import faults_of, short_time_degc
    from harnessdrc.design.sizing.protection import protection_of
    from harnessdrc.physics.conductor import awg_conductor
    from harnessdrc.physics.fuse_times import clearing_time_s, let_through_a2s
    from harnessdrc.physics.short_circuit import withstand_a2s

    protection, loops, wire = protection_of(design), faults_of(design).loops, design.harness.wires[number]
    fuses = [f for f in protection.fuses if f.families and number in protection.wires_behind.get(f.item.key, ())]
    own_ohm = loops.own_ohm[number]
    if not fuses or math.isnan(own_ohm) or wire.length_m is None:
        return True

    def stands(size: int) -> bool:
        conductor = awg_conductor(size)
        amps = GIVEN["fault_v"] / (
            loops.ohm[number, 0] - own_ohm + conductor.ohm_per_m(GIVEN["conductor_degc"]) * wire.length_m
        )
        most = withstand_a2s(conductor.area_mm2, *short_time_degc(wire.insulation).worst)
        times = [clearing_time_s(family, fuses[0].rating_a, amps)[1] for family in fuses[0].families]
        if any(seconds is None or seconds > 5.0 for seconds in times):
            return False
        return all(let_through_a2s(family, fuses[0].rating_a, amps) <= most * 1.0001 for family in fuses[0].families)

    return stands(gauge) or not any(map(stands, STANDARD_AWG))


@pytest.mark.parametrize("path", SAMPLES[:2], ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_a_needed_gauge_holds_and_the_next_thinner_does_not(path: Path) -> None:
    from harnessdrc.design.sizing.fed_fuses import fed_fuses
    from harnessdrc.design.sizing.protection import fuse_of_wire
    from harnessdrc.physics.conductor import awg_conductor

    design = sample(path)
    sizing, fuses = design.sizing, {**fed_fuses(design).held_a, **fuse_of_wire(design)}
    all_on = {drop.wire.name: drop.current_a for drop in design.drops.wires}
    awg, _ = needed_sizes(design, 0.5)
    limits_v = allowed_drop_v(design, sizing.length_m.astype(float), 0.5)
    reasons = set()
    for number, wire in enumerate(design.harness.wires):
        if np.isnan(awg.size[number]):
            continue
        load = sizing.at(number)

        def does(gauge: int) -> bool:
            bundle = (load.bundle_wires, load.bundle_loading)  # noqa: B023
            most = float(allowed_a(load.ambient_degc, load.rated_degc, *bundle, awg=gauge))  # noqa: B023
            if most < max(load.current_a, fuses.get(wire.name, 0.0)) * 0.9999:  # noqa: B023
                return False
            hot = float(wire_degc(load.current_a, load.ambient_degc, *bundle, awg=gauge))  # noqa: B023
            ohm = awg_conductor(gauge).ohm_per_m(max(hot, design.given["conductor_degc"])) * wire.length_m  # noqa: B023
            amps = max(load.average_a, all_on.get(wire.name, 0.0))  # noqa: B023
            if gauge > 22 or amps * ohm > limits_v[number] * 1.0001:  # noqa: B023
                return False
            return stands_its_short_circuit(design, number, gauge)  # noqa: B023

        size = int(awg.size[number])
        why = NEEDED_GOVERNS[awg.governs[number]]
        reasons.add(why)
        assert does(size), wire.name
        if why == "no fuse":
            assert size == wire.size.awg, wire.name
            continue
        thinner = [g for g in STANDARD_AWG if g > size][-1:]
        if why != "smallest" and thinner:
            assert not does(thinner[0]), wire.name
        if why == "smallest":
            assert size == 22
    assert {"smallest", "drop"} <= reasons


def test_a_fuse_asks_for_the_size_that_carries_its_rating() -> None:
    design = design_from(
        wires=HEAD
        + "W0,BATTERY,+,FUSE 1,1,Feed,0.2,10 AWG,B1,class B,\nW1,FUSE 1,2,FUEL PUMP,1,Pump feed,1,14 AWG,B1,class B,\n"
        + "W2,FUEL PUMP,2,STUD,,Pump ground,1,10 AWG,B2,class B,\n",
        components="Component,Kind,Current (A)\nFUEL PUMP,fuel pump,5\n",
        fuses="Fuse,Rating (A)\nFUSE 1,20\n",
        branches="Branch,From point,To point,Zone\nB1,P1,P2,cabin\nB2,P2,P3,cabin\n",
        earth_points="Earth point,Body\nSTUD,chassis\n",
    )
    [line] = [line for line in sizing_outcome(design).wires if line.wire == "W1"]
    assert line.governs == "fuse"
    load, gauge = design.sizing.of("W1"), int(line.needed_awg.split()[0])
    bundle = (load.bundle_wires, load.bundle_loading)
    assert allowed_a(60, 100, *bundle, awg=gauge) >= 20 > allowed_a(60, 100, *bundle, awg=gauge + 2)


def test_no_needed_size_without_current_or_length() -> None:
    [line, _] = sizing_outcome(pump(length_m="")).wires
    assert (line.needed_awg, line.needed_mm2, line.governs, line.drop_mv) == ("", "", "", None)
    assert "length of wire W1" in line.lacking


# --- what the renderers get -----------------------------------------------------------------------


def test_lines_stand_in_the_order_of_the_list_with_their_figures() -> None:
    outcome = sizing_outcome(pump())
    first, second = outcome.wires
    assert (first.wire, second.wire, first.size) == ("W1", "W2", "14 AWG")
    assert first.allowed_a == pytest.approx(4.19 * 15**0.482, rel=1e-5)
    assert first.margin == pytest.approx(first.allowed_a / 10 - 1)
    # solid 14 AWG has 2.0809 mm2; 2 % lay, 8.89 g/cm3, 2 m
    assert first.copper_g == pytest.approx(2.0809 * 1.02 * 8.89 * 2, rel=1e-3)
    assert outcome.copper_g == pytest.approx(first.copper_g + second.copper_g, rel=1e-6)
    assert outcome.needed_g == pytest.approx(first.needed_g + second.needed_g, rel=1e-6)
    assert first.mark is not None and first.mark.place.cell == "H2"
    # resistance of 14 AWG at its own temperature
    hot = 1 + 0.00393 * (first.conductor_degc - 20)
    assert first.drop_mv == pytest.approx(10 * 2 * 17.241 * 1.02 / 2.0809 * hot, rel=1e-3)


def test_without_data_the_least_of_the_range_is_told() -> None:
    design = pump(zone="")
    [line, _] = sizing_outcome(design).wires
    assert line.allowed_a == design.sizing.of("W1").allowed_low_a
    assert line.lacking == ("zone of branch B1",)
    [sizeless, _] = sizing_outcome(pump(size="")).wires
    assert (sizeless.size, sizeless.allowed_a, sizeless.margin, sizeless.copper_g) == ("", None, None, None)
    assert sizeless.needed_mm2 != ""


def test_of_long_lists_the_worst_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = sizing_outcome(engine())
    monkeypatch.setattr(harnessdrc.sized, "_MANY_WIRES", 5)
    monkeypatch.setattr(harnessdrc.sized, "_MOST_LINES", 3)
    short = sizing_outcome(engine())
    worst = sorted((line for line in whole.wires if line.margin is not None), key=lambda line: line.margin)[:3]
    assert {line.wire for line in short.wires} == {line.wire for line in worst}
    assert [line.wire for line in short.wires] == [w.wire for w in whole.wires if w in short.wires]
    assert any("not told one by one" in sentence for sentence in short.not_worked_out)
    assert short.copper_g == whole.copper_g


def test_a_failure_of_the_sizes_is_said_and_the_run_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    from text_lists import read_text, shipped_ruleset

    import harnessdrc.engine
    from harnessdrc.engine import run

    def fails(design: Design, **limits: float) -> None:
        raise ZeroDivisionError("by nothing")

    monkeypatch.setattr(harnessdrc.engine, "sizing_outcome", fails)
    reading = read_text({"wires": HEAD + "W1,BATTERY,+,FUEL PUMP,1,Pump feed,1,14 AWG,B1,class B,\n"})
    result = run(pump(), shipped_ruleset(), load_checks(), reading)
    [sentence] = result.sizing.not_worked_out
    assert "ZeroDivisionError" in sentence
    assert result.rules


def test_thin_air_takes_off_what_the_altitude_curve_says() -> None:
    """20,000 ft: 0.91 (AC 43.13-1B figure 11-5, read)."""
    low, high = (pump(height_m=metres).sizing.of("W1") for metres in (0.0, 6096.0))
    assert high.allowed_a == pytest.approx(0.91 * low.allowed_a, rel=1e-6)
    assert high.conductor_degc > low.conductor_degc
