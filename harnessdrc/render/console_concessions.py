"""The ACCEPTED section of the summary: what is found and stands under a concession."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from harnessdrc.findings import GRADES, figures, unit_sign
from harnessdrc.render.console_cells import cells_text
from harnessdrc.render.lines import say
from harnessdrc.results import ReportedFinding, Result

__all__ = ["print_accepted"]

_GRADES = {"hold": "on hold", "query": "a query", "note": "a note"}
_IN_FULL = 24
"""Accepted findings told one by one; of the others the cells."""


def print_accepted(console: Console, result: Result, one_file: bool) -> None:
    """Tell every accepted finding with who accepted it, until when and why; nothing where there is none.

    Parameters
    ----------
    console : rich.console.Console
        Where to.
    result : Result
        Outcome of the run.
    one_file : bool
        Whether all lists are one file, which need not be named then.
    """
    accepted = [finding for finding in result.findings if finding.concession is not None]
    if not accepted:
        return
    accepted.sort(key=lambda finding: (GRADES.index(finding.grade), finding.rule))
    tail = f"  (under a concession on {result.concessions.on}; found all the same)"
    say(console, Text(f"ACCEPTED: {len(accepted):,}", style="bold green") + Text(tail, style="dim"))
    rule = ""
    for finding in accepted[:_IN_FULL]:
        if finding.rule != rule:
            rule = finding.rule
            say(console, Text(rule, style="underline"), 1)
        _print(console, finding, one_file)
    rest = accepted[_IN_FULL:]
    if rest:
        cells = cells_text((finding.marks[0].place for finding in rest if finding.marks), one_file, most=40)
        say(console, Text(f"… and {len(rest):,} more accepted: {cells or 'in the redline'}", style="dim"), 2)
    say(console)


def _print(console: Console, finding: ReportedFinding, one_file: bool) -> None:
    head = Text()
    head.append(cells_text((mark.place for mark in finding.marks), one_file, most=3) or "-", style="bold")
    head.append("  ")
    head.append(finding.message)
    say(console, head, 2)
    measured = ""
    if finding.measured is not None:
        measured = f"now {figures(finding.measured, 4)} {unit_sign(finding.unit)}".rstrip() + "; "
    say(console, Text(f"{measured}{_GRADES[finding.grade]} but for the concession {finding.concession}"), 6)
