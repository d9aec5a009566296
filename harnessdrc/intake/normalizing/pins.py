"""Frames of pins, and of the wires that a list of pins speaks of."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from pathlib import PurePath
from typing import Any

from harnessdrc.intake.normalizing.cores import settle_cores
from harnessdrc.intake.normalizing.destinations import lead_from
from harnessdrc.intake.normalizing.ends import split_ends
from harnessdrc.intake.normalizing.frames import frame_of, table_of
from harnessdrc.intake.normalizing.values import Columns, Texts
from harnessdrc.intake.normalizing.wires import End, ends_as_text, expand_cores, read_end, unused_word, wire_attributes
from harnessdrc.intake.recognition.regions import is_pin_like
from harnessdrc.intake.recognition.rows import codes_from, names_both_ends
from harnessdrc.tables.model import Table
from harnessdrc.units import is_placeholder

__all__ = ["PinRows", "expand_pins", "pins_table", "read_pins", "wires_of_devices", "wires_of_nets", "wires_of_pins"]

_RANGE = re.compile(r"^([A-Za-z]{0,3})(\d{1,3}) ?(?:-|–|\.\.|…|to|bis) ?([A-Za-z]{0,3})(\d{1,3})$")
_SEVERAL = re.compile(r" ?[,;&+/\n] ?| and | und | et ")
_REMARK = re.compile(r"^(\S.*?)\s*\([^()]*\)?$")


def expand_pins(texts: Sequence[str | None]) -> dict[str, tuple[str, ...]]:
    """Pins of the cells that name several: ``D42-D53``, ``1-4``, ``5,6,7``.

    Parameters
    ----------
    texts : sequence of str
        The whole column, as a dash means a range only where it is not simply how the pins are named
        (``1-1``, ``1-2``, ``2-1``).

    Returns
    -------
    dict
        Text → its pins, for the texts that are more than one pin.
    """
    distinct = {t for t in texts if t is not None}
    out: dict[str, tuple[str, ...]] = {}
    ranges = {t: m for t in distinct if (m := _RANGE.match(t))}
    bare = {t for t, m in ranges.items() if not m[1]}
    named_so = len(bare) > 2 and len(bare) * 10 > len(distinct) * 3
    for text, match in ranges.items():
        first, last = int(match[2]), int(match[4])
        same = match[3] == match[1]
        if same and first < last <= first + 200 and not (named_so and text in bare):
            width = len(match[2]) if match[2].startswith("0") else 0
            out[text] = tuple(f"{match[1]}{n:0{width}d}" for n in range(first, last + 1))
    for text in distinct - set(out):
        parts = [p.strip() for p in _SEVERAL.split(text) if p.strip()]
        if len(parts) > 1 and all(is_pin_like(p) and " " not in p for p in parts) and any(c.isdecimal() for c in text):
            out[text] = tuple(parts)
    return out


class PinRows:
    """Connector and pins of every data row of a pin list.

    Parameters
    ----------
    connectors : list of str or None
        One per data row.
    pins : list of tuple of (str or None)
        Pins per data row; several for a range.
    """

    def __init__(self, connectors: Texts, pins: list[tuple[str | None, ...]]) -> None:
        self.connectors = connectors
        self.pins = pins


def read_pins(columns: Columns) -> PinRows:
    """Connectors and pins, with ranges expanded and ends in one cell taken apart."""
    region = columns.region
    connectors = columns.texts("connector", names=True, placeholders=True)
    cavities = columns.texts("cavity", names=True)
    by_name = "connector" in region.names and "connector" not in region.columns
    if "cavity" not in region.columns or by_name:
        source = cavities if "cavity" in region.columns else connectors
        role = "cavity" if "cavity" in region.columns else "connector"
        parts = split_ends({t for t in source if t is not None})
        if parts:
            connectors = [parts[t][0] if t in parts else c for t, c in zip(source, connectors, strict=True)]
            cavities = [parts[t][1] if t in parts else c for t, c in zip(source, cavities, strict=True)]
            shown = min(parts)
            value = f"{parts[shown][0]}, cavity {parts[shown][1]}"
            count = sum(1 for t in source if t in parts)
            columns.assume("end", shown, value, "connector and pin in one cell", columns.place(role), count)
    cavities = [_without_remark(t) for t in cavities]
    several = expand_pins(cavities)
    if several:
        shown = min(several)
        count = sum(1 for t in cavities if t in several)
        where = next(i for i, t in enumerate(cavities) if t in several)
        columns.assume("pins", shown, ", ".join(several[shown][:4]) + (" ..." if len(several[shown]) > 4 else ""),
                       "several pins in one cell", columns.place("cavity", where), count)  # fmt: skip
    pins: list[tuple[str | None, ...]] = [several.get(t, (t,)) if t is not None else (None,) for t in cavities]
    if connectors and all(connector is None for connector in connectors):
        # The pins are of one connector that is named nowhere in the table.
        name = region.sheet or PurePath(region.file).stem
        connectors = [name] * len(connectors)
        columns.assume("connector", "no name", name, "the sheet is called so", columns.place("cavity"), len(connectors))
    return PinRows(connectors, pins)


def _without_remark(text: str | None) -> str | None:
    """Pin without what stands behind it in brackets: ``D00 (Rx0, D0 PWM)`` → ``D00``."""
    if text is None or "(" not in text:
        return text
    match = _REMARK.match(text)
    return match[1] if match and is_pin_like(match[1]) else text


def _unused_rows(columns: Columns, values: dict[str, Texts]) -> list[bool]:
    """Rows whose pin is said not to be used; an empty cell says nothing.

    A word (``N/C``, ``reserved``) always says so. A dash or ``N/A`` does only where nothing else in the
    row speaks of a wire, as it may also stand for a value that is not known.
    """
    flags = [False] * len(columns)
    given = [t for role in ("signal", "to_item", "wire", "colour") if (t := values.get(role))]
    told: dict[str, list[int]] = {}
    for role in ("signal", "to_item", "wire"):
        texts = values.get(role) or []
        said = {t for t in set(texts) if unused_word(t)}
        weak = {t for t in said if is_placeholder(t or "")}
        if not said:
            continue
        for i, text in enumerate(texts):
            if text is None or text not in said or flags[i]:
                continue
            if text in weak and any(other[i] is not None and not _says_nothing(other[i]) for other in given):
                continue
            flags[i] = True
            told.setdefault(text, []).append(i)
    for text, where in told.items():
        columns.assume("unused", text, "a pin that is not used", "the words say so", columns.place("cavity", where[0]),
                       len(where))  # fmt: skip
    return flags


def _says_nothing(text: str | None) -> bool:
    return text is None or is_placeholder(text) or unused_word(text)


def _pin_values(columns: Columns) -> dict[str, Texts]:
    values = {"signal": columns.texts("signal"), "wire": columns.texts("wire", names=True)}
    if "to_item" in columns.region.columns:
        values["to_item"] = columns.texts("to_item", names=True)
    if "colour" in columns.region.columns:
        values["colour"] = columns.texts("colour")
    return values


def pins_table(columns: Columns, rows: PinRows) -> tuple[Table, list[bool]]:
    """Table of pins, and which data rows are unused pins."""
    region = columns.region
    said = _pin_values(columns)
    unused = _unused_rows(columns, said)
    given: dict[str, list[Any]] = {
        "row": columns.data, "connector": rows.connectors, "signal": said["signal"], "unused": unused,
        "wire": [None if unused_word(t) else t for t in said["wire"]],
        "component": columns.texts("component", names=True, placeholders=True),
        "role": columns.texts("role", placeholders=True), "terminal": columns.texts("terminal", placeholders=True),
        "seal": columns.texts("seal", placeholders=True), "note": columns.texts("note"),
    }  # fmt: skip
    index: list[int] = []
    cavities: list[str | None] = []
    named = any(connector is not None for connector in rows.connectors)
    for i, pins in enumerate(rows.pins):
        for pin in pins:
            # A pin without its connector, where others have theirs, may be anybody's: its row is set aside.
            if pin is not None and not (named and rows.connectors[i] is None) and not _is_item(region.names, pin):
                index.append(i)
                cavities.append(pin)
    values = {name: [column[i] for i in index] for name, column in given.items()}
    values["cavity"] = cavities
    return table_of(columns, "pins", frame_of("pins", values)), unused


def _is_item(names: Any, pin: str) -> bool:
    """Whether a text under a connector's name is no pin of it but the name of something else."""
    return "connector" in names and " " in pin and not is_pin_like(pin)


def wires_of_pins(columns: Columns, rows: PinRows, unused: Sequence[bool], *, destinations: bool) -> Table:
    """Wires of a pin list: from the pin to its destination, or to an end that is not listed.

    Parameters
    ----------
    columns : Columns
        The region.
    rows : PinRows
        From `read_pins`.
    unused : sequence of bool
        Data rows whose pin is not used; they give no wire.
    destinations : bool
        Whether the list says where the wires go.
    """
    region = columns.region
    values, colours = wire_attributes(columns)
    colours = settle_cores(columns, values, colours)
    values["from_terminal"] = columns.texts("terminal", placeholders=True)
    said = [None if unused_word(t) else t for t in values["wire"]]
    values["wire"] = said
    count = len(columns)
    stop = read_end(columns, "to") if destinations else None
    items: Texts = list(rows.connectors)
    cavities: list[tuple[str | None, ...]] = list(rows.pins)
    starts = _ends_without_pin(columns, items, cavities)
    keep: list[int] = []
    for i in range(count):
        if unused[i]:
            continue
        leads = stop is not None and (stop.items[i] is not None or stop.cavities[i] is not None or stop.open[i])
        listed = stop is None and (
            said[i] is not None or colours.written[i] is not None or values["size"][i] is not None
        )
        if (leads or listed) and (items[i] is not None or cavities[i][0] is not None or leads):
            keep.append(i)
    values |= {
        "row": columns.data, "from_item": items, "from_open": [False] * count,
        "to_item": stop.items if stop else [None] * count, "to_cavity": stop.cavities if stop else [None] * count,
        "to_open": stop.open if stop else [False] * count,
    }  # fmt: skip
    values["from_more"] = [ends_as_text(starts[i][1:]) if i in starts else None for i in range(count)]
    index = [i for i in keep for _ in cavities[i]]
    beside: dict[str, Sequence[Any]] = {"from_cavity": [pin for i in keep for pin in cavities[i]]}
    if stop is not None and stop.several:
        leading = [end for i in keep for end in lead_from(cavities[i], stop.all(i))]
        beside |= {
            "to_item": [item for (item, _), _ in leading], "to_cavity": [cavity for (_, cavity), _ in leading],
            "to_more": [ends_as_text(more) for _, more in leading],
        }  # fmt: skip
    frame_values = expand_cores(values, colours, index, beside)
    if stop is None and keep:
        columns.assume("end", columns.heading("cavity"), "a wire in the pin, its other end not listed",
                       "the pin list gives wires their colour, size or number", columns.place("cavity", keep[0]),
                       len(keep))  # fmt: skip
    roles = {"from_item": "connector", "from_cavity": "cavity", "from_terminal": "terminal"}
    return table_of(
        columns, "wires", frame_of("wires", frame_values), {k: v for k, v in roles.items() if v in region.columns}
    )


def _ends_without_pin(
    columns: Columns, items: Texts, cavities: list[tuple[str | None, ...]]
) -> dict[int, tuple[End, ...]]:
    """Ends of rows that name no pin: another item in the pin column, or the place by its location code.

    Returns the ends of the rows whose cell holds several location codes.
    """
    region = columns.region
    several: dict[int, tuple[End, ...]] = {}
    if "connector" not in region.names:
        return several
    from_codes = columns.texts("from_code", names=True, placeholders=True)
    to_codes = columns.texts("to_code", names=True, placeholders=True)
    by_code = 0
    for i, pins in enumerate(cavities):
        pin = pins[0]
        if pin is None:
            code = from_codes[i] or to_codes[i]
            items[i] = codes_from(region.codes, code) if code is not None else None
            by_code += code is not None
            places = [region.codes.get(part.strip()) for part in re.split(r"[,;/&+]", code or "")]
            if len(places) > 1 and all(places):
                several[i] = tuple((place, None) for place in places)
                items[i] = places[0]
        elif _is_item(region.names, pin):
            items[i], cavities[i] = pin, (None,)
    if by_code:
        role = "from_code" if "from_code" in region.columns else "to_code"
        columns.assume("end", columns.heading(role), "the place by its location code", "the row names no pin",
                       columns.place(role), by_code)  # fmt: skip
    return several


# --- nets -------------------------------------------------------------------------------------------


def wires_of_nets(columns: Columns, rows: PinRows, unused: Sequence[bool]) -> Table | None:
    """Wires that join the pins of each net: from its first pin to each of the others."""
    role = "signal" if "signal" in columns.region.columns else "wire"
    if names_both_ends(columns.texts("wire", names=True)):
        role = "wire"
    nets = columns.texts(role)
    said = Counter(nets)
    first: dict[str, tuple[str | None, str | None]] = {}
    values, colours = wire_attributes(columns)
    colours = settle_cores(columns, values, colours)
    chosen: list[int] = []
    ends: list[tuple[str | None, str | None, str | None, str | None]] = []
    for i, net in enumerate(nets):
        if net is None or unused[i] or unused_word(net):
            continue
        for pin in rows.pins[i]:
            here = (rows.connectors[i], pin)
            if net not in first:
                first[net] = here
                if role == "wire" and said[net] == 1:
                    chosen.append(i)
                    ends.append((*here, None, None))
            elif first[net] != here:
                chosen.append(i)
                ends.append((*first[net], *here))
    if not chosen:
        return None
    picked = {name: [column[i] for i in chosen] for name, column in values.items()}
    picked |= {
        "row": [columns.data[i] for i in chosen],
        "from_item": [e[0] for e in ends], "from_cavity": [e[1] for e in ends],
        "to_item": [e[2] for e in ends], "to_cavity": [e[3] for e in ends],
        "from_open": [False] * len(ends), "to_open": [False] * len(ends),
        "colour": [colours.codes[i][0] if len(colours.codes[i]) == 1 else None for i in chosen],
        "cores": [1] * len(ends),
    }  # fmt: skip
    if role == "wire":
        value, because = "a wire between the pins that name it", "the list names each wire once at each end"
    else:
        value, because = (
            "wires from the first pin of a net to each of the others",
            "the list gives nets with their pins, not wires",
        )
    columns.assume("end", columns.heading(role), value, because, columns.place(role), len(chosen))
    roles = {"to_item": "connector", "to_cavity": "cavity"}
    return table_of(columns, "wires", frame_of("wires", picked), roles)


def wires_of_devices(columns: Columns) -> tuple[Table, Table]:
    """Pins and wires of a list with a net per row and a device per column."""
    region = columns.region
    values, colours = wire_attributes(columns)
    colours = settle_cores(columns, values, colours)
    devices = {device: _device_texts(columns, device) for device in region.devices}
    pins: dict[str, list[Any]] = {name: [] for name in ("row", "connector", "cavity", "signal", "wire", "unused")}
    index: list[int] = []
    ends: list[tuple[str, str, str, str]] = []
    for i, row in enumerate(columns.data):
        here: list[tuple[str, str]] = []
        for device, texts in devices.items():
            text = texts[i]
            if text is None or unused_word(text):
                continue
            several = expand_pins([text]).get(text, (text,)) if "," in text else (text,)
            here += [(device, pin) for pin in several]
        for device, pin in here:
            given = (row, device, pin, values["signal"][i], values["wire"][i], False)
            for name, value in zip(pins, given, strict=True):
                pins[name].append(value)
        for other in here[1:]:
            index.append(i)
            ends.append((*here[0], *other))
    wires = {name: [column[i] for i in index] for name, column in values.items()}
    wires |= {
        "row": [columns.data[i] for i in index],
        "from_item": [e[0] for e in ends], "from_cavity": [e[1] for e in ends],
        "to_item": [e[2] for e in ends], "to_cavity": [e[3] for e in ends],
        "from_open": [False] * len(ends), "to_open": [False] * len(ends),
        "colour": [colours.codes[i][0] if len(colours.codes[i]) == 1 else None for i in index],
        "cores": [1] * len(ends),
    }  # fmt: skip
    shown = ", ".join(list(region.devices)[:4])
    value = "a wire from the first device of a row to each of the others"
    columns.assume("end", shown, value, "the list has a column per device", columns.place("signal"), len(index))
    return table_of(columns, "pins", frame_of("pins", pins)), table_of(columns, "wires", frame_of("wires", wires))


def _device_texts(columns: Columns, device: str) -> Texts:
    from harnessdrc.intake.recognition.regions import text_of

    column = columns.region.devices[device]
    cells = columns.cells(column)
    known = {value: text_of(value) for value in set(cells)}
    return [known[value] for value in cells]
