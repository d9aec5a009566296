"""Time of the mutual inductances of 8 coil loops and 4 trigger pairs of 200 segments, against scipy's quadrature.

All 32 pairs of loops, 1.28 million pairs of segments. The loops bend everywhere; the trigger pairs are two
wires 2 mm apart along bent lines, 50 mm and more from the loops' leads. Three cases: pairs beside the loops,
twisted pairs beside them, and all in one bundle, 5 mm from line to line.

The floor: the same integral of single pairs of segments by ``scipy.integrate.quad`` along the victim, with the
potential of the other segment in closed form, and by ``scipy.integrate.dblquad`` over both, to a relative
tolerance of 1e-8. They take from half a minute to ten minutes for all pairs, so each is timed on a sample of the
pairs, drawn at random, and scaled up to all of them. The values are compared too: all pairs of segments of one coil
loop and one trigger pair, cut coarser, by ``quad``.

    python tests/benchmarks/magnetics_speed.py
"""

from __future__ import annotations

import math
import statistics
import time

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import dblquad, quad

from harnessdrc.physics.inductance import MU0_H_PER_M, mutual_h
from harnessdrc.physics.polylines import helix_pair, ribbon

LOOPS, VICTIMS, SEGMENTS, RUNS = 8, 4, 200, 15
QUAD_SAMPLE, DBLQUAD_SAMPLE = 2_000, 60
TOLERANCE = 1e-8

Points = NDArray[np.float64]


def coil_loop(number: int, count: int) -> Points:
    """Lead along the engine and return below it, rounded and wavy, of `count` segments."""
    angle = 2 * math.pi * np.arange(count) / count
    x = 0.30 * np.cos(angle) + 0.02 * number
    z = (0.10 + 0.01 * number) * np.sin(angle) - 0.15
    return np.column_stack((x, 0.02 * np.sin(3 * angle + number) + 0.09 * (number - 3.5), z))


def route(number: int, count: int) -> Points:
    """Line of a trigger pair above the leads."""
    along = np.linspace(-0.28, 0.28, count)
    return np.column_stack(
        (along, 0.05 * np.sin(5 * along + number) + 0.1 * (number - 1.5), 0.05 + 0.02 * number + 0.1 * along**2)
    )


def bundled(number: int, count: int) -> Points:
    """Line number `number` of a bundle of lines 5 mm apart."""
    along = np.linspace(-0.3, 0.3, count)
    across, up = 0.005 * (number % 4), 0.005 * (number // 4)
    return np.column_stack((along, 0.05 * np.sin(3 * along) + across, 0.03 * np.sin(5 * along) + up))


def cases() -> dict[str, tuple[list[Points], list[Points]]]:
    """Coil loops and trigger pairs of each case; every loop has the stated number of segments or a few more."""
    half = SEGMENTS // 2
    loops = [coil_loop(number, SEGMENTS) for number in range(LOOPS)]
    beside = [ribbon(route(number, half), 2e-3) for number in range(VICTIMS)]
    length_m = 0.56
    lay_m = length_m / 12
    twisted = [helix_pair(route(number, 3), 2e-3, lay_m, per_turn=8) for number in range(VICTIMS)]
    return {
        "pairs beside the loops": (loops, beside),
        "twisted pairs beside them": (loops, twisted),
        "all in one bundle": (
            [ribbon(bundled(number, half), 3e-3) for number in range(LOOPS)],
            [ribbon(bundled(LOOPS + number, half), 2e-3, turned=True) for number in range(VICTIMS)],
        ),
    }


def ends(loops: list[Points]) -> tuple[Points, Points]:
    """Begins and ends of all segments of closed loops."""
    return np.vstack(loops), np.vstack([np.roll(loop, -1, axis=0) for loop in loops])


def by_quad(a0: Points, a1: Points, b0: Points, b1: Points) -> float:
    """Neumann's integral of one pair of segments, along the second by quadrature, m."""
    length = float(np.linalg.norm(a1 - a0))
    ax, ay, az = a0.tolist()
    ux, uy, uz = ((a1 - a0) / length).tolist()
    bx, by, bz = b0.tolist()
    vx, vy, vz = (b1 - b0).tolist()

    def potential(t: float) -> float:
        x, y, z = bx + t * vx - ax, by + t * vy - ay, bz + t * vz - az
        foot = x * ux + y * uy + z * uz
        d = math.sqrt((x - foot * ux) ** 2 + (y - foot * uy) ** 2 + (z - foot * uz) ** 2)
        return math.asinh((length - foot) / d) + math.asinh(foot / d)

    cosine = ux * vx + uy * vy + uz * vz
    return float(quad(potential, 0.0, 1.0, epsabs=0.0, epsrel=TOLERANCE)[0]) * cosine


def by_dblquad(a0: Points, a1: Points, b0: Points, b1: Points) -> float:
    """The same, both integrals by quadrature, m."""
    ax, ay, az = (a0 - b0).tolist()
    ux, uy, uz = (a1 - a0).tolist()
    vx, vy, vz = (b1 - b0).tolist()

    def inverse(s: float, t: float) -> float:
        return 1.0 / math.sqrt((ax + s * ux - t * vx) ** 2 + (ay + s * uy - t * vy) ** 2 + (az + s * uz - t * vz) ** 2)

    cosine = ux * vx + uy * vy + uz * vz
    return float(dblquad(inverse, 0.0, 1.0, 0.0, 1.0, epsabs=0.0, epsrel=TOLERANCE)[0]) * cosine


def compare(name: str, loops: list[Points], victims: list[Points]) -> None:
    """Print the times of one case."""
    (a0, a1), (b0, b1) = ends(loops), ends(victims)
    pairs = len(a0) * len(b0)
    ours: list[float] = []
    for _ in range(RUNS + 1):
        begun = time.perf_counter()
        mutual_h(loops, victims)
        ours.append(time.perf_counter() - begun)
    median_s = statistics.median(ours[1:])
    counts = f"{len(loops)} x {len(victims)} loops of {len(loops[0])} and {len(victims[0])} segments"
    print(f"{name}: {counts}, {pairs:,} pairs of segments")
    print(f"  {'mutual_h, all pairs':34} {median_s * 1e3:12.1f} ms (least {min(ours) * 1e3:.1f})")
    chance = np.random.default_rng(1)
    for what, one, sample in (("quad", by_quad, QUAD_SAMPLE), ("dblquad", by_dblquad, DBLQUAD_SAMPLE)):
        some = list(zip(chance.integers(0, len(a0), sample), chance.integers(0, len(b0), sample), strict=True))
        begun = time.perf_counter()
        for i, j in some:
            one(a0[i], a1[i], b0[j], b1[j])
        spent_s = time.perf_counter() - begun
        scaled_s = spent_s / sample * pairs
        print(
            f"  {'scipy ' + what + ', scaled up to all pairs':34} {scaled_s * 1e3:12.1f} ms "
            f"(a sample of {sample:,} took {spent_s * 1e3:.0f} ms)   ratio {median_s / scaled_s:.1e}, "
            f"{scaled_s / median_s:,.0f} times as fast"
        )


def agree() -> None:
    """Print how far the two are apart, for one coil loop and one trigger pair, cut coarser."""
    loop, victim = coil_loop(3, 40), ribbon(route(1, 20), 2e-3)
    (a0, a1), (b0, b1) = ends([loop]), ends([victim])
    begun = time.perf_counter()
    total = sum(by_quad(a0[i], a1[i], b0[j], b1[j]) for i in range(len(a0)) for j in range(len(b0)))
    spent_s = time.perf_counter() - begun
    expected = total * MU0_H_PER_M / (4 * math.pi)
    found = float(mutual_h([loop], [victim])[0, 0])
    print(
        f"values: {len(a0) * len(b0):,} pairs of segments, {found * 1e9:.6f} nH, by quad {expected * 1e9:.6f} nH in "
        f"{spent_s:.2f} s, {abs(found / expected - 1):.1e} apart"
    )
    assert math.isclose(found, expected, rel_tol=1e-6)


if __name__ == "__main__":
    for case, (coil_loops, trigger_pairs) in cases().items():
        compare(case, coil_loops, trigger_pairs)
    agree()
