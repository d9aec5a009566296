"""The report as one page: verdict, findings by cause, the ground diagram, offsets, sizes, wires, coverage.

The page fetches nothing and says so in its content security policy; its one script is allowed by its hash.
"""

from __future__ import annotations

import base64
import hashlib
import math
import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import jinja2
from markupsafe import Markup, escape

from harnessdrc.diagram import Diagram
from harnessdrc.findings import GRADES, Grade, Mark, figures, unit_sign
from harnessdrc.render.console import summary_line
from harnessdrc.render.console_cells import cells_text
from harnessdrc.render.finding_text import root_of, with_figures
from harnessdrc.render.induction import FIRM, LOOK_FOR, area_text, drawable, margin_text, settings_text, times_text
from harnessdrc.render.lines import counted, visible
from harnessdrc.render.offsets import error_text, limits_text, mv_text, share_of_limit, shares_text
from harnessdrc.render.proposals import effect_text, measured_range_text
from harnessdrc.render.report.data import cell_text, cut, data_json, effect_words, wire_figures
from harnessdrc.render.report.drawing import drawn_view, sheet_of, strips_of
from harnessdrc.render.sizing import (
    CAUTION_TEXT,
    STANDING_WORDS,
    ampere_text,
    fuse_known,
    fuse_load,
    needs_size_text,
    order_of_need,
    percent_text,
    standing_of_size,
    surely_tight,
    tight_by,
)
from harnessdrc.results import OffsetLine, ReportedFinding, Result
from harnessdrc.wiring import WireLine, Wiring

__all__ = ["report_html"]

_HERE = Path(__file__).parent
_WIRES_IN_ONE = 300
"""Wires of one part of the wire table; the first part is open."""
_OPEN_OF_A_RULE = 12
"""Findings of one rule that are open from the start; the others open on demand."""
_LONG_WORD = re.compile(r"\S{24}(?=\S)")
_TITLES: dict[Grade, tuple[str, str]] = {
    "hold": ("On hold", "do not build until these are settled"),
    "query": ("Queries", "for the engineer to answer"),
    "note": ("Notes", ""),
}
_LINES_OF_A_TABLE = 200
"""Rows of a table of figures; what is beyond stands in the redline, and the page says so."""


class _Told(NamedTuple):
    """A finding with those that follow from it."""

    finding: ReportedFinding
    number: int
    cells: str
    wires: tuple[int, ...]
    followers: tuple[ReportedFinding, ...]


class _Rule(NamedTuple):
    rule: str
    first: list[_Told]
    rest: list[_Told]


def report_html(
    result: Result, diagram: Diagram, wiring: Wiring, name: str, plots: bool = True, redline: str = ""
) -> str:
    """The report of a run as one HTML document.

    Parameters
    ----------
    result : Result
        What was looked at, found and left undecided.
    diagram : Diagram
        The ground diagram; without boxes its `left_out` stands in its place.
    wiring : Wiring
        Wires of the list.
    name : str
        Of the list.
    plots : bool
        Whether to draw offsets, margins and sizes; the plotting library takes most of the time.
    redline : str
        Name of the marked-up copy that stands beside the report; empty for none.

    Returns
    -------
    str
        The same for the same input. Every text of the list is escaped, and nothing is loaded from anywhere.
    """
    wire_at = {wire.name: at for at, wire in enumerate(wiring.wires)}
    script = (_HERE / "report.js").read_text(encoding="utf-8")
    one_file = len({source.file for source in result.sources}) == 1
    first = diagram.views[0] if diagram.views and diagram.nodes else None
    sheet = sheet_of(diagram, first) if first else None
    return _template().render(
        result=result,
        name=Markup(escape(cut(name))),
        redline=redline,
        summary=summary_line(result),
        verdict=_verdict(result),
        counts=[(_TITLES[grade][0], grade, result.count(grade)) for grade in GRADES],
        accepted=[one for one in result.findings if one.concession is not None],
        grades=list(_by_grade(result, wiring, one_file)),
        state=(diagram.states or [state.name for state in result.network.states] or [""])[0],
        diagram=diagram,
        view=first,
        sheet=sheet,
        drawing=drawn_view(diagram, sheet, 0) if sheet else "",
        strips=strips_of(sheet) if sheet else [],
        offsets=list(_offsets(result)),
        triggers=result.induction.triggers[:_LINES_OF_A_TABLE],
        loops=result.induction.loops[:_LINES_OF_A_TABLE],
        sizes=_sizes(result),
        fuses=result.sizing.fuses[:_LINES_OF_A_TABLE],
        most=_LINES_OF_A_TABLE,
        plots=_plots(result, name) if plots else {},
        wire_parts=list(_wire_parts(result, wiring)),
        wire_names=[wire.name for wire in wiring.wires],
        one_file=one_file,
        css=Markup((_HERE / "report.css").read_text(encoding="utf-8")),
        js=Markup(script),
        js_hash=Markup(base64.b64encode(hashlib.sha256(script.encode("utf-8")).digest()).decode("ascii")),
        data=Markup(data_json(result, diagram, wiring, wire_at)),
    )


def _verdict(result: Result) -> str:
    """What the whole comes to, in one sentence; never that a loom is without danger."""
    crashed = [rule.rule for rule in result.rules if rule.crashed]
    if crashed:
        return f"Not known: {counted(len(crashed), 'rule')} failed to run."
    holds = result.count("hold")
    if holds:
        return f"On hold: {counted(holds, 'finding')} to settle before a wire is cut."
    undecided = sum(1 for one in result.undecided if one.grade == "hold")
    if undecided:
        return f"Nothing found on hold, but {counted(undecided, 'matter')} on hold could not be decided."
    return "Nothing found on hold. That is no proof: measure on the bench."


# --- findings -----------------------------------------------------------------------------------------


def _by_grade(result: Result, wiring: Wiring, one_file: bool) -> Iterable[tuple[Grade, str, str, int, list[_Rule]]]:
    still_open = [finding for finding in result.findings if finding.concession is None]
    causes = {finding.thumbprint: finding.follows_from for finding in still_open}
    followers: dict[str, list[ReportedFinding]] = defaultdict(list)
    heads = []
    for finding in still_open:
        root = root_of(finding.thumbprint, causes)
        if root == finding.thumbprint:
            heads.append(finding)
        else:
            followers[root].append(finding)
    number = {finding.thumbprint: at for at, finding in enumerate(result.findings)}
    rows = {_row(wire.mark): at for at, wire in enumerate(wiring.wires)}
    for grade in GRADES:
        rules: dict[str, list[_Told]] = {}
        for finding in heads:
            if finding.grade == grade:
                at = dict.fromkeys(rows[row] for mark in finding.marks if (row := _row(mark)) in rows)
                rules.setdefault(finding.rule, []).append(_Told(
                    finding, number[finding.thumbprint], cells_text([mark.place for mark in finding.marks], one_file),
                    tuple(at)[:8], tuple(followers[finding.thumbprint]),
                ))  # fmt: skip
        total = sum(1 for finding in still_open if finding.grade == grade)
        if total:
            told = [_Rule(rule, some[:_OPEN_OF_A_RULE], some[_OPEN_OF_A_RULE:]) for rule, some in rules.items()]
            yield grade, *_TITLES[grade], total, told


def _row(mark: Mark) -> tuple[str, str, str]:
    place = mark.place
    return place.file, place.sheet, re.sub(r"\D", "", place.cell)


# --- figures ------------------------------------------------------------------------------------------


def _offsets(result: Result) -> Iterable[tuple[OffsetLine, str, list[tuple[str, str, bool]], str, str, str]]:
    """Each ground: limits, offset per state new and aged and whether it is over, worst share, parts, reading."""
    for line in result.network.offsets[:_LINES_OF_A_TABLE]:
        cells = []
        for new, aged in zip(line.peak_mv, line.aged_peak_mv, strict=True):
            shares = [share for mv in (new, aged) if (share := share_of_limit(line, mv)) is not None]
            cells.append((mv_text(new), mv_text(aged), any(share >= 1 for share in shares)))
        worst = line.worst
        known = [
            share
            for mv in (line.peak_mv[worst], line.aged_peak_mv[worst])
            if (share := share_of_limit(line, mv)) is not None
        ] if worst < len(line.peak_mv) else []  # fmt: skip
        parts = shares_text(line.shares[worst]) if worst < len(line.shares) else ""
        yield line, limits_text(line), cells, percent_text(max(known, default=None)), parts, error_text(line)


def _sizes(result: Result) -> list[tuple[Any, str, str]]:
    """Wires in the order of need with how each stands and the size it needs; those of interest, then others."""
    wires = result.sizing.wires
    lines = []
    for at in order_of_need(wires)[:_LINES_OF_A_TABLE]:
        lines.append((wires[at], STANDING_WORDS[standing_of_size(wires[at])], needs_size_text(wires[at])))
    return lines


def _wire_parts(result: Result, wiring: Wiring) -> Iterable[tuple[str, list[tuple[int, WireLine, Any]]]]:
    """The wire table in parts; each wire with its row and its figures in the first state."""
    figures_of = wire_figures(result)
    wires = wiring.wires
    for start in range(0, len(wires), _WIRES_IN_ONE):
        some = wires[start : start + _WIRES_IN_ONE]
        title = f"Wires {start + 1:,} to {start + len(some):,}: {cut(some[0].name)} to {cut(some[-1].name)}"
        yield title, [(start + at, wire, figures_of.get(wire.name)) for at, wire in enumerate(some)]


_PROLOGUE = re.compile(r"^.*?(?=<svg)", re.DOTALL)
_METADATA = re.compile(r"<metadata>.*?</metadata>", re.DOTALL)


def _plots(result: Result, name: str) -> dict[str, Markup]:
    """Pictures as elements of the page, by the section they stand in."""
    found: dict[str, Markup] = {}
    from harnessdrc.render.plots.offsets import has_offsets, offsets_svg

    if has_offsets(result.network):
        found["offsets"] = _inlined(offsets_svg(result.network, name), "Ground offsets per state with their shares")
    if any(map(drawable, result.induction.triggers)):
        from harnessdrc.render.plots.margin import margin_svg

        found["margin"] = _inlined(margin_svg(result.induction.triggers, name), "Margin of triggers against speed")
    from harnessdrc.render.plots.sizes import has_sizes, sizes_svg

    if has_sizes(result.sizing.wires):
        found["sizes"] = _inlined(sizes_svg(result.sizing.wires, name), "Wire sizes as listed against those needed")
    return found


def _inlined(svg: str, label: str) -> Markup:
    """An SVG document as an element: without its prologue, which names addresses, and with a name."""
    body = _METADATA.sub("", _PROLOGUE.sub("", svg, count=1), count=1)
    return Markup(body.replace("<svg", f'<svg role="img" aria-label="{label}"', 1))


# --- the page -----------------------------------------------------------------------------------------


def _shown(value: Any) -> Any:
    """What goes on the page: texts without control characters, cut, with places to break long words at."""
    if not isinstance(value, str) or isinstance(value, Markup):
        return value
    text = cut(value)
    if _LONG_WORD.search(text) is None:
        return text
    return Markup("<wbr>").join(_LONG_WORD.sub(lambda word: word[0] + "\0", text).split("\0"))


def _attribute(text: str) -> Markup:
    """A text within an attribute, where no places to break can be."""
    return Markup(escape(cut(text)))


def _number(value: float | None, digits: int = 3) -> str:
    if value is None or math.isnan(value):
        return ""
    return "no end" if math.isinf(value) else figures(value, digits)


def _with_unit(value: float | None, unit: str) -> str:
    return "" if value is None else f"{_number(value, 4)} {unit_sign(unit)}".rstrip()


def _cells(marks: Sequence[Mark], one_file: bool) -> str:
    return cells_text([mark.place for mark in marks], one_file)


@cache
def _template() -> jinja2.Template:
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(_HERE), autoescape=True, trim_blocks=True, lstrip_blocks=True,
        undefined=jinja2.StrictUndefined, finalize=_shown,
    )  # fmt: skip
    environment.filters |= {
        "counted": counted, "with_figures": with_figures, "effect": effect_text, "range_of": measured_range_text,
        "ampere": ampere_text, "percent": percent_text, "num": _number, "with_unit": _with_unit, "cells": _cells,
        "cell": cell_text, "path_effect": effect_words, "area": area_text, "margin": margin_text,
        "settings": settings_text, "attribute": _attribute, "fuse_load": fuse_load, "visible": visible,
    }  # fmt: skip
    environment.globals |= {
        "times": times_text, "tight": tight_by, "surely_tight": surely_tight, "fuse_known": fuse_known,
        "firm": FIRM, "look_for": LOOK_FOR, "sizing_caution": CAUTION_TEXT,
    }  # fmt: skip
    return environment.get_template("report.html")
