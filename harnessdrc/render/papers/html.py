"""Papers for the bench as one page for the printer: A4, no scripts, nothing from elsewhere."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import Any

import jinja2
from markupsafe import Markup, escape

from harnessdrc.papers import CutLine, Papers
from harnessdrc.render.lines import counted, visible
from harnessdrc.render.papers import figures
from harnessdrc.render.papers.codes import QUIET, code_path

__all__ = ["papers_html"]

_LONG_WORD = re.compile(r"\S{20}(?=\S)")
"""As much of a word as fits a narrow column."""


def papers_html(papers: Papers) -> str:
    """All papers as one HTML document.

    Parameters
    ----------
    papers : Papers
        What to print.

    Returns
    -------
    str
        The document; every text of the list is escaped, and nothing is loaded from anywhere.
    """
    return _template().render(
        papers=papers,
        title=Markup(escape(visible(papers.name))),  # no places to break in a title
        cut_by_cable=list(_by_cable(papers)),
        lettering=_lettering(papers),
        foot=_css_text(f"{papers.name}  ·  issue of the list {papers.issue_mark}"),
    )


def _by_cable(papers: Papers) -> Iterator[tuple[CutLine, list[CutLine]]]:
    """Lines of the cut list, cable by cable, in the cutting order."""
    for _, lines in groupby(papers.cut, key=lambda line: (line.size, line.insulation, line.colour)):
        same = list(lines)
        yield same[0], same


def _lettering(papers: Papers) -> list[tuple[str, str, str]]:
    """The papers there are: anchor, title, what is on it."""
    measured = len(papers.continuity) + len(papers.isolation) + len(papers.voltages)
    listed = (
        ("cut", "Cut list", papers.cut and counted(len(papers.cut), "wire")),
        ("connectors", "Connectors", papers.connectors and counted(len(papers.connectors), "connector")),
        ("splices", "Splices", papers.splices and counted(len(papers.splices), "splice")),
        ("labels", "Labels", papers.labels and counted(len(papers.labels), "label")),
        (
            "parts",
            "Parts and cable",
            (papers.parts or papers.cables)
            and f"{counted(len(papers.parts), 'part')}, {counted(len(papers.cables), 'cable')}",
        ),
        ("test", "Test sheet", (measured or papers.power_on) and counted(measured, "measurement")),
    )
    return [(anchor, title, what) for anchor, title, what in listed if what]


def _swatch(colours: tuple[str, ...]) -> Markup:
    """A patch of the wire's colour: the base, and the tracer as a stripe."""
    if not colours:
        return Markup("")
    base, stripe = colours[0], colours[1] if len(colours) > 1 else colours[0]
    fill = base if base == stripe else f"linear-gradient(to bottom,{base} 32%,{stripe} 32% 68%,{base} 68%)"
    return Markup('<i class="swatch" style="background:{}"></i>').format(fill)


def _code(text: str) -> Markup:
    modules, path = code_path(text)
    side = modules + 2 * QUIET
    return Markup(
        '<svg class="code" viewBox="{} {} {} {}" shape-rendering="crispEdges" role="img" aria-label="{}">'
        '<path d="{}"/></svg>'
    ).format(-QUIET, -QUIET, side, side, f"code: {visible(text)}", path)


def _css_text(text: str) -> Markup:
    """Text for a string in the style sheet, whatever characters are in it."""
    return Markup("".join(c if c.isalnum() and c.isascii() else f"\\{ord(c):06x}" for c in visible(text)))


def _shown(value: Any) -> Any:
    """What goes on the page: texts without control characters and with places to break long words at."""
    if not isinstance(value, str) or isinstance(value, Markup):
        return value
    text = visible(value)
    if _LONG_WORD.search(text) is None:
        return text
    return Markup("<wbr>").join(_LONG_WORD.sub(lambda word: word[0] + "\0", text).split("\0"))


@cache
def _template() -> jinja2.Template:
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(Path(__file__).parent),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
        finalize=_shown,
    )
    environment.filters |= {name: getattr(figures, name) for name in figures.__all__}
    environment.filters |= {"swatch": _swatch, "code": _code, "counted": counted}
    return environment.get_template("papers.html")
