"""The JSON of a run: one stable shape, the same bytes for the same input, written piece by piece."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterable, Iterator
from importlib.resources import files
from itertools import islice
from typing import Any, BinaryIO, TypeVar

from harnessdrc.findings import GRADES, Mark
from harnessdrc.render.concessions_json import concession_dict, concessions_from
from harnessdrc.render.induction_json import induction_pieces
from harnessdrc.render.measured_json import measured_pieces
from harnessdrc.render.network_json import network_pieces
from harnessdrc.render.sizing_json import sizing_pieces
from harnessdrc.results import Proposal, ReportedFinding, ReportedUndecided, Result

__all__ = ["schema", "to_dict", "to_json", "write_json"]

_T = TypeVar("_T")

_TOGETHER = 256
"""Findings that are put into text at once: the text of all of them is never held."""


def schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of the output."""
    text = files("harnessdrc.render").joinpath("findings.schema.json").read_text("utf-8")
    loaded: dict[str, Any] = json.loads(text)
    return loaded


def _place(mark: Mark) -> dict[str, str]:
    place = mark.place
    return {"file": place.file, "sheet": place.sheet, "cell": place.cell, "label": mark.label}


def _proposal(proposal: Proposal | None) -> dict[str, Any] | None:
    if proposal is None:
        return None
    return {
        "change": proposal.change, "wires": list(proposal.wires), "before": proposal.before,
        "after": proposal.after, "unit": proposal.unit, "together": proposal.together,
        "clears": list(proposal.clears),
    }  # fmt: skip


def _finding(f: ReportedFinding) -> dict[str, Any]:
    return {
        "rule": f.rule, "check": f.check, "grade": f.grade, "subject": list(f.subject),
        "message": f.message, "remedy": f.remedy, "measured": f.measured, "limit": f.limit,
        "unit": f.unit, "places": [_place(m) for m in f.marks], "evidence": dict(f.evidence),
        "follows_from": f.follows_from, "concession": f.concession, "thumbprint": f.thumbprint,
        "proposal": _proposal(f.proposal),
    }  # fmt: skip


def _undecided(u: ReportedUndecided) -> dict[str, Any]:
    return {
        "rule": u.rule, "subject": list(u.subject), "missing": list(u.missing),
        "places": [_place(m) for m in u.marks], "low": u.low, "high": u.high, "limit": u.limit, "unit": u.unit,
    }  # fmt: skip


def _account(result: Result) -> dict[str, Any]:
    """Everything before the findings."""
    counts: dict[str, int] = {grade: result.count(grade) for grade in GRADES}
    counts["undecided"] = len(result.undecided)
    counts["accepted"] = sum(1 for f in result.findings if f.concession is not None)
    return {
        "harnessdrc": result.version,
        "inputs": [{"file": s.file, "sha256": s.sha256} for s in result.sources],
        "ruleset": {"name": result.ruleset_name, "issue": result.ruleset_issue},
        "given": {g.name: {"value": g.value, "unit": g.unit, "from": g.origin} for g in result.given},
        "read": {
            "rows_seen": result.read.rows_seen,
            "rows_used": result.read.rows_used,
            "rows_set_aside": [
                {"file": r.file, "sheet": r.sheet, "row": r.row, "reason": r.reason}
                for r in result.read.set_aside
            ],
            "wires": result.read.wires,
            "pins": result.read.pins,
            "components": result.read.components,
        },
        "counts": counts,
        "rules": [
            {
                "rule": r.rule, "check": r.check, "grade": r.grade, "looked_at": r.looked_at,
                "findings": r.findings, "undecided": r.undecided, "crashed": r.crashed,
            }
            for r in result.rules
        ],
    }  # fmt: skip


def to_dict(result: Result) -> dict[str, Any]:
    """Outcome of a run as the JSON contract has it; numbers of network, loops and sizes rounded as in the text."""
    return {
        **_account(result),
        "findings": [_finding(f) for f in result.findings],
        "undecided": [_undecided(u) for u in result.undecided],
        "concessions": [concession_dict(line) for line in result.concessions.lines],
        "concessions_from": concessions_from(result.concessions),
        "network": json.loads("".join(network_pieces(result.network))),
        "induction": json.loads("".join(induction_pieces(result.induction))),
        "sizing": json.loads("".join(sizing_pieces(result.sizing))),
        "measured": json.loads("".join(measured_pieces(result.measured))),
    }


def to_json(result: Result) -> str:
    """Outcome of a run as JSON text with a line end; it can always be encoded as UTF-8.

    A number that JSON does not have (infinite, not a number) is written as null, half a character from a
    damaged list as U+FFFD.
    """
    return _HALVES.sub("\ufffd", "".join(_pieces(result)))


def write_json(result: Result, out: BinaryIO) -> None:
    """Write the same text as UTF-8, piece by piece, so that it is never held as a whole.

    Parameters
    ----------
    result : Result
        Outcome of a run.
    out : binary file
        Where to.
    """
    for piece in _pieces(result):
        try:
            content = piece.encode("utf-8")
        except UnicodeEncodeError:
            content = _HALVES.sub("\ufffd", piece).encode("utf-8")
        out.write(content)


def _pieces(result: Result) -> Iterator[str]:
    """The text in pieces: what `json.dumps` gives with an indent of 1, but for network, loops and sizes."""
    yield _text(_account(result), 0).removesuffix("\n}")
    yield from _list("findings", _finding, result.findings)
    yield from _list("undecided", _undecided, result.undecided)
    yield from _list("concessions", concession_dict, result.concessions.lines)
    yield ',\n "concessions_from": ' + _text(concessions_from(result.concessions), 1)
    yield ',\n "network": '
    yield from network_pieces(result.network)
    yield ',\n "induction": '
    yield from induction_pieces(result.induction)
    yield ',\n "sizing": '
    yield from sizing_pieces(result.sizing)
    yield ',\n "measured": '
    yield from measured_pieces(result.measured)
    yield "\n}\n"


def _list(name: str, shape: Callable[[_T], dict[str, Any]], items: Iterable[_T]) -> Iterator[str]:
    yield f',\n "{name}": ['
    waiting = iter(items)
    written = False
    while block := [shape(item) for item in islice(waiting, _TOGETHER)]:
        # without the brackets of the block's own list
        yield ("," if written else "") + _text(block, 1)[1:].removesuffix("\n ]")
        written = True
    yield "\n ]" if written else "]"


_encode = json.JSONEncoder(ensure_ascii=False, indent=1, allow_nan=False).encode


def _text(value: Any, indent: int) -> str:
    """A value as text; its further lines stand `indent` blanks in."""
    try:
        text = _encode(value)
    except ValueError:
        text = _encode(_finite(value))
    # a line end within a text is written \\n, so that every one here ends a line of the layout
    return text.replace("\n", "\n" + " " * indent) if indent else text


_HALVES = re.compile("[\ud800-\udfff]")


def _finite(value: Any) -> Any:
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, dict):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_finite(item) for item in value]
    return value
