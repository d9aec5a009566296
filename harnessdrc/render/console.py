"""The summary on the terminal: what is on hold first, with cells, figures and what to do."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable

from rich.console import Console
from rich.text import Text

from harnessdrc.findings import GRADES, Mark
from harnessdrc.render.lines import say
from harnessdrc.results import ReportedFinding, ReportedUndecided, Result

__all__ = ["print_result", "summary_line"]

_TITLES = {
    "hold": ("ON HOLD", "do not build until these are settled"),
    "query": ("QUERIES", "for the engineer to answer"),
    "note": ("NOTES", ""),
}
_STYLES = {"hold": "bold red", "query": "bold yellow", "note": "bold cyan"}
_SHOWN = 40


def _places(marks: Iterable[Mark], one_file: bool) -> str:
    texts: list[str] = []
    for mark in marks:
        place = mark.place
        where = place.cell if not place.cell.isdigit() else f"row {place.cell}"
        text = f"{place.sheet} {where}".strip() if one_file else f"{place.file} {place.sheet} {where}"
        if text not in texts:
            texts.append(text)
    return ", ".join(texts)


def _figures(finding: ReportedFinding) -> str:
    if finding.measured is None or not finding.unit:
        return ""
    limit = f", limit {finding.limit:g} {finding.unit}" if finding.limit is not None else ""
    return f"{finding.measured:.4g} {finding.unit}{limit}"


def _print_finding(
    console: Console, finding: ReportedFinding, one_file: bool, consequences: list[ReportedFinding]
) -> None:
    head = Text()
    head.append(_places(finding.marks[:3], one_file) or "-", style="bold")
    head.append("  ")
    head.append(finding.message)
    figures = _figures(finding)
    if figures and "limit" not in finding.message:
        head.append(f" ({figures})")
    say(console, head, 2)
    if finding.remedy:
        say(console, Text(f"→ {finding.remedy}", style="green"), 6)
    if consequences:
        names = ", ".join(f.subject[1] for f in consequences)
        text = f"with it: {len(consequences)} more that follow from this ({names})"
        say(console, Text(text, style="dim"), 6)


def _print_findings(console: Console, result: Result, one_file: bool) -> None:
    followers: dict[str, list[ReportedFinding]] = defaultdict(list)
    for finding in result.findings:
        if finding.follows_from:
            followers[finding.follows_from].append(finding)
    for grade in GRADES:
        findings = [f for f in result.findings if f.grade == grade]
        heads = [f for f in findings if not f.follows_from]
        if not findings:
            continue
        title, meaning = _TITLES[grade]
        line = Text(f"{title}: {len(findings)}", style=_STYLES[grade])
        if meaning:
            line.append(f"  ({meaning})", style="dim")
        say(console, line)
        rule = ""
        for number, finding in enumerate(heads):
            if number == _SHOWN:
                say(console, Text(f"… and {len(heads) - _SHOWN} more; the redline lists all of them."), 2)
                break
            if finding.rule != rule:
                rule = finding.rule
                say(console, Text(rule, style="underline"), 1)
            _print_finding(console, finding, one_file, followers.get(finding.thumbprint, []))
        say(console)


def _kind_of_data(missing: str) -> str:
    """The column or the data without the object: ``length of wire W12`` → ``length``."""
    return missing.split(" of ", 1)[0] if " of " in missing else missing


def _print_undecided(console: Console, undecided: tuple[ReportedUndecided, ...], one_file: bool) -> None:
    if not undecided:
        return
    say(
        console,
        Text(f"NOT DECIDED: {len(undecided)}", style="bold magenta")
        + Text("  (what is lacking would decide it)", style="dim"),
    )
    by_rule: dict[str, list[ReportedUndecided]] = defaultdict(list)
    for item in undecided:
        by_rule[item.rule].append(item)
    for rule, items in by_rule.items():
        say(console, Text(rule, style="underline"), 1)
        for item in items[:4]:
            text = Text(f"{item.subject[1]}: ")
            shown = "; ".join(item.missing[:4]) + ("; …" if len(item.missing) > 4 else "")
            text.append(f"needs {shown}")
            where = _places(item.marks[:3], one_file)
            if where:
                text.append(f"  [{where}]", style="dim")
            say(console, text, 2)
        if len(items) > 4:
            lacking = Counter(_kind_of_data(m) for item in items[4:] for m in dict.fromkeys(item.missing))
            most = ", ".join(f"{what} ({count})" for what, count in lacking.most_common(3))
            say(console, Text(f"… and {len(items) - 4} more: {most}", style="dim"), 2)
    say(console)


def summary_line(result: Result) -> str:
    """The last line: counts of everything."""
    read = result.read
    names = {"hold": "on hold", "query": "to query", "note": "to note"}
    counts = ", ".join(f"{result.count(grade)} {names[grade]}" for grade in GRADES)
    accepted = sum(1 for f in result.findings if f.concession is not None)
    crashed = sum(1 for r in result.rules if r.crashed)
    line = f"{read.wires} wires, {read.components} components, {len(result.rules)} rules: {counts}, "
    line += f"{len(result.undecided)} not decided"
    if accepted:
        line += f", {accepted} accepted by concession"
    if crashed:
        line += f", {crashed} failed to run"
    return line


def print_result(result: Result, console: Console, outputs: Iterable[str] = ()) -> None:
    """Print the outcome of a run.

    Parameters
    ----------
    result : Result
        The outcome.
    console : rich.console.Console
        Where to; colour and width are its own.
    outputs : iterable of str
        Files written, named before the last line.
    """
    one_file = len({s.file for s in result.sources}) == 1
    names = ", ".join(s.file for s in result.sources)
    say(console, Text(f"{names}  against {result.ruleset_name}, issue {result.ruleset_issue}", style="bold"))
    read = result.read
    if read.set_aside:
        say(
            console,
            f"{read.rows_used} of {read.rows_seen} rows used; {len(read.set_aside)} set aside with their "
            "reasons (harnessdrc read shows them).",
            style="dim",
        )
    say(console)
    _print_findings(console, result, one_file)
    _print_undecided(console, result.undecided, one_file)
    for outcome in result.rules:
        if outcome.crashed:
            text = f"Rule {outcome.rule} failed to run: {outcome.crashed}. Nothing it would find is shown."
            say(console, Text(text, style="bold red"))
    blind = [r.rule for r in result.rules if r.looked_at == 0 and not r.crashed]
    if blind:
        say(
            console,
            Text(f"Looked at nothing, for want of such parts or data: {', '.join(blind)}.", style="dim"),
        )
    if not any(f.grade == "hold" and f.concession is None for f in result.findings):
        say(
            console,
            Text(
                "Nothing found on hold. That is not proof that the loom is safe: measure on the bench.",
                style="dim",
            ),
        )
    for output in outputs:
        say(console, Text(f"Written: {output}", style="dim"))
    say(console, Text(summary_line(result), style="bold"))
