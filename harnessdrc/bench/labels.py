"""Labels: two for each wire, one for each connector."""

from __future__ import annotations

from harnessdrc.bench.connectors import is_housing
from harnessdrc.bench.cutting import colour_text, size_text
from harnessdrc.bench.ends import End, Ends
from harnessdrc.harness.names import natural_key
from harnessdrc.papers import ConnectorSheet, LabelLine

__all__ = ["label_lines"]


def label_lines(ends: Ends, sheets: tuple[ConnectorSheet, ...]) -> tuple[LabelLine, ...]:
    """Labels of all wires in natural order, then of all connectors.

    The code of a wire says its name and its two ends, so that both of its labels scan alike and neither is that of
    another wire; that of a connector says its name.

    Parameters
    ----------
    ends : Ends
        Ends of the wires.
    sheets : tuple of ConnectorSheet
        Connectors.
    """
    lines: list[LabelLine] = []
    for a, b in sorted(ends.all, key=lambda pair: (natural_key(pair[0].wire.name), pair[0].wire.name)):
        code = " | ".join((a.wire.name, ends.where(a) or "?", ends.where(b) or "?"))
        lines += [_wire_label(a, b, code, ends), _wire_label(b, a, code, ends)]
    for sheet in sheets:
        if is_housing(sheet):
            lines.append(_connector_label(sheet))
    return tuple(lines)


def _wire_label(here: End, there: End, code: str, ends: Ends) -> LabelLine:
    wire = here.wire
    where = ends.where(here)
    what = ", ".join(filter(None, (size_text(wire), colour_text(wire))))
    told = (wire.name, where or "?", f"to {ends.where(there) or '?'}", wire.signal or "", what)
    return LabelLine(("wire", wire.name), where, tuple(filter(None, told)), code)


def _connector_label(sheet: ConnectorSheet) -> LabelLine:
    mate = f"mates with {sheet.mate}" if sheet.mate else ""
    told = (sheet.name, sheet.component, sheet.part, mate)
    return LabelLine(("connector", sheet.name), "", tuple(filter(None, told)), sheet.name)
