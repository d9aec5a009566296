"""Whether a list in hand is the one that was approved, and whether the approval is as it was made."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePath
from typing import Any

from harnessdrc.approval.document import FORM, digest_of
from harnessdrc.approval.model import ApprovedRuleset, Signature
from harnessdrc.approval.signing import fingerprint, holds
from harnessdrc.errors import InputError
from harnessdrc.results import GivenValue, SourceFile

__all__ = ["InHand", "Verification", "verify"]


@dataclass(frozen=True, slots=True)
class InHand:
    """What an approval is held against.

    Parameters
    ----------
    inputs : tuple of SourceFile
        The list.
    mapping, measured, concessions : SourceFile or None
        Where they are given.
    ruleset : ApprovedRuleset or None
        Rules in hand; None where they are not at hand.
    given : tuple of GivenValue
        Given values of these rules.
    rules_asked_for : bool
        Whether the rules were asked for by name, so that a difference counts; otherwise it is a remark.
    """

    inputs: tuple[SourceFile, ...]
    mapping: SourceFile | None = None
    measured: SourceFile | None = None
    concessions: SourceFile | None = None
    ruleset: ApprovedRuleset | None = None
    given: tuple[GivenValue, ...] = ()
    rules_asked_for: bool = False


@dataclass(frozen=True, slots=True)
class Verification:
    """What came of it.

    Parameters
    ----------
    by, on, issue_mark : str
        Of the approval, as it stands there.
    tampered : tuple of str
        Why the approval is not as it was made; nothing else is looked at then.
    changed : tuple of str
        In what the list in hand is not the one approved, a sentence each.
    remarks : tuple of str
        What else the reader must know.
    """

    by: str
    on: str
    issue_mark: str
    tampered: tuple[str, ...]
    changed: tuple[str, ...]
    remarks: tuple[str, ...]

    @property
    def same(self) -> bool:
        """Whether the list in hand is the one approved."""
        return not self.tampered and not self.changed


def verify(
    document: Mapping[str, Any], in_hand: InHand, *, on: datetime.date, public_key: bytes | None = None
) -> Verification:
    """Hold an approval against what is in hand.

    Parameters
    ----------
    document : mapping
        From `read_document`.
    in_hand : InHand
        What there is.
    on : datetime.date
        The day; concessions may have run out since.
    public_key : bytes, optional
        The approval must be signed with the key that belongs to it.

    Raises
    ------
    InputError
        For an approval of another form than this program writes.
    CommandError
        For a signature that cannot be looked at for want of ``cryptography``.
    """
    tampered = _tampered(document, public_key)
    if tampered:
        by, day, mark = _said(document)
        return Verification(by, day, mark, tampered, (), ())
    if document.get("harnessdrc_approval") != FORM or not _has_its_form(document):
        raise InputError(
            "this approval has another form than this version of the program writes.",
            remedy="Verify it with the version that wrote it; the field 'harnessdrc' names it.",
        )
    changed, remarks = _inputs(document["inputs"], in_hand.inputs)
    for what, name in (("mapping", "mapping"), ("measured", "file of test sheets")):
        _file(what, name, document[what], getattr(in_hand, what), changed, remarks)
    files = document["concessions"]["files"]
    _file("concessions", "file of concessions", files[0] if files else None, in_hand.concessions, changed, remarks)
    _rules(document, in_hand, changed if in_hand.rules_asked_for else remarks)
    remarks += _expired(document["concessions"]["lines"], on)
    remarks.append(_signed(document, public_key))
    by, day, mark = _said(document)
    return Verification(by, day, mark, (), tuple(changed), tuple(remarks))


# --- the approval itself --------------------------------------------------------------------------------


def _tampered(document: Mapping[str, Any], public_key: bytes | None) -> tuple[str, ...]:
    try:
        digest = digest_of(document)
    except (ValueError, UnicodeError, RecursionError):
        digest = ""
    if document.get("digest") != digest:
        return ("The approval was changed after it was made: its digest does not fit what it says.",)
    approved = document.get("approved")
    key = approved.get("key") if isinstance(approved, Mapping) else None
    signature = document.get("signature")
    if signature is None:
        if key:
            return ("The approval was signed when it was made, and its signature was taken out.",)
        if public_key is not None:
            return ("The approval is not signed, so that the public key cannot vouch for it.",)
        return ()
    signed = _signature(signature)
    if signed is None or not holds(signed, digest):
        return ("The signature is not genuine: it is not over this approval.",)
    raw = _raw(signed)
    if fingerprint(raw) != key:
        return ("The approval is signed with another key than it names.",)
    if public_key is not None and raw != public_key:
        return (
            f"The approval is signed with another key ({key}) than the public key given ({fingerprint(public_key)}).",
        )
    return ()


def _signature(value: Any) -> Signature | None:
    if not isinstance(value, Mapping) or set(value) != {"algorithm", "public_key", "value"}:
        return None
    texts = value["public_key"], value["value"]
    if value["algorithm"] != "Ed25519" or not all(isinstance(text, str) for text in texts):
        return None
    return Signature(*texts)


def _raw(signature: Signature) -> bytes:
    import base64

    return base64.b64decode(signature.public_key)


def _said(document: Mapping[str, Any]) -> tuple[str, str, str]:
    """By whom, when and for which issue, as far as it stands there."""
    approved = document.get("approved")
    by, day = (approved.get("by"), approved.get("on")) if isinstance(approved, Mapping) else (None, None)
    mark = document.get("issue_mark")
    texts = [text if isinstance(text, str) else "" for text in (by, day, mark)]
    return texts[0], texts[1], texts[2]


_KINDS: Mapping[str, type | tuple[type, ...]] = {
    "harnessdrc": str, "approved": dict, "issue_mark": str, "inputs": list, "mapping": (dict, type(None)),
    "measured": (dict, type(None)), "ruleset": dict, "given": dict, "concessions": dict, "counts": dict, "rules": list,
    "open": list, "undecided": list, "assumptions": list,
}  # fmt: skip


def _has_its_form(document: Mapping[str, Any]) -> bool:
    """Whether everything that is looked at is where it belongs."""
    if not all(isinstance(document.get(key, 0), kind) for key, kind in _KINDS.items()):
        return False
    concessions, ruleset = document["concessions"], document["ruleset"]
    if not isinstance(concessions.get("files"), list) or not isinstance(concessions.get("lines"), list):
        return False
    files = [*document["inputs"], *concessions["files"]]
    files += [document[key] for key in ("mapping", "measured") if document[key] is not None]
    sound = all(
        isinstance(each, dict) and isinstance(each.get("file"), str) and isinstance(each.get("sha256"), str)
        for each in files
    )
    sound = sound and all(isinstance(ruleset.get(key), str) for key in ApprovedRuleset._fields)
    sound = sound and all(isinstance(each, dict) for each in document["given"].values())
    return sound and all(isinstance(each, dict) for each in concessions["lines"])


def _signed(document: Mapping[str, Any], public_key: bytes | None) -> str:
    key = document["approved"].get("key")
    if not key:
        return "The approval is not signed: who can write to its file can make another."
    if public_key is None:
        return f"The approval is signed with the key {key}; whose key that is was not looked at (give --public-key)."
    return f"The approval is signed with the public key given ({key})."


# --- the list ---------------------------------------------------------------------------------------------


def _inputs(approved: Sequence[Mapping[str, str]], in_hand: Sequence[SourceFile]) -> tuple[list[str], list[str]]:
    """What differs, file by file: first those with the same content, then those of the same name."""
    changed: list[str] = []
    remarks: list[str] = []
    waiting = list(in_hand)
    unmatched: list[Mapping[str, str]] = []
    for each in approved:
        alike = [one for one in waiting if one.sha256 == each["sha256"]]
        if not alike:
            unmatched.append(each)
            continue
        own = next((one for one in alike if _name(one.file) == _name(each["file"])), alike[0])
        waiting.remove(own)
        if _name(own.file) != _name(each["file"]):
            remarks.append(f"{own.file} was called {each['file']} when it was approved; its content is the same.")
    for each in unmatched:
        named = next((one for one in waiting if _name(one.file) == _name(each["file"])), None)
        if named is None and len(unmatched) == len(waiting) == 1:
            named = waiting[0]
        if named is None:
            changed.append(f"{each['file']}: it was approved and is not in hand.")
            continue
        waiting.remove(named)
        renamed = f" (approved as {each['file']})" if _name(named.file) != _name(each["file"]) else ""
        changed.append(
            f"{named.file}{renamed}: its content has changed (SHA-256 {named.sha256[:12]}…, approved "
            f"{each['sha256'][:12]}…)."
        )
    changed += [f"{each.file}: it is in hand and was not approved." for each in waiting]
    if changed:
        remarks.insert(
            0, "With the approved issue at hand, 'harnessdrc compare APPROVED IN-HAND' tells what has changed in it."
        )
    return changed, remarks


def _name(file: str) -> str:
    return PurePath(file).name.casefold()


def _file(
    option: str,
    what: str,
    approved: Mapping[str, str] | None,
    in_hand: SourceFile | None,
    changed: list[str],
    remarks: list[str],
) -> None:
    if in_hand is None:
        if approved is not None:
            remarks.append(f"It was approved with the {what} {approved['file']}; give --{option} to look at that too.")
    elif approved is None:
        changed.append(f"{in_hand.file}: it was approved without a {what}.")
    elif approved["sha256"] != in_hand.sha256:
        changed.append(
            f"{in_hand.file}: this is not the {what} that it was approved with ({approved['file']}, SHA-256 "
            f"{approved['sha256'][:12]}…)."
        )


def _rules(document: Mapping[str, Any], in_hand: InHand, told: list[str]) -> None:
    ruleset = in_hand.ruleset
    if ruleset is None:
        return
    approved = document["ruleset"]
    if approved["sha256"] != ruleset.sha256:
        told.append(
            f"The ruleset {ruleset.asked_for} (issue {ruleset.issue}) does not say what the one approved with says "
            f"({approved['name']}, issue {approved['issue']})."
        )
    if not in_hand.rules_asked_for:
        return
    now = {each.name: each for each in in_hand.given}
    for name in dict.fromkeys((*document["given"], *now)):
        before, own = document["given"].get(name), now.get(name)
        was = "not given" if before is None else f"{before.get('value')} {before.get('unit')}".strip()
        is_now = "not given" if own is None else f"{own.value} {own.unit}".strip()
        same = (
            before is not None
            and own is not None
            and (before.get("value"), before.get("unit")) == (own.value, own.unit)
        )
        if not same:
            told.append(f"The given value {name} is {is_now}; it was approved with {was}.")


def _expired(lines: Sequence[Mapping[str, Any]], on: datetime.date) -> list[str]:
    ran_out = []
    for line in lines:
        until = line.get("until")
        if line.get("state") == "in force" and isinstance(until, str) and until < on.isoformat():
            ran_out.append(f"{line.get('subject')} under {line.get('rule')} ({until})")
    if not ran_out:
        return []
    shown = ", ".join(ran_out[:5]) + (f" and {len(ran_out) - 5} more" if len(ran_out) > 5 else "")
    return [f"Concessions that it rests on have run out since: {shown}."]
