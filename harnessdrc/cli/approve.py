"""``harnessdrc approve``: approve an issue of a list, or hold a list against its approval."""

from __future__ import annotations

import argparse
import getpass
import sys
from collections.abc import Sequence
from functools import partial
from itertools import groupby
from pathlib import Path
from typing import BinaryIO

from rich.console import Console
from rich.text import Text

from harnessdrc.api import day_of, load_rules
from harnessdrc.approval import (
    Approval,
    ApprovedRuleset,
    InHand,
    Refusal,
    Signer,
    Verification,
    document_text,
    file_of,
    make_approval,
    public_key_of,
    read_document,
    refusals,
    ruleset_sha256,
    verify,
)
from harnessdrc.cli.check import judged
from harnessdrc.cli.output import Steps, console, output_folder, quiet_pipe, refuse_empty
from harnessdrc.errors import CommandError
from harnessdrc.findings import GRADES
from harnessdrc.render.console_cells import cells_text
from harnessdrc.render.lines import counted, say
from harnessdrc.render.outfile import StagedFiles
from harnessdrc.render.redline import stage_redline
from harnessdrc.results import GivenValue, Result, SourceFile
from harnessdrc.rulesets import shipped_rulesets

__all__ = ["run"]

_USUAL_RULESET = "engine-loom"
_TEXTS = ("by", "note", "on", "key", "verify", "public_key", "ruleset", "out", "mapping", "measured", "concessions")
_TITLES = {
    "hold": "ON HOLD", "undecided": "NOT DECIDED, of rules on hold", "crashed": "FAILED TO RUN",
}  # fmt: skip
_OF_A_RULE = 8
_LONGEST_NAME = 200


def run(options: argparse.Namespace) -> int:
    """Carry out the verb; returns the exit code."""
    refuse_empty(options, *_TEXTS)
    if options.verify is not None:
        return _verify(options)
    if options.public_key is not None:
        raise CommandError("--public-key: this is to verify with; give --verify FILE too, or --key to sign with.")
    if options.by is None:
        raise CommandError("--by: an approval needs who gives it; give --by NAME.")
    by = " ".join(options.by.split())
    if len(by) > _LONGEST_NAME:
        raise CommandError(f"--by: expected a name of at most {_LONGEST_NAME} characters, found {len(by)}.")
    return _approve(options, by)


# --- approving --------------------------------------------------------------------------------------------


def _approve(options: argparse.Namespace, by: str) -> int:
    on = day_of("--on", options.on)
    ask = partial(getpass.getpass, f"Password of {options.key}: ") if _at_terminal() else None
    signer = Signer(Path(options.key), ask) if options.key is not None else None
    asked_for = options.ruleset or _USUAL_RULESET
    approval: Approval | None = None
    written: list[Path] = []
    with Steps() as steps:
        checks, ruleset = load_rules(asked_for, options.given, options.allow_checks)
        mapping, measured = _hashed(options.mapping, "--mapping"), _hashed(options.measured, "--measured")
        options.on = on.isoformat()  # midnight may pass while it runs
        result, sources = judged(options, steps, checks, ruleset)
        found = refusals(result)
        if not found:
            approval = make_approval(
                result, ruleset, by=by, on=on.isoformat(), note=" ".join((options.note or "").split()),
                asked_for=asked_for, mapping=mapping, measured=measured, signer=signer,
            )  # fmt: skip
            steps("Writing the approval")
            with output_folder(options.out, Path(options.lists[0]).parent) as folder, StagedFiles() as staged:
                target = folder / f"{sources[0].path.stem}.approval.json"
                read = [
                    *options.lists,
                    *filter(None, (options.mapping, options.measured, options.concessions, options.key)),
                ]
                _keep(target, read)
                stage_redline(staged, result, sources, folder, approval)
                staged.stage(target, partial(_write, document_text(approval)))
                written = staged.commit()
    try:
        out = console()
        if approval is None:
            _print_refused(out, result, found)
        else:
            _print_approved(out, approval, written)
        out.file.flush()
    except BrokenPipeError:  # whoever read the summary has seen enough; the verdict stands
        quiet_pipe()
    return 1 if approval is None else 0


def _at_terminal() -> bool:
    return sys.stdin is not None and sys.stdin.isatty()


def _write(content: bytes, out: BinaryIO) -> None:
    out.write(content)


def _keep(target: Path, read: Sequence[str]) -> None:
    """Refuse to write the approval over something that was read.

    Raises
    ------
    CommandError
        Names it.
    """
    for name in read:
        try:
            same = target.samefile(name)
        except (OSError, ValueError):
            continue
        if same:
            raise CommandError(
                f"{target}: the approval would be written over a file that was read; choose another --out."
            )


def _hashed(name: str | None, option: str) -> SourceFile | None:
    """Name and hash of a file that an option names; None without it.

    Raises
    ------
    CommandError
        For one that cannot be read.
    """
    if name is None:
        return None
    path = Path(name)
    try:
        if not path.is_file():
            what = "this is a folder" if path.is_dir() else "there is no such file"
            raise CommandError(f"{option} {name}: {what}; give the path of the file.".lstrip())
        return file_of(path)
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or str(error)
        raise CommandError(f"{option} {name}: the file cannot be read ({reason}).".lstrip()) from error


def _print_refused(out: Console, result: Result, found: Sequence[Refusal]) -> None:
    names = ", ".join(source.file for source in result.sources)
    one_file = len(result.sources) == 1
    say(out, Text(f"{names}  against {result.ruleset_name}, issue {result.ruleset_issue}", style="bold"))
    say(out)
    for why, title in _TITLES.items():
        of_kind = [each for each in found if each.why == why]
        if not of_kind:
            continue
        say(out, Text(f"{title}: {len(of_kind):,}", style="bold red"))
        for rule, each_of in groupby(of_kind, key=lambda each: each.rule):
            of_rule = list(each_of)
            say(out, Text(rule, style="underline"), 1)
            for each in of_rule[:_OF_A_RULE]:
                where = cells_text((mark.place for mark in each.marks), one_file, most=3)
                say(out, Text(f"{where}  " if where else "", style="bold") + Text(each.text), 2)
            rest = of_rule[_OF_A_RULE:]
            if rest:
                cells = cells_text((each.marks[0].place for each in rest if each.marks), one_file, most=40)
                say(out, Text(f"… and {len(rest):,} more: {cells or 'see the redline'}", style="dim"), 2)
        say(out)
    say(out, Text("No approval was written; 'harnessdrc check' tells all of it with what to do.", style="dim"))
    counts = [(title, sum(1 for each in found if each.why == why)) for why, title in _TITLES.items()]
    text = ", ".join(f"{count:,} {title.casefold()}" for title, count in counts if count)
    say(out, Text(f"NOT APPROVED: {text}", style="bold red"))


def _print_approved(out: Console, approval: Approval, written: Sequence[Path]) -> None:
    names = ", ".join(source.file for source in approval.inputs)
    counts = approval.counts
    say(out, Text(f"{names}  against {approval.ruleset.name}, issue {approval.ruleset.issue}", style="bold"))
    others = ", ".join(f"{counts[grade]:,} to {grade}" for grade in GRADES if grade != "hold")
    say(
        out,
        f"Approved with {counts['accepted']:,} accepted by concession, {others}, {counts['undecided']:,} not decided, "
        f"{counted(len(approval.assumptions), 'assumption')}.",
    )
    say(out, f"Issue of the list: {approval.issue_mark}; digest of the approval: {approval.digest}")
    if approval.key:
        say(out, f"Signed with the key {approval.key}.")
    say(out, Text("That is not proof that the loom is safe: measure on the bench.", style="dim"))
    for path in written:
        say(out, Text(f"Written: {path}", style="dim"))
    say(out, Text(f"APPROVED by {approval.by} on {approval.on}", style="bold green"))


# --- verifying --------------------------------------------------------------------------------------------


def _verify(options: argparse.Namespace) -> int:
    for name in ("by", "note", "key", "out"):
        if getattr(options, name) is not None:
            raise CommandError(f"--{name}: this is to approve with; leave it out with --verify.")
    on = day_of("--on", options.on)
    document = read_document(Path(options.verify))
    public_key = public_key_of(Path(options.public_key)) if options.public_key is not None else None
    once = {Path(name).resolve(): name for name in options.lists}  # a file given twice is one file
    inputs = tuple(file for name in once.values() if (file := _hashed(name, "LIST")) is not None)
    mapping, measured = _hashed(options.mapping, "--mapping"), _hashed(options.measured, "--measured")
    concessions = _hashed(options.concessions, "--concessions")
    ruleset, given, asked = _rules_in_hand(options, document)
    in_hand = InHand(inputs, mapping, measured, concessions, ruleset, given, asked)
    verification = verify(document, in_hand, on=on, public_key=public_key)
    out = console()
    try:
        _print_verified(out, verification, inputs)
        out.file.flush()
    except BrokenPipeError:
        quiet_pipe()
    return 0 if verification.same else 1


def _rules_in_hand(
    options: argparse.Namespace, document: dict[str, object]
) -> tuple[ApprovedRuleset | None, tuple[GivenValue, ...], bool]:
    """Rules to hold the approval against: those asked for, else the shipped ones that it was given by."""
    asked = options.ruleset is not None or bool(options.given)
    approved = document.get("ruleset")
    named = approved.get("asked_for") if isinstance(approved, dict) else None
    name = options.ruleset or (named if isinstance(named, str) and (asked or named in shipped_rulesets()) else None)
    if name is None:
        return None, (), False
    _, ruleset = load_rules(name, options.given, options.allow_checks)
    given = tuple(GivenValue(key, each.value, each.unit, each.source) for key, each in ruleset.given.items())
    return ApprovedRuleset(ruleset.name, ruleset.issue, name, ruleset_sha256(ruleset)), given, asked


def _print_verified(out: Console, verification: Verification, inputs: Sequence[SourceFile]) -> None:
    names = ", ".join(source.file for source in inputs)
    by = f"{verification.by or 'nobody named'} on {verification.on or 'no day'}"
    say(out, Text(f"{names}  against the approval by {by}, issue of the list {verification.issue_mark}", style="bold"))
    for sentence in verification.tampered:
        say(out, Text(sentence, style="bold red"), 1)
    for sentence in verification.changed:
        say(out, sentence, 1)
    for sentence in verification.remarks:
        say(out, Text(sentence, style="dim"), 1)
    if verification.tampered:
        say(out, Text("NOT VERIFIED: this approval is not to be relied on", style="bold red"))
    elif verification.changed:
        say(out, Text(f"NOT THE SAME: {counted(len(verification.changed), 'difference')}", style="bold red"))
    else:
        say(out, Text("THE SAME: this is what was approved", style="bold green"))
