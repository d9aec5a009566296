"""Papers for the bench as a workbook: one sheet a paper, set up for A4."""

from __future__ import annotations

import datetime as dt
from io import BytesIO
from itertools import zip_longest

import xlsxwriter
from xlsxwriter.workbook import Workbook

from harnessdrc.papers import ConnectorSheet, CutLine, Papers, SpliceSheet
from harnessdrc.render.lines import counted
from harnessdrc.render.papers import figures
from harnessdrc.render.papers.codes import code_png
from harnessdrc.render.papers.fill_in import add_test_sheets
from harnessdrc.render.papers.sheets import TICK, Column, Looks, Page, patches, plain

__all__ = ["papers_workbook"]

_MOST_CODES = 1000
"""Pictures of codes that a workbook still opens with at once; the pages for the printer have them all."""

_CLOCKLESS = dt.datetime(2024, 1, 1)
"""No clock in the outputs: the same list gives the same bytes."""

_PLAIN = {
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
    "in_memory": True,
}


def papers_workbook(papers: Papers) -> bytes:
    """All papers as a workbook.

    Parameters
    ----------
    papers : Papers
        What to write.

    Returns
    -------
    bytes
        An xlsx file; every text of the list is text in it, never a formula or a link.
    """
    out = BytesIO()
    book = xlsxwriter.Workbook(out, _PLAIN)
    book.set_properties({"title": plain(f"{papers.name}: papers for the bench")[:255], "created": _CLOCKLESS})
    looks = Looks(book)
    _first_page(book, looks, papers)
    if papers.cut:
        _cut_list(book, looks, papers)
    if papers.connectors:
        _connectors(book, looks, papers)
    if papers.splices:
        _splices(book, looks, papers)
    if papers.labels:
        _labels(book, looks, papers)
    if papers.parts:
        _parts(book, looks, papers)
    if papers.cables:
        _cables(book, looks, papers)
    add_test_sheets(book, looks, papers)
    book.close()
    return out.getvalue()


def _first_page(book: Workbook, looks: Looks, papers: Papers) -> None:
    page = Page(book, looks, papers, "First page", (24, 24, 24, 24))
    columns, totals = 4, papers.totals
    files = ", ".join(f"{source.file} (SHA-256 {source.sha256[:16]}…)" for source in papers.sources)
    page.paragraph(f"Made from {files}.", columns, 2)
    page.paragraph(f"Checked against {papers.ruleset}, by harnessdrc {papers.version}.", columns)
    found = ", ".join(
        (
            counted(papers.on_hold, "finding on hold", "findings on hold"),
            counted(papers.queries, "query", "queries"),
            counted(papers.undecided, "subject not decided", "subjects not decided"),
        )
    )
    page.paragraph(f"The rules say: {found}.", columns, bold=True)
    page.row += 1
    if papers.on_hold:
        text = "ON HOLD: do not build from these papers until what is on hold is settled; the redline says which."
        page.paragraph(text, columns, 2, bold=True, font_size=13, border=5)
    if papers.incomplete:
        page.say("INCOMPLETE", bold=True, font_size=14)
        for sentence in papers.incomplete:
            page.paragraph(f"▲ {sentence}", columns, 1 + len(sentence) // 85, border=1)
    else:
        text = "Nothing is missing in these papers. That is not proof that the loom is right: see the cautions below."
        page.paragraph(text, columns, 2)
    page.row += 1
    rows = [
        ("Wires", float(totals.wires), "0"), ("Length to cut (m)", totals.length_m, "0.00"),
        ("Copper (kg)", totals.copper_kg, "0.000"), ("Cable, estimated (kg)", totals.cable_kg, "0.000"),
        ("Connectors", float(totals.connectors), "0"), ("Splices", float(totals.splices), "0"),
        ("Wires not in these sums: no length or size", float(totals.unknown), "0"),
    ]  # fmt: skip
    for what, value, look in rows:
        page.line((Column("", 24), Column("", 24, look)), (what, value))
    page.row += 1
    page.say("CAUTION", bold=True, font_size=14)
    for caution in papers.cautions:
        page.paragraph(f"• {caution}", columns, 1 + len(caution) // 85)


_CUT = (
    Column("Cut", 4, "tick"), Column("Fitted", 5, "tick"), Column("No.", 5, "0"), Column("Wire", 9, "bold"),
    Column("Cut to (mm)", 8, "big"), Column("Size", 9), Column("Colour", 7, "bold"), Column("", 2.5), Column("", 2.5),
    Column("Insulation", 9), Column("From", 12, "bold"), Column("Terminal, seal", 11), Column("Strip (mm)", 6, "0.0"),
    Column("To", 12, "bold"), Column("Terminal, seal", 11), Column("Strip (mm)", 6, "0.0"),
    Column("Work, branch, note", 22),
)  # fmt: skip


def _cut_list(book: Workbook, looks: Looks, papers: Papers) -> None:
    page = Page(book, looks, papers, "Cut list", [c.width for c in _CUT], wide=True)
    page.head(_CUT, repeat=True)
    for line in papers.cut:
        ends = [
            part
            for end in (line.a, line.b)
            for part in (end.where or "?", ", ".join(filter(None, (end.terminal, end.seal))), end.strip_mm)
        ]
        values = (
            TICK, TICK, line.order, line.wire, "?" if line.cut_mm is None else line.cut_mm, line.size, line.colour,
            None, None, line.insulation, *ends, _further(line),
        )  # fmt: skip
        page.line(_CUT, values, patches(line.swatch, 7))


def _further(line: CutLine) -> str:
    said = [*line.work, line.branch, f"only with {line.option}" if line.option else "", line.note]
    if line.lacking:
        said.append(f"▲ {', '.join(line.lacking)}")
    return "; ".join(filter(None, said))


_CONNECTOR = (
    Column("", 4, "tick"), Column("Cavity", 7, "bold"), Column("Wire", 9, "bold"), Column("Colour", 7, "bold"),
    Column("", 2.5), Column("", 2.5), Column("Size", 8), Column("Signal", 17), Column("Terminal", 11),
    Column("Seal, plug", 10), Column("To", 15),
)  # fmt: skip


def _connectors(book: Workbook, looks: Looks, papers: Papers) -> None:
    page = Page(book, looks, papers, "Connectors", [c.width for c in _CONNECTOR])
    for connector in papers.connectors:
        page.row += 1
        page.say(f"{TICK} {connector.name}", bold=True, font_size=16)
        if about := _about(connector):
            page.say(about)
        if connector.lacking:
            page.say(f"▲ {', '.join(connector.lacking)}", bold=True)
        page.head(_CONNECTOR)
        for line in connector.cavities:
            told = line.state not in ("wired", "plug", "empty")
            values = (
                TICK, line.cavity, " + ".join(line.wires) or line.state, line.colour, None, None, line.size,
                line.signal, line.terminal, line.seal, f"{line.to} ▲ {line.state}" if told else line.to,
            )  # fmt: skip
            page.line(_CONNECTOR, values, patches(line.swatches[0], 4) if line.swatches else ())


def _about(connector: ConnectorSheet) -> str:
    said = (
        f"of {connector.component}" if connector.component not in ("", connector.name) else "", connector.kind,
        connector.part, f"mates with {connector.mate}" if connector.mate else "",
        f"strain relief: {connector.strain_relief}" if connector.strain_relief else "",
    )  # fmt: skip
    return ", ".join(filter(None, said))


_SPLICE = (
    Column("", 4, "tick"), Column("Wire", 10, "bold"), Column("Colour", 7, "bold"), Column("", 2.5), Column("", 2.5),
    Column("Size", 10), Column("Copper (mm²)", 9, "0.00"), Column("Leaves towards", 14), Column("To", 20),
)  # fmt: skip


def _splices(book: Workbook, looks: Looks, papers: Papers) -> None:
    page = Page(book, looks, papers, "Splices", [c.width for c in _SPLICE])
    for splice in papers.splices:
        page.row += 1
        page.say(f"{TICK} {splice.name}", bold=True, font_size=16)
        if where := _where(splice):
            page.say(where)
        if splice.lacking:
            page.say(f"▲ {', '.join(splice.lacking)}", bold=True)
        page.head(_SPLICE)
        for wire in splice.wires:
            values = (TICK, wire.wire, wire.colour, None, None, wire.size, wire.area_mm2, wire.side, wire.to)
            page.line(_SPLICE, values, patches(wire.swatch, 3))


def _where(splice: SpliceSheet) -> str:
    said = [splice.part]
    if splice.branch:
        away = figures.millimetres(splice.distance_mm)
        said.append(f"on {splice.branch}" + (f", {away} mm from {splice.start or 'its start'}" if away else ""))
    if splice.area_mm2 is not None:
        said.append(f"{figures.square_millimetres(splice.area_mm2)} mm² of copper in all")
    return ", ".join(filter(None, said))


_LABEL_HEIGHT = 50.0
"""Of a row with a code in it, points."""

_LABEL = (
    Column("Code", 11), Column("Wire or connector", 12, "bold"), Column("End", 14), Column("Line 1", 14, "bold"),
    Column("Line 2", 16), Column("Line 3", 16), Column("Line 4", 16), Column("Code says", 20),
)  # fmt: skip


def _labels(book: Workbook, looks: Looks, papers: Papers) -> None:
    page = Page(book, looks, papers, "Labels", [c.width for c in _LABEL], wide=True)
    drawn = len({label.code for label in papers.labels}) <= _MOST_CODES
    if not drawn:
        page.say("So many codes are drawn on the pages for the printer only.")
    page.head(_LABEL, repeat=True)
    for label in papers.labels:
        if drawn:
            where = {"image_data": BytesIO(code_png(label.code)), "object_position": 1, "x_offset": 3, "y_offset": 2}
            picture = where | {"x_scale": 0.56, "y_scale": 0.56, "description": plain(label.code)}
            page.sheet.insert_image(page.row, 0, "code.png", picture)
        lines = [line or "" for _, line in zip_longest(range(4), label.lines[:4])]
        if len(label.lines) > 4:
            lines[3] = ", ".join(label.lines[3:])
        values = (None, label.subject[1], label.where, *lines, label.code)
        page.line(_LABEL, values, height=_LABEL_HEIGHT if drawn else None)


_PART = (
    Column("", 4, "tick"), Column("Part", 18, "bold"), Column("Kind", 13), Column("Family", 13),
    Column("Pieces", 7, "big"), Column("Packs", 7, "0"), Column("Where", 32),
)  # fmt: skip


def _parts(book: Workbook, looks: Looks, papers: Papers) -> None:
    page = Page(book, looks, papers, "Parts", [c.width for c in _PART])
    page.head(_PART, repeat=True)
    for part in papers.parts:
        where = ", ".join(part.where) + ("" if part.listed else " ▲ not in the parts table")
        page.line(_PART, (TICK, part.part, part.kind, part.family, part.pieces, part.packs, where.strip()))


_CABLE = (
    Column("", 4, "tick"), Column("Size", 11, "bold"), Column("Colour", 7, "bold"), Column("", 2.5), Column("", 2.5),
    Column("Insulation", 12), Column("Wires", 7, "0"), Column("Length (m)", 9, "0.00"),
    Column("Wires of unknown length", 9, "0"), Column("Reels", 7, "0"), Column("Copper (g)", 9, "0.0"),
    Column("Cable (g)", 9, "0.0"),
)  # fmt: skip


def _cables(book: Workbook, looks: Looks, papers: Papers) -> None:
    page = Page(book, looks, papers, "Cable", [c.width for c in _CABLE])
    page.head(_CABLE, repeat=True)
    for cable in papers.cables:
        values = (
            TICK, cable.size or "?", cable.colour, None, None, cable.insulation, cable.wires, cable.length_m,
            cable.unknown or None, cable.reels, cable.copper_g, cable.cable_g,
        )  # fmt: skip
        page.line(_CABLE, values, patches(cable.swatch, 3))
