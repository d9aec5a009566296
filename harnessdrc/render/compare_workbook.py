"""What two issues of a list differ in, as a workbook: a summary, then one sheet for each kind of difference."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from io import BytesIO
from typing import Any

import xlsxwriter
from xlsxwriter.workbook import Workbook

from harnessdrc.comparison import Comparison, FieldChange, ObjectChange
from harnessdrc.findings import figures, unit_sign
from harnessdrc.places import Place
from harnessdrc.render.console_compare import compare_summary, edit_counts, reserve_text
from harnessdrc.render.lines import visible
from harnessdrc.render.papers.sheets import Column, Looks, Page, plain
from harnessdrc.results import OffsetLine, ReportedFinding

__all__ = ["comparison_workbook"]

_CLOCKLESS = dt.datetime(2024, 1, 1)
"""No clock in the outputs: the same lists give the same bytes."""

_PLAIN = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False, "in_memory": True}


class _Sheet(Page):
    """One sheet of the comparison: its title, the two issues, then tables."""

    def __init__(
        self, book: Workbook, looks: Looks, comparison: Comparison, title: str, widths: Sequence[float]
    ) -> None:
        self.sheet = book.add_worksheet(title)
        self.looks = looks
        self.row = 0
        sheet, old, new = self.sheet, comparison.old, comparison.new
        sheet.set_paper(9)
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        sheet.set_margins(left=0.45, right=0.45, top=0.5, bottom=0.7)
        marks = f"issue {old.issue_mark} to {new.issue_mark}"
        name = visible(new.files).replace("&", "&&")[:120]  # an ampersand starts an order to the printer
        sheet.set_footer(f"&L&9{name}, {marks}&R&9{title}, page &P of &N")
        sheet.hide_gridlines(2)
        sheet.set_default_row(17)
        for number, width in enumerate(widths):
            sheet.set_column(number, number, width)
        self.say(title, bold=True, font_size=18)
        self.say(f"Old issue {old.issue_mark}: {old.files}. New issue {new.issue_mark}: {new.files}.")

    def table(self, columns: Sequence[Column], rows: Iterable[Sequence[Any]]) -> None:
        """A table with a filter on its headings, which repeat on each printed page."""
        first = self.row
        self.head(columns, repeat=True)
        for row in rows:
            self.line(columns, row)
        if self.row > first + 1:
            self.sheet.autofilter(first, 0, self.row - 1, len(columns) - 1)


def comparison_workbook(comparison: Comparison) -> bytes:
    """A comparison as a workbook.

    Parameters
    ----------
    comparison : Comparison
        The two issues.

    Returns
    -------
    bytes
        An xlsx file; every text of the lists is text in it, never a formula or a link.
    """
    out = BytesIO()
    book = xlsxwriter.Workbook(out, _PLAIN)
    title = f"{comparison.old.files} and {comparison.new.files} compared"
    book.set_properties({"title": plain(title)[:255], "created": _CLOCKLESS})
    looks = Looks(book)
    _summary(book, looks, comparison)
    wires = [change for change in comparison.objects if change.kind == "wire"]
    others = [change for change in comparison.objects if change.kind != "wire"]
    if wires:
        _changes(book, looks, comparison, "Wires", wires)
    if others:
        _changes(book, looks, comparison, "Other changes", others)
    if comparison.findings or comparison.undecided:
        _findings(book, looks, comparison)
    if comparison.offsets:
        _offsets(book, looks, comparison)
    if comparison.sizes:
        _sizes(book, looks, comparison)
    book.close()
    return out.getvalue()


_TOTAL = (Column("", 44), Column("Old issue", 16, "#,##0.##"), Column("New issue", 16, "#,##0.##"),
          Column("Change", 16, "+#,##0.##;-#,##0.##;0"))  # fmt: skip


def _summary(book: Workbook, looks: Looks, comparison: Comparison) -> None:
    page = _Sheet(book, looks, comparison, "Comparison", [column.width for column in _TOTAL])
    page.row += 1
    page.paragraph(compare_summary(comparison), 4, 2, bold=True)
    counts = edit_counts(comparison)
    if counts:
        page.paragraph(f"Wires: {counts}.", 4, 2)
    for column in comparison.columns:
        issue = "new" if column.edit == "added" else "old"
        text = f"Only the {issue} issue has the column '{column.column}', filled in {column.filled:,} times."
        page.paragraph(text, 4)
    for which, account in (("old", comparison.old), ("new", comparison.new)):
        for crashed in account.crashed:
            page.paragraph(f"Rule failed to run on the {which} issue: {crashed}", 4, 2, bold=True)
    rules = f"Both were checked against {comparison.ruleset_name}, issue {comparison.ruleset_issue}"
    page.paragraph(f"{rules}, by harnessdrc {comparison.version}.", 4)
    page.row += 1
    page.head(_TOTAL)
    old, new = comparison.old, comparison.new
    rows: list[tuple[str, float, float]] = [
        ("On hold", old.hold, new.hold), ("To query", old.query, new.query), ("To note", old.note, new.note),
        ("Accepted by concession", old.accepted, new.accepted), ("Not decided", old.undecided, new.undecided),
    ]  # fmt: skip
    for total in comparison.totals:
        what = f"{total.what.capitalize()}{f' ({total.unit})' if total.unit else ''}"
        rows.append((what, total.before, total.after))
        if total.unknown_before or total.unknown_after:
            rows.append((f"Wires not in that: {total.what} not known", total.unknown_before, total.unknown_after))
    for what, before, after in rows:
        page.line(_TOTAL, (what, before, after, after - before))
    page.row += 1
    for source in (*old.sources, *new.sources):
        page.paragraph(f"{source.file}: SHA-256 {source.sha256}", 4)
    for remark in comparison.remarks:
        page.paragraph(remark, 4, 1 + len(remark) // 100)
    text = "Nothing new on hold is not proof that a loom is safe: measure on the bench."
    page.paragraph(text, 4, 1, italic=True)


_CHANGE = (
    Column("What", 11), Column("Old name", 13, "bold"), Column("New name", 13, "bold"), Column("Change", 11),
    Column("Column", 16), Column("Before", 22), Column("After", 22), Column("Old cell", 20), Column("New cell", 20),
)  # fmt: skip


def _changes(
    book: Workbook, looks: Looks, comparison: Comparison, title: str, changes: Sequence[ObjectChange]
) -> None:
    page = _Sheet(book, looks, comparison, title, [column.width for column in _CHANGE])
    bare = (FieldChange("changed", "", None, None, None, None),)
    page.table(
        _CHANGE,
        (
            (
                change.kind, change.old_name, change.new_name, field.edit if field.column else change.edit,
                field.column, field.before, field.after,
                _cell(field.old_place or change.old_place, comparison.old.files),
                _cell(field.new_place or change.new_place, comparison.new.files),
            )
            for change in changes
            for field in (change.fields or bare)
        ),
    )  # fmt: skip


def _cell(place: Place | None, files: str) -> str:
    """A cell without its file where that is the only one."""
    if place is None:
        return ""
    return str(place).removeprefix(place.file).strip() if place.file == files else str(place)


_FINDING = (
    Column("Now", 9, "bold"), Column("Grade", 7), Column("Rule", 20), Column("Old subject", 14),
    Column("New subject", 14), Column("Before", 10, "0.####"), Column("After", 10, "0.####"),
    Column("Limit", 9, "0.####"), Column("Unit", 7), Column("Finding", 60), Column("Old cells", 20),
    Column("New cells", 20), Column("Concession", 20),
)  # fmt: skip


def _findings(book: Workbook, looks: Looks, comparison: Comparison) -> None:
    page = _Sheet(book, looks, comparison, "Findings", [column.width for column in _FINDING])
    rows: list[tuple[Any, ...]] = []
    for change in comparison.findings:
        told, before, after = change.finding, change.before, change.after
        rows.append(
            (
                change.trend, told.grade, told.rule, before.subject[1] if before else "",
                after.subject[1] if after else "",
                before.measured if before else None, after.measured if after else None, told.limit,
                unit_sign(told.unit), told.message, _cells(before, comparison.old.files),
                _cells(after, comparison.new.files), told.concession,
            )
        )  # fmt: skip
    for undecided in comparison.undecided:
        each, is_new = undecided.undecided, undecided.trend == "new"
        places = ", ".join(
            _cell(mark.place, (comparison.new if is_new else comparison.old).files) for mark in each.marks[:3]
        )
        rows.append(
            (
                undecided.trend, each.grade, each.rule, "" if is_new else each.subject[1],
                each.subject[1] if is_new else "", None, None, each.limit, unit_sign(each.unit),
                f"Not decided: needs {'; '.join(each.missing[:4])}.", "" if is_new else places,
                places if is_new else "", None,
            )
        )  # fmt: skip
    page.table(_FINDING, rows)


def _cells(finding: ReportedFinding | None, files: str) -> str:
    if finding is None:
        return ""
    return ", ".join(dict.fromkeys(_cell(mark.place, files) for mark in finding.marks[:3]))


def _offsets(book: Workbook, looks: Looks, comparison: Comparison) -> None:
    columns = (
        Column("Ground of", 14, "bold"), Column("What", 18), Column("State", 14),
        Column("Average before (mV)", 10, "0.0"), Column("Average after (mV)", 10, "0.0"),
        Column("Worst before (mV)", 10, "0.0"),
        Column("Worst after (mV)", 10, "0.0"), Column("Aged before (mV)", 10, "0.0"),
        Column("Aged after (mV)", 10, "0.0"), Column("Limits (mV)", 18),
        Column("Of limit before", 9, "0 %"), Column("Of limit after", 9, "0 %"),
        Column("Weakest joint before", 30), Column("Weakest joint after", 30),
    )  # fmt: skip
    page = _Sheet(book, looks, comparison, "Offsets", [column.width for column in columns])
    rows = []
    for change in comparison.offsets:
        before, after = change.before, change.after
        for at, state in enumerate(comparison.states):
            worst = at == change.line.worst
            rows.append(
                (
                    change.line.victim[1], change.line.what, state,
                    *(_at(line.average_mv, at) if line else None for line in (before, after)),
                    *(_at(line.peak_mv, at) if line else None for line in (before, after)),
                    *(_at(line.aged_peak_mv, at) if line else None for line in (before, after)),
                    _limits(change.line), change.share_before if worst else None,
                    change.share_after if worst else None,
                    reserve_text(before) if before and worst else "", reserve_text(after) if after and worst else "",
                )
            )  # fmt: skip
    page.table(columns, rows)


def _at(values: Sequence[float], at: int) -> float | None:
    return values[at] if at < len(values) else None


def _limits(line: OffsetLine) -> str:
    limits = (line.low_limit_mv, line.high_limit_mv)
    return " … ".join("none" if limit is None else figures(limit, 4) for limit in limits)


_SIZE = (
    Column("Size", 16, "bold"), Column("Wires before", 12, "0"), Column("Wires after", 12, "0"),
    Column("Length before (m)", 14, "0.00"), Column("Length after (m)", 14, "0.00"),
    Column("Change (m)", 14, "+0.00;-0.00;0.00"),
)  # fmt: skip


def _sizes(book: Workbook, looks: Looks, comparison: Comparison) -> None:
    page = _Sheet(book, looks, comparison, "Sizes", [column.width for column in _SIZE])
    page.table(
        _SIZE,
        (
            (each.size, each.wires_before, each.wires_after, each.before_m, each.after_m, each.after_m - each.before_m)
            for each in comparison.sizes
        ),
    )
