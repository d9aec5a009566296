"""Wire sizes, fuses and bundles as JSON text: one wire, fuse or bundle per line, written in pieces."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

from harnessdrc.render.json_text import json_lines, json_number, json_place, json_quoted, json_texts
from harnessdrc.render.sizing import STANDING_WORDS, never_clears, standing_of_size, tight_by
from harnessdrc.results import BundleLine, FuseLine, SizeLine, SizingLimits, SizingOutcome

__all__ = ["sizing_pieces"]

_TOGETHER = 256
"""Lines that are held at once."""


def sizing_pieces(sizing: SizingOutcome, indent: int = 1) -> Iterator[str]:
    """The ``sizing`` object of the JSON, in pieces.

    Parameters
    ----------
    sizing : SizingOutcome
        What was worked out; an empty one gives empty lists.
    indent : int
        Blanks before the closing bracket; what is inside stands further in.

    Yields
    ------
    str
        Text that makes one JSON object when joined: the same for the same outcome. Numbers are rounded to
        `json_text.DECIMALS`; one that is not finite is written as ``null``.
    """
    outer, inner = " " * indent, " " * (indent + 1)
    yield f'{{\n{inner}"wires": '
    yield from json_lines(_wires(sizing.wires), inner, _TOGETHER)
    yield f',\n{inner}"fuses": '
    yield from json_lines((_fuse(line, sizing.limits) for line in sizing.fuses), inner, _TOGETHER)
    yield f',\n{inner}"bundles": '
    yield from json_lines(map(_bundle, sizing.bundles), inner, _TOGETHER)
    yield f',\n{inner}"copper_g": {json_number(sizing.copper_g)}'
    yield f',\n{inner}"needed_g": {json_number(sizing.needed_g)}'
    limits = sizing.limits
    yield (
        f',\n{inner}"limits": {{"load_percent": {json_number(limits.load_percent)}, '
        f'"clear_s": {json_number(limits.clear_s)}, "fill_percent": {json_number(limits.fill_percent)}}}'
    )
    yield f',\n{inner}"not_worked_out": '
    yield from json_lines(map(json_quoted, sizing.not_worked_out), inner, _TOGETHER)
    yield f"\n{outer}}}"


def _whole(value: int | None) -> str:
    return "null" if value is None else str(int(value))


class _Texts(dict[object, str]):
    """JSON text of values that come again and again, each made once."""

    def __init__(self, make: Callable[[Any], str]) -> None:
        super().__init__()
        self._make = make

    def __missing__(self, value: object) -> str:
        text = self[value] = self._make(value)
        return text


_NUMBERS = frozenset(
    {
        "current_a", "peak_a", "allowed_a", "ambient_degc", "rated_degc", "bundle_loading", "conductor_degc", "drop_mv",
        "margin", "copper_g", "needed_g", "fault_a", "clears_s", "withstands_s",
    }
)  # fmt: skip
_WIRE = (
    "wire", "size", "standing", "current_a", "peak_a", "state", "allowed_a", "margin", "ambient_degc", "rated_degc",
    "conductor_degc", "bundle_wires", "bundle_loading", "drop_mv", "needed_awg", "needed_mm2", "governs", "copper_g",
    "needed_g", "fuse", "fault_a", "clears_s", "may_never_open", "withstands_s", "on_fault", "fault_lacking",
    "surely_small", "lacking", "place",
)  # fmt: skip
_FORM = "{" + ", ".join(f'"{name}": %s' for name in _WIRE) + "}"


def _wires(lines: Sequence[SizeLine]) -> Iterator[str]:
    """The text of each wire, made of whole columns of some hundred wires."""
    for start in range(0, len(lines), _TOGETHER):
        some = lines[start : start + _TOGETHER]
        number, text, texts = _Texts(json_number), _Texts(_quoted), _Texts(json_texts)
        by_name = dict(zip(SizeLine._fields, zip(*some, strict=True), strict=True))
        columns: dict[str, Iterable[str]] = {
            "standing": [f'"{STANDING_WORDS[standing_of_size(line)]}"' for line in some],
            "bundle_wires": map(_whole, by_name["bundle_wires"]),
            "may_never_open": ["true" if never_clears(line) else "false" for line in some],
            "surely_small": ["true" if line.surely_small else "false" for line in some],
            "fault_lacking": map(texts.__getitem__, by_name["fault_lacking"]),
            "lacking": map(texts.__getitem__, by_name["lacking"]),
            "place": map(json_place, by_name["mark"]),
        }
        for name in _WIRE:
            if name not in columns:
                made = number if name in _NUMBERS else text
                columns[name] = map(made.__getitem__, by_name[name])
        yield from map(_FORM.__mod__, zip(*(columns[name] for name in _WIRE), strict=True))


def _quoted(text: str | None) -> str:
    return "null" if text is None else json_quoted(text)


def _fuse(line: FuseLine, limits: SizingLimits) -> str:
    number = json_number
    return (
        f'{{"fuse": {json_quoted(line.fuse)}, "family": {json_quoted(line.family)}, '
        f'"colour": {json_quoted(line.colour)}, "rating_a": {number(line.rating_a)}, '
        f'"load_a": {number(line.load_a)}, "state": {json_quoted(line.state)}, '
        f'"thinnest": {json_quoted(line.thinnest)}, "thinnest_allowed_a": {number(line.thinnest_allowed_a)}, '
        f'"thinnest_held_a": {number(line.thinnest_held_a)}, '
        f'"fault_a": {number(line.fault_a)}, "fault_wire": {json_quoted(line.fault_wire)}, '
        f'"clears_s": {number(line.clears_s)}, "may_never_open": {"true" if never_clears(line) else "false"}, '
        f'"withstands_s": {number(line.withstands_s)}, "tight_by": {json_texts(tight_by(line, limits))}, '
        f'"certain": {json_texts(line.certain)}, '
        f'"lacking": {json_texts(line.lacking)}, "place": {json_place(line.mark)}}}'
    )


def _bundle(line: BundleLine) -> str:
    number = json_number
    return (
        f'{{"branch": {json_quoted(line.branch)}, "wires": {_whole(line.wires)}, '
        f'"diameter_mm": {number(line.diameter_mm)}, "bend_mm": {number(line.bend_mm)}, '
        f'"sleeve_mm": {number(line.sleeve_mm)}, "sleeve_shrunk_mm": {number(line.sleeve_shrunk_mm)}, '
        f'"copper_g": {number(line.copper_g)}, '
        f'"ambient_degc": {number(line.ambient_degc)}, "lacking": {json_texts(line.lacking)}, '
        f'"place": {json_place(line.mark)}}}'
    )
