"""What the checks on offsets of grounds share: who is over a limit, for certain or perhaps, and what makes it so."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from harnessdrc.checks.wayparts import WayPart, weightiest
from harnessdrc.design import Contact, Design
from harnessdrc.design.analysis import Analysis, Victim
from harnessdrc.design.analysis.analysis import Worst
from harnessdrc.design.analysis.limits import OffsetLimits
from harnessdrc.design.analysis.ranges import Range
from harnessdrc.design.analysis.shares import named_shares
from harnessdrc.findings import Mark, Subject, Undecided
from harnessdrc.harness.roles import GROUND_ROLES, RETURN_ROLES

__all__ = [
    "CHARGE_AND_LOADS",
    "Judged",
    "Told",
    "copper_cause",
    "judge",
    "lacking_words",
    "shares_text",
    "tell",
    "unsolved",
    "victim_subjects",
]

Floats = NDArray[np.float64]
Verdict = Literal["within", "over", "open"]

CHARGE_AND_LOADS = "alternator"
"""What the alternator drives, as a source of currents."""

_MOST_NAMED = 5
_SAFETY = 2.0
"""How much further than in a straight estimate uncertain resistances may take an offset where ways lie side by side."""


@dataclass(frozen=True, slots=True)
class Judged:
    """The worst instant of one victim held against its limit.

    Parameters
    ----------
    number : int
        Of the victim.
    victim : Victim
        The victim.
    worst : Worst
        Its worst instant.
    verdict : {"within", "over", "open"}
        ``open`` where it hangs on data that is lacking.
    range : Range or None
        Where the offset can lie, as far as that was needed for the verdict.
    """

    number: int
    victim: Victim
    worst: Worst
    verdict: Verdict
    range: Range | None = None

    @property
    def lacking(self) -> tuple[str, ...]:
        """Data that it hangs on, the most telling first."""
        named = self.range.lacking[:_MOST_NAMED] if self.range else ()
        return named or ("sizes, lengths and currents on its way",)


# ---------------------------------------------------------------------- who is looked at
def victim_subjects(design: Design, *kinds: str) -> list[Subject]:
    """Every component that is a victim of one of these kinds, solved or not."""
    return list(dict.fromkeys(v.subject for v in design.analysis.all_victims if v.kind in kinds))


def lacking_words(design: Design) -> tuple[str, ...]:
    """Data without which nothing can be solved, in trade words; empty where it is solved."""
    analysis = design.analysis
    if analysis.solved:
        return ()
    if not analysis.states:
        return ("operating states (the ruleset has none)",)
    words: list[str] = []
    for left in analysis.left_out:
        if not left.whole:
            continue
        words.append(
            {
                "another voltage": f"a battery of 12 V: the usual figures are of 12 V systems, {left.name} has "
                f"{left.detail} V",
                "in series": f"one battery of 12 V: {left.name} is joined to {left.detail}, and the usual figures are "
                "of 12 V systems",
                "battery shorted": f"a battery that is not short-circuited: {left.name} is joined to {left.detail}",
            }.get(left.reason, "a way from an earth point to the battery's negative post")
        )
    return tuple(words) or ("a way from an earth point to the battery's negative post",)


def unsolved(design: Design, *kinds: str) -> Iterator[Undecided]:
    """Undecided for every victim of these kinds that could not be solved, each component once."""
    analysis = design.analysis
    words = lacking_words(design)
    solved = {id(victim) for victim in analysis.victims}
    told: set[Subject] = set()
    for victim in analysis.all_victims:
        if victim.kind not in kinds or id(victim) in solved or victim.subject in told:
            continue
        told.add(victim.subject)
        missing = words
        if not missing:
            known = victim.ground in analysis.circuit.node_number
            start = victim.controller.name if known else victim.device.name
            missing = (f"a way from the ground of {start} to the battery's negative post",)
        yield Undecided(victim.subject, missing, victim.mark)


# ---------------------------------------------------------------------- who is over
class _Judge:
    """Verdicts on all victims of one solved design, each kept."""

    def __init__(self, analysis: Analysis) -> None:
        self.analysis = analysis
        self._verdicts: dict[tuple[int, OffsetLimits], Judged] = {}

    @cached_property
    def reach_v(self) -> Floats:
        """How far what is uncertain may take the offset of each victim in each state at the most, V.

        Along the way of an offset every part adds its resistance times its current times the share of the way that
        goes through it. Peak currents stand for those of any instant, the greatest range of a current for all.
        """
        analysis = self.analysis
        circuit, currents = analysis.circuit, analysis.currents
        reach = np.zeros((len(analysis.victims), len(analysis.states)))
        known = not currents.unknown.any() and (currents.low == 1.0).all() and (currents.high == 1.0).all()
        if known and not len(circuit.uncertain_parts):
            return reach
        ohm = circuit.ohm()
        low_ohm = np.array([part.low_ohm - part.ohm for part in circuit.parts]) + ohm
        high_ohm = np.array([part.high_ohm - part.ohm for part in circuit.parts]) + ohm
        # what a fall of a resistance does is more than in proportion where the current has other ways
        span_ohm = np.maximum(high_ohm - ohm, (ohm - low_ohm) * ohm / np.maximum(low_ohm, 1e-9))
        most = float(currents.high.max(initial=1.0))
        peak_a = np.nan_to_num(analysis.part_currents.peak)
        units = analysis.new.units
        share = np.abs(units.amps)
        spread = max(most - 1.0, 1.0 - float(currents.low.min(initial=1.0)))
        per_part = (span_ohm * most * _SAFETY + ohm * spread)[units.branch]
        np.add.at(reach, units.pair, (share * per_part)[:, None] * peak_a[units.branch])
        if currents.unknown.any():
            unknown_a = float(currents.unknown.sum()) * analysis.given["unknown_current_high_a"]
            np.add.at(reach, units.pair, (share * (ohm + span_ohm)[units.branch] * unknown_a)[:, None])
        return reach

    def of(self, numbers: Sequence[int], limits: OffsetLimits) -> list[Judged]:
        """Verdicts on some victims with joints as new."""
        self._judge([number for number in numbers if (number, limits) not in self._verdicts], limits)
        return [self._verdicts[number, limits] for number in numbers]

    def _judge(self, numbers: Sequence[int], limits: OffsetLimits) -> None:
        victims = self.analysis.victims
        near: dict[int, list[Worst]] = {}
        for number in numbers:
            worst = self.analysis.worst(number, limits)
            reach_v = self.reach_v[number]
            some = [worst] if abs(worst.limit_v - worst.offset_v) <= reach_v[worst.state] else []
            if not worst.over and (other := self._nearest(number, limits, reach_v)) is not None and other != worst:
                some.append(other)
            if some:
                near[number] = some
            else:
                found: Verdict = "over" if worst.over else "within"
                self._verdicts[number, limits] = Judged(number, victims[number], worst, found)
        ranges = iter(self.analysis.ranges_of([worst for some in near.values() for worst in some]) if near else ())
        for number, some in near.items():
            judged = [_over_its_range(number, victims[number], worst, next(ranges)) for worst in some]
            # What is over for certain counts first, then what may be.
            ranked = [each for verdict in ("over", "open") for each in judged if each.verdict == verdict]
            self._verdicts[number, limits] = (ranked or judged)[0]

    def _nearest(self, number: int, limits: OffsetLimits, reach_v: Floats) -> Worst | None:
        """The state and side in which what is uncertain takes the offset furthest; None where no limit is reached."""
        offsets = self.analysis.new
        low_v, high_v = limits.of(self.analysis.victims[number].kind, self.analysis.given)
        found: list[tuple[float, Worst]] = []
        for limit_v, values, upward in ((low_v, offsets.low_v[number], False), (high_v, offsets.high_v[number], True)):
            if limit_v is None:
                continue
            beyond_v = values + reach_v - limit_v if upward else limit_v - (values - reach_v)
            state = int(beyond_v.argmax())
            if beyond_v[state] > 0 and reach_v[state] > 0:
                found.append((float(beyond_v[state]), Worst(number, state, upward, float(values[state]), limit_v)))
        return max(found, key=lambda each: each[0])[1] if found else None


def _over_its_range(number: int, victim: Victim, worst: Worst, where: Range) -> Judged:
    """Verdict on a worst instant over the range of what is uncertain."""
    if where.certain:
        return Judged(number, victim, worst, "over" if worst.over else "within")
    inner, outer = (where.low_v, where.high_v) if worst.upward else (-where.high_v, -where.low_v)
    limit_v = worst.limit_v if worst.upward else -worst.limit_v
    verdict: Verdict = "over" if inner > limit_v else "within" if outer <= limit_v else "open"
    return Judged(number, victim, worst, verdict, where)


def judge(design: Design, kinds: Sequence[str], limits: OffsetLimits, *, aged: bool = False) -> Iterator[Judged]:
    """Every solved victim of these kinds with its verdict.

    With joints aged what is over its limit as new already is ``within`` here (it is told with joints as new), and
    what hangs on lacking data as new hangs on it here.
    """
    analysis = design.analysis
    if not analysis.victims:
        return
    kept: _Judge = analysis.kept.setdefault("verdicts", _Judge(analysis))
    numbers = [number for number, victim in enumerate(analysis.victims) if victim.kind in kinds]
    for as_new in kept.of(numbers, limits):
        if not aged or as_new.verdict == "open":
            yield as_new
            continue
        worst = analysis.worst(as_new.number, limits, aged=True)
        over = worst.over and as_new.verdict == "within"
        yield Judged(as_new.number, as_new.victim, worst, "over" if over else "within")


# ---------------------------------------------------------------------- what makes it so
@dataclass(frozen=True, slots=True)
class Told:
    """What is told of one victim that is over its limit.

    Parameters
    ----------
    judged : Judged
        The verdict.
    evidence : mapping
        State, offset, shares and the part that does most.
    marks : tuple of Mark
        The victim's cell, then the part's.
    part : WayPart
        The part of the way that drops most.
    """

    judged: Judged
    evidence: Mapping[str, Any]
    marks: tuple[Mark, ...]
    part: WayPart

    @property
    def subject(self) -> Subject:
        """Whose it is."""
        return self.judged.victim.subject


def tell(design: Design, judged: Sequence[Judged], *, aged: bool = False) -> tuple[list[Told], dict[Subject, Subject]]:
    """Evidence of victims over their limits, and whose finding explains whose.

    Victims whose offset comes most from one and the same part of the way, to the same side, are one matter: the
    worst of them is the cause of the others.
    """
    analysis = design.analysis
    if not judged:
        return [], {}
    offsets = analysis.aged if aged else analysis.new
    wanted = [(j.number, j.worst.state, j.worst.upward) for j in judged]
    told = []
    for each, parts, part in zip(judged, offsets.parts_of(wanted), weightiest(analysis, offsets, wanted), strict=True):
        worst, victim = each.worst, each.victim
        shares = named_shares(offsets, parts)
        far = each.range
        evidence: dict[str, Any] = {
            "controller": victim.controller.name,
            "state": analysis.states[worst.state].name,
            "joints": "with joints aged" if aged else "with joints as new",
            "offset_mv": round(worst.offset_v * 1000, 3),
            "size_mv": f"{abs(round(worst.offset_v * 1000, 3)):.0f}",
            "side": "above" if worst.offset_v > 0 else "below",
            "shares": [{"source": source, "mv": round(volts * 1000, 3)} for source, volts in shares],
            "shares_text": shares_text(shares),
            "joint": part.name,
            "joint_mohm": round(part.ohm * 1000, 3),
            "joint_text": part.text,
            "joint_mv": round(part.volts * 1000, 3),
            "advice": part.advice(victim, design),
        }
        if far is not None and not far.certain:
            evidence["range_mv"] = [round(far.low_v * 1000, 3), round(far.high_v * 1000, 3)]
            evidence["joints"] += ", over the whole range that lacking data leaves open"
        told.append(Told(each, evidence, victim.mark + part.marks(victim.mark), part))
    return told, _causes(told)


def shares_text(shares: Sequence[tuple[str, float]]) -> str:
    """Sources with their parts of an offset: ``charge -562 mV, ECU -45 mV``, those of a millivolt and more."""
    worth = [share for share in shares if abs(share[1]) >= 0.001] or list(shares[:1])
    return ", ".join(f"{source} {round(volts * 1000, 3):+.0f} mV" for source, volts in worth)


def copper_cause(design: Design, victim: Victim) -> tuple[str, Subject] | None:
    """The finding on the copper that explains an offset of a victim's ground, the likeliest.

    A sensor that does not return to the controller, or shares its sensor ground; a device that is earthed on another
    body than the controller.
    """
    if not victim.kind.endswith("reading") and victim.kind != "trigger level":
        reached = design.grounds.reached(design.devices.grounds(victim.device))
        star = {design.devices.rigid(r.earth) for r in design.grounds.star}
        away = any(design.devices.rigid(r.earth) not in star for r in reached)
        return ("ground.one_point", victim.subject) if away else None
    if not isinstance(victim.ground, Contact):
        return ("sensor.body_grounded", victim.subject)
    net = design.net.net(victim.ground)
    homes = design.devices.controller_contacts(*RETURN_ROLES)
    if net is None or not homes & set(net.contacts):
        return ("sensor.return_elsewhere", victim.subject)
    if net.earths or any(design.role(c) in GROUND_ROLES for c in net.contacts):
        pins = design.devices.controller_contacts("sensor ground") & set(net.contacts)
        if pins:
            return ("sensor.return_second_path", ("net", f"sensor ground {design.label(min(pins))}"))
    return None


def _causes(told: Sequence[Told]) -> dict[Subject, Subject]:
    """Subject → subject of the worst of those whose offset the same part makes."""
    groups: dict[tuple[int, bool], list[Told]] = {}
    for each in told:
        groups.setdefault((each.part.number, each.judged.worst.upward), []).append(each)
    causes: dict[Subject, Subject] = {}
    for members in groups.values():
        first = min(members, key=lambda t: (-t.judged.worst.share_of_limit, t.subject))
        causes |= {t.subject: first.subject for t in members if t.subject != first.subject}
    return causes
