"""Which parts of a large diagram have a view of their own."""

from __future__ import annotations

from collections.abc import Sequence

from harnessdrc.design.diagram.drawing import Drawing
from harnessdrc.design.diagram.views import MOST_BOXES, Choice, around_controller, around_earth, bodies_of, ways_of
from harnessdrc.diagram import DiagramEdge, DiagramLoop, DiagramNode
from harnessdrc.findings import GRADES
from harnessdrc.results import ReportedFinding

__all__ = ["choices_of"]

_MOST_OF_FINDINGS = 60
_MOST_OF_A_KIND = 100


def choices_of(
    drawing: Drawing,
    boxes: Sequence[int],
    findings: Sequence[ReportedFinding],
    nodes: Sequence[DiagramNode],
    edges: Sequence[DiagramEdge],
    loops: Sequence[DiagramLoop],
) -> tuple[list[Choice], list[str]]:
    """Views of a diagram.

    Parameters
    ----------
    drawing : Drawing
        What is drawn.
    boxes : sequence of int
        Box of each node of the diagram.
    findings : sequence of ReportedFinding
        What was found.
    nodes, edges, loops
        Of the diagram.

    Returns
    -------
    choices : list of Choice
        The whole alone where it can be read; else bodies, controllers, earth points and the causes of findings.
    untold : list of str
        What has no view of its own, one sentence each.
    """
    if len(boxes) <= MOST_BOXES:
        return [Choice("Whole loom", "whole", "", frozenset(boxes))], []
    untold: list[str] = []
    choices = _of_places(drawing, boxes, untold)
    choices += _of_findings(drawing, boxes, findings, nodes, edges, loops, untold)
    return choices, untold


def _of_places(drawing: Drawing, boxes: Sequence[int], untold: list[str]) -> list[Choice]:
    found = []
    bodies = bodies_of(drawing)
    if len(bodies) <= MOST_BOXES:
        found.append(Choice("Battery, straps and bodies", "bodies", "", bodies))
    else:
        untold.append(f"Batteries, bodies and earth points are not drawn in one: there are {len(bodies)}.")
    seen: set[frozenset[int]] = set()
    for kind, around in (("controller", around_controller), ("earth point", around_earth)):
        wanted = [n for n in boxes if drawing.boxes.all[n].kind == kind]
        for number in wanted[:_MOST_OF_A_KIND]:
            members = around(drawing, number)
            if members not in seen:
                seen.add(members)
                label = drawing.boxes.all[number].label
                found.append(Choice(f"{kind.capitalize()} {label}", kind, label, members))
        if len(wanted) > _MOST_OF_A_KIND:
            untold.append(f"Of {len(wanted)} {kind}s the first {_MOST_OF_A_KIND} have a drawing of their own.")
    return found


def _of_findings(
    drawing: Drawing,
    boxes: Sequence[int],
    findings: Sequence[ReportedFinding],
    nodes: Sequence[DiagramNode],
    edges: Sequence[DiagramEdge],
    loops: Sequence[DiagramLoop],
    untold: list[str],
) -> list[Choice]:
    """Causes, those on hold first, with the boxes that they name and the loops that these lie in."""
    named: dict[str, set[int]] = {}
    for node in nodes:
        for thumbprint in node.findings:
            named.setdefault(thumbprint, set()).add(node.id)
    for edge in edges:
        for thumbprint in edge.findings:
            named.setdefault(thumbprint, set()).update((edge.a, edge.b))
    for loop in loops:
        for thumbprint in loop.findings:
            named.setdefault(thumbprint, set()).update(loop.nodes)
    causes = [finding for finding in findings if finding.follows_from is None and finding.thumbprint in named]
    causes.sort(key=lambda finding: (GRADES.index(finding.grade), finding.rule, finding.subject, finding.thumbprint))
    if len(causes) > _MOST_OF_FINDINGS:
        untold.append(f"Of {len(causes)} findings the first {_MOST_OF_FINDINGS} have a drawing of their own.")
    return [
        Choice(
            finding.message, "finding", finding.thumbprint,
            ways_of(drawing, (boxes[number] for number in named[finding.thumbprint])),
        )
        for finding in causes[:_MOST_OF_FINDINGS]
    ]  # fmt: skip
