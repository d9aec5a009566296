"""Loops and trigger margins as JSON text: one loop, speed, setting or pickup per line, written in pieces."""

from __future__ import annotations

import math
from collections.abc import Iterator

from harnessdrc.findings import Subject
from harnessdrc.render.induction import worst_of
from harnessdrc.render.json_text import json_lines, json_number, json_place, json_quoted, json_texts
from harnessdrc.results import InductionOutcome, LoopLine, PickupLine, SettingLine, TriggerLine

__all__ = ["induction_pieces"]

_TOGETHER = 256
"""Lines that are held at once."""


def induction_pieces(induction: InductionOutcome, indent: int = 1) -> Iterator[str]:
    """The ``induction`` object of the JSON, in pieces.

    Parameters
    ----------
    induction : InductionOutcome
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
    yield f'{{\n{inner}"loops": '
    yield from json_lines(map(_loop, induction.loops), inner, _TOGETHER)
    yield f',\n{inner}"triggers": ['
    for number, line in enumerate(induction.triggers):
        yield ("," if number else "") + "\n"
        yield from _trigger(line, inner + " ")
    yield f"\n{inner}]" if induction.triggers else "]"
    yield f',\n{inner}"not_worked_out": '
    yield from json_lines(map(json_quoted, induction.not_worked_out), inner, _TOGETHER)
    yield f"\n{outer}}}"


def _truth(value: bool) -> str:
    return "true" if value else "false"


def _loop(line: LoopLine) -> str:
    return (
        f'{{"subject": {_subject(line.subject)}, "loop": {json_quoted(line.what)}, "way": {json_texts(line.way)}, '
        f'"length_m": {json_number(line.length_m)}, "area_cm2": {json_number(line.area_cm2)}, '
        f'"area_is_bound": {_truth(line.bound)}, "best_area_cm2": {json_number(line.best_area_cm2)}, '
        f'"area_ratio": {json_number(line.area_ratio)}, "lacking": {json_texts(line.lacking)}, '
        f'"notes": {json_texts(line.notes)}, "place": {json_place(line.mark)}}}'
    )


def _subject(subject: Subject) -> str:
    return json_texts(subject)


def _trigger(line: TriggerLine, indent: str) -> Iterator[str]:
    inner = indent + " "
    at = worst_of(line)
    facts = (
        f'"subject": {_subject(line.subject)}',
        f'"sensor": {json_quoted(line.sensor)}',
        f'"pair": {json_quoted(line.pair)}',
        f'"worst_rpm": {json_number(None if at is None else line.rpm[at])}',
        f'"worst_margin_db": {json_number(None if at is None else line.margin_db[at])}',
        f'"limit_db": {json_number(line.limit_db)}',
        f'"nothing_induced": {_truth(at is not None and line.margin_db[at] == math.inf)}',
        f'"lacking": {json_texts(line.lacking)}',
        f'"place": {json_place(line.mark)}',
    )
    yield f"{indent}{{\n{inner}" + f",\n{inner}".join(facts)
    for name, entries in (
        ("speeds", _speeds(line)),
        ("settings", map(_setting, line.settings)),
        ("pickups", map(_pickup, line.pickups)),
    ):
        yield f',\n{inner}"{name}": '
        yield from json_lines(entries, inner, _TOGETHER)
    yield f"\n{indent}}}"


def _speeds(line: TriggerLine) -> Iterator[str]:
    names = (
        "rpm", "signal_mv", "offset_mv", "noise_mv", "noise_low_mv", "noise_high_mv", "margin_db", "low_db", "high_db",
    )  # fmt: skip
    head = tuple(f'"{name}": ' for name in names)
    for row in zip(*(getattr(line, name) for name in names), strict=True):
        yield f"{{{', '.join(map(str.__add__, head, map(json_number, row)))}}}"


def _setting(line: SettingLine) -> str:
    return (
        f'{{"rpm": {json_number(line.rpm)}, "filter_us": {json_number(line.filter_us)}, '
        f'"lowest_v": {json_number(line.lowest_v)}, "highest_v": {json_number(line.highest_v)}}}'
    )


def _pickup(line: PickupLine) -> str:
    return (
        f'{{"subject": {_subject(line.loop)}, "loop": {json_quoted(line.what)}, "edge": {json_quoted(line.edge)}, '
        f'"mutual_nh": {json_number(line.mutual_nh)}, "best_mutual_nh": {json_number(line.best_mutual_nh)}, '
        f'"mv": {json_number(line.mv)}, "low_mv": {json_number(line.low_mv)}, '
        f'"high_mv": {json_number(line.high_mv)}, "distance_m": {json_number(line.distance_m)}}}'
    )
