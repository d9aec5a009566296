"""Papers for the bench, as plain data: what to cut, fit, label, buy and measure.

Nothing here computes; `harnessdrc.bench` fills these in, and the workbook and the printable pages read them. A figure
that is not known is None, and the line says in `lacking` which data it wants; an empty paper is an empty tuple.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from harnessdrc.findings import Mark
from harnessdrc.results import SourceFile

__all__ = [
    "CableLine",
    "CavityLine",
    "ConnectorSheet",
    "ContinuityLine",
    "CutLine",
    "EndLine",
    "IsolationLine",
    "LabelLine",
    "Papers",
    "PartLine",
    "PowerStep",
    "SpliceSheet",
    "SpliceWire",
    "Totals",
    "VoltageLine",
]


class EndLine(NamedTuple):
    """One end of a wire on the cut list.

    Parameters
    ----------
    where : str
        As people write it: ``ECU-A 12``; ``open`` for an end that is cut back; empty where it is not given.
    terminal, seal : str
        Parts fitted; empty where none is named.
    strip_mm : float or None
        Strip length by the parts table, mm.
    """

    where: str
    terminal: str
    seal: str
    strip_mm: float | None


class CutLine(NamedTuple):
    """One wire to cut.

    Parameters
    ----------
    order : int
        Place in the cutting order, from 1: by cable, the longest first.
    wire : str
        Its name.
    size, colour, insulation : str
        As listed; the colour in IEC 60757 letters.
    swatch : tuple of str
        The colour as ``#rrggbb``, base first; empty where it is not known.
    length_mm : float or None
        As listed, mm.
    allowance_mm : float
        What is added to it: trimming at both ends, and what twisting takes up, mm.
    cut_mm : float or None
        Length to cut, mm, rounded up to the next millimetre.
    a, b : EndLine
        Its ends.
    work : tuple of str
        Twisting and shielding: ``twist T1 with W402, lay 30 mm, leave 25 mm untwisted``.
    branch, option, note : str
        As listed.
    lacking : tuple of str
        Data without which it cannot be cut, in trade words.
    mark : Mark or None
        Its cell.
    """

    order: int
    wire: str
    size: str
    colour: str
    swatch: tuple[str, ...]
    insulation: str
    length_mm: float | None
    allowance_mm: float
    cut_mm: float | None
    a: EndLine
    b: EndLine
    work: tuple[str, ...]
    branch: str
    option: str
    note: str
    lacking: tuple[str, ...]
    mark: Mark | None


class CavityLine(NamedTuple):
    """One cavity of a connector.

    Parameters
    ----------
    cavity : str
        Its number as listed.
    wires : tuple of str
        Wires in it.
    size, colour : str
        Of each wire, joined by ``+`` where there are two.
    swatches : tuple of tuple of str
        Colour of each wire, as in `CutLine`.
    signal, terminal, seal : str
        As listed.
    to : str
        Far ends.
    state : str
        ``wired``, ``plug`` (closed by a cavity plug), ``empty``, or ``wired, not in the pin list``.
    mark : Mark or None
        Its cell.
    """

    cavity: str
    wires: tuple[str, ...]
    size: str
    colour: str
    swatches: tuple[tuple[str, ...], ...]
    signal: str
    terminal: str
    seal: str
    to: str
    state: str
    mark: Mark | None


class ConnectorSheet(NamedTuple):
    """One connector, cavity by cavity, in the order of the cavities as listed.

    Parameters
    ----------
    name, component, part, mate, strain_relief : str
        As listed; empty where not given.
    kind : str
        Kind of the device it belongs to.
    cavities : tuple of CavityLine
        Each cavity once.
    complete : bool
        Whether the list says all its cavities (a pin list of its own, or their number in the parts table).
    lacking : tuple of str
        What is not known of it.
    """

    name: str
    component: str
    part: str
    mate: str
    strain_relief: str
    kind: str
    cavities: tuple[CavityLine, ...]
    complete: bool
    lacking: tuple[str, ...]


class SpliceWire(NamedTuple):
    """One wire in a splice; `side` is the point of the branch it leaves towards, empty where that is not known."""

    wire: str
    size: str
    area_mm2: float | None
    colour: str
    swatch: tuple[str, ...]
    to: str
    side: str


class SpliceSheet(NamedTuple):
    """One splice with its wires.

    Parameters
    ----------
    name, part, branch : str
        As listed.
    distance_mm : float or None
        From the start of the branch, mm.
    start : str
        The point where the branch starts.
    wires : tuple of SpliceWire
        Each wire once, grouped by side.
    area_mm2 : float or None
        Sum of copper, mm².
    lacking : tuple of str
        What is not known of it.
    mark : Mark or None
        Its cell.
    """

    name: str
    part: str
    branch: str
    distance_mm: float | None
    start: str
    wires: tuple[SpliceWire, ...]
    area_mm2: float | None
    lacking: tuple[str, ...]
    mark: Mark | None


class LabelLine(NamedTuple):
    """One label: on a wire's end, or on a connector.

    Parameters
    ----------
    subject : tuple of (str, str)
        ``("wire", "W101")`` or ``("connector", "ECU-A")``.
    where : str
        The end it goes to; empty for a connector.
    lines : tuple of str
        What is printed, the first line large.
    code : str
        What its code says when scanned; both labels of a wire carry the same.
    """

    subject: tuple[str, str]
    where: str
    lines: tuple[str, ...]
    code: str


class PartLine(NamedTuple):
    """One part to buy.

    Parameters
    ----------
    part, kind, family : str
        Name, kind and family, as listed.
    pieces : int
        How many are needed.
    packs : int or None
        Packs, where the parts table says how many are in one.
    where : tuple of str
        Where they go, with how many: ``ECU-A 34``.
    listed : bool
        Whether the parts table has it.
    """

    part: str
    kind: str
    family: str
    pieces: int
    packs: int | None
    where: tuple[str, ...]
    listed: bool


class CableLine(NamedTuple):
    """One cable to have on the reel: a size, colour and insulation.

    Parameters
    ----------
    size, colour, insulation : str
        As listed.
    swatch : tuple of str
        As in `CutLine`.
    wires : int
        Wires cut from it.
    length_m : float
        Of those whose length is known, m.
    unknown : int
        Wires of it whose length is not known.
    reels : int or None
        Reels, where the parts table or the given length of a reel says how much is on one.
    copper_g, cable_g : float or None
        Mass of copper, and of copper with insulation as estimated, g.
    """

    size: str
    colour: str
    insulation: str
    swatch: tuple[str, ...]
    wires: int
    length_m: float
    unknown: int
    reels: int | None
    copper_g: float | None
    cable_g: float | None


class Totals(NamedTuple):
    """Sums over the loom; `unknown` wires have no length or size and are not in them. Masses in kg, length in m."""

    wires: int
    unknown: int
    length_m: float
    copper_kg: float
    cable_kg: float
    connectors: int
    splices: int


class ContinuityLine(NamedTuple):
    """Continuity of one wire, end to end, at room temperature.

    Parameters
    ----------
    test : str
        ``C1`` onward.
    wire, a, b, size : str
        The wire, its two ends, its size as listed.
    length_mm : float or None
        As listed, mm.
    expected_mohm, low_mohm, high_mohm : float or None
        With new joints at `test_degc`, and what passes, mΩ. None where size or length is lacking.
    four_wire : bool
        A ground or another wire of so few milliohm that two leads would measure themselves.
    lacking : tuple of str
        Data without which nothing is expected.
    measured_mohm : float or None
        What was measured, from a filled-in sheet.
    verdict : str
        ``pass``, ``fail`` or empty.
    mark : Mark or None
        Its cell.
    """

    test: str
    wire: str
    a: str
    b: str
    size: str
    length_mm: float | None
    expected_mohm: float | None
    low_mohm: float | None
    high_mohm: float | None
    four_wire: bool
    lacking: tuple[str, ...]
    measured_mohm: float | None = None
    verdict: str = ""
    mark: Mark | None = None


class IsolationLine(NamedTuple):
    """Two nets that must not touch, with everything unplugged.

    Parameters
    ----------
    test : str
        ``I1`` onward.
    a, b : str
        Where the probes go.
    a_net, b_net : str
        What the two are.
    why : str
        Why just these two: ``beside each other in ECU-A``, ``sensor ground and power ground``.
    least_ohm : float
        What passes, Ω.
    measured_ohm, verdict, mark
        As in `ContinuityLine`; `above` tells that the reading is a bound.
    """

    test: str
    a: str
    b: str
    a_net: str
    b_net: str
    why: str
    least_ohm: float
    measured_ohm: float | None = None
    above: bool = False
    verdict: str = ""
    mark: Mark | None = None


class PowerStep(NamedTuple):
    """One step of switching on for the first time: what to do, what must be seen, and what to do if it is not."""

    number: int
    do: str
    see: str
    else_do: str


class VoltageLine(NamedTuple):
    """A drop or a ground offset to measure with the engine cranking or running.

    Parameters
    ----------
    test : str
        ``V1`` onward.
    what : str
        ``ground offset``, ``feed drop``, ``return drop``, ``cranking drop``.
    state : str
        Operating state.
    red, black : str
        Where the meter's leads go.
    expected_mv : float
        From the network, average, mV.
    low_mv, high_mv : float or None
        What passes, mV; None for a side without limit.
    limit_from : str
        Where the limit comes from: rule, or harmless range of the victim.
    measured_mv, verdict, mark
        As in `ContinuityLine`.
    """

    test: str
    what: str
    state: str
    red: str
    black: str
    expected_mv: float
    low_mv: float | None
    high_mv: float | None
    limit_from: str
    measured_mv: float | None = None
    verdict: str = ""
    mark: Mark | None = None


@dataclass(frozen=True, slots=True)
class Papers:
    """All papers of one loom.

    Parameters
    ----------
    name : str
        Name of the list, without its ending.
    issue_mark : str
        Twelve hexadecimal digits that tell this issue of the list from every other: of the hash over its files.
    version, ruleset : str
        What made them.
    sources : tuple of SourceFile
        Files of the list.
    test_degc : float
        Temperature the expected resistances hold at, °C.
    incomplete : tuple of str
        What is missing in these papers, one sentence each; stands on the first page. Empty when nothing is.
    on_hold, queries, undecided : int
        What the rules say of the list.
    cautions : tuple of str
        At the head of the test sheet.
    """

    name: str
    issue_mark: str
    version: str
    ruleset: str
    sources: tuple[SourceFile, ...]
    test_degc: float
    incomplete: tuple[str, ...]
    on_hold: int
    queries: int
    undecided: int
    cautions: tuple[str, ...]
    cut: tuple[CutLine, ...]
    connectors: tuple[ConnectorSheet, ...]
    splices: tuple[SpliceSheet, ...]
    labels: tuple[LabelLine, ...]
    parts: tuple[PartLine, ...]
    cables: tuple[CableLine, ...]
    totals: Totals
    continuity: tuple[ContinuityLine, ...]
    isolation: tuple[IsolationLine, ...]
    power_on: tuple[PowerStep, ...]
    voltages: tuple[VoltageLine, ...]
