"""Plain outcome of a run of the rules, as every renderer receives it.

Nothing here computes; the engine fills these in and the console, the redline, the report and the JSON
read them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from harnessdrc.findings import Grade, Mark, Subject

__all__ = [
    "AssumptionLine",
    "BundleLine",
    "FuseLine",
    "GivenValue",
    "InductionOutcome",
    "LoopLine",
    "NetworkOutcome",
    "OffsetLine",
    "PickupLine",
    "Proposal",
    "ReadSummary",
    "ReportedFinding",
    "ReportedUndecided",
    "ReserveLine",
    "Result",
    "RuleOutcome",
    "SetAsideLine",
    "SettingLine",
    "ShareLine",
    "SizeLine",
    "SizingOutcome",
    "SourceFile",
    "StarLine",
    "StateLine",
    "TriggerLine",
]


class SourceFile(NamedTuple):
    """An input file: the name shown to the user and the SHA-256 of its bytes."""

    file: str
    sha256: str


class GivenValue(NamedTuple):
    """A value the analysis takes as given, its unit and where it came from."""

    name: str
    value: float | str
    unit: str
    origin: str


@dataclass(frozen=True, slots=True)
class SetAsideLine:
    """A row of the input that was not used, and why."""

    file: str
    sheet: str
    row: int
    reason: str


@dataclass(frozen=True, slots=True)
class AssumptionLine:
    """Something inferred: what, about which text, the value taken, the words that decided it."""

    what: str
    subject: str
    value: str
    because: str
    mark: Mark | None
    count: int


@dataclass(frozen=True, slots=True)
class ReadSummary:
    """Account of the rows, and how many objects they gave."""

    rows_seen: int
    rows_used: int
    set_aside: tuple[SetAsideLine, ...]
    wires: int
    pins: int
    components: int


class StateLine(NamedTuple):
    """An operating state as solved.

    Parameters
    ----------
    name, meaning : str
        As the ruleset has them.
    rpm : float
        Engine speed, 1/min.
    starter_a, charge_a, loads_a : float
        Current of the starter, into the battery, and of all other loads on average, A.
    battery_v : float
        Voltage between the battery's terminals, V.
    """

    name: str
    meaning: str
    rpm: float
    starter_a: float
    charge_a: float
    loads_a: float
    battery_v: float


class ShareLine(NamedTuple):
    """Part of an offset that one source makes, or that falls across one part of the circuit, mV, signed as the offset.

    `across` tells of a source where its part falls, the greatest first; empty where that was not worked out.
    """

    source: str
    mv: float
    across: tuple[tuple[str, float], ...] = ()


class ReserveLine(NamedTuple):
    """By how many milliohm one joint may rise until the limit of its victim is crossed."""

    joint: str
    wire: str | None
    mohm: float
    state: str
    mark: Mark | None


@dataclass(frozen=True, slots=True)
class OffsetLine:
    """Ground of one victim against the controller's, in every state.

    Parameters
    ----------
    victim : tuple of (str, str)
        Its subject.
    what : str
        ``coil input``, ``sensor reading``, ``controller ground``, ``bus node``.
    reference : str
        Ground it is held against, as people write it.
    low_limit_mv, high_limit_mv : float or None
        Offsets between these do no harm, mV.
    average_mv, peak_mv, aged_average_mv, aged_peak_mv : tuple of float
        One value per state: on average and at the worst instant, with joints as new and aged, mV.
    shares : tuple of tuple of ShareLine
        Per state, the parts that add to ``peak_mv``, the greatest first; the last may be ``everything else``.
        Empty where the offset is far below its limit.
    reserves : tuple of ReserveLine
        The weakest joints, the least reserve first.
    worst : int
        The state whose worst instant stands nearest to a limit or furthest over it.
    low_mv, high_mv : float or None
        Range of the worst instant in that state over the data that is uncertain; None where nothing is.
    error, error_unit
        What the offset makes of a reading in the worst state: ``K`` or ``% of span``; ``inf`` for a sensor fault.
    mark : Mark or None
        Where the victim stands in the list.
    across : tuple of ShareLine
        The whole of the worst state, told by the parts of the circuit that it falls across.
    """

    victim: Subject
    what: str
    reference: str
    low_limit_mv: float | None
    high_limit_mv: float | None
    average_mv: tuple[float, ...]
    peak_mv: tuple[float, ...]
    aged_average_mv: tuple[float, ...]
    aged_peak_mv: tuple[float, ...]
    shares: tuple[tuple[ShareLine, ...], ...]
    reserves: tuple[ReserveLine, ...]
    worst: int
    low_mv: float | None = None
    high_mv: float | None = None
    error: float | None = None
    error_unit: str = ""
    mark: Mark | None = None
    across: tuple[ShareLine, ...] = ()


class StarLine(NamedTuple):
    """One candidate for the star point, with everything solved again.

    Parameters
    ----------
    earth_point : str
        As people write it, with its body.
    today : bool
        Whether the list has its star point there.
    worst_mv, worst_victim, worst_state
        The offset that stands nearest to its limit or furthest over it.
    worst_share_of_limit : float
        That offset over its limit: above 1 it is crossed.
    high_voltage_return_m : float or None
        Longest way of a coil's spark current home, m; None where lengths are lacking.
    lacking : tuple of str
        What the length would need.
    """

    earth_point: str
    today: bool
    worst_mv: float
    worst_victim: str
    worst_state: str
    worst_share_of_limit: float
    high_voltage_return_m: float | None
    lacking: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class NetworkOutcome:
    """What the solved network says, as plain numbers.

    Parameters
    ----------
    states : tuple of StateLine
        In the order of the ruleset; every array below has one row per state.
    nodes : tuple of str
        Contacts, earth points, bodies and insides of devices, as people write them.
    node_v : ndarray, shape (states, nodes)
        Potential against the battery's negative post on average, joints as new, V.
    wires : tuple of str
        Wires that are part of the network, in the order of the list.
    wire_marks : tuple of Mark or None
        Their cells.
    average_a, peak_a : ndarray, shape (states, wires)
        Current from the wire's first end to its second, on average; and its greatest amount at the worst instant, A.
    average_drop_mv, peak_drop_mv : ndarray, shape (states, wires)
        The same of the voltage along wire and joints, mV.
    conductor_degc : float
        Temperature the wires are taken at.
    offsets : tuple of OffsetLine
        Every victim, the one nearest to its limit or furthest over it first.
    stars : tuple of StarLine
        Candidates for the star point, the best first; empty where there is nothing to compare.
    not_solved : tuple of str
        What floats, has no return or is shorted, and was left out; one sentence each.
    """

    states: tuple[StateLine, ...] = ()
    nodes: tuple[str, ...] = ()
    node_v: Any = ()
    wires: tuple[str, ...] = ()
    wire_marks: tuple[Mark | None, ...] = ()
    average_a: Any = ()
    peak_a: Any = ()
    average_drop_mv: Any = ()
    peak_drop_mv: Any = ()
    conductor_degc: float = 20.0
    offsets: tuple[OffsetLine, ...] = ()
    stars: tuple[StarLine, ...] = ()
    not_solved: tuple[str, ...] = ()


class LoopLine(NamedTuple):
    """One loop that a current closes.

    Parameters
    ----------
    subject : tuple of (str, str)
        The coil, injector or trigger sensor it belongs to.
    what : str
        ``high-voltage return``, ``primary``, ``injector`` or ``trigger pair``.
    way : tuple of str
        The loop spelled out: components, wires, bodies and straps in order.
    length_m : float or None
        Round the loop, m; None where lengths are lacking.
    area_cm2 : float or None
        Its area, cm²: of the closed polyline, or the greatest that a loop of this length can have.
    bound : bool
        Whether `area_cm2` is such a bound and no computed area.
    best_area_cm2 : float or None
        Area with the best feasible layout of the same parts, cm²; None for a loop that has none to be held against.
    area_ratio : float or None
        `area_cm2` over `best_area_cm2`.
    lacking : tuple of str
        Data without which length or area is not known, in trade words.
    notes : tuple of str
        What else is to be said of it: a capacitor that closes it, where it rings.
    mark : Mark or None
        Where it stands in the list.
    """

    subject: Subject
    what: str
    way: tuple[str, ...]
    length_m: float | None
    area_cm2: float | None
    bound: bool
    best_area_cm2: float | None
    area_ratio: float | None
    lacking: tuple[str, ...]
    notes: tuple[str, ...]
    mark: Mark | None


class PickupLine(NamedTuple):
    """What one loop induces in one trigger pair.

    Parameters
    ----------
    loop : tuple of (str, str)
        Subject of the loop.
    what : str
        Which loop of it: as in `LoopLine`.
    edge : str
        The change of current that induces most: ``breakdown``, ``arc``, ``primary switch-off`` or
        ``injector switch-off``.
    mutual_nh : float
        Mutual inductance of loop and pair as twisted, worst orientation, nH.
    best_mutual_nh : float or None
        The same with the best feasible layout of the loop, nH.
    mv, low_mv, high_mv : float
        Induced voltage before the input's filter, behind twist and shield, at a manifold pressure of 1 bar: usual
        figures and the range of what is found, mV.
    distance_m : float or None
        Least distance of loop and pair, m.
    """

    loop: Subject
    what: str
    edge: str
    mutual_nh: float
    best_mutual_nh: float | None
    mv: float
    low_mv: float
    high_mv: float
    distance_m: float | None


class SettingLine(NamedTuple):
    """Threshold of a trigger input that leaves the margin at one speed, with one filter; None where none does."""

    rpm: float
    filter_us: float
    lowest_v: float | None
    highest_v: float | None


@dataclass(frozen=True, slots=True)
class TriggerLine:
    """Noise margin of one trigger sensor over engine speed.

    Parameters
    ----------
    subject : tuple of (str, str)
        The sensor.
    sensor : str
        ``reluctor sensor`` or ``Hall sensor``.
    pair : str
        How its wires run: ``twisted, lay 30 mm, 40 mm untwisted at each end; shield of steel braid``.
    rpm : tuple of float
        Engine speeds, 1/min.
    signal_mv, offset_mv : tuple of float
        At each speed, mV: amplitude, or distance of level and threshold; ground offset that takes from it.
    noise_mv, noise_low_mv, noise_high_mv : tuple of float
        At each speed, mV: what is induced, with usual figures and its range.
    margin_db, low_db, high_db : tuple of float
        20 log10 of what is left of the signal over the noise, with usual figures and at the ends of the range, dB.
    worst : int
        Index of the least margin.
    limit_db : float or None
        As the rules have it.
    settings : tuple of SettingLine
        Threshold and filter of the controller's input that leave margin, one line per speed.
    pickups : tuple of PickupLine
        What each loop induces, the strongest first.
    lacking : tuple of str
        Data without which there is no margin.
    mark : Mark or None
        Where it stands in the list.
    """

    subject: Subject
    sensor: str
    pair: str
    rpm: tuple[float, ...] = ()
    signal_mv: tuple[float, ...] = ()
    offset_mv: tuple[float, ...] = ()
    noise_mv: tuple[float, ...] = ()
    noise_low_mv: tuple[float, ...] = ()
    noise_high_mv: tuple[float, ...] = ()
    margin_db: tuple[float, ...] = ()
    low_db: tuple[float, ...] = ()
    high_db: tuple[float, ...] = ()
    worst: int = 0
    limit_db: float | None = None
    settings: tuple[SettingLine, ...] = ()
    pickups: tuple[PickupLine, ...] = ()
    lacking: tuple[str, ...] = ()
    mark: Mark | None = None


@dataclass(frozen=True, slots=True)
class InductionOutcome:
    """Loops of the ignition, the injectors and the triggers, and what they induce.

    Parameters
    ----------
    loops : tuple of LoopLine
        High-voltage returns first, each kind with the largest ratio or length first.
    triggers : tuple of TriggerLine
        The least margin first; those that could not be worked out last.
    not_worked_out : tuple of str
        What was left out of these figures, one sentence each.
    """

    loops: tuple[LoopLine, ...] = ()
    triggers: tuple[TriggerLine, ...] = ()
    not_worked_out: tuple[str, ...] = ()


class SizeLine(NamedTuple):
    """One wire: what it carries, what it may carry, and the size it needs.

    Parameters
    ----------
    wire : str
        Its name.
    size : str
        As listed; empty where it is not.
    current_a, peak_a : float or None
        Greatest effective current over the states, and the greatest at an instant, A.
    state : str
        State of `current_a`.
    allowed_a : float or None
        Current that heats it to `rated_degc` where it lies, A; the least of the range while data is lacking.
    ambient_degc, rated_degc : float or None
        Ambient where it lies and what its insulation bears, °C.
    bundle_wires : int or None
        Wires in its fullest bundle.
    bundle_loading : float or None
        How loaded that is, 0 to 1.
    conductor_degc : float or None
        Its own temperature with `current_a`, °C.
    drop_mv : float or None
        Drop along it at that temperature, mV.
    needed_awg, needed_mm2 : str
        Smallest standard size of each system that satisfies all limits: ``18 AWG``, ``0.75 mm²``; empty where none
        does or data is lacking.
    governs : str
        ``heating``, ``drop``, ``fuse``, ``short circuit``, ``smallest`` or empty.
    margin : float or None
        Allowed over carried current less 1; 0.2 is 20 % to spare.
    copper_g, needed_g : float or None
        Copper of the wire as listed and with the needed size of its own system, g.
    lacking : tuple of str
        Data without which a figure is not known.
    mark : Mark or None
        Where it stands in the list.
    """

    wire: str
    size: str
    current_a: float | None
    peak_a: float | None
    state: str
    allowed_a: float | None
    ambient_degc: float | None
    rated_degc: float | None
    bundle_wires: int | None
    bundle_loading: float | None
    conductor_degc: float | None
    drop_mv: float | None
    needed_awg: str
    needed_mm2: str
    governs: str
    margin: float | None
    copper_g: float | None
    needed_g: float | None
    lacking: tuple[str, ...]
    mark: Mark | None


class FuseLine(NamedTuple):
    """One fuse against its load, its wires and a fault at the far end of each.

    Parameters
    ----------
    fuse : str
        Its name.
    family, colour : str
        As understood; empty where not. Colour of its rating by the standard.
    rating_a, load_a : float or None
        A.
    state : str
        State of the load.
    thinnest : str
        The thinnest wire it protects, with its size.
    thinnest_allowed_a : float or None
        What that may carry, A.
    fault_a : float or None
        Least fault current at the far end of any wire it protects, A, and
    fault_wire : str
        the wire.
    clears_s, withstands_s : float or None
        Longest time the fuse takes at that current, inf where it may never open, and time until that wire is at its
        short-time limit, s.
    lacking : tuple of str
    mark : Mark or None
    """

    fuse: str
    family: str
    colour: str
    rating_a: float | None
    load_a: float | None
    state: str
    thinnest: str
    thinnest_allowed_a: float | None
    fault_a: float | None
    fault_wire: str
    clears_s: float | None
    withstands_s: float | None
    lacking: tuple[str, ...]
    mark: Mark | None


class BundleLine(NamedTuple):
    """One branch as a bundle.

    Parameters
    ----------
    branch : str
        Its name.
    wires : int
        Wires in it.
    diameter_mm : float or None
        Outside all wires, mm.
    bend_mm : float or None
        Least bend radius, mm.
    sleeve_mm : float or None
        Inner diameter of its sleeve as listed, mm.
    copper_g : float or None
        Copper in it, g, where its length is known.
    ambient_degc : float or None
    lacking : tuple of str
    mark : Mark or None
    """

    branch: str
    wires: int
    diameter_mm: float | None
    bend_mm: float | None
    sleeve_mm: float | None
    copper_g: float | None
    ambient_degc: float | None
    lacking: tuple[str, ...]
    mark: Mark | None


@dataclass(frozen=True, slots=True)
class SizingOutcome:
    """Sizes, fuses and bundles of a loom.

    Parameters
    ----------
    wires : tuple of SizeLine
        In the order of the list.
    fuses : tuple of FuseLine
    bundles : tuple of BundleLine
    copper_g, needed_g : float
        Copper of all wires of which size, length and needed size are known, as listed and as needed, g.
    not_worked_out : tuple of str
        What was left out, one sentence each.
    """

    wires: tuple[SizeLine, ...] = ()
    fuses: tuple[FuseLine, ...] = ()
    bundles: tuple[BundleLine, ...] = ()
    copper_g: float = 0.0
    needed_g: float = 0.0
    not_worked_out: tuple[str, ...] = ()


class Proposal(NamedTuple):
    """The smallest change of the list that clears a finding, proved by solving again.

    Parameters
    ----------
    change : str
        The change as one sentence: ``Move the end of wire W12 at CHASSIS STUD to HEAD STUD.``
    wires : tuple of str
        Wires it touches.
    before, after : float or None
        The finding's measured value without and with the change, in `unit`; None for one that is not measured.
    unit : str
        Unit of both.
    together : int
        Number of further proposals it was proved together with; 0 when it was tried alone.
    clears : tuple of str
        Thumbprints of all findings that it takes away.
    """

    change: str
    wires: tuple[str, ...]
    before: float | None
    after: float | None
    unit: str
    together: int = 0
    clears: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReportedFinding:
    """A finding as reported: graded, worded, and with a thumbprint that survives edits elsewhere."""

    rule: str
    check: str
    grade: Grade
    subject: Subject
    message: str
    remedy: str
    measured: float | None
    limit: float | None
    unit: str
    marks: tuple[Mark, ...]
    evidence: Mapping[str, Any]
    follows_from: str | None
    concession: str | None
    thumbprint: str
    proposal: Proposal | None = None


@dataclass(frozen=True, slots=True)
class ReportedUndecided:
    """A subject a rule could not decide, and the data that would decide it.

    `low`, `high` and `limit` in `unit` tell the range the value has while the data is lacking, where it was computed.
    """

    rule: str
    check: str
    grade: Grade
    subject: Subject
    missing: tuple[str, ...]
    marks: tuple[Mark, ...]
    low: float | None = None
    high: float | None = None
    limit: float | None = None
    unit: str = ""


@dataclass(frozen=True, slots=True)
class RuleOutcome:
    """What one rule looked at and found; `crashed` holds the reason when its check failed."""

    rule: str
    check: str
    grade: Grade
    looked_at: int
    findings: int
    undecided: int
    crashed: str | None
    reason: str
    source: str
    counts_what: str


@dataclass(frozen=True, slots=True)
class Result:
    """Outcome of one run."""

    version: str
    sources: tuple[SourceFile, ...]
    ruleset_name: str
    ruleset_issue: str
    given: tuple[GivenValue, ...]
    read: ReadSummary
    rules: tuple[RuleOutcome, ...]
    findings: tuple[ReportedFinding, ...]
    undecided: tuple[ReportedUndecided, ...]
    assumptions: tuple[AssumptionLine, ...]
    network: NetworkOutcome = field(default_factory=NetworkOutcome)
    induction: InductionOutcome = field(default_factory=InductionOutcome)
    sizing: SizingOutcome = field(default_factory=SizingOutcome)
    rules_off: tuple[tuple[str, str], ...] = ()
    """Rules switched off by the ruleset, with the reason it gives."""

    def count(self, grade: Grade) -> int:
        """Number of open findings of one grade (those under a concession not counted)."""
        return sum(1 for f in self.findings if f.grade == grade and f.concession is None)
