"""What was measured as JSON text: one sheet or reading per line."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdrc.render.json_text import json_lines, json_number, json_place, json_quoted
from harnessdrc.results import MeasuredLine, MeasuredOutcome, MeasuredSheetLine

__all__ = ["measured_pieces"]


def measured_pieces(measured: MeasuredOutcome, indent: int = 1) -> Iterator[str]:
    """The ``measured`` object of the JSON, in pieces.

    Parameters
    ----------
    measured : MeasuredOutcome
        What was measured; an empty one gives empty lists.
    indent : int
        Blanks before the closing bracket; what is inside stands further in.
    """
    outer, inner = " " * indent, " " * (indent + 1)
    yield f'{{\n{inner}"sheets": '
    yield from json_lines(map(_sheet, measured.sheets), inner)
    yield f',\n{inner}"readings": '
    yield from json_lines(map(_reading, measured.lines), inner)
    yield (
        f',\n{inner}"passed": {measured.count("pass")},\n{inner}"failed": {measured.count("fail")}'
        f',\n{inner}"not_used": {measured.unfit},\n{inner}"in_the_network": {measured.used}'
    )
    yield f',\n{inner}"not_compared": '
    yield from json_lines(map(json_quoted, measured.not_compared), inner)
    yield f"\n{outer}}}"


def _sheet(sheet: MeasuredSheetLine) -> str:
    fits = "null" if sheet.fits is None else "true" if sheet.fits else "false"
    mark = "null" if sheet.issue_mark is None else json_quoted(sheet.issue_mark)
    return (
        f'{{"file": {json_quoted(sheet.file)}, "sheet": {json_quoted(sheet.sheet)}, "issue_mark": {mark}, '
        f'"fits": {fits}, "rows": {sheet.rows}, "filled": {sheet.filled}, "refused": {sheet.refused}}}'
    )


def _reading(line: MeasuredLine) -> str:
    return (
        f'{{"test": {json_quoted(line.test)}, "kind": {json_quoted(line.kind)}, '
        f'"subject": {json_quoted(line.subject)}, "state": {json_quoted(line.state)}, '
        f'"expected": {json_number(line.expected)}, "low": {json_number(line.low)}, '
        f'"high": {json_number(line.high)}, "measured": {json_number(line.measured)}, '
        f'"above": {"true" if line.above else "false"}, "unit": {json_quoted(line.unit)}, '
        f'"verdict": {json_quoted(line.verdict)}, "place": {json_place(line.mark)}}}'
    )
