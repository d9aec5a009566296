"""Wire sizes, fuses and bundles as JSON text: one wire, fuse or bundle per line, written in pieces."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdrc.render.json_text import json_lines, json_number, json_place, json_quoted, json_texts
from harnessdrc.render.sizing import STANDING_WORDS, never_clears, standing_of_size, tight_by
from harnessdrc.results import BundleLine, FuseLine, SizeLine, SizingOutcome

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
    yield from json_lines(map(_wire, sizing.wires), inner, _TOGETHER)
    yield f',\n{inner}"fuses": '
    yield from json_lines(map(_fuse, sizing.fuses), inner, _TOGETHER)
    yield f',\n{inner}"bundles": '
    yield from json_lines(map(_bundle, sizing.bundles), inner, _TOGETHER)
    yield f',\n{inner}"copper_g": {json_number(sizing.copper_g)}'
    yield f',\n{inner}"needed_g": {json_number(sizing.needed_g)}'
    yield f',\n{inner}"not_worked_out": '
    yield from json_lines(map(json_quoted, sizing.not_worked_out), inner, _TOGETHER)
    yield f"\n{outer}}}"


def _whole(value: int | None) -> str:
    return "null" if value is None else str(int(value))


def _wire(line: SizeLine) -> str:
    number = json_number
    return (
        f'{{"wire": {json_quoted(line.wire)}, "size": {json_quoted(line.size)}, '
        f'"standing": "{STANDING_WORDS[standing_of_size(line)]}", "current_a": {number(line.current_a)}, '
        f'"peak_a": {number(line.peak_a)}, "state": {json_quoted(line.state)}, '
        f'"allowed_a": {number(line.allowed_a)}, "margin": {number(line.margin)}, '
        f'"ambient_degc": {number(line.ambient_degc)}, "rated_degc": {number(line.rated_degc)}, '
        f'"conductor_degc": {number(line.conductor_degc)}, "bundle_wires": {_whole(line.bundle_wires)}, '
        f'"bundle_loading": {number(line.bundle_loading)}, "drop_mv": {number(line.drop_mv)}, '
        f'"needed_awg": {json_quoted(line.needed_awg)}, "needed_mm2": {json_quoted(line.needed_mm2)}, '
        f'"governs": {json_quoted(line.governs)}, "copper_g": {number(line.copper_g)}, '
        f'"needed_g": {number(line.needed_g)}, "lacking": {json_texts(line.lacking)}, '
        f'"place": {json_place(line.mark)}}}'
    )


def _fuse(line: FuseLine) -> str:
    number = json_number
    return (
        f'{{"fuse": {json_quoted(line.fuse)}, "family": {json_quoted(line.family)}, '
        f'"colour": {json_quoted(line.colour)}, "rating_a": {number(line.rating_a)}, '
        f'"load_a": {number(line.load_a)}, "state": {json_quoted(line.state)}, '
        f'"thinnest": {json_quoted(line.thinnest)}, "thinnest_allowed_a": {number(line.thinnest_allowed_a)}, '
        f'"fault_a": {number(line.fault_a)}, "fault_wire": {json_quoted(line.fault_wire)}, '
        f'"clears_s": {number(line.clears_s)}, "may_never_open": {"true" if never_clears(line) else "false"}, '
        f'"withstands_s": {number(line.withstands_s)}, "tight_by": {json_texts(tight_by(line))}, '
        f'"lacking": {json_texts(line.lacking)}, "place": {json_place(line.mark)}}}'
    )


def _bundle(line: BundleLine) -> str:
    number = json_number
    return (
        f'{{"branch": {json_quoted(line.branch)}, "wires": {_whole(line.wires)}, '
        f'"diameter_mm": {number(line.diameter_mm)}, "bend_mm": {number(line.bend_mm)}, '
        f'"sleeve_mm": {number(line.sleeve_mm)}, "copper_g": {number(line.copper_g)}, '
        f'"ambient_degc": {number(line.ambient_degc)}, "lacking": {json_texts(line.lacking)}, '
        f'"place": {json_place(line.mark)}}}'
    )
