"""Closed-form reserves: the worked cases by hand, and against solving again with the resistance changed."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from random_networks import near_ohms, networks, ready, states

from harnessdrc.physics import reserves
from harnessdrc.physics.network import Branch, Network
from harnessdrc.physics.reserves import current_with_rise_a, offset_with_rise_v, rise_to_limit_ohm

Net = tuple[int, list[Branch]]


def controller_earthed_twice(strap_ohm: float = 1e-3) -> Network:
    """200 A into the block; strap to the battery, the controller's earth legs of 25 mΩ to block and battery."""
    names = ["battery negative", "block", "controller"]
    return ready(names, [(1, 0, strap_ohm), (1, 2, 25e-3), (2, 0, 25e-3)])


# Worked by hand


def test_controller_earthed_at_engine_and_battery() -> None:
    network = controller_earthed_twice()
    found = states(network, [[0.0], [200.0], [0.0]])
    offset, currents = found.volts[2, 0], found.amps[:, 0]
    assert currents[1] == pytest.approx(200 / 51, rel=1e-12)
    assert currents[0] == pytest.approx(196.078, abs=5e-4)
    assert offset == pytest.approx(0.0980392, abs=5e-8)
    unit = network.unit_currents([2], [0])
    assert unit.branch.tolist() == [0, 1, 2]
    slope = currents[0] * unit.amps[0]
    assert slope == pytest.approx(5000 * 50 / 51**2, rel=1e-12)
    loop = network.ohm[0] + network.beside_ohm()[0]
    assert loop == pytest.approx(51e-3, rel=1e-12)
    assert rise_to_limit_ohm(offset, slope, loop, 0.3) == pytest.approx(10.3 / 4700, rel=1e-12)
    assert offset_with_rise_v(offset, slope, loop, np.inf) == pytest.approx(5.0, rel=1e-12)
    assert current_with_rise_a(currents[0], loop, np.inf) == 0.0


def test_the_strap_open() -> None:
    """The open strap by closed form, and solved with an open branch: 200 A in the legs, 5 V at the controller."""
    found = states(controller_earthed_twice(math.inf), [[0.0], [200.0], [0.0]])
    assert found.amps[:, 0] == pytest.approx([0.0, 200.0, 200.0], rel=1e-12)
    assert found.volts[2, 0] == pytest.approx(0.0980392156862745 + 96.11687812379854 * 0.051, rel=1e-12)


def test_a_single_way_rises_in_a_straight_line() -> None:
    """Bridge: 40 A through 1 mΩ; 0.3 V is reached at 7.5 mΩ, 6.5 mΩ more."""
    network = ready(2, [(1, 0, 1e-3)])
    found, unit = states(network, [[0.0], [40.0]]), network.unit_currents([1], [0])
    loop = network.ohm + network.beside_ohm()
    assert loop.tolist() == [math.inf]
    slope = found.amps[:, 0] * unit.amps
    assert slope.tolist() == [40.0]
    assert rise_to_limit_ohm(found.volts[1], slope, loop, 0.3) == pytest.approx([6.5e-3], rel=1e-12)
    assert offset_with_rise_v(0.04, slope, loop, 1.0) == pytest.approx([40.04])
    assert offset_with_rise_v(0.04, slope, loop, np.inf).tolist() == [math.inf]
    assert current_with_rise_a(40.0, loop, 1.0).tolist() == [40.0]


@pytest.mark.parametrize(
    ("offset", "slope", "loop", "limit", "rise"),
    [
        (0.1, 2.0, math.inf, 0.3, 0.1),
        (0.1, -2.0, math.inf, 0.3, 0.2),  # the lower limit: 0.4 V away
        (-0.1, 2.0, math.inf, 0.3, 0.2),
        (-0.1, -2.0, math.inf, 0.3, 0.1),
        (0.1, 2.0, 0.4, 0.3, 0.2 / (2 - 0.2 / 0.4)),
        (0.1, 2.0, 0.0999, 0.3, math.inf),  # open, it adds 0.1998 V and stays just below
        (0.1, 2.0, 0.1001, 0.3, 0.2 / (2 - 0.2 / 0.1001)),
        (0.1, -2.0, 0.25, 0.3, 0.4 / (2 - 0.4 / 0.25)),
        (0.3, 2.0, 1.0, 0.3, 0.0),  # at the limit counts as over
        (0.31, 2.0, 1.0, 0.3, 0.0),
        (-0.31, 2.0, 1.0, 0.3, 0.0),  # over although the rise would bring it back
        (0.31, 0.0, 1.0, 0.3, 0.0),
        (0.31, 2.0, 0.0, 0.3, 0.0),
        (0.1, 0.0, 1.0, 0.3, math.inf),
        (0.1, -0.0, math.inf, 0.3, math.inf),
        (0.1, 0.99e-6, math.inf, 0.3, math.inf),  # below the least slope
        (0.1, 1.01e-6, math.inf, 0.3, 0.2 / 1.01e-6),
        (0.1, -0.99e-6, math.inf, 0.3, math.inf),
        (0.1, 2.0, 0.0, 0.3, math.inf),  # shorted: nothing to be changed
        (0.1, 2.0, 1.0, math.inf, math.inf),  # no limit
        (0.0, 2.0, 1.0, 0.0, 0.0),
        (math.nan, 2.0, 1.0, 0.3, math.nan),
        (0.1, math.nan, 1.0, 0.3, math.nan),
        (0.1, 2.0, math.nan, 0.3, math.nan),
        (0.1, 2.0, 1.0, math.nan, math.nan),
    ],
)
def test_rise_to_the_limit(offset: float, slope: float, loop: float, limit: float, rise: float) -> None:
    found = rise_to_limit_ohm(offset, slope, loop, limit)
    assert found.shape == ()
    assert float(found) == pytest.approx(rise, rel=1e-12, nan_ok=True)
    assert not np.signbit(found) or math.isnan(rise)


def test_rises_of_many_joints_in_many_states() -> None:
    """Arrays of any shape give what they give one by one, in pieces too."""
    chance = np.random.default_rng(7)
    shape = (5, 30_000)
    offset, slope = chance.normal(0, 0.2, (5, 1)), chance.normal(0, 1, shape)
    loop = np.where(chance.random(30_000) < 0.2, np.inf, chance.random(30_000))
    limit = np.array([[0.3], [0.25], [np.inf], [0.1], [0.3]])
    whole = rise_to_limit_ohm(offset, slope, loop, limit)
    assert whole.shape == shape and whole.size > reserves._BLOCK
    turned = rise_to_limit_ohm(offset.T, slope.T, loop[:, None], limit.T)
    assert np.array_equal(turned.T, whole)
    for state, joint in zip([0, 1, 2, 3, 4] * 40, chance.integers(0, 30_000, 200), strict=True):
        alone = rise_to_limit_ohm(offset[state, 0], slope[state, joint], loop[joint], limit[state, 0])
        assert alone == whole[state, joint]
    assert rise_to_limit_ohm([], [], [], 0.3).shape == (0,)


def test_offsets_and_currents_that_do_not_change() -> None:
    assert offset_with_rise_v(0.1, 0.0, math.inf, math.inf) == 0.1
    assert offset_with_rise_v(0.1, 3.0, 1.0, 0.0) == 0.1
    assert offset_with_rise_v(0.1, 3.0, 0.0, 5.0) == 0.1
    assert offset_with_rise_v([0.1, 0.2], 2.0, 1.0, [1.0, math.inf]).tolist() == pytest.approx([1.1, 2.2])
    assert current_with_rise_a(0.0, math.inf, math.inf) == 0.0
    assert math.isnan(current_with_rise_a(1.0, math.inf, math.inf))
    assert current_with_rise_a([4.0, -4.0], 1.0, 1.0).tolist() == [2.0, -2.0]


# Against solving again


@st.composite
def cases(draw: st.DrawFn) -> tuple[Net, np.ndarray, int, int, int, float]:
    count, branches = draw(networks(ohm=near_ohms))
    amps = st.floats(-50, 50).filter(lambda a: a == 0 or abs(a) > 0.01)
    injected = np.array([draw(st.lists(amps, min_size=count, max_size=count))]).T
    node = st.integers(0, count - 1)
    joint = draw(st.integers(0, len(branches) - 1))
    return (count, branches), injected, draw(node), draw(node), joint, draw(st.floats(-3, 3).map(lambda p: 10.0**p))


@given(cases())
def test_risen_joint_as_solved_again(case: tuple[Net, np.ndarray, int, int, int, float]) -> None:
    (count, branches), injected, first, second, joint, rise = case
    network = ready(count, branches)
    found = states(network, injected)
    offset = found.volts[first, 0] - found.volts[second, 0]
    unit = network.unit_currents([first], [second])
    slope = float(found.amps[joint, 0] * unit.amps[unit.branch == joint].sum())
    loop = network.ohm[joint] + network.beside_ohm()[joint]

    def again(more: float) -> tuple[float, float, float]:
        i, j, ohm = branches[joint]
        changed = states(ready(count, [*branches[:joint], (i, j, ohm + more), *branches[joint + 1 :]]), injected)
        size = np.abs(changed.volts).max() + np.abs(found.volts).max() + 1e-9
        return changed.volts[first, 0] - changed.volts[second, 0], changed.amps[joint, 0], size

    volts, amps, size = again(rise)
    assert offset_with_rise_v(offset, slope, loop, rise) == pytest.approx(volts, rel=1e-8, abs=1e-9 * size)
    expected = 0.0 if branches[joint][0] == branches[joint][1] else amps
    amps_size = np.abs(injected).sum() + 1e-9
    assert current_with_rise_a(found.amps[joint, 0], loop, rise) == pytest.approx(expected, abs=1e-9 * amps_size)
    # first-order: the slope is that of a very small rise
    small = branches[joint][2] * 1e-5
    assert again(small)[0] - offset == pytest.approx(slope * small, rel=1e-3, abs=1e-11 * size)


@given(cases(), st.floats(0.01, 3))
def test_limit_is_just_reached_when_solved_again(
    case: tuple[Net, np.ndarray, int, int, int, float], margin: float
) -> None:
    (count, branches), injected, first, second, joint, _ = case
    network = ready(count, branches)
    found = states(network, injected)
    offset = found.volts[first, 0] - found.volts[second, 0]
    limit = abs(offset) + margin
    unit = network.unit_currents([first], [second])
    slope = float(found.amps[joint, 0] * unit.amps[unit.branch == joint].sum())
    assume(abs(slope) > 1e-4)
    loop = network.ohm[joint] + network.beside_ohm()[joint]
    rise = float(rise_to_limit_ohm(offset, slope, loop, limit))
    i, j, ohm = branches[joint]

    def size_of_offset(more: float) -> float:
        changed = states(ready(count, [*branches[:joint], (i, j, ohm + more), *branches[joint + 1 :]]), injected)
        return abs(changed.volts[first, 0] - changed.volts[second, 0])

    if math.isinf(rise):
        assert size_of_offset(1e6) < limit * (1 + 1e-9)
    elif rise < 1e5:
        assert size_of_offset(rise) == pytest.approx(limit, rel=1e-6)
        assert size_of_offset(rise * 0.99) < limit
        assert size_of_offset(rise * 1.01) > limit
