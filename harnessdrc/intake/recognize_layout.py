"""Which form a set of headings makes, and which column each heading is, with the values to decide."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from harnessdrc.intake.headings import vocabulary
from harnessdrc.intake.recognize_headings import HeadCell
from harnessdrc.tables.colours import parse_colour
from harnessdrc.tables.columns import FORMS

__all__ = ["PIN_LIKE", "Layout", "Sample", "form_of", "is_pin_like", "resolve", "stands_alone"]

Sample = Callable[[int], list[str]]
"""Texts of the first few hundred filled cells below the heading of a sheet column."""

PIN_LIKE = re.compile(
    r"^(?:[A-Za-z]{0,2}\d{1,3}[A-Za-z]?|[A-HJ-NPR-Z]{1,2}|[a-hj-z]|\d{1,3}[-./]\d{1,2}|[A-Za-z]\d{1,2}-[A-Za-z]?\d{1,3})$"
)


def is_pin_like(text: str) -> bool:
    """Whether a text could be a pin: ``12``, ``A4``, ``D00 (Rx0)``, ``D02 Int 0``."""
    return bool(PIN_LIKE.match(text) or (" " in text and re.match(r"^[A-Z]{1,2}\d{1,3}[ (]", text)))


@dataclass(slots=True)
class Layout:
    """Columns of one table, before its rows are looked at."""

    form: str
    layout: str = "rows"
    columns: dict[str, int] = field(default_factory=dict)
    headings: dict[str, str] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    soft_units: dict[str, str] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)
    devices: dict[str, int] = field(default_factory=dict)
    not_used: dict[int, str] = field(default_factory=dict)
    decided: list[tuple[str, str, str, int]] = field(default_factory=list)
    """What was decided: subject, value, because, column."""

    def take(self, role: str, cell: HeadCell) -> None:
        """Give a role to a column."""
        self.columns[role] = cell.column
        self.headings[role] = cell.heading.written
        if cell.heading.unit:
            (self.soft_units if cell.heading.soft else self.units)[role] = cell.heading.unit


# --- which form -------------------------------------------------------------------------------------

_TERMINAL_OR_PIN = frozenset(("terminal", "terminals", "contact", "contacts"))
_WIREY = frozenset(("wire", "colour", "size", "length"))


def _first(cells: Sequence[HeadCell]) -> list[tuple[str, str]]:
    return [(c.heading.side, c.heading.concepts[0]) for c in cells if c.heading.concepts]


def form_of(cells: Sequence[HeadCell]) -> str | None:
    """Form that a set of headings makes by its words alone, or None."""
    seen = _first(cells)
    may = {concept for c in cells for concept in c.heading.concepts if not c.heading.side}
    sides = {side for side, _ in seen if side}
    lead = next((c.heading.concepts[0] for c in cells if c.heading.concepts), "")
    first = {concept for side, concept in seen if not side}
    ends = Counter(concept for side, concept in seen if not side and concept in ("cavity", "connector", "item"))
    doubtful = sum(1 for c in cells if not c.heading.side and c.heading.key in _TERMINAL_OR_PIN)
    if ends["cavity"] > doubtful:
        ends["cavity"] -= doubtful
    if sides == {"from", "to"}:
        if "strap" in may:
            return "straps"
        if lead == "branch" and not (first & {"wire", "colour", "size", "cavity", "signal"}):
            return "branches"
        return "wires"
    named_pins = {c.heading.qualifier for c in cells if c.heading.may_be("cavity") and c.heading.qualifier}
    if ends["connector"] >= 2 or ends["item"] >= 2 or (ends["cavity"] >= 2 and len(named_pins) >= 2):
        return "wires"
    if ends["cavity"] >= 2 and first & _WIREY and not sides:
        return "wires"
    if "joint" in may and "resistance" in may and not (first & {"cavity", "wire"}):
        return "joints"
    if "fuse" in first and "rating" in may and "cavity" not in first:
        return "fuses"
    if "earth_point" in first and may & {"body", "place", "resistance"} and not (first & {"cavity", "wire"}):
        return "earth_points"
    if lead == "splice" and not sides and "cavity" not in first:
        return "splices"
    if "cavity" in first and (len(seen) >= 2):
        return "pins"
    if "component" in may and not sides:
        figures = {"kind", "resistance", "capacitance", "case_earthed", "mate", "place"}
        if (may - {"component"}) & figures or ({"current"} & first and lead in ("item", "component")):
            return "components"
    if ("net" in first or "signal" in first) and len(seen) < len(cells):
        return "device columns"
    if "connector" in first and ("signal" in first or "wire" in first):
        return "pins"
    return None


def stands_alone(cells: Sequence[HeadCell]) -> bool:
    """Whether headings make a table worth its name without those beside them."""
    form = form_of(cells)
    if form in (None, "device columns"):
        return False
    if form == "pins":
        content = {"signal", "wire", "colour", "component", "terminal", "note", "role", "net", "size"}
        return any(c.heading.concepts and (c.heading.side == "to" or c.heading.concepts[0] in content) for c in cells)
    return True


# --- which column -----------------------------------------------------------------------------------


def resolve(cells: Sequence[HeadCell], sample: Sample) -> Layout | None:
    """Columns of the table that these headings make, or None when they make none."""
    cells, decided = _pins_under_a_name(cells, sample)
    form = form_of(cells)
    codes = form == "wires" and _sides_are_codes(cells, sample)
    if form == "device columns":
        return _device_columns(cells, sample)
    if form is None:
        return None
    if form == "wires" and codes and any(c.heading.concepts[:1] == ("cavity",) for c in cells):
        layout = _pins(cells, sample, codes=True)
    elif form == "wires":
        layout = _wires(cells, sample)
    elif form == "pins":
        layout = _pins(cells, sample, codes=False)
    else:
        layout = _plain(form, cells)
    if layout is not None:
        layout.decided = [*decided, *layout.decided]
    return layout


def _pins_under_a_name(
    cells: Sequence[HeadCell], sample: Sample
) -> tuple[list[HeadCell], list[tuple[str, str, str, int]]]:
    """Headings with an unknown one over pin-like values taken as the pins of a connector of that name."""
    out = list(cells)
    if any(c.heading.may_be("cavity") for c in cells) or not any(
        c.heading.concepts[:1] in (("signal",), ("net",)) for c in cells
    ):
        return out, []
    likely: list[int] = []
    for k, cell in enumerate(out):
        if cell.heading.concepts:
            continue
        texts = sample(cell.column)
        if len(texts) >= 2 and sum(map(is_pin_like, texts)) >= 0.5 * len(texts):
            likely.append(k)
    sided = sum(1 for c in cells if c.heading.side)
    if len(likely) != 1 or (sided >= 2 and not _sides_are_codes(cells, sample)):
        return out, []
    cell = out[likely[0]]
    name = cell.heading.written
    out[likely[0]] = replace(cell, heading=replace(cell.heading, concepts=("cavity",), qualifier=name))
    return out, [(name, "pins of a connector", "the column below holds pins", cell.column)]


def _sides_are_codes(cells: Sequence[HeadCell], sample: Sample) -> bool:
    """Whether both end columns hold location codes: a few small whole numbers."""
    ends = [c for c in cells if c.heading.side and c.heading.concepts[:1] == ("item",)]
    if len(ends) < 2:
        return False
    for cell in ends:
        texts = sample(cell.column)
        numbers = [t for t in texts if t.isdigit() and len(t) <= 2]
        if len(texts) < 4 or len(numbers) < 0.8 * len(texts) or len(set(numbers)) > 20:
            return False
    return True


def _share(texts: Sequence[str], test: Callable[[str], bool]) -> float:
    return sum(1 for t in texts if test(t)) / len(texts) if texts else 0.0


def _is_colour(text: str) -> bool:
    from harnessdrc.intake.cables import cable_cores

    return bool(parse_colour(text).codes) or cable_cores(text) is not None


def _is_terminal_word(text: str) -> bool:
    return not vocabulary().values["terminal_words"].isdisjoint(re.findall(r"[a-z]+", text.lower()))


_SIZE_TEXT = re.compile(r"^[#\d][\d.,/ ]*(mm.?2?|mm²|awg|ga\.?)?$", re.I)


def _side_at(cells: Sequence[HeadCell], index: int) -> str:
    """End that a heading without a side belongs to, by the last one to its left that names an end."""
    for cell in reversed(cells[:index]):
        if cell.heading.side:
            return cell.heading.side
    return "from"


def _wires(cells: Sequence[HeadCell], sample: Sample) -> Layout:
    """Columns of a wire list."""
    out = Layout("wires")
    rest: list[tuple[int, HeadCell]] = []
    for index, cell in enumerate(cells):
        heading = cell.heading
        if not heading.side:
            rest.append((index, cell))
            continue
        _take_end(out, heading.side, cell, sample)
    for concept in ("item", "connector", "cavity", "terminal"):
        found = [(i, c) for i, c in rest if c.heading.concepts[:1] == (concept,)]
        if concept == "item" and len(found) != 2:
            continue
        sides = ["from", "to"] if len(found) == 2 else [_side_at(cells, i) for i, _ in found]
        for (i, cell), side in zip(found, sides, strict=True):
            _take_end(out, side, cell, sample, as_concept=concept)
            rest.remove((i, cell))
    _take_attributes(out, [c for _, c in rest], sample)
    _settle_ends(out, sample)
    return out


def _take_end(out: Layout, side: str, cell: HeadCell, sample: Sample, as_concept: str = "") -> None:
    """Give a column of one end its role."""
    concepts = (as_concept,) if as_concept else cell.heading.concepts
    concept = concepts[0]
    if concept == "cavity" and "terminal" in cell.heading.concepts and cell.heading.key.endswith(("terminal", "contact")):
        texts = sample(cell.column)
        if f"{side}_cavity" in out.columns or _share(texts, is_pin_like) < 0.6:
            concept = "terminal"
    role = {
        "item": f"{side}_item", "connector": f"{side}_connector", "cavity": f"{side}_cavity",
        "terminal": f"{side}_terminal", "body": f"{side}_item",
    }.get(concept)  # fmt: skip
    if role is None or role in out.columns:
        out.not_used[cell.column] = cell.heading.written
        return
    out.take(role, cell)
    if concept == "cavity" and cell.heading.qualifier:
        name = connector_in_heading(cell)
        if name:
            out.names[f"{side}_item"] = name


def _settle_ends(out: Layout, sample: Sample) -> None:
    """Decide what a connector column beside an end column is, and ends that have no item at all."""
    for side in ("from", "to"):
        item, connector = f"{side}_item", f"{side}_connector"
        if connector in out.columns:
            column = out.columns[connector]
            texts = sample(column)
            if item not in out.columns:
                out.columns[item], out.headings[item] = out.columns.pop(connector), out.headings.pop(connector)
            elif _share(texts, _is_terminal_word) >= 0.3:
                heading = out.headings.pop(connector)
                del out.columns[connector]
                if f"{side}_terminal" not in out.columns:
                    out.columns[f"{side}_terminal"], out.headings[f"{side}_terminal"] = column, heading
                    out.decided.append(
                        (heading, f"terminal at the {'first' if side == 'from' else 'other'} end",
                         "its cells are kinds of terminal, not names", column)
                    )  # fmt: skip
                else:
                    out.not_used[column] = heading
        if item in out.columns:
            out.names.pop(item, None)
        elif f"{side}_cavity" in out.columns and item not in out.names:
            # "X1:12" or names of ends under a heading that only says pin
            column = out.columns.pop(f"{side}_cavity")
            out.columns[item], out.headings[item] = column, out.headings.pop(f"{side}_cavity")
            out.decided.append((out.headings[item], "end of the wire", "no other column names this end", column))


_ATTRIBUTES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("wire", ("wire",)), ("colour", ("colour",)), ("tracer", ("tracer",)), ("size", ("size",)),
    ("length_m", ("length",)), ("signal", ("signal", "net")), ("twist", ("twist",)), ("shield", ("shield",)),
    ("current_a", ("current",)), ("branch", ("branch",)), ("insulation", ("insulation",)), ("option", ("option",)),
    ("note", ("note",)),
)  # fmt: skip


def _take_attributes(out: Layout, cells: Sequence[HeadCell], sample: Sample, skip: Sequence[str] = ()) -> None:
    """Give the columns that belong to no end their roles, exact headings before doubtful ones."""
    left = list(cells)
    for exact in (True, False):
        for role, concepts in _ATTRIBUTES:
            if role in skip or role in out.columns:
                continue
            for cell in left:
                heading = cell.heading
                fits = heading.concepts[:1] if exact else heading.concepts
                if exact and (heading.qualifier or heading.key in ("type", "section", "circuit", "cable", "name")):
                    continue
                if any(c in concepts for c in fits) and _values_allow(role, cell, sample):
                    out.take(role, cell)
                    left.remove(cell)
                    break
    for cell in left:
        _take_doubtful(out, cell, sample, skip)


def _values_allow(role: str, cell: HeadCell, sample: Sample) -> bool:
    """Whether the values under a heading of several meanings fit this role."""
    key = cell.heading.key
    texts = sample(cell.column)
    if key == "section":
        return (role == "size") == (_share(texts, lambda t: bool(_SIZE_TEXT.match(t))) >= 0.5)
    if key == "type":
        return role == "insulation" and _share(texts, _is_colour) < 0.6
    if key == "cable" and role == "wire":
        return len(set(texts)) >= 0.6 * len(texts)
    return True


def _take_doubtful(out: Layout, cell: HeadCell, sample: Sample, skip: Sequence[str]) -> None:
    """A heading that fits no free role by its words: decided by its values, else not used."""
    texts = sample(cell.column)
    key = cell.heading.key
    if key == "type" and "colour" not in out.columns and _share(texts, _is_colour) >= 0.6:
        out.take("colour", cell)
        out.decided.append((cell.heading.written, "colour", "most of its cells are colours", cell.column))
    elif (
        cell.heading.may_be("number")
        and "wire" not in out.columns
        and "wire" not in skip
        and texts
        and len(set(texts)) == len(texts)
    ):
        out.take("wire", cell)
        out.decided.append((cell.heading.written, "wire", "every row has its own", cell.column))
    elif cell.heading.may_be("signal") and "note" not in out.columns and "note" not in skip:
        out.take("note", cell)
    else:
        out.not_used[cell.column] = cell.heading.written


def connector_in_heading(cell: HeadCell) -> str:
    """Connector that the heading of a pin column names: ``ECU`` of "ECU pin"; empty if it names none."""
    name = cell.heading.qualifier
    words = {w.casefold() for w in re.findall(r"[^\W\d_]+", name)}
    return "" if words and words <= vocabulary().values["generic_connector"] else name


def _pins(cells: Sequence[HeadCell], sample: Sample, *, codes: bool) -> Layout:
    """Columns of a pin list, with those of the wire in the pin where it names them."""
    out = Layout("pins", "pins")
    rest: list[HeadCell] = []
    for cell in cells:
        heading = cell.heading
        first = heading.concepts[0] if heading.concepts else ""
        if codes and heading.side and first == "item":
            out.take(f"{heading.side}_code", cell)
        elif heading.side and (first in ("item", "connector", "cavity", "terminal")):
            role = {"item": "to_item", "connector": "to_connector", "cavity": "to_cavity", "terminal": "to_terminal"}[first]
            if heading.side == "to" and role not in out.columns:
                out.take(role, cell)
            elif heading.side == "from" and first in ("item", "connector") and "connector" not in out.columns:
                out.take("connector", cell)
            else:
                out.not_used[cell.column] = heading.written
        else:
            rest.append(cell)
    cavities = [c for c in rest if c.heading.concepts[:1] == ("cavity",)]
    if len(cavities) > 1:  # "Pin" beside "Terminal": the one that says pin
        cavities.sort(key=lambda c: (c.heading.key in ("terminal", "contact", "position"), c.column))
    for cell in cavities[:1]:
        out.take("cavity", cell)
        rest.remove(cell)
        name = connector_in_heading(cell)
        if name:
            out.names["connector"] = name
    connectors = [c for c in rest if c.heading.may_be("connector") and c.heading.concepts[0] in ("connector", "item")]
    for cell in connectors[:1]:
        rest.remove(cell)
        if "connector" in out.names and "to_item" not in out.columns:
            out.take("to_item", cell)  # the pins have their connector's name in the heading
            out.decided.append((cell.heading.written, "destination", "the pin column names its own connector", cell.column))
        elif "connector" not in out.columns:
            out.take("connector", cell)
        else:
            rest.append(cell)
    if "cavity" not in out.columns and "connector" in out.columns:
        pass  # "X1-01" in one column: split by the ends later
    _settle_connector(out)
    _take_device(out, rest, sample)
    for role, concepts in (("terminal", ("terminal",)), ("seal", ("seal",)), ("role", ("role",))):
        for cell in rest:
            if cell.heading.concepts and cell.heading.may_be(concepts[0]) and role not in out.columns:
                if cell.heading.key == "type":
                    continue
                out.take(role, cell)
                rest.remove(cell)
                break
    _take_attributes(out, rest, sample)
    if any(role in out.columns for role in ("to_item", "to_cavity", "to_connector", "from_code")):
        out.layout = "pins and destinations"
    elif any(c.heading.concepts[:1] == ("net",) for c in cells):
        out.layout = "nets"
    return out


def _settle_connector(out: Layout) -> None:
    """One name for the destination, and none in the heading where a column names the connector."""
    if "to_connector" in out.columns and "to_item" not in out.columns:
        out.columns["to_item"], out.headings["to_item"] = out.columns.pop("to_connector"), out.headings.pop("to_connector")
    if "connector" in out.columns:
        out.names.pop("connector", None)


def _take_device(out: Layout, rest: list[HeadCell], sample: Sample) -> None:
    """A device column: the one the connector belongs to, or the one the wire goes to."""
    devices = [c for c in rest if c.heading.concepts[:1] in (("item",), ("component",))]
    for cell in devices[:1]:
        rest.remove(cell)
        either = cell.heading.key in ("src dest", "source destination", "endpoint", "end point", "device endpoint", "from to")
        several = len(set(sample(cell.column))) > 1
        if "to_item" not in out.columns and (either or ("connector" not in out.columns and several)):
            out.take("to_item", cell)
        elif "connector" in out.columns and _one_each(sample(out.columns["connector"]), sample(cell.column)):
            out.take("component", cell)
        elif "to_item" not in out.columns:
            out.take("to_item", cell)
            out.decided.append((cell.heading.written, "destination", "one connector has several of them", cell.column))
        else:
            out.take("component", cell)


def _one_each(connectors: Sequence[str], devices: Sequence[str]) -> bool:
    """Whether the columns have as many devices as connectors, or fewer."""
    return len(set(devices)) <= max(1, len(set(connectors)))


def _device_columns(cells: Sequence[HeadCell], sample: Sample) -> Layout | None:
    """A net per row and a device per column, with the pin in the cell."""
    out = Layout("pins", "device columns")
    rest: list[HeadCell] = []
    for cell in cells:
        if cell.heading.concepts:
            rest.append(cell)
            continue
        texts = sample(cell.column)
        if texts and _share(texts, is_pin_like) >= 0.7:
            out.devices[cell.heading.written] = cell.column
        else:
            rest.append(cell)
    if len(out.devices) < 2:
        return None
    _take_attributes(out, rest, sample)
    return out if "signal" in out.columns or "wire" in out.columns else None


# --- the other forms --------------------------------------------------------------------------------

_ROLE_CONCEPTS: dict[str, tuple[str, ...]] = {
    "current_a": ("current",), "resistance_ohm": ("resistance",), "capacitance_f": ("capacitance",), "length_m": ("length",),
    "rating_a": ("rating",), "distance_m": ("distance", "length"), "aged_ohm": ("aged",), "body": ("body", "place"),
}  # fmt: skip


def _plain(form: str, cells: Sequence[HeadCell]) -> Layout:
    """Columns of a form where each heading has one meaning."""
    out = Layout(form)
    left = list(cells)
    for exact in (True, False):
        for column in FORMS[form].columns:
            if column.name in out.columns:
                continue
            for cell in left:
                if _is_column(column.name, cell, exact):
                    out.take(column.name, cell)
                    left.remove(cell)
                    break
    for cell in left:
        out.not_used[cell.column] = cell.heading.written
    return out


def _is_column(name: str, cell: HeadCell, exact: bool) -> bool:
    heading = cell.heading
    if name in ("from_point", "to_point", "from_body", "to_body"):
        return heading.side == name.split("_")[0]
    if heading.side:
        return False
    wanted = _ROLE_CONCEPTS.get(name, (name,))
    if exact:
        return (heading.concepts[:1] and heading.concepts[0] in wanted) or (len(heading.concepts) == 1 and heading.concepts[0] in wanted)
    return any(heading.may_be(concept) for concept in wanted)
