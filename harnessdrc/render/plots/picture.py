"""What all pictures share: a clean plotting library, text of a list made fit, inks.

Drawn for black and white first. The plotting library is loaded when a picture is made, and none of its global state
is touched: no window system, no settings of the user, no clock.
"""

from __future__ import annotations

import contextlib
import io
import logging
import re
import warnings
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

from harnessdrc.render.lines import visible

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["GRID", "INK", "drawn_svg", "plain"]

INK, GRID = "#1f2a33", "#d9dfe3"
_NOT_XML = re.compile("[\ufffe\uffff]")
_SETTINGS: dict[str, Any] = {
    "svg.fonttype": "none",
    "font.family": ["DejaVu Sans"],
    "font.size": 8.5,
    "text.usetex": False,
    "text.parse_math": False,
    "axes.unicode_minus": True,
    "hatch.linewidth": 0.4,
    "path.simplify": False,
}
_NOT_OURS = ("backend", "interactive", "toolbar", "webagg", "timezone", "date.", "savefig.dir")


def plain(text: str, most: int = 160) -> str:
    """Text of a list as one line that XML can hold, cut to what there is room for."""
    text = _NOT_XML.sub("\ufffd", visible(text))
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def drawn_svg(width_in: float, height_in: float, title: str, name: str, draw: Callable[[Figure], None]) -> str:
    """Draw a figure and give it as an SVG document with its text as text.

    Parameters
    ----------
    width_in, height_in : float
        Of the figure, inch.
    title : str
        For the document's metadata.
    name : str
        Of the kind of picture: names within the document are made from it, the same each time.
    draw : callable
        Draws into the figure it is given.

    Returns
    -------
    str
        The same for the same drawing and version of the plotting library.
    """
    with _quiet():
        import matplotlib
        from matplotlib.backends.backend_svg import FigureCanvasSVG
        from matplotlib.figure import Figure

        known = set(matplotlib.rcParams)
        settings = {**_SETTINGS, "svg.hashsalt": f"harnessdrc {name}", "svg.id": name}
        # the user's own settings must not change the picture; the backend is none of ours
        standard = {
            setting: value
            for setting, value in matplotlib.rcParamsDefault.items()
            if not setting.startswith(_NOT_OURS)
        }  # fmt: skip
        ours = {setting: value for setting, value in settings.items() if setting in known}
        with matplotlib.rc_context({**standard, **ours}):
            figure = Figure(figsize=(width_in, height_in))
            FigureCanvasSVG(figure)
            draw(figure)
            out = io.StringIO()
            figure.savefig(out, format="svg", metadata={"Date": None, "Creator": "harnessdrc", "Title": plain(title)})
    return out.getvalue()


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    """No word about fonts or caches on the terminal: letters are written as text, whatever font has them."""
    logger = logging.getLogger("matplotlib")
    before = logger.level
    logger.setLevel(logging.CRITICAL)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    finally:
        logger.setLevel(before)
