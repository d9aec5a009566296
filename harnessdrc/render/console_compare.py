"""Two issues of a list on the terminal: what changed in the list, then in what the rules say of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import Console
from rich.text import Text

from harnessdrc.comparison import CHANGES, Comparison, FieldChange, FindingChange, ObjectChange, OffsetChange, Trend
from harnessdrc.findings import figures, unit_sign
from harnessdrc.places import Place
from harnessdrc.render.console_cells import cells_text
from harnessdrc.render.lines import counted, say
from harnessdrc.results import OffsetLine, ReportedFinding

__all__ = ["compare_summary", "edit_counts", "moved_text", "print_comparison", "reserve_text"]

_MOST_OBJECTS = 40
_MOST_FINDINGS = 20
_MOST_OFFSETS = 12
_TOLD_SHARE = 0.005
"""Offsets that changed by less than this part of their limit are counted only."""

_TITLES: tuple[tuple[Trend, str, str], ...] = (
    ("new", "new", "bold red"), ("worse", "carried over, worse", "bold yellow"), ("gone", "gone", "bold green"),
    ("better", "carried over, better", "green"),
)  # fmt: skip
_NOUNS = {"length": "of another length", "signal": "with another signal", "changed": "changed otherwise"}


def edit_counts(comparison: Comparison) -> str:
    """How many wires were added, removed, moved ...: ``3 added, 1 resized``; empty without any."""
    counts = ((edit, comparison.count(edit)) for edit in CHANGES)
    return ", ".join(f"{count:,} {_NOUNS.get(edit, edit)}" for edit, count in counts if count)


def moved_text(field: FieldChange) -> str:
    """A change of one column: ``Size 0.5 mm² → 0.75 mm²``."""
    return f"{field.column} {field.before or 'not given'} → {field.after or 'not given'}"


def _where(old: Iterable[Place | None], new: Iterable[Place | None], one_file: bool) -> str:
    """Cells in both issues: ``Wire list D12 → D14``."""
    before, after = (cells_text((p for p in places if p is not None), one_file, most=4) for places in (old, new))
    if before and after:
        return before if before == after else f"{before} → {after}"
    return f"old {before}" if before else f"new {after}" if after else ""


def _print_object(console: Console, change: ObjectChange, one_file: bool) -> None:
    head = Text(change.name if change.kind == "wire" else f"{change.kind} {change.name}", style="bold")
    if change.edit == "changed":
        said = "; ".join(map(moved_text, change.fields))
        head.append(f"  {', '.join(change.edits)}: " if change.kind == "wire" else "  ", style="")
        where = _where([f.old_place for f in change.fields], [f.new_place for f in change.fields], one_file)
    else:
        name = change.fields[0].column if change.fields and change.kind == "wire" else ""
        values = [f"{f.column} {f.after or f.before}" for f in change.fields if f.column != name]
        head.append(f"  {change.edit}", style="bold green" if change.edit == "added" else "bold red")
        said = f": {', '.join(values)}" if values else ""
        where = _where([change.old_place], [change.new_place], one_file)
    head.append(said, style="")
    if where:
        head.append(f"  [{where}]", style="dim")
    say(console, head, 1)


def _print_objects(console: Console, comparison: Comparison, one_file: bool) -> None:
    wires = [change for change in comparison.objects if change.kind == "wire"]
    others = [change for change in comparison.objects if change.kind != "wire"]
    tail = edit_counts(comparison)
    for title, changes, what in (("WIRES", wires, f"  ({tail})" if tail else ""), ("OTHER CHANGES", others, "")):
        if not changes:
            continue
        say(console, Text(f"{title}: {len(changes):,}", style="bold") + Text(what, style="dim"))
        for change in changes[:_MOST_OBJECTS]:
            _print_object(console, change, one_file)
        if len(changes) > _MOST_OBJECTS:
            say(console, Text(f"… and {len(changes) - _MOST_OBJECTS:,} more in the workbook", style="dim"), 1)
        say(console)
    for column in comparison.columns:
        issue, filled = "new" if column.edit == "added" else "old", counted(column.filled, "wire")
        text = f"Only the {issue} issue has the column '{column.column}' (filled in for {filled})."
        say(console, text, style="bold")
    if comparison.columns:
        say(console)


def _measured(finding: ReportedFinding | None) -> str:
    if finding is None or finding.measured is None:
        return ""
    return f"{figures(finding.measured, 4)} {unit_sign(finding.unit)}".strip()


def _print_finding(console: Console, change: FindingChange, one_file: bool) -> None:
    finding = change.finding
    head = Text(f"{finding.grade:5} ", style="bold" if finding.grade == "hold" else "")
    head.append(finding.message)
    before, after = _measured(change.before), _measured(change.after)
    if change.before is not None and change.after is not None and before != after:
        head.append(f"  {before} → {after}", style="bold")
    if finding.concession is not None:
        head.append("  accepted by concession", style="dim")
    where = cells_text((mark.place for mark in finding.marks), one_file, most=3)
    if where:
        head.append(f"  [{'old ' if change.after is None else ''}{where}]", style="dim")
    say(console, head, 2)


def _print_findings(console: Console, comparison: Comparison, one_file: bool) -> None:
    same = comparison.trends("same")
    if comparison.findings:
        told = ", ".join(f"{comparison.trends(trend):,} {trend}" for trend, _, _ in _TITLES)
        say(console, Text("FINDINGS", style="bold") + Text(f"  ({told}, {same:,} as before)", style="dim"))
    for trend, title, style in _TITLES:
        changes = [change for change in comparison.findings if change.trend == trend]
        if not changes:
            continue
        say(console, Text(f"{title}: {len(changes):,}", style=style), 1)
        for change in changes[:_MOST_FINDINGS]:
            _print_finding(console, change, one_file)
        if len(changes) > _MOST_FINDINGS:
            say(console, Text(f"… and {len(changes) - _MOST_FINDINGS:,} more in the workbook", style="dim"), 2)
    new, gone = (sum(1 for each in comparison.undecided if each.trend == trend) for trend in ("new", "gone"))
    if new or gone:
        text = f"Not decided in the new issue only: {new:,}; in the old issue only: {gone:,}."
        say(console, Text(text, style="magenta"), 1)
    if comparison.findings or comparison.undecided:
        say(console)


def reserve_text(line: OffsetLine) -> str:
    """The joint of a victim that may rise by least: ``ring of W12 on STUD1 +12.3 mΩ``."""
    if not line.reserves:
        return ""
    reserve = line.reserves[0]
    return f"{reserve.joint} +{figures(reserve.mohm)} mΩ"


def _offset(line: OffsetLine | None, states: Sequence[str], share: float | None) -> str:
    if line is None or not line.peak_mv:
        return "not there"
    state = states[line.worst] if line.worst < len(states) else ""
    told = f"{figures(line.peak_mv[line.worst])} mV ({state}"
    return f"{told}, {share * 100:.0f} % of the limit)" if share is not None else f"{told})"


def _print_offsets(console: Console, comparison: Comparison) -> None:
    told = [change for change in comparison.offsets if _is_told(change)]
    if not comparison.offsets:
        return
    rest = len(comparison.offsets) - len(told)
    tail = f"  ({counted(rest, 'offset')} changed by less than half a per cent of the limit)" if rest else ""
    say(console, Text("GROUND OFFSETS", style="bold") + Text(tail, style="dim"))
    for change in told[:_MOST_OFFSETS]:
        before = _offset(change.before, comparison.states, change.share_before)
        after = _offset(change.after, comparison.states, change.share_after)
        line = Text(change.line.victim[1], style="bold") + Text(f"  {change.line.what}: {before} → {after}")
        reserves = [reserve_text(each) for each in (change.before, change.after) if each is not None]
        if any(reserves):
            joints = " → ".join(text or "none" for text in dict.fromkeys(reserves))
            line.append(f"; weakest joint {joints}", style="dim")
        say(console, line, 1)
    if len(told) > _MOST_OFFSETS:
        say(console, Text(f"… and {len(told) - _MOST_OFFSETS:,} more in the workbook", style="dim"), 1)
    say(console)


def _is_told(change: OffsetChange) -> bool:
    if change.before is None or change.after is None:
        return True
    return abs((change.share_after or 0.0) - (change.share_before or 0.0)) > _TOLD_SHARE


def _print_totals(console: Console, comparison: Comparison) -> None:
    parts = []
    for total in comparison.totals:
        digits = ",.0f" if total.unit in ("", "g") else ",.2f"
        unit = f" {total.unit}" if total.unit else ""
        text = f"{total.what} {total.before:{digits}} → {total.after:{digits}}{unit}"
        if total.unknown_before or total.unknown_after:
            text += f" (not known of {total.unknown_before:,} → {counted(total.unknown_after, 'wire')})"
        parts.append(text)
    if parts:
        say(console, Text("TOTALS  ", style="bold") + Text(", ".join(parts)))


def compare_summary(comparison: Comparison) -> str:
    """The last line: counts of everything."""
    if not comparison.differs:
        return "No difference: the same list, and the rules say the same of it."
    wires = sum(1 for change in comparison.objects if change.kind == "wire")
    others = len(comparison.objects) - wires
    old, new = comparison.old, comparison.new
    columns = f", {counted(len(comparison.columns), 'column')}" if comparison.columns else ""
    return (
        f"{counted(wires, 'wire')} and {counted(others, 'other object')}{columns} differ; "
        f"findings: {comparison.trends('new'):,} new, {comparison.trends('worse'):,} worse, "
        f"{comparison.trends('gone'):,} gone; on hold {old.hold:,} → {new.hold:,}, "
        f"to query {old.query:,} → {new.query:,}, not decided {old.undecided:,} → {new.undecided:,}"
    )


def print_comparison(comparison: Comparison, console: Console, outputs: Iterable[str] = ()) -> None:
    """Print what two issues of a list differ in.

    Parameters
    ----------
    comparison : Comparison
        The two issues.
    console : rich.console.Console
        Where to; colour and width are its own.
    outputs : iterable of str
        Files written, named before the last line.
    """
    old, new = comparison.old, comparison.new
    one_file = len(old.sources) == 1 == len(new.sources)
    marks = f"{old.files} (issue {old.issue_mark}) → {new.files} (issue {new.issue_mark})"
    tail = f"  against {comparison.ruleset_name}, issue {comparison.ruleset_issue}"
    say(console, Text(marks, style="bold") + Text(tail))
    say(console)
    _print_objects(console, comparison, one_file)
    _print_findings(console, comparison, one_file)
    _print_offsets(console, comparison)
    _print_totals(console, comparison)
    for name, account in (("old", old), ("new", new)):
        for crashed in account.crashed:
            text = f"On the {name} issue rule {crashed}. What it would find there is not known."
            say(console, Text(text, style="bold red"))
    for remark in comparison.remarks:
        say(console, Text(remark, style="dim"))
    for output in outputs:
        say(console, Text(f"Written: {output}", style="dim"))
    say(console, Text(compare_summary(comparison), style="bold"))
