"""The colour column of a region: codes, the cores a row names, and pairs by colour."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from harnessdrc.intake.normalizing.cables import cable_cores, is_paired_cable
from harnessdrc.intake.normalizing.values import Columns, Texts
from harnessdrc.tables.colours import Colour, habit_of, parse_colour, split_code
from harnessdrc.tables.model import Unreadable

__all__ = ["Colours", "read_colours"]

_EXPECTED = "a colour in the letters of IEC 60757 or in words, the base first"


@dataclass(frozen=True, slots=True)
class Colours:
    """What the colour column gives, one entry per data row.

    Parameters
    ----------
    written : list of str or None
        As in the list.
    codes : list of tuple of str
        Canonical code of each core the row names; several where cores are joined by "+"; empty for none.
    cores : list of int
        Conductors that each object of the row stands for.
    twist : list of str or None
        Pair that the colour belongs to, where the heading names a cable with paired cores.
    """

    written: Texts
    codes: list[tuple[str, ...]]
    cores: list[int]
    twist: Texts


def read_colours(columns: Columns) -> Colours:
    """Colours of the data rows, with tracer column, cable words and letter habits considered."""
    count = len(columns)
    if "colour" not in columns.region.columns:
        return Colours([None] * count, [()] * count, [1] * count, [None] * count)
    written = columns.texts("colour", placeholders=True)
    tracers = columns.texts("tracer", placeholders=True) if "tracer" in columns.region.columns else None
    distinct = {text for text in written if text}
    habit, because = habit_of(distinct)
    if because:
        where = [i for i, text in enumerate(written) if text]
        columns.assume("colour", columns.heading("colour"), "letters read as colours", because,
                       columns.place("colour", where[0]), len(where))  # fmt: skip
    known: dict[str, tuple[tuple[str, ...], int]] = {}
    bad: set[str] = set()
    notes: dict[str, tuple[str, str]] = {}
    for text in distinct:
        colour = parse_colour(text, habit)
        cable = None if colour.codes else cable_cores(text)
        if colour.codes:
            known[text] = (colour.codes, colour.count)
            _note_reading(text, colour, habit, notes)
        elif cable is not None:
            known[text] = ((), cable[0])
            notes[text] = (f"{cable[0]} cores, colours not told apart", cable[1])
        else:
            known[text] = ((), 1)
            bad.add(text)
    first: dict[str, int] = {}
    counts: dict[str, int] = {}
    for i, told in enumerate(written):
        if told is not None and (told in notes or told in bad):
            first.setdefault(told, i)
            counts[told] = counts.get(told, 0) + 1
            if told in bad:
                columns.unreadable.append(Unreadable(columns.place("colour", i), "colour", told, _EXPECTED))
    for text in first:
        if text in notes:
            value, why = notes[text]
            columns.assume("colour", text, value, why, columns.place("colour", first[text]), counts[text])
    codes = [known[text][0] if text else () for text in written]
    cores = [known[text][1] if text else 1 for text in written]
    if tracers is not None:
        codes = _with_tracers(columns, codes, tracers, habit)
    return Colours(written, codes, cores, _pairs(columns, codes))


def _note_reading(text: str, colour: Colour, habit: str, notes: dict[str, tuple[str, str]]) -> None:
    """List what was read into a colour beyond its letters."""
    if len(colour.codes) > 1:
        notes[text] = (f"{len(colour.codes)} wires: {', '.join(colour.codes)}", "cores joined by +")
    elif colour.because and not (habit and colour.because == "single letters"):  # that is listed for the column
        notes[text] = (colour.codes[0], colour.because)


def _with_tracers(
    columns: Columns, codes: Sequence[tuple[str, ...]], tracers: Texts, habit: str
) -> list[tuple[str, ...]]:
    """Base colours with the tracer of a column of its own."""
    out: list[tuple[str, ...]] = []
    for i, (code, tracer) in enumerate(zip(codes, tracers, strict=True)):
        if tracer is None or tracer.casefold() in ("none", "no", "-") or len(code) != 1:
            out.append(code)
            continue
        read = parse_colour(tracer, habit)
        if read.code is None:
            columns.unreadable.append(Unreadable(columns.place("tracer", i), "tracer", tracer, _EXPECTED))
            out.append(code)
        else:
            out.append((code[0] + read.code,))
    return out


def _pairs(columns: Columns, codes: Sequence[tuple[str, ...]]) -> Texts:
    """Pairs of a network lead: ``white-orange`` or ``orange-white`` goes with ``orange``."""
    heading = columns.heading("colour")
    if not is_paired_cable(heading):
        return [None] * len(codes)
    groups: list[str | None] = []
    for code in codes:
        parts = split_code(code[0]) if len(code) == 1 else ()
        plain = [part for part in parts if part != "WH"]
        groups.append(plain[0] if len(plain) == 1 and len(parts) <= 2 else None)
    counts = Counter(groups)
    twist: Texts = [f"{heading} {g}" if g is not None and counts[g] == 2 else None for g in groups]
    paired = [i for i, t in enumerate(twist) if t]
    if paired:
        columns.assume("twist", heading, f"{len(paired) // 2} pairs by colour",
                       "the cable is laid in pairs of one colour with white", columns.place("colour", paired[0]),
                       len(paired))  # fmt: skip
    return twist
