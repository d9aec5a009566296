"""The settled circuit: machines by hand, balance at every node and around every loop, and against a plain solution."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest
from engine_looms import SAMPLE_FILES, EngineLoom, sample
from plain_circuits import plain_average_a
from text_lists import design_from, shipped_given

from harnessdrc.design import Design
from harnessdrc.design.analysis.settled import Settled

HEAD = "Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal\n"
BARE = dict.fromkeys(("contact_mohm", "stud_mohm", "device_inner_mohm", "head_block_mohm", "fuse_mohm", "splice_mohm"), 0.0)
COLD = {**BARE, "conductor_degc": 20.0}
STATES = ("key on", "cranking", "idle", "cruise", "full load", "fan cut-in")


def designs() -> list[Design]:
    made = [EngineLoom(seed, lacking=0.1 if seed % 3 == 0 else 0.0).design() for seed in range(12)]
    return [*(sample(path) for path in SAMPLE_FILES), *made]


def amps_of(design: Design, name: str, settled: Settled | None = None) -> dict[str, float]:
    """Average current of one port by state."""
    settled = settled or design.analysis.new.settled
    [port] = [n for n, port in enumerate(design.circuit.ports) if port.name == name]
    return dict(zip(STATES, settled.average_a[port].tolist(), strict=True))


def terminal_v(design: Design, name: str) -> dict[str, float]:
    """Voltage over one port by state."""
    settled = design.analysis.new.settled
    [port] = [n for n, port in enumerate(design.circuit.ports) if port.name == name]
    feed, back = design.circuit.port_nodes[port]
    return dict(zip(STATES, (settled.volts[feed] - settled.volts[back]).tolist(), strict=True))


# --- laws ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("joints", ["new", "aged"])
def test_current_and_power_balance_and_no_voltage_is_left_around_a_loop(joints: str) -> None:
    loops_seen = 0
    for design in designs():
        circuit = design.circuit
        settled = getattr(design.analysis, joints).settled
        first, second = circuit.ends.T
        feed, back = circuit.port_nodes.T
        for volts, amps, port_a in (
            (settled.volts, settled.amps, settled.average_a), (settled.steady_volts, settled.steady_amps, settled.steady_a)
        ):  # fmt: skip
            known = ~np.isnan(amps).any(axis=1)
            for state in range(volts.shape[1]):
                into = np.zeros(len(circuit.nodes))
                np.add.at(into, second[known], amps[known, state])
                np.add.at(into, first[known], -amps[known, state])
                np.add.at(into, back, port_a[:, state])
                np.add.at(into, feed, -port_a[:, state])
                unsure = set(first[~known].tolist()) | set(second[~known].tolist())
                sure = [n for n in range(len(into)) if n not in unsure]
                assert np.abs(into[sure]).max() < 1e-8 * np.abs(amps[known]).max()
                emf_v = np.where(circuit.emf > 0, settled.emf_v[state], 0.0)
                drop_v = volts[first, state] - volts[second, state] + emf_v
                held = settled.ohm * np.nan_to_num(amps[:, state])
                np.testing.assert_allclose(drop_v[known], held[known], atol=1e-9)
                made_w = float((emf_v * np.nan_to_num(amps[:, state])).sum())
                lost_w = float((held * np.nan_to_num(amps[:, state])).sum())
                taken_w = float((port_a[:, state] * (volts[feed, state] - volts[back, state])).sum())
                assert made_w == pytest.approx(lost_w + taken_w, rel=1e-9, abs=1e-9)
        graph = nx.MultiGraph()
        for number, (a, b) in enumerate(circuit.ends.tolist()):
            graph.add_edge(a, b, part=number)
        for cycle in nx.cycle_basis(nx.Graph(graph)):
            total = np.zeros(settled.volts.shape[1])
            for a, b in zip(cycle, [*cycle[1:], cycle[0]], strict=True):
                part = min(data["part"] for data in graph[a][b].values())
                forward = 1.0 if circuit.ends[part][0] == a else -1.0
                rise = circuit.emf[part] * settled.emf_v
                total += forward * (settled.ohm[part] * np.nan_to_num(settled.amps[part]) - rise)
            if not any(np.isnan(settled.amps[d["part"]]).any() for a, b in zip(cycle, [*cycle[1:], cycle[0]], strict=True)
                       for d in graph[a][b].values()):  # fmt: skip
                np.testing.assert_allclose(total, 0.0, atol=1e-8)
                loops_seen += 1
    assert loops_seen > 25


@pytest.mark.parametrize("joints", ["new", "aged"])
def test_machines_settle_as_in_a_plain_solution(joints: str) -> None:
    """Starters, heaters, electronics and alternators, stamped into the matrix and solved again and again."""
    seen: set[str] = set()
    for design in designs():
        analysis = design.analysis
        settled = getattr(analysis, joints).settled
        for number, state in enumerate(analysis.states):
            average = analysis.currents.average[:, number]
            amps, low = plain_average_a(design.circuit, settled.ohm, average, state, design.given)
            np.testing.assert_allclose(settled.average_a[:, number], amps, rtol=1e-7, atol=1e-8)
            assert settled.low_supply[:, number].tolist() == low.tolist()
            seen |= {p.kind for p, a in zip(design.circuit.ports, amps.tolist(), strict=True) if a}
            seen |= {p.figures.model for p in design.circuit.ports if p.figures}
    assert {"load", "sensor", "starter", "alternator", "resistance", "electronics", "ramp", "pulsed"} <= seen


# --- the starter ---------------------------------------------------------------------------------


def starter(strap_mohm: float) -> Design:
    return design_from(
        COLD,
        wires=HEAD + "W1,Battery,+,Starter,30,25,1,Starter feed\n",
        components="Component,Kind,Place,Current (A),Earthed by its case\nStarter,starter,engine,200,yes\n",
        straps=f"Strap,From body,To body,Resistance (mohm)\nS1,engine,battery negative,{strap_mohm}\n",
    )


@pytest.mark.parametrize("strap_mohm", [0.5, 1.0, 5.0, 50.0, 500.0, 50_000.0])
def test_a_starter_is_a_resistance_behind_a_bad_strap(strap_mohm: float) -> None:
    """10 V / 200 A = 50 mohm; battery 12.6 V behind 10 mohm; 25 mm2 of 1 m is 0.743 mohm by ISO 6722."""
    design = starter(strap_mohm)
    loop_ohm = 0.050 + 0.010 + 0.000743 + strap_mohm / 1000
    current_a = 12.6 / loop_ohm
    assert amps_of(design, "Starter") == pytest.approx({**dict.fromkeys(STATES, 0.0), "cranking": current_a}, abs=1e-9)
    assert terminal_v(design, "Starter")["cranking"] == pytest.approx(current_a * 0.050)
    # a fixed 200 A through 500 mohm would make 100 V of it
    assert 0.0 <= terminal_v(design, "Starter")["cranking"] < 12.6
    volts = design.analysis.new.settled.volts[design.circuit.node_number[("body", "engine", "")], 1]
    assert volts == pytest.approx(current_a * strap_mohm / 1000)


def test_a_bad_strap_lowers_the_current() -> None:
    currents = [amps_of(starter(mohm), "Starter")["cranking"] for mohm in (0.1, 1, 10, 100, 1000, 1e4, 1e5)]
    assert currents == sorted(currents, reverse=True)
    assert currents[0] > 200 > 1 > currents[-1] > 0


def test_a_heater_draws_what_its_voltage_lets_it() -> None:
    """13.5 V / 5 A = 2.7 ohm at 12.6 V behind 10 mohm and 2 x 7.6 mohm."""
    design = design_from(
        COLD,
        wires=HEAD + "W1,Battery,+,Seat heater,1,2.5,1,Heater feed\nW2,Seat heater,2,Battery,-,2.5,1,Heater ground\n",
        components="Component,Kind,Current (A)\nSeat heater,heater,5\n",
    )
    assert amps_of(design, "Seat heater")["key on"] == pytest.approx(12.6 / (2.7 + 0.010 + 2 * 0.0076))


# --- electronics ---------------------------------------------------------------------------------


def electronics(feed_mohm: float) -> Design:
    metres = feed_mohm / 2 / 7.6
    return design_from(
        COLD,
        wires=HEAD + f"W1,Battery,+,Display,1,2.5,{metres!r},Display feed\nW2,Display,2,Battery,-,2.5,{metres!r},Ground\n",
        components="Component,Kind,Current (A)\nDisplay,display,4\n",
    )


@pytest.mark.parametrize("feed_mohm", [10.0, 500.0, 1000.0, 1130.0, 1150.0, 2000.0, 20_000.0])
def test_electronics_draw_their_current_down_to_their_lowest_voltage_and_fade_below(feed_mohm: float) -> None:
    """Display: 4 A down to 8 V; 12.6 V less 4 A x (10 mohm + wires) is 8 V at 1140 mohm; below that 8 V / 4 A = 2 ohm."""
    design = electronics(feed_mohm)
    behind_ohm = 0.010 + feed_mohm / 1000
    fades = 12.6 - 4 * behind_ohm < 8.0
    wanted_a = 12.6 / (behind_ohm + 2.0) if fades else 4.0
    assert amps_of(design, "Display")["key on"] == pytest.approx(wanted_a)
    assert terminal_v(design, "Display")["key on"] == pytest.approx(12.6 - wanted_a * behind_ohm)
    [port] = [n for n, port in enumerate(design.circuit.ports) if port.name == "Display"]
    assert bool(design.analysis.new.settled.low_supply[port, 0]) == fades
    # current and voltage meet where the fading begins
    assert electronics(1140.0).analysis.new.settled.average_a[port, 0] == pytest.approx(4.0, rel=1e-3)


# --- the alternator ------------------------------------------------------------------------------


def alternator(rating: str, fan_a: float, wire_m: float = 0.01, battery_m: float = 1.0) -> Design:
    return design_from(
        COLD,
        wires=HEAD + f"W1,Battery,+,Alternator,B+,25,{wire_m!r},Alternator output\n"
        f"W2,Battery,+,Lamps,1,25,{battery_m!r},Lamp feed\nW3,Lamps,2,Battery,-,25,{battery_m!r},Lamp ground\n",
        components="Component,Kind,Place,Current (A),Earthed by its case\n"
        f"Alternator,alternator,engine,{rating},yes\nLamps,load,,{fan_a},\n",
        straps="Strap,From body,To body,Resistance (mohm)\nS1,engine,battery negative,1\n",
    )


def battery_a(design: Design, state: str) -> float:
    """Current into the battery, A."""
    [part] = [n for n, part in enumerate(design.circuit.parts) if part.kind == "battery"]
    return -float(design.analysis.new.settled.amps[part, STATES.index(state)])


def test_an_alternator_gives_the_loads_and_the_charge() -> None:
    design = alternator("150", 30.0)
    given_a = amps_of(design, "Alternator")
    assert given_a["key on"] == given_a["cranking"] == 0.0
    assert given_a["cruise"] == pytest.approx(-(30 + 5))
    assert given_a["full load"] == pytest.approx(-(30 + 10))
    assert battery_a(design, "cruise") == pytest.approx(5.0)
    assert battery_a(design, "key on") == pytest.approx(-30.0)


def test_a_weak_alternator_stays_at_its_rating() -> None:
    """At full load it gives what it can, and the battery gives the rest."""
    design = alternator("60", 100.0)
    assert amps_of(design, "Alternator")["full load"] == pytest.approx(-60.0)
    assert battery_a(design, "full load") == pytest.approx(-40.0)
    parts = [design.analysis.new.settled.average_a[:, 4].sum()]
    assert parts[0] == pytest.approx(40.0)


def test_an_alternator_stays_at_its_regulated_voltage() -> None:
    """A long thin way to the battery: 14.4 V behind 5 mohm instead of the current, by hand.

    At cruise 14.2 V + I x (10 mohm + wire 25 mm2, 40 m = 29.72 mohm + strap 1 mohm + 5 mohm) = 14.4 V.
    """
    design = alternator("150", 0.0, wire_m=40.0)
    wanted_a = 0.2 / (0.010 + 40 * 0.000743 + 0.001 + 0.005)
    # 5 A would make 14.4 V no more than 14.2 + 5 x 0.0407 = 14.404 V: just over
    assert 14.2 + 5 * (0.010 + 40 * 0.000743 + 0.001) > 14.4
    assert amps_of(design, "Alternator")["cruise"] == pytest.approx(-wanted_a)
    assert terminal_v(design, "Alternator")["cruise"] == pytest.approx(14.4 - wanted_a * 0.005)
    assert amps_of(design, "Alternator")["idle"] == pytest.approx(-0.8 / (0.010 + 40 * 0.000743 + 0.001 + 0.005))


def test_a_battery_above_the_regulated_voltage_is_not_drawn_from_by_the_alternator() -> None:
    design = design_from(
        {**COLD, "alternator_v": 13.8},
        **{
            "wires": HEAD + "W1,Battery,+,Alternator,B+,25,1,Alternator output\n"
            "W2,Battery,+,Lamps,1,25,1,Lamp feed\nW3,Lamps,2,Battery,-,25,1,Lamp ground\n",
            "components": "Component,Kind,Place,Current (A),Earthed by its case\n"
            "Alternator,alternator,engine,90,yes\nLamps,load,,1,\n",
        },
    )
    assert amps_of(design, "Alternator")["cruise"] == 0.0
    assert battery_a(design, "cruise") == pytest.approx(-1.0)


def test_two_alternators_share_the_work() -> None:
    design = design_from(
        COLD,
        wires=HEAD + "W1,Battery,+,Alternator 1,B+,25,1,Alternator output\nW2,Battery,+,Alternator 2,B+,25,1,Alternator output\n"
        "W3,Battery,+,Lamps,1,25,1,Lamp feed\nW4,Lamps,2,Battery,-,25,1,Lamp ground\n",
        components="Component,Kind,Place,Current (A),Earthed by its case\nAlternator 1,alternator,engine,90,yes\n"
        "Alternator 2,alternator,engine,90,yes\nLamps,load,,30,\n",
    )
    assert amps_of(design, "Alternator 1")["full load"] == pytest.approx(-20.0)
    assert amps_of(design, "Alternator 2")["full load"] == pytest.approx(-20.0)
    assert battery_a(design, "full load") == pytest.approx(10.0)


def test_given_machines_stand_in_and_are_listed() -> None:
    design = design_from(
        COLD,
        wires=HEAD + "W1,Battery,+,Lamps,1,2.5,1,Lamp feed\nW2,Lamps,2,Engine stud,,2.5,1,Lamp ground\n",
        components="Component,Kind,Current (A)\nLamps,load,5\n",
        earth_points="Earth point,Body\nEngine stud,engine\n",
    )
    kinds = [port.kind for port in design.circuit.ports]
    assert kinds.count("starter") == kinds.count("alternator") == 1
    assert {a.what for a in design.circuit.assumptions} == {"starter", "alternator"}
    given = shipped_given()
    # strap 1 mohm, battery 10 mohm, starter 10 V over its usual current; lamps of 5 A beside it
    [port] = [n for n, port in enumerate(design.circuit.ports) if port.kind == "starter"]
    usual_a = design.analysis.currents.average[port, 1]
    held = given["starter_v"] / usual_a
    assert amps_of(design, "starter")["cranking"] == pytest.approx(
        (12.6 - 5 * (0.010 + 0.001)) / (held + 0.010 + 0.001), rel=1e-9
    )
