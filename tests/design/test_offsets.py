"""Offsets and their parts against an independent solution: superposition, one source at a time, worst instants."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from engine_looms import SAMPLE_FILES, EngineLoom, sample
from plain_circuits import PlainCircuit, instants

from harnessdrc.design import Design
from harnessdrc.design.analysis import offsets as offsets_module
from harnessdrc.design.analysis.offsets import CHARGE, Offsets
from harnessdrc.design.analysis.shares import EVERYTHING_ELSE, named_shares
from harnessdrc.design.analysis.victims import Victim

SEEDS = range(16)


def looms() -> list[Design]:
    return [EngineLoom(seed, lacking=0.1 if seed % 2 else 0.0).design() for seed in SEEDS]


@pytest.fixture(scope="module", params=["samples", "looms"])
def designs(request: pytest.FixtureRequest) -> list[Design]:
    return [sample(path) for path in SAMPLE_FILES] if request.param == "samples" else looms()


def every(offsets: Offsets) -> list[tuple[int, int, bool]]:
    """Every victim, state and side."""
    states = offsets.low_v.shape[1]
    return [(v, s, up) for v in range(len(offsets.victims)) for s in range(states) for up in (False, True)]


def choices(offsets: Offsets, state: int, victim: Victim) -> np.ndarray:
    """Currents of the ports at every instant that can be, a row each."""
    settled = offsets.settled
    steady_a, on_a = settled.steady_a[:, state], settled.on_a[:, state]
    return np.array(list(instants(offsets.currents, state, victim, steady_a, on_a)))


def test_parts_add_up_to_the_offset(designs: list[Design]) -> None:
    looked_at = 0
    for design in designs:
        for offsets in (design.analysis.new, design.analysis.aged):
            wanted = every(offsets)
            for (victim, state, upward), parts in zip(wanted, offsets.parts_of(wanted), strict=True):
                value = (offsets.high_v if upward else offsets.low_v)[victim, state]
                assert parts.total_v == pytest.approx(value, rel=0, abs=1e-9)
                assert sum(volts for _, volts in named_shares(offsets, parts)) == pytest.approx(value, rel=0, abs=1e-8)
                looked_at += 1
    assert looked_at > 1000


def test_each_part_is_what_its_source_makes_alone(designs: list[Design]) -> None:
    """Every current by itself through a dense matrix; the alternator's share told as loads' and charge by hand."""
    for design in designs:
        analysis = design.analysis
        for offsets in (analysis.new, analysis.aged):
            settled = offsets.settled
            plain = PlainCircuit(design.circuit, settled.ohm)
            ports = design.circuit.ports
            kinds = np.array([port.kind for port in ports])
            for number, victim in enumerate(offsets.victims):
                per_amp = plain.per_amp_v(victim)
                per_volt = plain.offset_v(victim, np.zeros(len(ports)), 1.0)
                for state in range(len(analysis.states)):
                    emf_v = analysis.states[state].battery_v
                    every_a = choices(offsets, state, victim)
                    for upward in (False, True):
                        # the instant, put together by exhaustion: whatever moves it that way, within what overlaps
                        amps = every_a[int((every_a @ per_amp * (1 if upward else -1)).argmax())]
                        part_v = per_amp * amps
                        alternators = kinds == "alternator"
                        given_a = -settled.average_a[alternators, state].sum()
                        loads_a = np.where(alternators, 0.0, settled.average_a[:, state])
                        charge_v = 0.0
                        if given_a > 0:
                            machine_v = part_v[alternators].sum()
                            into_battery_a = max(given_a - loads_a.sum(), 0.0)
                            to_loads = loads_a / loads_a.sum() * (given_a - into_battery_a)
                            part_v = np.where(alternators, 0.0, part_v + machine_v * to_loads / given_a)
                            charge_v = machine_v * into_battery_a / given_a
                        found = offsets.parts(number, state, upward)
                        scale = max(1e-3, np.abs(part_v).max())
                        assert found.battery_v == pytest.approx(per_volt * emf_v, abs=1e-9)
                        assert found.charge_v == pytest.approx(charge_v, abs=1e-7 * scale)
                        np.testing.assert_allclose(found.port_v.sum(), part_v.sum(), atol=1e-7 * scale)
                        # equal units of a group stand in for each other
                        of_group = np.where(offsets.currents.group < 0, len(ports), offsets.currents.group)
                        np.testing.assert_allclose(
                            np.bincount(of_group, found.port_v), np.bincount(of_group, part_v), atol=1e-7 * scale
                        )
                        sure = settled.on_a[:, state] * np.abs(per_amp) < 1e-12
                        np.testing.assert_allclose(found.port_v[sure], part_v[sure], atol=1e-7 * scale)


def test_worst_instants_by_exhaustion(designs: list[Design]) -> None:
    """All subsets of so many units of each group as overlap, and every port at inrush or not."""
    moved = 0
    for design in designs:
        analysis = design.analysis
        for offsets in (analysis.new, analysis.aged):
            settled = offsets.settled
            plain = PlainCircuit(design.circuit, settled.ohm)
            count = len(design.circuit.ports)
            for number, victim in enumerate(offsets.victims):
                per_amp = plain.per_amp_v(victim)
                for state, figures in enumerate(analysis.states):
                    battery_v = plain.offset_v(victim, np.zeros(count), figures.battery_v)
                    values = battery_v + choices(offsets, state, victim) @ per_amp
                    assert offsets.low_v[number, state] == pytest.approx(values.min(), rel=1e-7, abs=1e-9)
                    assert offsets.high_v[number, state] == pytest.approx(values.max(), rel=1e-7, abs=1e-9)
                    moved += bool(values.max() > values.min() + 1e-6)
    assert moved > 100


def test_averages_against_a_dense_matrix(designs: list[Design]) -> None:
    for design in designs:
        analysis = design.analysis
        for offsets in (analysis.new, analysis.aged):
            plain = PlainCircuit(design.circuit, offsets.settled.ohm)
            for number, victim in enumerate(offsets.victims):
                for state, figures in enumerate(analysis.states):
                    amps = offsets.settled.average_a[:, state].copy()
                    if victim.own is not None:
                        amps[victim.own] = 0.0
                    wanted = plain.offset_v(victim, amps, figures.battery_v)
                    assert offsets.average_v[number, state] == pytest.approx(wanted, rel=1e-7, abs=1e-9)


def test_peaks_of_wires_by_exhaustion(designs: list[Design]) -> None:
    """The greatest current of every part at any instant; no victim, so no coil is taken as off or driven."""
    higher = 0
    for design in designs:
        analysis = design.analysis
        settled, currents = analysis.new.settled, analysis.currents
        plain = PlainCircuit(design.circuit, settled.ohm)
        count = len(design.circuit.ports)
        per_port = np.array([plain.amps(plain.volts(row, 0.0), 0.0) for row in np.eye(count)])
        for state, figures in enumerate(analysis.states):
            by_battery = plain.amps(plain.volts(np.zeros(count), figures.battery_v), figures.battery_v)
            all_a = np.array(list(instants(currents, state, None, settled.steady_a[:, state], settled.on_a[:, state])))
            flowing = by_battery + all_a @ per_port
            average = by_battery + settled.average_a[:, state] @ per_port
            wanted = np.maximum(np.abs(flowing).max(axis=0), np.abs(average))
            known = ~np.isnan(wanted)
            peak = analysis.part_currents.peak[known, state]
            np.testing.assert_allclose(peak, wanted[known], rtol=1e-6, atol=1e-6)
            higher += int((peak > np.abs(average[known]) + 0.1).sum())
    assert higher > 100


def test_a_coil_that_is_off_draws_nothing_and_a_driven_one_is_on() -> None:
    """By hand: controller and coil on one strap-less engine, the coil's own ground wire of 10 mohm."""
    seen = set()
    for design in looms():
        offsets = design.analysis.new
        for number, victim in enumerate(offsets.victims):
            if not victim.kind.startswith("coil"):
                continue
            own = victim.own if victim.own is not None else victim.own_on
            for state in range(len(design.analysis.states)):
                parts = [offsets.parts(number, state, upward) for upward in (False, True)]
                if victim.own is not None:
                    assert all(p.port_v[own] == 0.0 or offsets.settled.average_a[:, state].min() < 0 for p in parts)
                elif offsets.settled.on_a[own, state] > 0:
                    assert all(p.port_v[own] != 0.0 for p in parts)
                seen.add(victim.kind)
    assert seen == {"coil input, off", "coil input, on"}


@pytest.mark.parametrize("path", SAMPLE_FILES, ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_wide_victims_give_what_narrow_ones_give(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    narrow = sample(path).analysis.new
    monkeypatch.setattr(offsets_module, "_WIDE", 0)
    wide = Offsets(narrow.settled, narrow.currents, narrow.victims)
    assert wide.wide.all()
    for one, other in ((narrow.average_v, wide.average_v), (narrow.low_v, wide.low_v), (narrow.high_v, wide.high_v)):
        np.testing.assert_allclose(other, one, rtol=1e-8, atol=1e-11)
    wanted = every(narrow)
    for one, other in zip(narrow.parts_of(wanted), wide.parts_of(wanted), strict=True):
        np.testing.assert_allclose(other.port_v, one.port_v, rtol=1e-7, atol=1e-10)
        assert other.charge_v == pytest.approx(one.charge_v, abs=1e-10)
        assert other.battery_v == pytest.approx(one.battery_v, abs=1e-12)


def test_wide_and_narrow_victims_side_by_side(monkeypatch: pytest.MonkeyPatch) -> None:
    mixed = 0
    for seed in SEEDS:
        narrow = EngineLoom(seed).design().analysis.new
        assert not narrow.wide.any()
        monkeypatch.setattr(offsets_module, "_WIDE", int(np.median(np.bincount(narrow.units.pair))))
        both = Offsets(narrow.settled, narrow.currents, narrow.victims)
        mixed += bool(both.wide.any() and not both.wide.all())
        np.testing.assert_allclose(both.low_v, narrow.low_v, rtol=1e-8, atol=1e-11)
        np.testing.assert_allclose(both.high_v, narrow.high_v, rtol=1e-8, atol=1e-11)
        monkeypatch.undo()
    assert mixed > 4


def test_blocks_of_victims_change_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    once = sample(SAMPLE_FILES[0]).analysis.new
    monkeypatch.setattr(offsets_module, "_TERMS_AT_ONCE", 50)
    apart = Offsets(once.settled, once.currents, once.victims)
    blocks = list(apart.blocks(range(len(apart.victims))))
    assert len(blocks) > 3
    assert [n for rows in blocks for n in range(rows.start, rows.stop)] == list(range(len(apart.victims)))
    np.testing.assert_array_equal(apart.average_v, once.average_v)
    np.testing.assert_allclose(apart.high_v, once.high_v, rtol=1e-12, atol=1e-15)
    wanted = every(once)
    for one, other in zip(once.parts_of(wanted), apart.parts_of(wanted), strict=True):
        np.testing.assert_allclose(other.port_v, one.port_v, rtol=1e-12, atol=1e-15)


def test_names_of_shares() -> None:
    """Units that pulse in turn are told together; charge by its name; the rest at the end."""
    names = set()
    for design in [*looms(), *(sample(path) for path in SAMPLE_FILES)]:
        offsets = design.analysis.new
        for victim, state, upward in every(offsets):
            lines = named_shares(offsets, offsets.parts(victim, state, upward))
            sizes = [abs(volts) for name, volts in lines if name != EVERYTHING_ELSE]
            assert sizes == sorted(sizes, reverse=True)
            assert len(lines) <= 9
            assert all(name for name, _ in lines)
            assert EVERYTHING_ELSE not in [name for name, _ in lines[:-1]]
            names |= {name for name, _ in lines}
    assert {CHARGE, EVERYTHING_ELSE} <= names
    assert {"4 coils", "3 injectors"} <= names
