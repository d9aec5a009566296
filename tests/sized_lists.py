"""Lists written as text and taken the whole way to the result that renderers receive: sizes, fuses, bundles, findings."""

from __future__ import annotations

from collections.abc import Mapping

from text_lists import read_text, shipped_given, shipped_ruleset, shipped_states

from harnessdrc.checks.registry import load_checks
from harnessdrc.design import design_of
from harnessdrc.engine import run
from harnessdrc.results import BundleLine, FuseLine, ReportedFinding, ReportedUndecided, Result, SizeLine

HEAD = "Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal,Insulation,Branch,Current (A)\n"
BRANCHES = "Branch,From point,To point,Zone\nBAY,P1,P2,engine bay\nCABIN,P2,P3,cabin\nHEAD,P3,P4,cylinder head\n"
EARTHS = "Earth point,Body\nSTUD,chassis\n"
STRAPS = "Strap,From body,To body,Size (mm2),Length (m)\nG1,chassis,battery negative,25,0.5\n"


def result_of(given: Mapping[str, float] | None = None, **tables: str) -> Result:
    """Result of CSV texts under the shipped ruleset, a sheet for each table."""
    reading = read_text(tables)
    design = design_of(reading, {**shipped_given(), **(given or {})}, shipped_states())
    return run(design, shipped_ruleset(), load_checks(), reading)


def loom(
    wires: str,
    components: str = "",
    fuses: str = "",
    given: Mapping[str, float] | None = None,
    head: str = HEAD,
    **tables: str,
) -> Result:
    """Result of a loom with one earth stud on the chassis and branches BAY, CABIN and HEAD.

    Parameters
    ----------
    wires : str
        Rows below `head`.
    components : str
        Rows of Component, Kind, Current (A).
    fuses : str
        Rows of Fuse, Rating (A), Family.
    given : mapping of str to float
        Given values other than those of the ruleset.
    head : str
        Headings of the wire list.
    **tables : str
        Whole tables in place of those made here, or beside them.
    """
    made = {"wires": head + wires, "branches": BRANCHES, "earth_points": EARTHS, "straps": STRAPS}
    if components:
        made["components"] = "Component,Kind,Current (A)\n" + components
    if fuses:
        made["fuses"] = "Fuse,Rating (A),Family\n" + fuses
    return result_of(given, **{**made, **tables})


def size_of(result: Result, wire: str) -> SizeLine:
    """Line of a wire among the sizes."""
    return next(line for line in result.sizing.wires if line.wire == wire)


def fuse_of(result: Result, fuse: str) -> FuseLine:
    """Line of a fuse."""
    return next(line for line in result.sizing.fuses if line.fuse == fuse)


def bundle_of(result: Result, branch: str) -> BundleLine:
    """Line of a branch."""
    return next(line for line in result.sizing.bundles if line.branch == branch)


def found(result: Result, check: str) -> list[ReportedFinding]:
    """Findings of a check."""
    return [finding for finding in result.findings if finding.check == check]


def undecided(result: Result, check: str) -> list[ReportedUndecided]:
    """Subjects that a check could not decide."""
    return [each for each in result.undecided if each.check == check]


def awg_of(needed: str) -> int:
    """Gauge of a size as told, 0 for 1/0, -1 for 2/0 and so on."""
    number = needed.removesuffix(" AWG")
    return 1 - int(number.split("/")[0]) if "/" in number else int(number)


def mm2_of(needed: str) -> float:
    """Cross-section of a size as told, mm²."""
    return float(needed.removesuffix(" mm²"))
