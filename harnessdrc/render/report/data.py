"""What the page's script works with: diagram, wires and findings as compact JSON."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from typing import Any

from harnessdrc.diagram import Diagram, PathEffect
from harnessdrc.findings import Mark
from harnessdrc.render.lines import visible
from harnessdrc.render.offsets import mv_text
from harnessdrc.render.report.drawing import edge_words, flags_text, sheet_of
from harnessdrc.results import Result
from harnessdrc.wiring import Wiring

__all__ = ["MOST_LETTERS", "cell_text", "cut", "data_json", "effect_words", "wire_figures"]

MOST_LETTERS = 600
"""Letters of one text of the list that the page shows; what is longer is no name."""
_FINDINGS_OF_ONE = 20


def cut(text: str) -> str:
    """A text of the list in one line, cut to a length that can be read."""
    text = visible(text)
    return text if len(text) <= MOST_LETTERS else text[: MOST_LETTERS - 1] + "…"


def cell_text(mark: Mark | None) -> str:
    """Where something stands: file, sheet, cell."""
    return "" if mark is None else cut(str(mark.place))


def effect_words(effect: PathEffect) -> str:
    """What falls in a path: ``IAT, temperature reading: -10.5 mV of -51 mV in full load, by injectors, FAN``."""
    by = f", by {', '.join(map(cut, effect.by[:6]))}" if effect.by else ""
    return (
        f"{cut(effect.victim[1])}, {effect.what}: {mv_text(effect.mv)} of {mv_text(effect.limit_mv)} mV "
        f"in {effect.state}{by}"
    )


def wire_figures(result: Result) -> dict[str, tuple[list[float], list[float], list[float]]]:
    """Average and greatest current, A, and average drop, mV, per state of each wire of the network."""
    network = result.network
    if not len(network.wires):
        return {}
    columns = [_rounded_columns(array) for array in (network.average_a, network.peak_a, network.average_drop_mv)]
    return {name: (columns[0][at], columns[1][at], columns[2][at]) for at, name in enumerate(network.wires)}


def _rounded_columns(array: Any) -> list[list[float]]:
    return [[_rounded(value) for value in column] for column in array.T.tolist()]


def _rounded(value: float | None) -> float:
    """Three figures, what cannot be told as 0: JSON knows no infinity."""
    if value is None or not math.isfinite(value) or abs(value) < 5e-5:
        return 0
    short = float(f"{value:.3g}")
    return int(short) if short == int(short) else short


def _all(values: Sequence[float]) -> list[float]:
    return [_rounded(value) for value in values]


def data_json(result: Result, diagram: Diagram, wiring: Wiring, wire_at: Mapping[str, int]) -> str:
    """The data as JSON that can stand within a page: no letter in it that could end its element.

    Parameters
    ----------
    result, diagram, wiring
        As `harnessdrc.render.report.html.report_html`.
    wire_at : mapping of str to int
        Row in the wire table of each wire's name.
    """
    number = {finding.thumbprint: at for at, finding in enumerate(result.findings)}

    def findings(prints: Sequence[str]) -> list[int]:
        return [number[one] for one in prints[:_FINDINGS_OF_ONE] if one in number]

    figures = wire_figures(result)
    data: dict[str, Any] = {
        "states": [cut(state) for state in diagram.states or [state.name for state in result.network.states]],
        "nodes": [
            [cut(n.label), cut(n.kind), n.zone, cut(n.body or ""), cut(n.note), cell_text(n.mark),
             [[cut(p.name), _rounded(p.resistance_mohm), _all(p.average_a), _all(p.peak_a), _all(p.drop_mv)]
              for p in n.parts],
             findings(n.findings)]
            for n in diagram.nodes
        ],
        "edges": [
            [cut(e.name), e.kind, e.side, e.a, e.b, cut(e.a_pin), cut(e.b_pin),
             wire_at.get(e.wire, -1) if e.wire is not None else -1, cell_text(e.mark),
             None if e.resistance_mohm is None else _rounded(e.resistance_mohm),
             _all(e.average_a), _all(e.peak_a), _all(e.drop_mv), [cut(one) for one in e.shared_by[:12]],
             [effect_words(one) for one in e.effects], list(e.loops), findings(e.findings),
             edge_words(e), flags_text(e)]
            for e in diagram.edges
        ],
        "loops": [
            [loop.kind, cut(loop.label), list(loop.edges), list(loop.nodes), list(map(effect_words, loop.effects))]
            for loop in diagram.loops
        ],
        "views": [],
        "wires": [
            [cut(w.name), cut(w.from_item), cut(w.from_cavity), cut(w.to_item), cut(w.to_cavity), cut(w.colour),
             cut(w.size), cut(w.signal), list(w.nets), cell_text(w.mark), figures.get(w.name)]
            for w in wiring.wires
        ],
        "nets": [cut(name) for name in wiring.nets],
        "findings": [[one.grade, cut(one.message), cut(one.rule)] for one in result.findings],
    }  # fmt: skip
    for view in diagram.views:
        sheet = sheet_of(diagram, view)
        data["views"].append([
            cut(view.title), view.kind, sheet.width, sheet.height, [list(node) for node in sheet.nodes],
            [[edge, [value for point in points for value in point]] for edge, points in sheet.edges],
            [list(label) for label in sheet.labels],
        ])  # fmt: skip
    text = json.dumps(data, ensure_ascii=True, separators=(",", ":"), allow_nan=False)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
