"""The summary on the terminal: what is on hold first, with cells, figures and what to do."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby

from rich.console import Console
from rich.text import Text

from harnessdrc.findings import GRADES
from harnessdrc.render.console_cells import cells_text
from harnessdrc.render.console_induction import print_induction
from harnessdrc.render.console_measured import print_measured
from harnessdrc.render.console_network import print_network
from harnessdrc.render.console_sizing import print_sizing
from harnessdrc.render.finding_text import root_of, with_figures
from harnessdrc.render.lines import counted, say
from harnessdrc.render.proposals import effect_text, measured_range_text
from harnessdrc.results import ReportedFinding, ReportedUndecided, Result

__all__ = ["print_result", "summary_line"]

_TITLES = {
    "hold": ("ON HOLD", "do not build until these are settled"),
    "query": ("QUERIES", "for the engineer to answer"),
    "note": ("NOTES", ""),
}
_STYLES = {"hold": "bold red", "query": "bold yellow", "note": "bold cyan"}
_FEW_ALIKE = 5
"""Up to so many findings of one rule with one remedy are each told in full."""
_ALIKE_IN_FULL = 3
_OF_A_RULE = 12
"""Findings of one rule told in full when each has a remedy of its own."""
_FOLLOWERS = 8
_UNDECIDED_OF_A_RULE = 4


def _print_finding(
    console: Console, finding: ReportedFinding, one_file: bool, consequences: Sequence[ReportedFinding]
) -> None:
    head = Text()
    one_file = one_file and finding.subject[0] != "concession"  # which stands in a file of its own
    head.append(cells_text((mark.place for mark in finding.marks), one_file, most=3) or "-", style="bold")
    head.append("  ")
    head.append(with_figures(finding))
    say(console, head, 2)
    if finding.proposal is not None:
        change = finding.proposal.change.removesuffix(".")
        say(console, Text(f"→ {change}: {effect_text(finding.proposal)}.", style="green"), 6)
    elif finding.remedy:
        say(console, Text(f"→ {finding.remedy}", style="green"), 6)
    if consequences:
        names = ", ".join(f.subject[1] for f in consequences[:_FOLLOWERS])
        more = ", …" if len(consequences) > _FOLLOWERS else ""
        follow = "follows" if len(consequences) == 1 else "follow"
        text = f"with it: {len(consequences):,} more that {follow} from this ({names}{more})"
        say(console, Text(text, style="dim"), 6)


def _print_rule(
    console: Console,
    findings: Sequence[ReportedFinding],
    one_file: bool,
    followers: Mapping[str, list[ReportedFinding]],
) -> None:
    """Findings of one rule, those that share their remedy together."""
    alike: dict[str, list[ReportedFinding]] = defaultdict(list)
    for finding in findings:
        alike[finding.remedy].append(finding)
    single: list[ReportedFinding] = []
    told = 0
    for group in alike.values():
        if len(group) <= _FEW_ALIKE:
            room = max(_OF_A_RULE - told, 0)
            told += min(len(group), room)
            single += group[room:]
            shown, rest = group[:room], []
        else:
            shown, rest = group[:_ALIKE_IN_FULL], group[_ALIKE_IN_FULL:]
        for finding in shown:
            _print_finding(console, finding, one_file, followers.get(finding.thumbprint, ()))
        if rest:
            _print_rest(console, rest, "more alike", one_file, followers)
    if single:
        _print_rest(console, single, "more of this rule", one_file, followers)


def _print_rest(
    console: Console,
    findings: Sequence[ReportedFinding],
    what: str,
    one_file: bool,
    followers: Mapping[str, list[ReportedFinding]],
) -> None:
    """One line for all of them, with their cells."""
    following = sum(len(followers.get(finding.thumbprint, ())) for finding in findings)
    tail = f" and {following:,} that follow from them" if following else ""
    cells = cells_text((finding.marks[0].place for finding in findings if finding.marks), one_file, most=40)
    say(console, Text(f"… and {len(findings):,} {what}{tail}: {cells or 'in the redline'}", style="dim"), 2)


def _print_findings(console: Console, result: Result, one_file: bool) -> None:
    followers: dict[str, list[ReportedFinding]] = defaultdict(list)
    still_open = [finding for finding in result.findings if finding.concession is None]
    causes = {finding.thumbprint: finding.follows_from for finding in still_open}
    heads: list[ReportedFinding] = []
    for finding in still_open:
        root = root_of(finding.thumbprint, causes)
        if root == finding.thumbprint:
            heads.append(finding)
        else:
            followers[root].append(finding)
    for grade in GRADES:
        total = sum(1 for finding in still_open if finding.grade == grade)
        if not total:
            continue
        title, meaning = _TITLES[grade]
        line = Text(f"{title}: {total:,}", style=_STYLES[grade])
        if meaning:
            line.append(f"  ({meaning})", style="dim")
        say(console, line)
        of_grade = [finding for finding in heads if finding.grade == grade]
        folded = total - len(of_grade)
        if folded:
            say(
                console,
                Text(
                    (
                        "1 of them follows from another and stands with its cause."
                        if folded == 1
                        else f"{folded:,} of them follow from others and stand with their cause."
                    ),
                    style="dim",
                ),
                1,
            )
        for rule, findings in groupby(of_grade, key=lambda finding: finding.rule):
            say(console, Text(rule, style="underline"), 1)
            _print_rule(console, list(findings), one_file, followers)
        say(console)


_INSIDE = re.compile(r"^what .+ connects to inside$")


def _kind_of_data(missing: str, subject: str) -> str:
    """The column or the data without the object: ``length of wire W12`` → ``length``."""
    if _INSIDE.match(missing):
        return "what a part connects to inside"
    what = missing.split(" of ", 1)[0] if " of " in missing else missing
    return re.sub(rf"(?<!\w){re.escape(subject)}(?!\w)", "…", what)


def _print_undecided(console: Console, undecided: Sequence[ReportedUndecided], one_file: bool) -> None:
    if not undecided:
        return
    say(
        console,
        Text(f"NOT DECIDED: {len(undecided):,}", style="bold magenta")
        + Text("  (what is lacking would decide it)", style="dim"),
    )
    by_rule: dict[str, list[ReportedUndecided]] = defaultdict(list)
    for item in undecided:
        by_rule[item.rule].append(item)
    for rule, items in by_rule.items():
        say(console, Text(rule, style="underline"), 1)
        shown = items if len(items) <= _UNDECIDED_OF_A_RULE + 1 else items[:_UNDECIDED_OF_A_RULE]
        for item in shown:
            text = Text(f"{item.subject[1]}: ")
            known = measured_range_text(item)
            if known:
                text.append(f"{known}; ")
            text.append(f"needs {'; '.join(item.missing[:4])}{'; …' if len(item.missing) > 4 else ''}")
            where = cells_text((mark.place for mark in item.marks[:3]), one_file)
            if where:
                text.append(f"  [{where}]", style="dim")
            say(console, text, 2)
        rest = items[len(shown) :]
        if rest:
            lacking = Counter(
                _kind_of_data(missing, item.subject[1]) for item in rest for missing in dict.fromkeys(item.missing)
            )
            most = ", ".join(f"{what} ({count:,})" for what, count in lacking.most_common(3))
            more = ", …" if len(lacking) > 3 else ""
            say(console, Text(f"… and {len(rest):,} more, which need: {most}{more}", style="dim"), 2)
    say(console)


def summary_line(result: Result) -> str:
    """The last line: counts of everything."""
    read = result.read
    names = {"hold": "on hold", "query": "to query", "note": "to note"}
    counts = ", ".join(f"{result.count(grade):,} {names[grade]}" for grade in GRADES)
    accepted = sum(1 for f in result.findings if f.concession is not None)
    crashed = sum(1 for r in result.rules if r.crashed)
    objects = f"{counted(read.wires, 'wire')}, {counted(read.components, 'component')}"
    line = f"{objects}, {counted(len(result.rules), 'rule')}: {counts}, {len(result.undecided):,} not decided"
    if accepted:
        line += f", {accepted:,} accepted by concession"
    if crashed:
        line += f", {counted(crashed, 'rule')} failed to run"
    return line


def _print_account(console: Console, result: Result) -> None:
    """How the list was read, in one line: rows, guesses, cells that say nothing."""
    read = result.read
    parts = [f"{read.rows_used:,} of {counted(read.rows_seen, 'row')} used"]
    if read.set_aside:
        parts.append(f"{len(read.set_aside):,} set aside with the reason")
    unclear = sum(1 for line in result.assumptions if line.what == "not understood")
    assumed = len(result.assumptions) - unclear
    if assumed:
        parts.append(f"{counted(assumed, 'assumption')} made")
    if unclear:
        parts.append(f"{counted(unclear, 'cell')} not understood")
    tail = "; 'harnessdrc read' shows them." if len(parts) > 1 else "."
    say(console, ", ".join(parts) + tail, style="dim")


def print_result(
    result: Result, console: Console, outputs: Iterable[str] = (), remarks: Iterable[str] = ()
) -> None:
    """Print the outcome of a run.

    Parameters
    ----------
    result : Result
        The outcome.
    console : rich.console.Console
        Where to; colour and width are its own.
    outputs : iterable of str
        Files written, named before the last line.
    remarks : iterable of str
        Sentences on files that were not written, and why.
    """
    one_file = len({s.file for s in result.sources}) == 1
    names = ", ".join(s.file for s in result.sources)
    say(console, Text(f"{names}  against {result.ruleset_name}, issue {result.ruleset_issue}", style="bold"))
    _print_account(console, result)
    say(console)
    _print_findings(console, result, one_file)
    if result.concessions.on:
        from harnessdrc.render.console_concessions import print_accepted  # loaded where there are concessions

        print_accepted(console, result, one_file)
    print_measured(console, result.measured)
    print_network(console, result.network)
    print_induction(console, result.induction)
    print_sizing(console, result.sizing)
    _print_undecided(console, result.undecided, one_file)
    for outcome in result.rules:
        if outcome.crashed:
            text = f"Rule {outcome.rule} failed to run: {outcome.crashed}. What it would find is not known."
            say(console, Text(text, style="bold red"))
    blind = [r.rule for r in result.rules if r.looked_at == 0 and not r.crashed]
    if blind:
        text = f"Looked at nothing, for want of such parts or data: {', '.join(blind)}."
        say(console, Text(text, style="dim"))
    for rule, reason in result.rules_off:
        say(console, Text(f"Switched off by the ruleset: {rule} ({reason.rstrip('.')}).", style="dim"))
    if not any(f.grade == "hold" and f.concession is None for f in result.findings):
        text = "Nothing found on hold. That is not proof that the loom is safe: measure on the bench."
        say(console, Text(text, style="dim"))
    for output in outputs:
        say(console, Text(f"Written: {output}", style="dim"))
    for remark in remarks:
        say(console, Text(remark, style="dim"))
    say(console, Text(summary_line(result), style="bold"))
