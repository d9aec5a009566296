"""Reserves of joints against solving again: with all loads held, and with machines that give way."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from engine_looms import SAMPLE_FILES, EngineLoom, sample
from plain_circuits import PlainCircuit, instants, plain_average_a
from text_lists import design_from

from harnessdrc.design import Design
from harnessdrc.design.analysis import offsets as offsets_module
from harnessdrc.design.analysis.limits import OffsetLimits
from harnessdrc.design.analysis.offsets import Offsets
from harnessdrc.design.analysis.reserves import Side, weakest

OPEN_OHM = 1e3
ALL = 10_000


@cache
def made(seed: int) -> Design:
    return EngineLoom(seed, lacking=0.1 if seed % 2 else 0.0).design()


def all_designs() -> list[Design]:
    return [*(sample(path) for path in SAMPLE_FILES), *(made(seed) for seed in range(10))]


def sides_of(design: Design, limits: OffsetLimits | None = None) -> list[Side]:
    found: list[Side] = []
    for number, victim in enumerate(design.analysis.victims):
        for upward, limit in zip((False, True), (limits or OffsetLimits()).of(victim.kind, design.given), strict=True):
            if limit is not None:
                found.append((number, upward, limit))
    return found


def worst_amps(offsets: Offsets, plain: PlainCircuit, victim: int, state: int, upward: bool) -> np.ndarray:
    """Currents of the ports at the worst instant, by exhaustion."""
    settled, who = offsets.settled, offsets.victims[victim]
    per_amp = plain.per_amp_v(who)
    sign = 1 if upward else -1
    every = np.array(list(instants(offsets.currents, state, who, settled.steady_a[:, state], settled.on_a[:, state])))
    return every[int((every @ per_amp * sign).argmax())]


def risen(offsets: Offsets, victim: int, part: int, rise_ohm: float, amps: np.ndarray, emf_v: float) -> float:
    """Offset with one part's resistance risen and every load at its current, by a dense matrix."""
    ohm = offsets.settled.ohm.copy()
    ohm[part] += rise_ohm
    return PlainCircuit(offsets.settled.circuit, ohm).offset_v(offsets.victims[victim], amps, emf_v)


@pytest.mark.parametrize("part_of_limit", [1.0, 0.2])
def test_a_joint_risen_by_its_reserve_is_just_at_the_limit(part_of_limit: float) -> None:
    """Every joint of every victim and side; within the limit in every other state; never left out where it counts."""
    exact = never = crossed = 0
    for number, design in enumerate(all_designs()):
        analysis, offsets = design.analysis, design.analysis.new
        plain = PlainCircuit(design.circuit, offsets.settled.ohm)
        sides = [(v, up, limit * part_of_limit) for v, up, limit in sides_of(design)]
        rng = np.random.default_rng(number)
        chosen = [sides[k] for k in rng.permutation(len(sides))[:6]]
        for (victim, upward, limit_v), reserves in zip(chosen, weakest(offsets, chosen, ALL), strict=True):
            sign = 1 if upward else -1
            values = (offsets.high_v if upward else offsets.low_v)[victim]
            assert [r.rise_ohm for r in reserves] == sorted(r.rise_ohm for r in reserves)
            assert all(math.isfinite(r.rise_ohm) and r.rise_ohm >= 0 for r in reserves)
            assert len({r.part for r in reserves}) == len(reserves)
            amps = {s: worst_amps(offsets, plain, victim, s, upward) for s in range(len(analysis.states))}
            emf_v = {s: state.battery_v for s, state in enumerate(analysis.states)}
            for reserve in reserves[:4] + reserves[-2:]:
                if reserve.rise_ohm == 0.0:
                    crossed += 1
                    assert values[reserve.state] * sign >= limit_v * sign
                    continue
                at = risen(offsets, victim, reserve.part, reserve.rise_ohm, amps[reserve.state], emf_v[reserve.state])
                if reserve.rise_ohm < 1e4:
                    assert at == pytest.approx(limit_v, rel=1e-6, abs=1e-8)
                    exact += 1
                for state in (s for s in amps if values[s] * sign < limit_v * sign):
                    other = risen(offsets, victim, reserve.part, reserve.rise_ohm * 0.999, amps[state], emf_v[state])
                    assert other * sign < limit_v * sign + 1e-9
            have = {r.part for r in reserves}
            jointed = [n for n, p in enumerate(design.circuit.parts) if p.kind not in ("inside", "battery")]
            for part in rng.permutation(sorted(set(jointed) - have))[:4].tolist():
                ohm = offsets.settled.ohm.copy()
                ohm[part] += OPEN_OHM
                opened = PlainCircuit(design.circuit, ohm)
                for state in amps:
                    if values[state] * sign < limit_v * sign:
                        value = opened.offset_v(offsets.victims[victim], amps[state], emf_v[state])
                        assert value * sign < limit_v * sign + 2e-3
                        never += 1
    assert exact > 100
    assert never > 100
    assert crossed > (0 if part_of_limit == 1.0 else 50)


def test_a_limit_that_is_crossed_leaves_no_reserve() -> None:
    seen = 0
    for design in all_designs():
        analysis = design.analysis
        limits = OffsetLimits(temperature_k=0.001, ratiometric_percent=0.0005, trigger_mv=0.01, ground_mv=0.01, bus_mv=0.01)
        for victim, reserves in analysis.reserves(limits).items():
            worst = analysis.worst(victim, limits)
            if worst.over:
                assert reserves[0].rise_ohm == 0.0
                assert analysis.resolved_rise_ohm(reserves[0], worst.limit_v) == 0.0
                seen += 1
    assert seen > 20


def harmless() -> Design:
    """A coil whose ground stands 1.2 V above the controller's: its input, off, sees 1.2 V less than nothing."""
    return design_from(
        wires="Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal\n"
        "W1,Battery,+,Coil 1,1,2.5,1,Coil feed\nW2,ECU,B1,Coil 1,2,0.5,1,Coil 1 input\n"
        "W3,Coil 1,3,Splice 1,,2.5,1,Coil ground\nW4,Splice 1,,Engine stud,,0.5,1,Power ground\n"
        "W5,ECU,A2,Engine stud,,1.5,1,Power ground\nW6,Battery,+,ECU,A1,1.5,1,Battery feed\n"
        "W7,Battery,+,Lamps,1,4,1,Lamp feed\nW8,Lamps,2,Splice 1,,4,1,Lamp ground\n",
        components="Component,Kind,Place,Current (A)\nCoil 1,coil,head,0.6\nECU,controller,,0.8\nLamps,load,,25\n",
        earth_points="Earth point,Body\nEngine stud,engine\n",
    )


def test_an_offset_to_the_harmless_side_is_no_crossed_limit() -> None:
    """The coil's ground lies high, far beyond the size of its lower limit: that does not switch it on."""
    design = harmless()
    analysis = design.analysis
    [victim] = [n for n, v in enumerate(analysis.victims) if v.kind == "coil input, off"]
    low_limit_v, _ = OffsetLimits().of("coil input, off", design.given)
    assert low_limit_v is not None
    assert (analysis.new.low_v[victim] > -low_limit_v).all()
    assert not analysis.worst(victim, OffsetLimits()).over
    for reserve in analysis.reserves(OffsetLimits(), ALL).get(victim, []):
        assert reserve.rise_ohm > 0
        plain = PlainCircuit(design.circuit, analysis.new.settled.ohm)
        amps = worst_amps(analysis.new, plain, victim, reserve.state, False)
        at = risen(analysis.new, victim, reserve.part, reserve.rise_ohm, amps, analysis.states[reserve.state].battery_v)
        assert at == pytest.approx(low_limit_v, rel=1e-6)


# --- machines that give way ----------------------------------------------------------------------


def resolved_offset_v(design: Design, victim: int, state: int, upward: bool, part: int, rise_ohm: float) -> float:
    """Worst instant with a joint risen and every machine in balance anew, by plain solutions."""
    analysis, circuit = design.analysis, design.circuit
    ohm = circuit.ohm()
    ohm[part] += rise_ohm
    currents = analysis.currents
    average = currents.average[:, state]
    amps, weak = plain_average_a(circuit, ohm, average, analysis.states[state], design.given)
    steady = np.where(currents.group >= 0, 0.0, amps)
    fixed = np.array([
        port.kind in ("starter", "alternator") or (port.figures is not None and port.figures.model == "resistance")
        for port in circuit.ports
    ])  # fmt: skip
    on = np.where(fixed | weak, 0.0, np.maximum(currents.instant[:, state] - steady, 0.0))
    plain, who = PlainCircuit(circuit, ohm), analysis.victims[victim]
    per_amp = plain.per_amp_v(who)
    base = plain.offset_v(who, np.zeros(len(circuit.ports)), analysis.states[state].battery_v)
    values = base + np.array(list(instants(currents, state, who, steady, on))) @ per_amp
    return float(values.max() if upward else values.min())


def test_resolved_reserves_by_halving() -> None:
    """The weakest joint of some victims: the limit by halving over whole plain solutions."""
    found = 0
    apart = 0
    for design in all_designs():
        analysis = design.analysis
        limits = OffsetLimits()
        for victim in list(analysis.reserves(limits, 1))[:5]:
            [reserve] = analysis.reserves(limits, 1)[victim] or [None]
            if reserve is None or reserve.rise_ohm == 0.0:
                continue
            low, high = limits.of(analysis.victims[victim].kind, design.given)
            limit_v = high if reserve.upward else low
            assert limit_v is not None
            sign = 1 if reserve.upward else -1
            rise = analysis.resolved_rise_ohm(reserve, limit_v)

            def room(ohm: float, r=reserve, d=design, v=victim, limit=limit_v, sign=sign) -> float:  # type: ignore[no-untyped-def]
                return sign * (limit - resolved_offset_v(d, v, r.state, r.upward, r.part, ohm))

            if math.isinf(rise):
                assert room(1e6) > 0
                continue
            # the first crossing: none before it on the way there
            assert all(room(rise * part) > 0 for part in (0.0, 0.01, 0.03, 0.1, 0.3, 0.6, 0.9))
            under, over = 0.9 * rise, 1.01 * rise
            assert room(over) < 0
            for _ in range(14):
                middle = (under + over) / 2
                under, over = (middle, over) if room(middle) > 0 else (under, middle)
            assert rise == pytest.approx(over, rel=1e-4, abs=1e-9)
            found += 1
            apart += abs(rise / reserve.rise_ohm - 1) > 0.01
    assert found > 20
    assert apart > 0, "machines give way somewhere"


# --- wide victims --------------------------------------------------------------------------------


def test_wide_victims_have_the_reserves_of_narrow_ones(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each worst instant solved by itself gives what the ways of the ports give."""
    compared = 0
    for design in all_designs():
        narrow = design.analysis.new
        sides = sides_of(design)
        one = weakest(narrow, sides, ALL)
        with monkeypatch.context() as patch:
            patch.setattr(offsets_module, "_WIDE", 0)
            wide = Offsets(narrow.settled, narrow.currents, narrow.victims)
            other = weakest(wide, sides, ALL)
        for few, many in zip(one, other, strict=True):
            rises = {r.part: r.rise_ohm for r in few if r.rise_ohm < 1e4}
            found = {r.part: r.rise_ohm for r in many if r.rise_ohm < 1e4}
            assert found == pytest.approx(rises, rel=1e-6, abs=1e-12)
            compared += len(found)
    assert compared > 200
