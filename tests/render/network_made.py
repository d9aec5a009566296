"""Solved networks made by hand, for the tests of what is rendered from them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from harnessdrc.findings import Mark
from harnessdrc.places import Place
from harnessdrc.results import (
    NetworkOutcome,
    OffsetLine,
    ReadSummary,
    ReportedFinding,
    ReportedUndecided,
    ReserveLine,
    Result,
    ShareLine,
    SourceFile,
    StarLine,
    StateLine,
)

STATES = (
    StateLine("key on", "ignition on, engine stopped", 0, 0, 0, 8, 12.4),
    StateLine("cranking", "the starter turns the engine", 250, 200, 0, 30, 10.1),
    StateLine("idle", "the engine idles and charges", 850, 0, 60, 12, 13.9),
    StateLine("full load", "all injectors and coils at work", 7000, 0, 10, 42, 14.1),
)
RING = ReserveLine("ring of G1 on battery negative", "G1", 4.8, "full load", None)
STARS = (
    StarLine("HEAD STUD on engine block", False, 69.0, "COIL3", "full load", 0.099, 0.42),
    StarLine("CHASSIS STUD on chassis", True, 476.0, "COIL1", "full load", 1.19, 1.92),
    StarLine("BATTERY NEGATIVE", False, 610.0, "COIL1", "idle", 1.52, None, ("length of wire G3", "length of wire G9")),
)
NOT_SOLVED = ("RELAY BOX has no return: nothing joins its ground to the battery.",)


def shares(*parts: tuple[str, float]) -> tuple[ShareLine, ...]:
    return tuple(ShareLine(source, mv) for source, mv in parts)


def offset(
    name: str, mv: float, *, what: str = "coil input", low: float | None = -400.0, high: float | None = 700.0,
    worst: int = 3, aged: float = 1.7, parts: tuple[ShareLine, ...] | None = None,
    reserves: tuple[ReserveLine, ...] = (RING,), between: tuple[float, float] | None = None,
    error: float | None = None, unit: str = "", mark: Mark | None = None,
) -> OffsetLine:  # fmt: skip
    """A victim whose worst state has `mv` at the worst instant, the others a tenth of it."""
    peak = tuple(mv if at == worst else mv / 10 for at in range(len(STATES)))
    told = shares(("charge", mv * 0.9), ("own current", mv * 0.1)) if parts is None else parts
    return OffsetLine(
        ("component", name), what, "ECU ground", low, high, tuple(v / 2 for v in peak), peak,
        tuple(v * aged / 2 for v in peak), tuple(v * aged for v in peak),
        tuple(told if at == worst else () for at in range(len(STATES))), reserves, worst,
        between[0] if between else None, between[1] if between else None, error, unit, mark,
    )  # fmt: skip


def network(
    offsets: Sequence[OffsetLine] = (), *, wires: int = 4, nodes: int = 3, stars: tuple[StarLine, ...] = (),
    not_solved: tuple[str, ...] = (), names: Sequence[str] | None = None,
) -> NetworkOutcome:  # fmt: skip
    """Wire number n carries n ampere in the first state, twice that in the second, and so on; W1 nothing."""
    count = len(STATES)
    amps = np.outer(np.arange(1, count + 1), np.arange(wires)).astype(float)
    labels = tuple(names) if names is not None else tuple(f"W{n + 1}" for n in range(wires))
    return NetworkOutcome(
        STATES, tuple(f"N{n}" for n in range(nodes)), np.outer(np.arange(count), np.arange(nodes)) * 0.125, labels,
        tuple(Mark(Place("loom.xlsx", "Wire list", f"A{n + 2}"), "wire") for n in range(wires)),
        amps, amps * 1.5, amps * -4, amps * 6, 85.0, tuple(offsets), stars, not_solved,
    )  # fmt: skip


def result(
    solved: NetworkOutcome, *findings: ReportedFinding, undecided: tuple[ReportedUndecided, ...] = (),
    file: str = "loom.xlsx",
) -> Result:  # fmt: skip
    return Result(
        "0", (SourceFile(file, "0" * 64),), "engine-loom", "1", (), ReadSummary(9, 9, (), 5, 0, 2), (), findings,
        undecided, (), solved,
    )  # fmt: skip
