"""A sample build as its generator holds it, and the slips that turn a clean one into a faulty one.

The scenarios are written as text tables, one line per wire or pin, with strokes between the cells: what a
builder would scribble before opening a spreadsheet.
"""

from __future__ import annotations

import copy
from dataclasses import dataclass, field, replace


@dataclass(frozen=True)
class Wire:
    """One row of the wire list; lengths and sizes in the unit of the scenario."""

    wire: str
    from_item: str
    from_cavity: str
    to_item: str
    to_cavity: str
    colour: str
    size: str
    length: float
    signal: str
    twist: str = ""
    shield: str = ""
    branch: str = ""
    note: str = ""
    lay: float | None = None
    untwisted: float | None = None
    shield_material: str = ""
    insulation: str = ""
    current_a: float | None = None
    from_terminal: str = ""
    to_terminal: str = ""


@dataclass(frozen=True)
class Pin:
    """One row of the pin list; `wire` is filled in from the wire list unless a slip says otherwise."""

    connector: str
    cavity: str
    component: str
    signal: str
    role: str
    wire: str = ""
    seal: str = ""


@dataclass(frozen=True)
class Expected:
    """A finding that a faulty build is expected to give.

    `form`, `key` and `column` say the cell a builder would want marked: the row whose first needed name is
    `key`, and the column by its normalized name. For pins the key is ``connector:cavity``.
    """

    check: str
    subject_kind: str
    subject: str
    form: str
    key: str
    column: str
    why: str


@dataclass
class Build:
    """All sheets of one build."""

    name: str
    title: str
    wires: list[Wire]
    pins: list[Pin]
    components: list[dict[str, object]]
    earth_points: list[dict[str, object]]
    fuses: list[dict[str, object]]
    straps: list[dict[str, object]]
    splices: list[dict[str, object]] = field(default_factory=list)
    branches: list[dict[str, object]] = field(default_factory=list)
    points: list[dict[str, object]] = field(default_factory=list)
    joints: list[dict[str, object]] = field(default_factory=list)
    parts: list[dict[str, object]] = field(default_factory=list)
    expected: list[Expected] = field(default_factory=list)

    def copy(self) -> Build:
        return copy.deepcopy(self)

    # ---- looking up

    def at(self, wire: str) -> int:
        """Index of the only wire of that number."""
        found = [index for index, row in enumerate(self.wires) if row.wire == wire]
        if len(found) != 1:
            raise KeyError(f"{wire}: {len(found)} wires of that number")
        return found[0]

    def component(self, name: str) -> dict[str, object]:
        return next(row for row in self.components if row["component"] == name)

    def branch(self, name: str) -> dict[str, object]:
        return next(row for row in self.branches if row["branch"] == name)

    def fuse(self, name: str) -> dict[str, object]:
        return next(row for row in self.fuses if row["fuse"] == name)

    def part(self, name: str) -> dict[str, object]:
        return next(row for row in self.parts if row["part"] == name)

    def point(self, name: str) -> dict[str, object]:
        return next(row for row in self.points if row["point"] == name)

    # ---- slips

    def change(self, wire: str, **values: object) -> None:
        """Change cells of one wire, the pin list staying as it is."""
        index = self.at(wire)
        self.wires[index] = replace(self.wires[index], **values)  # type: ignore[arg-type]

    def drop(self, wire: str) -> None:
        """Leave a wire out, in the wire list and in the pin list."""
        del self.wires[self.at(wire)]
        self.pins = [replace(pin, wire="") if pin.wire == wire else pin for pin in self.pins]

    def add(self, line: str) -> None:
        """Append a wire written as one line."""
        self.wires.extend(wires_from(line))

    def add_after(self, wire: str, line: str) -> None:
        """Put a wire written as one line below another."""
        self.wires[self.at(wire) + 1 : self.at(wire) + 1] = wires_from(line)

    def renumber(self, wire: str, to: str) -> None:
        """Give a wire another number on both lists."""
        index = self.at(wire)
        self.wires[index] = replace(self.wires[index], wire=to)
        self.pins = [replace(pin, wire=to) if pin.wire == wire else pin for pin in self.pins]

    def change_pin(self, connector: str, cavity: str, **values: str) -> None:
        """Change cells of one pin, the wire list staying as it is."""
        for index, pin in enumerate(self.pins):
            if (pin.connector, pin.cavity) == (connector, cavity):
                self.pins[index] = replace(pin, **values)
                return
        raise KeyError(f"{connector} {cavity}")

    def expect(
        self, check: str, subject_kind: str, subject: str, where: tuple[str, str, str], why: str
    ) -> None:
        """Note a finding that the slip is expected to give."""
        self.expected.append(Expected(check, subject_kind, subject, *where, why))

    def describe_components(self, columns: str, text: str) -> None:
        """Fill further columns of components from a text table, whose first column is their name."""
        for row in rows_from(columns, text):
            self.component(str(row["component"])).update(row)

    def describe_branches(self, columns: str, text: str) -> None:
        """Fill further columns of branches from a text table, whose first column is their name."""
        for row in rows_from(columns, text):
            self.branch(str(row["branch"])).update(row)

    def make_pairs(self, pairs: str, shields: str) -> None:
        """Give every wire the lay and untwisted end of its twist group and the material of its shield."""
        laid = {row["twist"]: row for row in rows_from("twist lay_m untwisted_m", pairs)}
        material = {row["shield"]: str(row["material"]) for row in rows_from("shield material", shields)}
        for index, row in enumerate(self.wires):
            group = laid.get(row.twist, {})
            self.wires[index] = replace(
                row, lay=group.get("lay_m"), untwisted=group.get("untwisted_m"),
                shield_material=material.get(row.shield, ""),
            )  # type: ignore[arg-type]  # fmt: skip

    def insulate(self, cable: str, cable_of: str) -> None:
        """Give every wire its cable type: `cable`, but for the sizes that a text table gives another."""
        other = {str(row["conductor"]): str(row["cable"]) for row in rows_from("conductor cable", cable_of)}
        for index, row in enumerate(self.wires):
            self.wires[index] = replace(row, insulation=other.get(row.size, cable))

    def fill_in_wires_of_pins(self) -> None:
        """Write the wire number of the wire list beside every pin."""
        wired = {}
        for row in self.wires:
            wired[row.from_item, row.from_cavity] = row.wire
            wired[row.to_item, row.to_cavity] = row.wire
        self.pins = [replace(pin, wire=wired.get((pin.connector, pin.cavity), "")) for pin in self.pins]


def _cells(text: str) -> list[list[str]]:
    return [
        [cell.strip() for cell in line.split("|")]
        for line in text.strip().splitlines()
        if line.strip() and not line.lstrip().startswith("#")
    ]


def _end(text: str) -> tuple[str, str]:
    item, _, cavity = text.partition(":")
    return item, cavity


def wires_from(text: str) -> list[Wire]:
    """Wires of a text table: number, end, end, colour, size, length, signal, twist, shield, branch, note."""
    wires = []
    for cells in _cells(text):
        number, first, second, colour, size, length, signal, *rest = cells
        twist, shield, branch, note = (*rest, "", "", "", "")[:4]
        wires.append(
            Wire(number, *_end(first), *_end(second), colour, size, float(length), signal, twist, shield,
                 branch, note)
        )  # fmt: skip
    return wires


def pins_from(text: str) -> list[Pin]:
    """Pins of a text table: ``= connector | component`` opens one, then cavity, signal, role."""
    pins: list[Pin] = []
    connector = component = ""
    for cells in _cells(text):
        if cells[0].startswith("="):
            connector, component = cells[0][1:].strip(), (cells[1] if len(cells) > 1 else "")
            continue
        cavity, signal, role = (*cells, "", "")[:3]
        pins.append(Pin(connector, cavity, component, signal, role))
    return pins


def rows_from(columns: str, text: str) -> list[dict[str, object]]:
    """Rows of a text table with named columns; numbers become numbers, empty cells None."""
    names = columns.split()
    rows: list[dict[str, object]] = []
    for cells in _cells(text):
        row: dict[str, object] = {}
        for name, cell in zip(names, (*cells, *[""] * (len(names) - len(cells))), strict=True):
            row[name] = _value(cell) if name.endswith(("_a", "_m", "_ohm", "_f", "_v", "size")) else (cell or None)
        rows.append(row)
    return rows


def _value(cell: str) -> object:
    if not cell:
        return None
    try:
        number = float(cell)
    except ValueError:
        return cell
    return int(number) if number.is_integer() else number
