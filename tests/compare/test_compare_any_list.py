"""Random edits of random lists: every edit made is told, and nothing else."""

from __future__ import annotations

import random
from typing import Any

from compare_made import Tables, compared, told, turned
from hypothesis import given, settings
from hypothesis import strategies as st

_COLOURS, _SIZES, _STUDS = ("BK", "RD", "BU", "GN"), ("0.5 mm²", "1 mm²", "20 AWG"), ("STUD1", "STUD2", "SP1")
_ANCHORS = [(f"A{n}", "DASH", str(900 + n), item, None, "VT", "6 mm²", None, None, None) for n, item in enumerate(_STUDS)]
"""Wires that no edit touches: every stud is there in both issues, so that none seems to have another name."""

Row = dict[str, Any]


@st.composite
def lists(draw: st.DrawFn) -> list[Row]:
    """Wires of a list, as its rows say it."""
    made = []
    for n in range(1, draw(st.integers(2, 9)) + 1):
        to_stud = draw(st.booleans())
        made.append(
            {
                "Wire": f"W{n}", "From": "ECU", "From cavity": str(n),
                "To": draw(st.sampled_from(_STUDS)) if to_stud else "DASH", "To cavity": None if to_stud else str(100 + n),
                "Colour": draw(st.sampled_from((*_COLOURS, None))), "Size": draw(st.sampled_from(_SIZES)),
                "Length": draw(st.sampled_from(("850 mm", "1200 mm", None))),
                "Signal": draw(st.sampled_from(("Ground", "Lamp", f"Signal {n}", None))), "Note": None,
            }
        )  # fmt: skip
    return made


_VALUES = {
    "Colour": ("recoloured", (*_COLOURS, None)), "Size": ("resized", (*_SIZES, None)),
    "Length": ("length", ("850 mm", "900 mm", "1200 mm", None)), "Signal": ("signal", ("Ground", "Pump", "Fan", None)),
    "Note": ("changed", ("sleeved", "spare", None)),
}  # fmt: skip


def _contact(row: Row, side: str) -> str:
    return " ".join(filter(None, (row[side], row[f"{side} cavity"])))


@st.composite
def edits(draw: st.DrawFn) -> tuple[list[Row], list[Row], set[tuple[object, ...]]]:
    """A list, the same with edits, and what these are."""
    before = draw(lists())
    after, expected = [], set()
    for n, row in enumerate(before, 1):
        new = dict(row)
        done: set[tuple[object, ...]] = set()
        what = draw(st.sampled_from(("same", "same", "edit", "rename", "move", "remove")))
        if what == "remove":
            expected.add(("wire", "removed", row["Wire"], None))
            continue
        if what == "rename":
            new["Wire"] = f"N{n}"
            done.add(("renamed", "Wire", row["Wire"], new["Wire"]))
        if what == "move":
            side = draw(st.sampled_from(("From", "To")))
            new[side], new[f"{side} cavity"] = "DASH", str(200 + n)
            done.add(("moved", side, _contact(row, side), _contact(new, side)))
        if what in ("edit", "rename", "move"):
            for column in draw(st.sets(st.sampled_from(sorted(_VALUES)), min_size=what == "edit", max_size=2)):
                edit, values = _VALUES[column]
                new[column] = draw(st.sampled_from([value for value in values if value != row[column]]))
                done.add((edit, column, row[column], new[column]))
        after.append(new)
        if done:
            expected.add(("wire", "changed", row["Wire"], new["Wire"], frozenset(done)))
    for n in range(draw(st.integers(0, 3))):
        after.append(
            {
                "Wire": f"X{n}", "From": "ECU", "From cavity": str(300 + n), "To": draw(st.sampled_from(_STUDS)),
                "To cavity": None, "Colour": draw(st.sampled_from(_COLOURS)), "Size": draw(st.sampled_from(_SIZES)),
                "Length": "700 mm", "Signal": "Ground", "Note": None,
            }
        )  # fmt: skip
        expected.add(("wire", "added", None, f"X{n}"))
    return before, after, expected


_HEADINGS = ("Wire", "From", "From cavity", "To", "To cavity", "Colour", "Size", "Length", "Signal", "Note")


def _tables(rows: list[Row], order: random.Random) -> Tables:
    """Rows in any order, each written from either end."""
    body: list[tuple[Any, ...]] = [*_ANCHORS]
    for row in rows:
        cells = tuple(row[heading] for heading in _HEADINGS)
        if order.random() < 0.5:
            cells = (cells[0], *cells[3:5], *cells[1:3], *cells[5:])
        body.append(cells)
    order.shuffle(body)
    return {"Wires": [_HEADINGS, *body]}


def _either_way(said: set[tuple[object, ...]]) -> set[tuple[object, ...]]:
    """Ends without which of them stands first: a wire may be written from either."""
    return {
        (*each[:4], *(frozenset((f[0], "end" if f[0] == "moved" else f[1], *f[2:]) for f in group) for group in each[4:]))  # type: ignore[attr-defined]
        for each in said
    }


@given(edits(), st.randoms(use_true_random=False))
@settings(max_examples=150, deadline=None)
def test_every_edit_made_is_told_and_none_else(
    made: tuple[list[Row], list[Row], set[tuple[object, ...]]], order: random.Random
) -> None:
    before, after, expected = made
    old, new = _tables(before, order), _tables(after, order)
    comparison = compared(old, new)
    assert _either_way(told(comparison)) == _either_way(expected)
    assert comparison.differs == bool(expected)
    assert _either_way(told(compared(new, old))) == _either_way(turned(expected))


@st.composite
def any_two(draw: st.DrawFn) -> tuple[list[Row], list[Row]]:
    """A list and another one made from its values in any way: numbers exchanged, ends taken over, rows doubled."""
    before = draw(lists())
    after = [dict(row) for row in before]
    for _ in range(draw(st.integers(0, 8))):
        if not after:
            break
        one, other = (draw(st.integers(0, len(after) - 1)) for _ in range(2))
        what = draw(st.sampled_from(("exchange numbers", "take ends", "exchange end", "take out", "edit")))
        a, b = after[one], after[other]
        if what == "exchange numbers":
            a["Wire"], b["Wire"] = b["Wire"], a["Wire"]
        elif what == "take ends":
            a.update({key: b[key] for key in ("From", "From cavity", "To", "To cavity")})
        elif what == "exchange end" and one != other:
            for key in ("From", "From cavity"):
                a[key], b[key] = b[key], a[key]
        elif what == "take out":
            after.remove(a)
        else:
            a["Size"] = "4 mm²"
    return before, after


@given(any_two(), st.randoms(use_true_random=False))
@settings(max_examples=150, deadline=None)
def test_what_is_told_makes_the_new_list_of_the_old_one(made: tuple[list[Row], list[Row]], order: random.Random) -> None:
    """However tangled the edits are: carried out on the old list, the changes told give the new list."""

    def rows_of(rows: list[Row]) -> dict[str, dict[str, str]]:
        return {
            row["Wire"]: {
                "Wire": row["Wire"], "From": _contact(row, "From"), "To": _contact(row, "To"),
                **{column: row[column] for column in _VALUES if row[column] is not None},
            }
            for row in rows
        }  # fmt: skip

    before, after = made
    straight = random.Random(0)
    straight.random = lambda: 1.0  # type: ignore[method-assign]
    comparison = compared(_tables(before, straight), _tables(after, straight))
    left, result = rows_of(before), {}
    for change in comparison.objects:
        row = left.pop(change.old_name) if change.old_name is not None else {}
        if change.new_name is not None:
            for field in change.fields:
                assert row.get(field.column) == field.before
                row[field.column] = field.after  # type: ignore[assignment]
            result[change.new_name] = {column: value for column, value in row.items() if value is not None}
    assert left | result == rows_of(after)
    shuffled = compared(_tables(after, order), _tables(after, order))
    assert not shuffled.differs
    assert turned(_either_way(told(compared(_tables(after, order), _tables(before, order))))) == _either_way(told(comparison))
