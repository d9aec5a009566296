"""Wire sizes, fuses and bundles made by hand, with invented figures, for the tests of what is rendered from them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from network_made import result as result_of_network

from harnessdrc.findings import Mark
from harnessdrc.places import Place
from harnessdrc.results import (
    BundleLine,
    FuseLine,
    InductionOutcome,
    NetworkOutcome,
    ReportedFinding,
    Result,
    SizeLine,
    SizingOutcome,
)


def mark(row: int, label: str = "wire") -> Mark:
    return Mark(Place("loom.xlsx", "Wire list", f"A{row}"), label)


def wire(
    name: str, size: str = "0.5 mm²", *, amps: float | None = 4.0, allowed: float | None = 7.4, mm2: str = "0.5 mm²",
    awg: str = "20 AWG", governs: str = "heating", state: str = "full load", degc: float | None = 96.0,
    drop: float | None = 120.0, grams: float | None = 9.0, needed_g: float | None = 9.0, lacking: Sequence[str] = (),
    at: Mark | None = None,
) -> SizeLine:  # fmt: skip
    """A wire among eleven others at 85 °C; its margin is that of its currents."""
    margin = allowed / amps - 1 if allowed is not None and amps else None
    return SizeLine(
        name, size, amps, None if amps is None else amps * 1.5, state, allowed, 85.0, 105.0, 12, 0.4, degc, drop, awg, mm2,
        governs, margin, grams, needed_g, tuple(lacking), at,
    )  # fmt: skip


def fuse(
    name: str, *, rating: float | None = 15.0, load: float | None = 9.0, allowed: float | None = 17.0,
    fault: float | None = 120.0, clears: float | None = 0.4, bears: float | None = 2.0, family: str = "blade",
    lacking: Sequence[str] = (), at: Mark | None = None,
) -> FuseLine:  # fmt: skip
    return FuseLine(
        name, family, "blue", rating, load, "full load", "W7 (0.75 mm²)", allowed, fault, "W22", clears, bears,
        tuple(lacking), at,
    )  # fmt: skip


def bundle(name: str, *, wires: int = 24, across: float | None = 11.8, sleeve: float | None = 14.0,
           lacking: Sequence[str] = ()) -> BundleLine:  # fmt: skip
    bend = None if across is None else across * 10
    return BundleLine(name, wires, across, bend, sleeve, 210.0, 85.0, tuple(lacking), mark(9, "branch"))


USUAL = SizingOutcome(
    (
        wire("W1", "2.5 mm²", amps=11.0, allowed=24.0, mm2="1.5 mm²", awg="14 AWG", grams=44.0, needed_g=26.6, at=mark(2)),
        wire("W2", at=mark(3)),
        *(
            wire(f"W{n}", amps=9.1, allowed=7.4, mm2="0.75 mm²", awg="18 AWG", degc=118.0, governs="heating", needed_g=13.4, at=mark(n + 1))
            for n in (3, 4)
        ),
        wire("W5", "20 AWG", amps=5.0, allowed=8.0, mm2="0.75 mm²", awg="18 AWG", governs="drop", drop=610.0, needed_g=14.0, at=mark(6)),
        wire("W6", amps=7.6, allowed=7.0, mm2="0.75 mm²", awg="18 AWG", degc=109.0, needed_g=13.0, lacking=("insulation of wire W6",), at=mark(7)),
        wire("W7", "", amps=3.0, allowed=None, mm2="", awg="", degc=None, drop=None, grams=None, needed_g=None, lacking=("size of wire W7",), at=mark(8)),
        *(wire(f"W{n}", amps=0.02, allowed=9.0, mm2="0.35 mm²", awg="22 AWG", governs="smallest", degc=85.0, needed_g=6.3, at=mark(n % 11 + 1)) for n in range(8, 30)),
    ),
    (
        fuse("F1", at=mark(4, "fuse")),
        fuse("F2", load=13.2),
        fuse("F3", allowed=11.0, fault=31.0, clears=9.0, bears=4.1),
        fuse("F4", rating=30.0, fault=33.0, clears=math.inf, bears=None),
        fuse("F5", family="", fault=None, clears=None, bears=None, lacking=("family of fuse F5",)),
    ),
    (
        bundle("TRUNK"), bundle("HEAD", sleeve=12.0), bundle("BOOT", sleeve=10.0),
        bundle("TAIL", across=None, sleeve=None, lacking=("size of wire W7",)),
    ),
    2140.0,
    1610.0,
)  # fmt: skip
EXTREME = SizingOutcome(
    (
        wire('<W & "1">', "<0.5>", amps=math.inf, allowed=math.nan),
        wire("=1+1", "4/0 AWG", awg="0000 AWG", amps=math.nan, allowed=0.0),
        wire("$x^2$ \ud800", "0,75", mm2="1e9 mm²", amps=0.0, allowed=math.inf, lacking=tuple(f"length of wire W{n}" for n in range(40))),
        wire("\x1b[31m", "0 mm²", amps=1e-300, allowed=1e300, degc=-math.inf, drop=1e300, grams=math.nan)._replace(bundle_loading=math.nan),
        wire("W" * 300, "1.5 mm²", mm2="", awg="", governs="odd"),
        SizeLine("", "", None, None, "", None, None, None, None, None, None, None, "", "", "", None, None, None, (), None),
    ),
    (
        fuse("<F>", rating=0.0, load=math.inf, allowed=math.nan, fault=math.inf, clears=math.inf, bears=math.inf),
        fuse("=F", rating=math.nan, load=math.nan, clears=math.nan, bears=math.nan),
        FuseLine("", "", "", None, None, "", "", None, None, "", None, None, (), None),
    ),
    (
        bundle("<B>", across=math.inf, sleeve=0.0), bundle("=B", across=math.nan),
        BundleLine("", 0, None, None, None, None, None, (), None),
    ),
    math.inf,
    math.nan,
    ("One thing <was> left out.", "Two.", "Three."),
)  # fmt: skip
CLEAN = SizingOutcome((wire("W1", at=mark(2)), wire("W2", amps=1.0)), (fuse("F1"), fuse("F2", load=3.0)), (), 18.0, 18.0)


def many(count: int = 50_000, fuses: int = 7000, bundles: int = 3000) -> SizingOutcome:
    """As a list of fifty thousand wires has it, one in fifty too small."""
    return SizingOutcome(
        tuple(
            wire(
                f"W{n}", ("0.5 mm²", "20 AWG")[n % 2], amps=5.0 + n % 3, allowed=9.0 if n % 50 else 4.0,
                mm2="0.35 mm²" if n % 50 else "0.75 mm²", awg="22 AWG" if n % 50 else "18 AWG",
                lacking=(f"insulation of wire W{n}",) if n % 7 == 0 else (), at=mark(n % 11 + 1),
            )
            for n in range(count)
        ),
        tuple(fuse(f"F{n}", load=5.0 + n % 9, at=mark(n % 11 + 1)) for n in range(fuses)),
        tuple(bundle(f"B{n}", sleeve=11.0 + n % 5) for n in range(bundles)),
        5e5, 4e5,
    )  # fmt: skip


def result(
    sizing: SizingOutcome, *findings: ReportedFinding, network: NetworkOutcome | None = None,
    induction: InductionOutcome | None = None, file: str = "loom.xlsx",
) -> Result:  # fmt: skip
    made = result_of_network(network or NetworkOutcome(), *findings, file=file)
    return replace(made, sizing=sizing, induction=induction or InductionOutcome())
