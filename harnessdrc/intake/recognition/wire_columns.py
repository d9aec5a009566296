"""Columns of a wire list, and those of the wire in any list, by headings and values."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from harnessdrc.intake.normalizing.cables import cable_cores
from harnessdrc.intake.recognition.heading_rows import HeadCell
from harnessdrc.intake.recognition.headings import vocabulary
from harnessdrc.intake.recognition.regions import Layout, Sample, is_pin_like
from harnessdrc.tables.colours import parse_colour
from harnessdrc.tables.columns import SELDOM

__all__ = ["connector_in_heading", "name_of_pins", "share", "take_attributes", "wire_columns"]


def share(texts: Sequence[str], test: Callable[[str], bool]) -> float:
    return sum(1 for t in texts if test(t)) / len(texts) if texts else 0.0


def _is_colour(text: str) -> bool:
    return bool(parse_colour(text).codes) or cable_cores(text) is not None


def _is_terminal_word(text: str) -> bool:
    return not vocabulary().values["terminal_words"].isdisjoint(re.findall(r"[a-z]+", text.lower()))


_ITEM_AND_PIN = re.compile(r"^[^:,;]*[^\W_][^:,;]*:\s?\S{1,6}$")
_SIZE_TEXT = re.compile(r"^[#\d][\d.,/ ]*(mm.?2?|mm²|awg|ga\.?)?$", re.I)


def _side_at(cells: Sequence[HeadCell], index: int) -> str:
    """End that a heading without a side belongs to, by the last one to its left that names an end."""
    for cell in reversed(cells[:index]):
        if cell.heading.side:
            return cell.heading.side
    return "from"


def wire_columns(cells: Sequence[HeadCell], sample: Sample) -> Layout:
    """Columns of a wire list."""
    out = Layout("wires")
    rest: list[tuple[int, HeadCell]] = []
    for index, cell in enumerate(cells):
        heading = cell.heading
        if not heading.side:
            rest.append((index, cell))
            continue
        _take_end(out, heading.side, cell, sample)
    own = _own_terminal(cells, rest)
    rest = [entry for entry in rest if entry[1] not in own]
    for concept in ("item", "connector", "cavity", "terminal", "seal"):
        found = [(i, c) for i, c in rest if c.heading.concepts[:1] == (concept,)]
        if concept == "item" and len(found) != 2:
            continue
        sides = ["from", "to"] if len(found) == 2 else [_side_at(cells, i) for i, _ in found]
        for (i, cell), side in zip(found, sides, strict=True):
            _take_end(out, side, cell, sample, as_concept=concept)
            rest.remove((i, cell))
    take_attributes(out, [c for _, c in rest], sample)
    _take_own_terminal(out, own, sample)
    _settle_ends(out, sample)
    return out


def _own_terminal(cells: Sequence[HeadCell], rest: Sequence[tuple[int, HeadCell]]) -> list[HeadCell]:
    """The terminal that a row of a terminal strip is about: in front of two ends that have pins of their own."""
    pins = [(i, c) for i, c in rest if c.heading.concepts[:1] == ("cavity",)]
    first = next((i for i, c in enumerate(cells) if c.heading.side), len(cells))
    return [pins[0][1]] if len(pins) == 3 and pins[0][0] < first < pins[1][0] else []


def _take_own_terminal(out: Layout, own: Sequence[HeadCell], sample: Sample) -> None:
    """The terminal of a strip names the wire through it, where nothing else does."""
    for cell in own:
        texts = sample(cell.column)
        if "wire" not in out.columns and len(set(texts)) == len(texts):
            out.take("wire", cell.column, cell.heading)
            out.decided.append((cell.heading.written, "wire", "the terminal between the two ends", cell.column))
        else:
            out.not_used[cell.column] = cell.heading.written


def _take_end(out: Layout, side: str, cell: HeadCell, sample: Sample, as_concept: str = "") -> None:
    """Give a column of one end its role."""
    concepts = (as_concept,) if as_concept else cell.heading.concepts
    concept = concepts[0]
    if (
        concept == "cavity"
        and "terminal" in cell.heading.concepts
        and {"terminal", "contact"} & set(cell.heading.key.split())
    ):
        texts = sample(cell.column)
        words = share(texts, _is_terminal_word) >= 0.3
        with_item = share(texts, lambda t: bool(_ITEM_AND_PIN.match(t))) >= 0.5  # "BB1:2" under "Terminal A"
        if f"{side}_cavity" in out.columns or words or (share(texts, is_pin_like) < 0.6 and not with_item):
            concept = "terminal"
    role = {
        "item": f"{side}_item", "connector": f"{side}_connector", "cavity": f"{side}_cavity",
        "terminal": f"{side}_terminal", "seal": f"{side}_seal", "body": f"{side}_item",
    }.get(concept)  # fmt: skip
    if role is None or role in out.columns:
        out.not_used[cell.column] = cell.heading.written
        return
    out.take(role, cell.column, cell.heading)
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
            elif share(texts, _is_terminal_word) >= 0.3:
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
            column = out.columns[f"{side}_cavity"]
            name = name_of_pins(out.headings[f"{side}_cavity"])
            if name and share(sample(column), is_pin_like) >= 0.8:
                out.names[item] = name
                out.decided.append((out.headings[f"{side}_cavity"], name, "the pins need a name of their own", column))
                continue
            # "X1:12" or names of ends under a heading that only says pin
            column = out.columns.pop(f"{side}_cavity")
            out.columns[item], out.headings[item] = column, out.headings.pop(f"{side}_cavity")
            out.decided.append((out.headings[item], "end of the wire", "no other column names this end", column))


def name_of_pins(heading: str) -> str:
    """What is left of the heading of a pin column without the word for pin: ``Screw`` of "Screw pin"."""
    words = [
        w for w in heading.split() if w.casefold().strip("#.:") not in ("pin", "pins", "no", "number", "cavity", "")
    ]
    return " ".join(words)


_ATTRIBUTES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("wire", ("wire",)), ("colour", ("colour",)), ("tracer", ("tracer",)), ("size", ("size",)),
    ("length_m", ("length",)), ("signal", ("signal", "net")), ("twist", ("twist",)), ("shield", ("shield",)),
    *((role, (role,)) for role in SELDOM["wires"]),
    ("current_a", ("current",)), ("branch", ("branch",)), ("insulation", ("insulation",)), ("option", ("option",)),
    ("note", ("note",)),
)  # fmt: skip


def take_attributes(out: Layout, cells: Sequence[HeadCell], sample: Sample, skip: Sequence[str] = ()) -> None:
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
                    out.take(role, cell.column, cell.heading)
                    left.remove(cell)
                    break
    for cell in left:
        _take_doubtful(out, cell, sample, skip)


def _values_allow(role: str, cell: HeadCell, sample: Sample) -> bool:
    """Whether the values under a heading of several meanings fit this role."""
    key = cell.heading.key
    texts = sample(cell.column)
    if key == "section":
        return (role == "size") == (share(texts, lambda t: bool(_SIZE_TEXT.match(t))) >= 0.5)
    if key == "type":
        return role == "insulation" and share(texts, _is_colour) < 0.6
    if key in ("cable", "circuit", "circuit name") and role == "wire":
        if key == "cable":
            return len(set(texts)) >= 0.6 * len(texts)
        # "Live feed" on three wires is what they carry, "W12" or "L2.1" a number
        return share(texts, lambda t: any(c.isdecimal() for c in t) or (len(t) <= 3 and t.isupper())) >= 0.5
    return True


def _take_doubtful(out: Layout, cell: HeadCell, sample: Sample, skip: Sequence[str]) -> None:
    """A heading that fits no free role by its words: decided by its values, else not used."""
    texts = sample(cell.column)
    key = cell.heading.key
    if key == "type" and "colour" not in out.columns and share(texts, _is_colour) >= 0.6:
        out.take("colour", cell.column, cell.heading)
        out.decided.append((cell.heading.written, "colour", "most of its cells are colours", cell.column))
    elif (
        cell.heading.may_be("number")
        and "wire" not in out.columns
        and "wire" not in skip
        and texts
        and len(set(texts)) == len(texts)
    ):
        out.take("wire", cell.column, cell.heading)
        out.decided.append((cell.heading.written, "wire", "every row has its own", cell.column))
    elif cell.heading.may_be("signal") and "note" not in out.columns and "note" not in skip:
        out.take("note", cell.column, cell.heading)
    else:
        out.not_used[cell.column] = cell.heading.written


def connector_in_heading(cell: HeadCell) -> str:
    """Connector that the heading of a pin column names: ``ECU`` of "ECU pin"; empty if it names none."""
    name = cell.heading.qualifier
    words = {w.casefold() for w in re.findall(r"[^\W\d_]+", name)}
    return "" if words and words <= vocabulary().values["generic_connector"] else name
