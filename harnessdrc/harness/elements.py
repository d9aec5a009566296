"""The objects of a harness, as read from the lists: wires, pins, components, earth points, straps.

All are frozen and carry the row they came from, so that each field can say its cell. A missing value is
``None`` and nothing else.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from harnessdrc.places import Place, RowPlace
from harnessdrc.tables.model import Assumption, Unreadable
from harnessdrc.units import Size

__all__ = [
    "COMMON_KINDS",
    "ENGINE_BODIES",
    "Branch",
    "Contact",
    "Details",
    "Fitted",
    "Harness",
    "Item",
    "ListedJoint",
    "MeasuredSheet",
    "Measurement",
    "Part",
    "Pin",
    "Point",
    "Strap",
    "Wire",
    "rigid_body",
]

COMMON_KINDS = frozenset({"splice", "earth point", "post"})
"""Kinds whose terminals are one piece of metal: every wire on them meets every other."""

ENGINE_BODIES = frozenset({"head", "block", "engine"})
"""Bodies bolted together metal to metal."""


def rigid_body(body: str | None) -> str | None:
    """Body as one piece for the ground question: head, block and engine are ``engine``."""
    return "engine" if body in ENGINE_BODIES else body


class Fitted(NamedTuple):
    """Terminal and seal at each end of a wire, as listed."""

    a_terminal: str | None = None
    a_seal: str | None = None
    b_terminal: str | None = None
    b_seal: str | None = None


_NOTHING_FITTED = Fitted()


class Contact(NamedTuple):
    """One terminal: folded item name and folded cavity; the cavity is empty on common metal."""

    item: str
    cavity: str


@dataclass(frozen=True, slots=True)
class Wire:
    """One conductor.

    Parameters
    ----------
    name : str
        Its number as shown; unique within the harness (a repeated number gets ``(2)``).
    number : str or None
        Its number as listed.
    a, b : Contact or None
        Its ends; None for an end that is not given.
    a_open, b_open : bool
        The list says that this end is left open (insulated, cut back).
    colour : str or None
        IEC 60757 letters, base then tracer.
    size : Size or None
        As labelled.
    length_m, current_a : float or None
        Cut length in metres; steady current in amperes as listed.
    lay_m, untwisted_m : float or None
        Length of one full turn of the pair it is twisted in; length left untwisted at a connector, m.
    shield_material : str or None
        One of `harnessdrc.tables.words.SHIELD_MATERIALS`.
    fitted : Fitted
        Terminals and seals that its row names; most lists name none.
    cores : int
        Conductors this object stands for; more than one for a cable whose cores are not told apart,
        which then joins nothing in the graph.
    place : RowPlace
        Its row; `also` are further rows that list the same wire, and `b_place` is the row of its second end
        where each end stands on a row of its own.
    """

    name: str
    number: str | None
    a: Contact | None
    b: Contact | None
    a_open: bool
    b_open: bool
    colour: str | None
    colour_written: str | None
    size: Size | None
    length_m: float | None
    signal: str | None
    twist: str | None
    shield: str | None
    current_a: float | None
    branch: str | None
    insulation: str | None
    option: str | None
    note: str | None
    core: str | None
    cores: int
    place: RowPlace
    also: tuple[RowPlace, ...] = ()
    b_place: RowPlace | None = None
    lay_m: float | None = None
    untwisted_m: float | None = None
    shield_material: str | None = None
    fitted: Fitted = _NOTHING_FITTED

    def end_place(self, contact: Contact) -> Place:
        """Cell that names the end standing on `contact`: its cavity, or its item where it has none."""
        row, side = self.place, "from" if contact == self.a else "to"
        if side == "to" and self.b_place is not None:
            row, side = self.b_place, "from"
        if not contact.cavity or contact.cavity.startswith("?"):
            return row.of(f"{side}_item")
        return row.of(f"{side}_cavity", f"{side}_item")

    def other(self, contact: Contact) -> Contact | None:
        """Its other end."""
        return self.b if contact == self.a else self.a


@dataclass(frozen=True, slots=True)
class Pin:
    """A cavity as the pin list has it."""

    contact: Contact
    connector: str
    cavity: str
    signal: str | None
    role: str | None
    wire: str | None
    terminal: str | None
    seal: str | None
    unused: bool
    place: RowPlace


@dataclass(frozen=True, slots=True)
class Details:
    """What few lists say of an item; most share the empty one.

    Parameters
    ----------
    fires : tuple of tuple of str
        Of a coil or distributor, folded names of the plugs (or of the distributor) that each of its outputs fires;
        two names in one output are one spark over two plugs.
    lead_m, gap_m : float or None
        Length of the plug lead; spark gap, m.
    lead_type, plug_type : str or None
        ``suppressed`` or ``solid``; ``resistor`` or ``plain``.
    boost_bar : float or None
        Pressure in the inlet above that outside at full load, bar.
    teeth : float or None
        Teeth of the wheel that a trigger sensor reads, missing ones counted.
    output_v : float or None
        Reluctor: peak voltage at 100 rpm of its wheel; Hall sensor: its high level, V.
    threshold_v, filter_s : float or None
        Of the controller's input that reads a trigger sensor: threshold, V; time constant, s.
    contact_a : float or None
        Of a relay or switch: rated current of its contact with a resistive load, A.
    boot_m, boot_shrunk_m : float or None
        Of a connector or component: inner diameter of the boot at its back where the wires leave it, as supplied and as
        shrunk, m.
    branch, distance_m : str or None, float or None
        Of a splice: the branch it lies in, and how far from its start, m.
    family, colour : str or None
        Of a fuse: its build, and the colour of its body, as listed.
    part : str or None
        Its connector, splice crimp or other part, as named in the parts table.
    strain_relief : str or None
        What holds the wires at the back of a connector, as listed.
    terminator_ohm : float or None
        Resistance inside it between the two wires of a bus, Ω; 0 says that there is none.
    bit_rate_kbit_s : float or None
        Of a device on a bus, kbit/s.
    row : RowPlace or None
        Its row in the component list; of a fuse that in the list of fuses.
    """

    fires: tuple[tuple[str, ...], ...] = ()
    lead_m: float | None = None
    lead_type: str | None = None
    plug_type: str | None = None
    gap_m: float | None = None
    boost_bar: float | None = None
    teeth: float | None = None
    output_v: float | None = None
    threshold_v: float | None = None
    filter_s: float | None = None
    contact_a: float | None = None
    boot_m: float | None = None
    boot_shrunk_m: float | None = None
    branch: str | None = None
    distance_m: float | None = None
    family: str | None = None
    colour: str | None = None
    part: str | None = None
    strain_relief: str | None = None
    terminator_ohm: float | None = None
    bit_rate_kbit_s: float | None = None
    row: RowPlace | None = None


_NO_DETAILS = Details()


@dataclass(frozen=True, slots=True)
class Item:
    """Anything a wire can end on: connector, component, splice, fuse, earth point.

    Parameters
    ----------
    key, name : str
        Folded and as first written.
    kind : str or None
        Kind of component, as listed or inferred from the name.
    owner : str
        Key of the component it belongs to; its own key for a component.
    body : str or None
        What it is bolted to, or where it sits.
    details : Details
        What few lists say of it.
    """

    key: str
    name: str
    kind: str | None
    owner: str
    body: str | None
    place: Place | None
    listed: bool
    current_a: float | None = None
    resistance_ohm: float | None = None
    capacitance_f: float | None = None
    case_earthed: bool | None = None
    mate: str | None = None
    rating_a: float | None = None
    voltage_v: float | None = None
    details: Details = _NO_DETAILS

    def cell(self, column: str) -> Place | None:
        """Cell of one of its columns in the component list; its name's place where it is not listed there."""
        row = self.details.row
        return row.of(column, "component") if row else self.place


@dataclass(frozen=True, slots=True)
class Point:
    """A point in space that branches or items are at, m; a coordinate that is not given is None."""

    key: str
    name: str
    x_m: float | None
    y_m: float | None
    z_m: float | None
    place: RowPlace

    @property
    def xyz_m(self) -> tuple[float, float, float] | None:
        """Its coordinates; None while one is lacking."""
        if self.x_m is None or self.y_m is None or self.z_m is None:
            return None
        return self.x_m, self.y_m, self.z_m


@dataclass(frozen=True, slots=True)
class Branch:
    """A branch of the loom between two points, as named in the list; an end that is not given is None.

    `sleeve_m` is the inner diameter of its sleeve, `bend_m` the radius of its tightest bend, `sleeve_shrunk_m` the
    inner diameter of a sleeve that shrinks, once it has done so freely, m.
    """

    key: str
    name: str
    from_point: str | None
    to_point: str | None
    length_m: float | None
    zone: str | None
    place: RowPlace
    sleeve_m: float | None = None
    bend_m: float | None = None
    sleeve_shrunk_m: float | None = None


@dataclass(frozen=True, slots=True)
class Strap:
    """A strap or battery lead between two bodies."""

    name: str
    a: str
    b: str
    size: Size | None
    length_m: float | None
    resistance_ohm: float | None
    place: Place | None


@dataclass(frozen=True, slots=True)
class ListedJoint:
    """Resistance of a joint as the list has it, in Ω: as new (or as measured), and as it is expected to become."""

    name: str
    resistance_ohm: float | None
    aged_ohm: float | None
    place: Place


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the parts table: what it is and what it takes.

    Parameters
    ----------
    key, name : str
        Folded and as first written.
    kind : str or None
        One of `harnessdrc.tables.words.PART_KINDS`: ``terminal``, ``ring terminal``, ``seal``, ``cavity plug``,
        ``connector``, ``splice``, ``cable``, ``sleeve``, ``boot``, ``other``; None while the word is not understood.
    family : str or None
        Connector family it belongs to.
    sex : str or None
        ``pin`` or ``socket``, of a terminal, or of a connector by the terminals it takes.
    size_min, size_max : Size or None
        Conductor sizes a crimp takes; one system of sizes, as listed.
    insulation_min_m, insulation_max_m : float or None
        Outer diameters of wire that the crimp's wings or the seal take, m; of a cable its outer diameter in both.
    bore_m : float or None
        Of a connector: bore of its cavities at the back, m.
    bore_min_m, bore_max_m : float or None
        Of a seal or cavity plug: bores it closes, m.
    strip_m : float or None
        Strip length, m.
    cavities : int or None
        Of a connector.
    sealed : bool or None
        Of a connector: whether its cavities are sealed.
    pack : float or None
        Pieces in a pack; of a cable metres on a reel.
    place : RowPlace
        Its row in the parts table.
    """

    key: str
    name: str
    kind: str | None
    family: str | None
    sex: str | None
    size_min: Size | None
    size_max: Size | None
    insulation_min_m: float | None
    insulation_max_m: float | None
    bore_m: float | None
    bore_min_m: float | None
    bore_max_m: float | None
    strip_m: float | None
    cavities: int | None
    sealed: bool | None
    pack: float | None
    place: RowPlace


@dataclass(frozen=True, slots=True)
class Measurement:
    """A row of a filled-in test sheet.

    Parameters
    ----------
    test : str
        Number of the test, as printed.
    wire : str or None
        Wire measured end to end, of a test of continuity.
    between : tuple of (str, str)
        The two places the probes go to, as printed.
    state : str or None
        Operating state, of a voltage.
    resistance_ohm, isolation_ohm, voltage_v : float or None
        What was measured; all None for a row that is not filled in.
    above : bool
        The reading is only a bound: ``> 500 MΩ``, ``OL``.
    place : RowPlace
        Its row.
    """

    test: str
    wire: str | None
    between: tuple[str, str]
    state: str | None
    resistance_ohm: float | None
    isolation_ohm: float | None
    voltage_v: float | None
    above: bool
    place: RowPlace


@dataclass(frozen=True, slots=True)
class MeasuredSheet:
    """A sheet of tests with its head.

    Parameters
    ----------
    file, sheet : str
        Where it stands.
    issue_mark : str or None
        Mark of the list that it was printed for; None where it names none.
    mark_place : Place or None
        Cell of that mark.
    rows : int
        Tests on it.
    refused : tuple of Unreadable
        Cells with something that is no reading.
    """

    file: str
    sheet: str
    issue_mark: str | None
    mark_place: Place | None
    rows: int
    refused: tuple[Unreadable, ...] = ()


@dataclass(frozen=True, slots=True)
class Harness:
    """A whole list as objects.

    `pins` holds every row of the pin lists (one contact may stand in several); `wire_rows` counts the
    rows that gave the wires, and `columns` the columns the wire lists have at all, with the place of
    the table's headings, so that a missing column can be told from an empty cell. `pin_connectors` are
    the connectors that a pin list of their own covers; `pin_wires` the sheets whose rows are pins with
    their destination, so that one connection may stand on several rows. `columns_read` names every column
    of every list, as heading and list, and `unreadable` the cells that were not understood. `measurements` are the
    rows of filled-in test sheets, `measured_sheets` the sheets they stand on, and `issue_mark` tells this issue of the
    list from every other.
    """

    wires: tuple[Wire, ...]
    repeated: tuple[tuple[Wire, Wire], ...]
    pins: tuple[Pin, ...]
    items: Mapping[str, Item]
    straps: tuple[Strap, ...]
    columns: Mapping[str, Place]
    wire_tables: tuple[tuple[Place, frozenset[str], int], ...]
    pin_connectors: frozenset[str]
    pin_wires: frozenset[tuple[str, str]]
    branches: Mapping[str, Branch]
    assumptions: tuple[Assumption, ...]
    cavity_names: Mapping[Contact, str] = field(default_factory=dict)
    columns_read: tuple[tuple[str, str], ...] = ()
    unreadable: tuple[Unreadable, ...] = ()
    joints: tuple[ListedJoint, ...] = ()
    points: Mapping[str, Point] = field(default_factory=dict)
    repeated_points: tuple[tuple[Point, Point], ...] = ()
    repeated_branches: tuple[tuple[Branch, Branch], ...] = ()
    parts: Mapping[str, Part] = field(default_factory=dict)
    repeated_parts: tuple[tuple[Part, Part], ...] = ()
    measurements: tuple[Measurement, ...] = ()
    measured_sheets: tuple[MeasuredSheet, ...] = ()
    issue_mark: str = ""

    def label(self, contact: Contact) -> str:
        """Contact as people write it: ``ECU-A 12``."""
        item = self.items.get(contact.item)
        name = item.name if item else contact.item
        cavity = self.cavity_names.get(contact, contact.cavity)
        return f"{name} {cavity}" if cavity and not cavity.startswith("?") else name
