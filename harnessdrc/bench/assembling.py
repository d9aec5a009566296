"""All papers of a loom, put together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from harnessdrc.bench.cautions import CAUTIONS
from harnessdrc.bench.connectors import connector_sheets
from harnessdrc.bench.continuity import continuity_lines
from harnessdrc.bench.cutting import cut_lines
from harnessdrc.bench.ends import Ends
from harnessdrc.bench.gaps import gaps
from harnessdrc.bench.isolation import isolation_lines
from harnessdrc.bench.labels import label_lines
from harnessdrc.bench.partslist import cable_lines, part_lines, totals
from harnessdrc.bench.poweron import power_steps
from harnessdrc.bench.splices import splice_sheets
from harnessdrc.bench.voltages import voltage_lines
from harnessdrc.papers import Papers
from harnessdrc.results import Result
from harnessdrc.tables.issues import issue_mark

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["make_papers"]


def make_papers(design: Design, result: Result, *, name: str) -> Papers:
    """Papers of a checked list.

    Parameters
    ----------
    design : Design
        The list with everything computed from it.
    result : Result
        What the rules say of it; its voltages and offsets are those to measure.
    name : str
        Name of the list, without its ending.

    Returns
    -------
    Papers
        With every wire once on the cut list and every cavity once on the connector sheets, in an order that does not
        hang on the order of the rows; what is lacking stands in ``incomplete``.
    """
    ends = Ends(design.harness)
    cut = cut_lines(design, ends)
    connectors = connector_sheets(design, ends)
    splices = splice_sheets(design, ends)
    parts = part_lines(design, ends, splices)
    return Papers(
        name=name,
        issue_mark=issue_mark(source.sha256 for source in result.sources),
        version=result.version,
        ruleset=f"{result.ruleset_name}, issue {result.ruleset_issue}",
        sources=result.sources,
        test_degc=design.given["test_degc"],
        incomplete=gaps(design, result, ends, cut, connectors, splices, parts),
        on_hold=result.count("hold"),
        queries=result.count("query"),
        undecided=len(result.undecided),
        cautions=tuple(CAUTIONS),
        cut=cut,
        connectors=connectors,
        splices=splices,
        labels=label_lines(ends, connectors),
        parts=parts,
        cables=cable_lines(design, ends, cut),
        totals=totals(design, cut, connectors, splices),
        continuity=continuity_lines(design, result),
        isolation=isolation_lines(design, result),
        power_on=power_steps(design, result),
        voltages=voltage_lines(design, result),
    )
