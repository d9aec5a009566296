"""Sheets that are filled in at the bench and given back to ``check --measured``.

Their headings are those that the tables of measurements are known by, and each says which issue of the list it was
made for.
"""

from __future__ import annotations

from xlsxwriter.workbook import Workbook

from harnessdrc.papers import Papers
from harnessdrc.render.papers.sheets import TICK, Column, Looks, Page

__all__ = ["add_test_sheets"]


def add_test_sheets(book: Workbook, looks: Looks, papers: Papers) -> None:
    """Add the sheets of continuity, isolation, first power-on and voltages, those that have a line."""
    if papers.continuity:
        _continuity(book, looks, papers)
    if papers.isolation:
        _isolation(book, looks, papers)
    if papers.power_on:
        _power_on(book, looks, papers)
    if papers.voltages:
        _voltages(book, looks, papers)


def _to_write(page: Page, columns: int) -> None:
    """The cautions and who measured what with what."""
    page.paragraph(
        "Fill in the thick-framed cells and run 'harnessdrc check LIST --measured FILE'. Another unit may stand in the "
        "cell; OL and > 500 are understood.",
        columns, 2,
    )  # fmt: skip
    page.paragraph("Serial number:                    Tested by, date:                    Meter:", columns, 2, bottom=1)


_ROOM = 26.0
"""Height of a row that is written in by hand, points."""

_CONTINUITY = (
    Column("Test", 6), Column("Wire", 10, "bold"), Column("Between", 14), Column("And", 14), Column("Size", 9),
    Column("Length (mm)", 8, "0"), Column("Leads", 6), Column("Expected (mΩ)", 9, "0.00"),
    Column("Passes from (mΩ)", 9, "0.00"), Column("Passes to (mΩ)", 9, "0.00"),
    Column("Measured (mΩ)", 12, "write"), Column("Verdict", 8), Column("Note", 14),
)  # fmt: skip


def _continuity(book: Workbook, looks: Looks, papers: Papers) -> None:
    page = Page(book, looks, papers, "Test continuity", [c.width for c in _CONTINUITY], wide=True)
    page.paragraph(
        f"Battery off, loom unplugged, probes on the terminals; at a splice on its bare crimp, before it is covered. "
        f"Expected values hold at {papers.test_degc:g} °C.",
        len(_CONTINUITY),
    )
    _to_write(page, len(_CONTINUITY))
    page.head(_CONTINUITY, repeat=True)
    for line in papers.continuity:
        values = (
            line.test, line.wire, line.a, line.b, line.size, line.length_mm, "four" if line.four_wire else "two",
            line.expected_mohm, line.low_mohm, line.high_mohm, line.measured_mohm, line.verdict,
            f"▲ {', '.join(line.lacking)}" if line.lacking else None,
        )  # fmt: skip
        page.line(_CONTINUITY, values, height=_ROOM)


_ISOLATION = (
    Column("Test", 6), Column("Between", 14, "bold"), Column("And", 14, "bold"), Column("First net", 16),
    Column("Second net", 16), Column("Why these", 18), Column("At least (MΩ)", 8, "0.##"),
    Column("Measured (MΩ)", 12, "write"), Column("Verdict", 8),
)  # fmt: skip


def _isolation(book: Workbook, looks: Looks, papers: Papers) -> None:
    page = Page(book, looks, papers, "Test isolation", [c.width for c in _ISOLATION], wide=True)
    page.paragraph(
        "Everything unplugged, isolator off, fuses and relays out, ground rings joined: on their studs or by a clip.",
        len(_ISOLATION),
    )
    _to_write(page, len(_ISOLATION))
    page.head(_ISOLATION, repeat=True)
    for line in papers.isolation:
        measured: float | str | None = None if line.measured_ohm is None else line.measured_ohm / 1e6
        if line.above and line.measured_ohm is not None:
            measured = f"> {line.measured_ohm / 1e6:g}"
        values = (
            line.test, line.a, line.b, line.a_net, line.b_net, line.why, line.least_ohm / 1e6, measured, line.verdict,
        )  # fmt: skip
        page.line(_ISOLATION, values, height=_ROOM)


_STEPS = (
    Column("", 4, "tick"), Column("Step", 6, "big"), Column("Do", 36), Column("Must be seen", 28),
    Column("If not", 28), Column("Seen", 14, "write"),
)  # fmt: skip


def _power_on(book: Workbook, looks: Looks, papers: Papers) -> None:
    page = Page(book, looks, papers, "First power-on", [c.width for c in _STEPS], wide=True)
    page.head(_STEPS, repeat=True)
    for step in papers.power_on:
        page.line(_STEPS, (TICK, step.number, step.do, step.see, step.else_do, None))


_VOLTAGES = (
    Column("Test", 6), Column("What", 14), Column("State", 10, "bold"), Column("Red lead", 15, "bold"),
    Column("Black lead", 15, "bold"), Column("Expected (mV)", 9, "0.0"), Column("Passes from (mV)", 9, "0"),
    Column("Passes to (mV)", 9, "0"), Column("Measured (mV)", 12, "write"), Column("Verdict", 8),
    Column("Limit from", 18),
)  # fmt: skip


def _voltages(book: Workbook, looks: Looks, papers: Papers) -> None:
    page = Page(book, looks, papers, "Test voltages", [c.width for c in _VOLTAGES], wide=True)
    text = "Engine cranking or running as the state says; leads on bare metal, not on the bolt."
    page.paragraph(text, len(_VOLTAGES))
    _to_write(page, len(_VOLTAGES))
    page.head(_VOLTAGES, repeat=True)
    for line in papers.voltages:
        values = (
            line.test, line.what, line.state, line.red, line.black, line.expected_mv, line.low_mv, line.high_mv,
            line.measured_mv, line.verdict, line.limit_from,
        )  # fmt: skip
        page.line(_VOLTAGES, values, height=_ROOM)
