"""The file of an approval: JSON, with a digest of its own over a form that does not depend on how it is laid out.

Canonical form: keys in order of their code points, no blanks, UTF-8, numbers as written by the shortest text that reads
back to the same value. The digest is SHA-256 over it without ``digest`` and ``signature``.
"""

from __future__ import annotations

import hashlib
import json
import math
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from harnessdrc.approval.model import Approval
from harnessdrc.errors import InputError
from harnessdrc.findings import Mark
from harnessdrc.results import SourceFile

__all__ = ["FORM", "canonical", "content_of", "digest_of", "document_of", "document_text", "read_document"]

FORM = 1
"""Number of the form of the file; another one is not read."""
_APART = ("digest", "signature")
_LARGEST_BYTES = 200_000_000
_HALVES = re.compile("[\ud800-\udfff]")


def content_of(approval: Approval) -> dict[str, Any]:
    """What an approval says, without digest and signature, in JSON types."""
    a = approval
    ruleset = a.ruleset
    content = {
        "harnessdrc_approval": FORM,
        "harnessdrc": a.version,
        "approved": {"by": a.by, "on": a.on, "note": a.note, "key": a.key},
        "issue_mark": a.issue_mark,
        "inputs": [_file(each) for each in a.inputs],
        "mapping": _file(a.mapping),
        "measured": _file(a.measured),
        "ruleset": {
            "name": ruleset.name, "issue": ruleset.issue, "asked_for": ruleset.asked_for, "sha256": ruleset.sha256,
        },
        "given": {each.name: {"value": each.value, "unit": each.unit, "from": each.origin} for each in a.given},
        "concessions": {
            "on": a.concessions_on,
            "in_list": a.concessions_in_list,
            "files": [_file(each) for each in a.concession_files],
            "lines": [
                {
                    "rule": line.rule, "kind": line.kind, "subject": line.subject, "reason": line.reason, "by": line.by,
                    "until": line.until, "accepted": line.accepted, "unit": line.unit, "state": line.state,
                    "covers": list(line.covers),
                }
                for line in a.concessions
            ],
        },
        "counts": dict(a.counts),
        "rules": [
            {"rule": rule, "grade": grade, "looked_at": looked_at, "findings": findings, "undecided": undecided}
            for rule, grade, looked_at, findings, undecided in a.looked_at
        ],
        "open": [
            {
                "rule": each.rule, "grade": each.grade, "subject": list(each.subject), "message": each.message,
                "measured": each.measured, "limit": each.limit, "unit": each.unit, "place": _place(each.marks),
                "thumbprint": each.thumbprint,
            }
            for each in a.open
        ],
        "undecided": [
            {"rule": each.rule, "grade": each.grade, "subject": list(each.subject), "missing": list(each.missing)}
            for each in a.undecided
        ],
        "assumptions": [
            {
                "what": each.what, "subject": each.subject, "value": each.value, "because": each.because,
                "place": _place((each.mark,) if each.mark else ()), "count": each.count,
            }
            for each in a.assumptions
        ],
    }  # fmt: skip
    made: dict[str, Any] = _sound(content)
    return made


def _file(source: SourceFile | None) -> dict[str, str] | None:
    return None if source is None else {"file": source.file, "sha256": source.sha256}


def _place(marks: tuple[Mark, ...]) -> str:
    return str(marks[0].place) if marks else ""


def _sound(value: Any) -> Any:
    """The same with every text in whole characters, and numbers that JSON does not have as text."""
    if isinstance(value, str):
        return _HALVES.sub("\ufffd", value)
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    if isinstance(value, Mapping):
        return {_sound(str(key)): _sound(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_sound(item) for item in value]
    return value


def canonical(content: Mapping[str, Any]) -> bytes:
    """Canonical form of a content."""
    return json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode()


def digest_of(document: Mapping[str, Any]) -> str:
    """SHA-256 over the canonical form of a document without its digest and signature, in hexadecimal."""
    content = {key: value for key, value in document.items() if key not in _APART}
    return hashlib.sha256(canonical(content)).hexdigest()


def document_of(approval: Approval) -> dict[str, Any]:
    """The whole document of an approval."""
    signature = approval.signature
    signed = None
    if signature is not None:
        signed = {"algorithm": "Ed25519", "public_key": signature.public_key, "value": signature.value}
    return {**content_of(approval), "digest": approval.digest, "signature": signed}


def document_text(approval: Approval) -> bytes:
    """The file of an approval, laid out to be read."""
    return (json.dumps(document_of(approval), ensure_ascii=False, indent=1, allow_nan=False) + "\n").encode()


def read_document(path: Path) -> dict[str, Any]:
    """Document of a file.

    Parameters
    ----------
    path : pathlib.Path
        ``NAME.approval.json``.

    Returns
    -------
    dict
        As it stands; whether it is genuine has still to be looked at.

    Raises
    ------
    InputError
        For a file that is no approval, and so nothing that anything could be held against.
    """
    remedy = "Give the NAME.approval.json that 'harnessdrc approve' has written."
    name = str(path)
    try:
        if path.is_dir():
            raise InputError("this is a folder, not an approval.", file=name, remedy=remedy)
        with path.open("rb") as file:
            data = file.read(_LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or str(error)
        raise InputError(f"the approval cannot be read: {reason}.", file=name, remedy=remedy) from error
    if len(data) > _LARGEST_BYTES:
        raise InputError("this file is too large for an approval.", file=name, remedy=remedy)
    try:
        document = json.loads(data.decode("utf-8-sig"), object_pairs_hook=_once, parse_constant=_no_constant)
    except (ValueError, RecursionError) as error:
        reason = str(error).rstrip(".")
        raise InputError(f"this is no approval: it is not JSON as it is written there ({reason}).", file=name,
                         remedy=remedy) from error  # fmt: skip
    if not isinstance(document, dict) or "harnessdrc_approval" not in document:
        raise InputError("this JSON is no approval.", file=name, remedy=remedy)
    return document


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object, refused where a key stands in it twice: which of the two counts could be read either way."""
    made = dict(pairs)
    if len(made) != len(pairs):
        seen: set[str] = set()
        twice = next(key for key, _ in pairs if key in seen or seen.add(key))  # type: ignore[func-returns-value]
        raise ValueError(f"the key {twice[:60]!r} stands twice in one object")
    return made


def _no_constant(text: str) -> Any:
    raise ValueError(f"{text} is no number of JSON")
