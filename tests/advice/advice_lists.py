"""Small looms for the tests of proposals, and the run of a rule set over them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from text_lists import read_text, shipped_given, shipped_ruleset, shipped_states

from harnessdrc.advice.edits import Change, applied
from harnessdrc.advice.proposing import Proved, propose, proved_changes
from harnessdrc.advice.proving import Key
from harnessdrc.checks.registry import CHECKS, load_checks
from harnessdrc.design import Design, design_of
from harnessdrc.engine import run
from harnessdrc.results import Result
from harnessdrc.tables.model import Reading

HEADINGS = "Wire,From,From cavity,To,To cavity,Colour,Size (mm2),Length (m),Signal,Current (A)\n"

EARTH_POINTS = """
Earth point,Body
Head stud,head
Second stud,head
Chassis stud,chassis
"""

HILL_CLIMB = """
W1,BATTERY,+,FUSE 1,1,RD,6,0.3,Battery feed
W2,FUSE 1,2,SPLICE 1,,RD,6,0.3,Fused feed
W3,SPLICE 1,,ECU,A1,RD,1,0.8,Fused feed
W4,ECU,A2,Head stud,,BK,1.5,0.7,Power ground
W5,SPLICE 1,,COIL 1,1,RD,1,0.8,Coil feed
W6,ECU,A3,COIL 1,2,GN,0.5,0.9,Coil 1 input
W7,COIL 1,3,Head stud,,BK,1,0.5,Coil ground
W8,COIL 1,4,Head stud,,BN,1,0.4,HV return
W9,SPLICE 1,,COIL 2,1,RD,1,0.8,Coil feed
W10,ECU,A4,COIL 2,2,GN,0.5,0.9,Coil 2 input
W11,COIL 2,3,Head stud,,BK,1,0.5,Coil ground
W12,COIL 2,4,Head stud,,BN,1,0.4,HV return
W13,ECU,B1,CLT SENSOR,1,YE,0.5,1.1,CLT signal
W14,CLT SENSOR,2,SPLICE 2,,BN,0.5,0.9,Sensor ground
W15,ECU,B2,IAT SENSOR,1,YE,0.5,1.2,IAT signal
W16,IAT SENSOR,2,SPLICE 2,,BN,0.5,0.6,Sensor ground
W17,SPLICE 2,,ECU,B9,BN,0.5,0.8,Sensor ground
W18,SPLICE 1,,FUEL PUMP,1,RD,2.5,1,Pump feed,8
W19,FUEL PUMP,2,Chassis stud,,BK,1.5,0.6,Pump ground
W20,BATTERY,-,Chassis stud,,BK,25,0.5,Battery earth
W21,Head stud,,BATTERY,-,BK,25,0.8,Engine strap
"""
"""A loom in order: nothing is found in it."""


_NEED_MORE = (
    "contact.rating", "feed.cranking_drop", "fuse.blows", "fuse.protects_wire", "ignition.loop_area", "trigger.margin",
    "wire.current",
)  # fmt: skip


_MADE_ANEW = (
    "cavity.like_colours", "seal.insulation", "seal.missing", "seal.no_plug", "splice.near_end", "terminal.insulation",
    "terminal.two_wires", "terminal.wire_size", "twist.unequal_length", "wire.too_long", "wire.too_short",
)  # fmt: skip


def loom(*changed: str, without: Iterable[str] = ()) -> str:
    """The loom with some of its lines as given here, others left out and new ones added."""
    lines = {line.split(",", 1)[0]: line for line in HILL_CLIMB.strip().splitlines()}
    for name in without:
        del lines[name]
    lines |= {line.split(",", 1)[0]: line for line in changed}
    return HEADINGS + "\n".join(lines.values()) + "\n"


def checked(wires: str, **tables: str) -> tuple[Design, Result]:
    """Design of the texts, and what the shipped rules say of it."""
    load_checks()
    reading = read_text({"wires": wires, "earth_points": EARTH_POINTS, **tables})
    design = design_of(reading, shipped_given(), shipped_states())
    return design, run(design, shipped_ruleset(), CHECKS, reading)


def proposed(wires: str, **tables: str) -> dict[tuple[str, str], str]:
    """Check and name of the subject of every finding → the change proposed, empty where there is none."""
    design, result = checked(wires, **tables)
    told = propose(design, shipped_ruleset(), CHECKS, result)
    return {(f.check, f.subject[1]): f.proposal.change if f.proposal else "" for f in told.findings}


def changes_of(design: Design, result: Result) -> dict[Key, Proved]:
    """Changes that are proposed, with their edits."""
    return proved_changes(design, shipped_ruleset(), CHECKS, result)


def keys(design: Design) -> set[tuple[str, str, tuple[str, str]]]:
    """Every finding and undecided subject of a design, but for what lacks data that few lists have and for what is cut
    and crimped anew."""
    result = run(design, shipped_ruleset(), CHECKS, Reading((), ()))
    assert [rule.rule for rule in result.rules if rule.crashed] == []
    return {(f.rule, f.check, f.subject) for f in result.findings if f.check not in _MADE_ANEW} | {
        (u.rule, f"undecided {u.check}", u.subject)
        for u in result.undecided
        if u.check not in _NEED_MORE + _MADE_ANEW
    }


def with_change(design: Design, changes: Iterable[Change]) -> Design:
    """The design of the list with changes carried out, with nothing kept of the old one."""
    return Design(applied(design.harness, [edit for change in changes for edit in change.edits]), design.given, design.states)


def holds(design: Design, key: Key, proved: Proved) -> None:
    """Assert that a change does what is said of it, with nothing kept of the old design.

    What was over for certain may become undecided; nothing else may come.
    """
    before = keys(design)
    after = keys(with_change(design, [*proved.others, proved.change]))
    assert key in before - after
    assert proved.gone <= before - after
    over = {(check, subject) for _, check, subject in before}
    new = {(check.removeprefix("undecided "), subject) for _, check, subject in after - before}
    assert new <= over
    assert not {check for _, check, _ in after - before if not check.startswith("undecided ")}


def unlike(now: Mapping[Key, Proved]) -> list[Change]:
    """Each change once."""
    return list(dict.fromkeys(proved.change for proved in now.values()))
