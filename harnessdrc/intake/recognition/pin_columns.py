"""Columns of a pin list, with its destinations or its devices, by headings and values."""

from __future__ import annotations

from collections.abc import Sequence

from harnessdrc.intake.recognition.heading_rows import HeadCell
from harnessdrc.intake.recognition.regions import ONE_TERMINAL, Layout, Sample, is_pin_like
from harnessdrc.intake.recognition.wire_columns import connector_in_heading, name_of_pins, share, take_attributes

__all__ = ["device_columns", "pin_columns"]


def pin_columns(cells: Sequence[HeadCell], sample: Sample, *, codes: bool) -> Layout:
    """Columns of a pin list, with those of the wire in the pin where it names them."""
    out = Layout("pins", "pins")
    rest: list[HeadCell] = []
    for cell in cells:
        heading = cell.heading
        first = heading.concepts[0] if heading.concepts else ""
        if codes and heading.side and first == "item":
            out.take(f"{heading.side}_code", cell.column, cell.heading)
        elif heading.side and (first in ("item", "connector", "cavity", "terminal")):
            role = {"item": "to_item", "connector": "to_connector", "cavity": "to_cavity", "terminal": "to_terminal"}[
                first
            ]
            if heading.side == "to" and role not in out.columns:
                out.take(role, cell.column, cell.heading)
            elif heading.side == "from" and first in ("item", "connector") and "connector" not in out.columns:
                out.take("connector", cell.column, cell.heading)
            else:
                out.not_used[cell.column] = heading.written
        else:
            rest.append(cell)
    if "to_item" not in out.columns:  # "Mates to" beside the wires of a connector: the wire's other end
        wired = any(c.heading.concepts[:1] in (("colour",), ("size",), ("wire",), ("length",)) for c in rest)
        for cell in [c for c in rest if wired and c.heading.concepts[:1] == ("mate",)][:1]:
            out.take("to_item", cell.column, cell.heading)
            because = "the list gives the wires in the pins"
            out.decided.append((cell.heading.written, "destination", because, cell.column))
            rest.remove(cell)
    cavities = [c for c in rest if c.heading.concepts[:1] == ("cavity",)]
    if "to_item" in out.columns and "to_cavity" not in out.columns:  # "Connected to, Pin": the pin there
        behind = [c for c in cavities[1:] if c.column == out.columns["to_item"] + 1]
        for cell in behind:
            out.take("to_cavity", cell.column, cell.heading)
            cavities.remove(cell)
            rest.remove(cell)
    if len(cavities) > 1:  # "Pin" beside "Terminal": the one that says pin
        cavities.sort(key=lambda c: (c.heading.key in ("terminal", "contact", "position"), c.column))
    for cell in cavities[:1]:
        out.take("cavity", cell.column, cell.heading)
        rest.remove(cell)
        name = connector_in_heading(cell)
        if name:
            out.names["connector"] = name
    connectors = [c for c in rest if c.heading.may_be("connector") and c.heading.concepts[0] in ("connector", "item")]
    for cell in connectors[:1]:
        rest.remove(cell)
        own = bool(cell.heading.qualifier) and cell.heading.qualifier == out.names.get("connector")
        if "connector" in out.names and not own and "to_item" not in out.columns:
            out.take("to_item", cell.column, cell.heading)  # the pins have their connector's name in the heading
            out.decided.append(
                (cell.heading.written, "destination", "the pin column names its own connector", cell.column)
            )
        elif "connector" not in out.columns:
            out.take("connector", cell.column, cell.heading)
        else:
            rest.append(cell)
    if "cavity" not in out.columns and "connector" in out.columns:
        pass  # "X1-01" in one column: split by the ends later
    _settle_connector(out)
    _take_device(out, rest, sample, nets=any(c.heading.concepts[:1] == ("net",) for c in cells))
    for role, concepts in (("terminal", ("terminal",)), ("seal", ("seal",)), ("role", ("role",))):
        for cell in rest:
            if cell.heading.concepts and cell.heading.may_be(concepts[0]) and role not in out.columns:
                if cell.heading.key == "type":
                    continue
                out.take(role, cell.column, cell.heading)
                rest.remove(cell)
                break
    take_attributes(out, rest, sample)
    if any(role in out.columns for role in ("to_item", "to_cavity", "to_connector", "from_code")):
        out.layout = "pins and destinations"
    elif any(c.heading.concepts[:1] == ("net",) for c in cells):
        out.layout = "nets"
    return out


def _settle_connector(out: Layout) -> None:
    """One name for the destination, and none in the heading where a column names the connector."""
    if "to_connector" in out.columns and "to_item" not in out.columns:
        out.columns["to_item"], out.headings["to_item"] = (
            out.columns.pop("to_connector"),
            out.headings.pop("to_connector"),
        )
    if "connector" in out.columns:
        out.names.pop("connector", None)


def _take_device(out: Layout, rest: list[HeadCell], sample: Sample, *, nets: bool) -> None:
    """A device column: the one the connector belongs to, or the one the wire goes to."""
    devices = [c for c in rest if c.heading.concepts[:1] in (("item",), ("component",))]
    if not devices and "connector" not in out.columns and not out.names and _pins_repeat(out, sample, nets):
        signals = [c for c in rest if c.heading.may_be("signal")]
        names = [c for c in signals if c.heading.key == "name" and c.column < out.columns.get("cavity", -1)]
        devices = names if len(signals) > 1 else []
    for cell in devices[:1]:
        rest.remove(cell)
        either = cell.heading.key in (
            "src dest",
            "source destination",
            "endpoint",
            "end point",
            "device endpoint",
            "from to",
        )
        several = len(set(sample(cell.column))) > 1
        owner = "to_item" in out.columns or _pins_repeat(out, sample, nets)
        if "connector" not in out.columns and not either and owner:
            out.take("connector", cell.column, cell.heading)
            out.names.pop("connector", None)
            continue
        if "to_item" not in out.columns and (either or ("connector" not in out.columns and several)):
            out.take("to_item", cell.column, cell.heading)
        elif "connector" in out.columns and _one_each(sample(out.columns["connector"]), sample(cell.column)):
            out.take("component", cell.column, cell.heading)
        elif "to_item" not in out.columns:
            out.take("to_item", cell.column, cell.heading)
            out.decided.append((cell.heading.written, "destination", "one connector has several of them", cell.column))
        else:
            out.take("component", cell.column, cell.heading)


def _pins_repeat(out: Layout, sample: Sample, nets: bool) -> bool:
    """Whether pins come again, so that a device column must say whose they are."""
    pins = sample(out.columns["cavity"]) if "cavity" in out.columns else []
    return nets or len(set(pins)) < len(pins)


def _one_each(connectors: Sequence[str], devices: Sequence[str]) -> bool:
    """Whether the columns have as many devices as connectors, or fewer."""
    return len(set(devices)) <= max(1, len(set(connectors)))


def device_columns(cells: Sequence[HeadCell], sample: Sample) -> Layout | None:
    """A net per row and a device per column, with the pin in the cell."""
    out = Layout("pins", "device columns")
    rest: list[HeadCell] = []
    for cell in cells:
        if cell.heading.concepts and cell.heading.concepts[0] not in ("item", "component", "connector", "cavity"):
            rest.append(cell)
            continue
        texts = sample(cell.column)
        one_terminal = ONE_TERMINAL.match(cell.heading.written)
        if texts and not one_terminal and share(texts, is_pin_like) >= 0.7:
            out.devices[name_of_pins(cell.heading.written) or cell.heading.written] = cell.column
        else:
            rest.append(cell)
    if len(out.devices) < 2:
        return None
    take_attributes(out, rest, sample)
    return out if "signal" in out.columns or "wire" in out.columns else None
