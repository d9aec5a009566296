"""Suppression capacitor: worked figures, the current divider written out, and a circuit simulator."""

from __future__ import annotations

import math
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdrc.physics.suppression import Resonance, high_frequency_share, long_way_share, resonance

SPICE = shutil.which("ngspice")
WORKED = (1e-6, 0.25e-6, 4.7e-6, 0.05, 0.05)
"""1 µF; short way 0.25 µH, long way 4.7 µH, 0.05 Ω each."""


@pytest.mark.parametrize(
    ("f_hz", "share", "half_a_digit"),
    [
        (500, 1.00, 5e-3),
        (5e3, 1.005, 5e-4),
        (20e3, 1.08, 5e-3),
        (71.5e3, 21.1, 0.05),
        (150e3, 0.229, 5e-4),
        (318e3, 0.0053, 5e-5),
        (1e6, 0.046, 5e-4),
    ],
)
def test_worked_shares(f_hz: float, share: float, half_a_digit: float) -> None:
    assert float(long_way_share(f_hz, *WORKED)) == pytest.approx(share, abs=half_a_digit)


def test_worked_floor_and_resonance() -> None:
    assert high_frequency_share(0.25e-6, 4.7e-6) == pytest.approx(0.0505, abs=5e-5)
    assert float(long_way_share(1e9, *WORKED)) == pytest.approx(high_frequency_share(0.25e-6, 4.7e-6), rel=1e-4)
    found = resonance(*WORKED)
    assert found.f_hz == pytest.approx(71.5e3, abs=50)
    assert found.q == pytest.approx(math.sqrt(4.95) / 0.1, rel=1e-12)


positive = st.floats(0.1, 10.0)
ways = st.tuples(
    positive.map(lambda x: x * 1e-6), positive.map(lambda x: x * 0.1e-6), positive.map(lambda x: x * 2e-6),
    positive.map(lambda x: x * 0.05), positive.map(lambda x: x * 0.05),
)  # fmt: skip


@settings(max_examples=100, deadline=None)
@given(ways, st.floats(1.0, 8.0))
def test_current_divider(values: tuple[float, ...], decade: float) -> None:
    c_f, short_h, long_h, short_ohm, long_ohm = values
    omega = 2 * math.pi * 10**decade
    short = complex(short_ohm, omega * short_h - 1 / (omega * c_f))
    long = complex(long_ohm, omega * long_h)
    assert float(long_way_share(10**decade, *values)) == pytest.approx(abs(short / (short + long)), rel=1e-9)


@settings(max_examples=100, deadline=None)
@given(ways)
def test_resonance_is_where_the_reactances_cancel(values: tuple[float, ...]) -> None:
    """What is left there is resistance; the height of the peak follows from the capacitor's reactance."""
    c_f, short_h, _, short_ohm, long_ohm = values
    found = resonance(*values)
    omega = 2 * math.pi * found.f_hz
    left = abs(complex(short_ohm, omega * short_h - 1 / (omega * c_f))) / (short_ohm + long_ohm)
    assert float(long_way_share(found.f_hz, *values)) == pytest.approx(left, rel=1e-6)
    assert found.q == pytest.approx(1 / (omega * c_f * (short_ohm + long_ohm)), rel=1e-9)


def test_a_capacitor_closes_the_loop_for_the_breakdown_and_not_for_the_arc() -> None:
    """A fact of the trade: the breakdown (some 10 MHz) leaves the long way, the arc (1 ms) stays on it."""
    assert float(long_way_share(10e6, *WORKED)) < 0.06
    assert float(long_way_share(1e3, *WORKED)) == pytest.approx(1.0, abs=1e-3)
    assert np.all(long_way_share([1e3, 10e6], 0.0, *WORKED[1:]) == 1.0)


def test_ends_of_the_scale() -> None:
    assert float(long_way_share(0.0, *WORKED)) == 1.0
    lossless = resonance(1.0, 0.25, 0.75, 0.0, 0.0)
    assert lossless == Resonance(1 / (2 * math.pi), math.inf)
    assert float(long_way_share(lossless.f_hz, 1.0, 0.25, 0.75, 0.0, 0.0)) > 1e15
    assert long_way_share(np.ones((2, 3)), *WORKED).shape == (2, 3)


@pytest.mark.parametrize(
    "call",
    [
        lambda: long_way_share(-1.0, *WORKED),
        lambda: long_way_share([1.0, math.nan], *WORKED),
        lambda: long_way_share(1.0, -1e-6, *WORKED[1:]),
        lambda: long_way_share(1.0, 1e-6, -1e-6, 1e-6, 0.0, 0.0),
        lambda: long_way_share(1.0, 1e-6, 1e-6, math.inf, 0.0, 0.0),
        lambda: long_way_share(1.0, 1e-6, 1e-6, 1e-6, -0.1, 0.0),
        lambda: long_way_share(1.0, 1e-6, 1e-6, 1e-6, 0.1, math.nan),
        lambda: long_way_share(1.0, 1e-6, 0.0, 0.0, 0.1, 0.1),
        lambda: resonance(0.0, *WORKED[1:]),
        lambda: resonance(1e-6, 0.0, 0.0, 0.1, 0.1),
        lambda: resonance(math.nan, *WORKED[1:]),
        lambda: high_frequency_share(0.0, 0.0),
        lambda: high_frequency_share(-1e-6, 2e-6),
    ],
)
def test_wrong_values(call: Callable[[], object]) -> None:
    with pytest.raises(ValueError, match=r"give "):
        call()


@pytest.mark.skipif(SPICE is None, reason="the circuit simulator ngspice is not installed")
@pytest.mark.parametrize(
    "values", [WORKED, (2.2e-6, 0.1e-6, 8e-6, 0.02, 0.3), (0.25e-6, 0.6e-6, 1.1e-6, 1.0, 2.0), (3.3e-6, 1e-9, 2e-6, 0.0, 0.01)],
)  # fmt: skip
def test_against_a_circuit_simulator(values: tuple[float, ...], tmp_path: Path) -> None:
    """One ampere into both ways side by side; the current of the long one, from 100 Hz to 100 MHz."""
    c_f, short_h, long_h, short_ohm, long_ohm = values
    out = tmp_path / "share.txt"
    netlist = tmp_path / "ways.cir"
    netlist.write_text(
        "\n".join(
            [
                "two ways home",
                "I1 0 coil DC 0 AC 1",
                f"C1 coil a {c_f!r}",
                f"L1 a b {short_h!r}",
                f"R1 b 0 {short_ohm!r}" if short_ohm else "V1 b 0 DC 0",
                f"L2 coil c {long_h!r}",
                f"R2 c d {long_ohm!r}",
                "V2 d 0 DC 0",
                ".options reltol=1e-9 numdgt=12",
                ".control",
                "set numdgt=12",
                "ac dec 20 100 100meg",
                f"wrdata {out} mag(i(v2))",
                "quit",
                ".endc",
                ".end",
                "",
            ]
        ),
        encoding="ascii",
    )
    assert SPICE is not None
    ran = subprocess.run([SPICE, "-b", str(netlist)], capture_output=True, text=True, check=False, timeout=60)
    assert out.exists(), ran.stderr
    table = np.loadtxt(out)
    assert len(table) == 121
    assert long_way_share(table[:, 0], *values) == pytest.approx(table[:, 1], rel=1e-6)
