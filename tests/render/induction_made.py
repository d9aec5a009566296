"""Loops and trigger margins made by hand, with invented figures, for the tests of what is rendered from them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from network_made import result as result_of_network

from harnessdrc.findings import Mark
from harnessdrc.places import Place
from harnessdrc.results import (
    InductionOutcome,
    LoopLine,
    NetworkOutcome,
    PickupLine,
    ReportedFinding,
    Result,
    SettingLine,
    TriggerLine,
)

RPM = (60.0, 200.0, 850.0, 3000.0, 7000.0)
WAY = (
    "COIL1 HV", "plug lead 1", "PLUG1", "engine block", "strap G1", "battery negative", "strap G2", "chassis", "STUD3",
    "wire W212", "COIL1 C",
)  # fmt: skip


def mark(row: int, label: str = "component") -> Mark:
    return Mark(Place("loom.xlsx", "Wire list", f"A{row}"), label)


def loop(
    name: str, what: str = "high-voltage return", *, length_m: float | None = 1.92, area: float | None = 2934.0,
    bound: bool = True, best: float | None = 121.0, way: Sequence[str] = WAY, lacking: Sequence[str] = (),
    notes: Sequence[str] = (), at: Mark | None = None,
) -> LoopLine:  # fmt: skip
    """A loop; its ratio is that of its areas."""
    ratio = area / best if area is not None and best else None
    return LoopLine(
        ("component", name), what, tuple(way), length_m, area, bound, best, ratio, tuple(lacking), tuple(notes), at
    )


def pickup(name: str = "COIL1", mv: float = 54.0, *, what: str = "high-voltage return", edge: str = "breakdown",
           mutual: float = 2.7, best: float | None = 0.15) -> PickupLine:  # fmt: skip
    """What a loop induces, with a range from a sixth to six times of it."""
    return PickupLine(("component", name), what, edge, mutual, best, mv, mv / 6, mv * 6, 0.05)


def trigger(
    name: str = "CRANK SENSOR", *, rpm: Sequence[float] = RPM, noise_mv: float = 61.0, per_rpm_mv: float = 5.0,
    limit: float | None = 20.0, pickups: Sequence[PickupLine] | None = None,
    settings: Sequence[SettingLine] | None = None, at: Mark | None = None,
) -> TriggerLine:  # fmt: skip
    """A reluctor whose signal grows with speed, the range 9 dB down and up."""
    signal = tuple(per_rpm_mv * speed for speed in rpm)
    margin = tuple(20 * math.log10(mv / noise_mv) for mv in signal)
    if settings is None:
        settings = [
            SettingLine(speed, us, 2e-3 * noise_mv / (1 + us / 5), 0.8e-3 * mv if mv > 3 * noise_mv else None)
            for speed, mv in zip(rpm, signal, strict=True) for us in (0.0, 5.0)
        ]  # fmt: skip
        settings = [one if one.highest_v is not None else one._replace(lowest_v=None) for one in settings]
    return TriggerLine(
        ("component", name), "reluctor sensor", "twisted, lay 30 mm, 40 mm untwisted at each end; no shield", tuple(rpm),
        signal, (0.0,) * len(rpm), *((noise_mv * share,) * len(rpm) for share in (1, 1 / 6, 6)), margin, tuple(db - 9 for db in margin),
        tuple(db + 9 for db in margin), 0, limit, tuple(settings),
        tuple(pickups) if pickups is not None else (pickup(), pickup("INJ1", 1.1, what="injector", edge="injector switch-off")),
        (), at,
    )  # fmt: skip


def hall(name: str = "CAM SENSOR") -> TriggerLine:
    """A fixed level over all speeds."""
    number = len(RPM)
    return TriggerLine(
        ("component", name), "Hall sensor", "twisted, lay 25 mm, 30 mm untwisted at each end; shield of steel braid",
        RPM, (2500.0,) * number, (0.0, 12.0, 40.0, 90.0, 140.0), (12.0,) * number, (2.0,) * number, (72.0,) * number,
        tuple(46.4 - 0.1 * at for at in range(number)), tuple(33.0 - at for at in range(number)), (58.0,) * number,
        number - 1, 20.0, tuple(SettingLine(rpm, 5.0, 0.6, 4.2 - rpm / 1e4) for rpm in RPM),
        (pickup("COIL4", 12.0, mutual=0.6, best=0.2),), (), mark(7),
    )  # fmt: skip


USUAL = InductionOutcome(
    (
        *(loop(f"COIL{n}", at=mark(n + 1), notes=("no capacitor closes it",) if n == 1 else ()) for n in range(1, 5)),
        *(loop(f"COIL{n}", "primary", length_m=0.5 + 0.06 * n, area=200.0 + 30 * n, best=90.0, way=("COIL", "FUSE2", "ECU")) for n in range(4, 0, -1)),
        *(loop(f"INJ{n}", "injector", length_m=1.1, area=90.0, bound=False, best=80.0, way=(f"INJ{n}", "ECU")) for n in range(1, 5)),
        loop("CRANK SENSOR", "trigger pair", length_m=1.6, area=6.4, bound=False, best=6.4, way=("CRANK SENSOR", "ECU")),
        loop("CAM SENSOR", "trigger pair", length_m=None, area=None, best=None, way=("CAM SENSOR", "ECU"), lacking=("length of wire W77",)),
    ),
    (trigger(at=mark(6)), hall()),
)
EXTREME = InductionOutcome(
    (
        loop("<COIL & \"1\">", length_m=math.inf, area=math.inf, best=1.0),
        loop("=1+1", length_m=math.nan, area=math.nan, best=1.0, way=("a<b>", "&amp;", "\x1b[31m")),
        loop("$x^2$ \ud800", length_m=1e-300, area=1e300, best=1e-300, way=()),
        loop("nothing", length_m=None, area=None, best=None, way=(), lacking=tuple(f"length of wire W{n}" for n in range(40))),
        LoopLine(("component", "odd"), "another kind", (), 0.0, 0.0, False, 0.0, math.inf, (), (), None),
    ),
    (
        replace(trigger("<S & $1_{2}$>\ufffe"), margin_db=(math.inf, -math.inf, math.nan, 1e300, -1e300), low_db=(-math.inf,) * 5,
                high_db=(math.inf, math.nan, math.inf, 1.0, 2.0), worst=99, noise_mv=(0.0, math.inf, math.nan, 1e-300, 1e300)),
        replace(trigger("all inf"), margin_db=(math.inf,) * 5, low_db=(math.inf,) * 5, high_db=(math.inf,) * 5),
        replace(trigger("all nan"), margin_db=(math.nan,) * 5, lacking=("output of all nan",)),
        TriggerLine(("component", "unknown"), "Hall sensor", "", lacking=("length of wire W9",)),
        TriggerLine(("component", ""), "", ""),
    ),
    ("One thing <was> left out.", "Two.", "Three.", "Four."),
)  # fmt: skip


def many(count: int = 6500, sensors: int = 100) -> InductionOutcome:
    """As a list of fifty thousand wires has it."""
    kinds = ("high-voltage return", "primary", "injector", "trigger pair")
    loops = tuple(
        loop(f"COIL{n}", kinds[n * 4 // count], length_m=1 + n / 1000, area=100.0 + n, bound=n % 3 > 0, at=mark(n % 11 + 1))
        for n in range(count)
    )
    return InductionOutcome(
        loops, tuple(trigger(f"SENSOR{n}", noise_mv=40.0 + n, pickups=[pickup(f"COIL{m}") for m in range(20)]) for n in range(sensors))
    )


def result(
    induction: InductionOutcome, *findings: ReportedFinding, network: NetworkOutcome | None = None, file: str = "loom.xlsx"
) -> Result:
    return replace(result_of_network(network or NetworkOutcome(), *findings, file=file), induction=induction)
