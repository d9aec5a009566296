"""What is missing in the papers stands on their first page, with names and cells."""

from __future__ import annotations

from dataclasses import replace

import pytest
from bench_lists import outcome, papers_of_text
from text_lists import read_text, shipped_given, shipped_ruleset, shipped_states

from harnessdrc.bench.assembling import make_papers
from harnessdrc.checks.registry import load_checks
from harnessdrc.design import design_of
from harnessdrc.engine import run
from harnessdrc.findings import Grade
from harnessdrc.results import RuleOutcome

WIRES = "Wire,From,From cavity,To,To cavity,Colour,Size (mm²),Length (mm),Signal,From terminal,To terminal,From seal,To seal\n"
PINS = "Connector,Cavity,Signal,Terminal,Seal\nECU,1,Lamp,T-1,\nECU,2,Lamp 2,T-1,\nX1,1,Lamp,T-1,\nX1,2,Lamp 2,T-1,\n"
PARTS = "Part,Kind,Family,Smallest wire (mm²),Largest wire (mm²),Strip length (mm),Cavities,Sealed\nT-1,terminal,P,0.35,1,4,,\nHD-2,connector,P,,,,2,yes\n"
WHOLE = "W1,ECU,1,X1,1,RD,0.5,300,Lamp,,,,\nW2,ECU,2,X1,2,BK,0.5,300,Lamp 2,,,,\n"


def incomplete(rows: str, pins: str = PINS, **tables: str) -> list[str]:
    return list(papers_of_text(wires=WIRES + rows, pins=pins, **{"parts": PARTS, **tables}).incomplete)


def test_whole_papers_lack_nothing() -> None:
    assert incomplete(WHOLE) == []


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("0.5,300,Lamp,", "0.5,,Lamp,", "1 wire without length, not to be cut yet and in no total: W1 (case wires H2)."),
        ("RD,0.5", "RD,", "1 wire without size, not to be cut yet and in no weight: W1 (case wires G2)."),
        ("RD,0.5", ",0.5", "1 wire without colour: W1 (case wires F2)."),
        ("0.5,300,Lamp,", "0.5,long,Lamp,", "1 cell not understood, and left out: length (case wires H2)."),
        ("X1,1", ",", "1 wire of which the list does not say where one end goes: W1 (case wires D2)."),
        ("X1,1,RD", "X9,1,RD", "1 end without a terminal in a list that names terminals: W1 at X9 1 (case wires E2)."),
        ("W2,", "W1,", "1 wire whose number names another wire too, so that their labels look alike: W1 (2) (case wires A3)."),
        ("Lamp,,", "Lamp,T-9,", "1 part that the parts table does not have: T-9."),
        (
            "X1,1,RD", "X9,1,RD",
            "1 connector whose cavities are not all known (neither a pin list beside the wires nor the parts table "
            "says how many there are, or a cavity has no name): X9.",
        ),
    ],
)  # fmt: skip
def test_each_gap_is_told_with_its_cell(old: str, new: str, sentence: str) -> None:
    assert WHOLE.count(old) >= 1
    assert sentence in incomplete(WHOLE.replace(old, new, 1))


def test_a_terminal_without_strip_length_is_told() -> None:
    found = incomplete(WHOLE, parts=PARTS.replace("0.35,1,4,", "0.35,1,,"))
    assert found == ["1 terminal without a strip length in the parts table: T-1 (case parts F2)."]


def test_without_a_parts_table_the_named_parts_are_told_once() -> None:
    found = papers_of_text(wires=WIRES + WHOLE, pins=PINS).incomplete
    assert found == (
        "There is no parts table, and 1 part is named: strip lengths, families and packs are not in these papers.",
    )


def test_a_sealed_connector_tells_missing_seals_and_plugs() -> None:
    found = incomplete(
        "W1,ECU,1,X1,1,RD,0.5,300,Lamp,,,,\n",
        pins=PINS.replace("X1,2,Lamp 2", "X1,2,N/C").replace("ECU,2,Lamp 2", "ECU,2,N/C"),
        components="Component,Kind,Part\nX1,connector,HD-2\n",
    )
    assert found == [
        "1 end without a seal in a sealed connector: W1 at X1 1 (case wires E2).",
        "1 cavity without wire and without plug in a sealed connector: X1 2 (case pins B5).",
    ]


def test_a_wire_that_only_the_pin_list_has_is_told() -> None:
    pins = "Connector,Cavity,Component,Signal,Wire,Terminal,Seal\nECU,1,ECU,Lamp,W1,T-1,\nECU,2,ECU,N/C,,,\nECU,3,ECU,Fan,W7,,\n"
    found = incomplete("W1,ECU,1,X1,1,RD,0.5,300,Lamp,,T-1,,\n", pins)
    assert "1 cavity with a wire by the pin list that the wire list does not bring there: ECU 3: W7 (case pins E4)." in found


def test_a_lead_whose_cores_are_not_told_apart_is_told() -> None:
    text = "ID,From,To,Color,Gauge,Length\n1,P1,P2,PWM,20 AWG,500 mm\n2,P1,P2,R,18 AWG,900 mm\n"
    found = papers_of_text(wires=text).incomplete
    assert "1 lead of several cores of which the list does not tell which goes where: 1 (case wires D2)." in found


def test_splices_are_asked_for_their_place_only_where_others_have_one() -> None:
    wires = WIRES + "W1,ECU,1,SP1,,RD,0.5,300,,,,,\nW2,SP1,,X1,1,RD,0.5,300,,,,,\nW3,ECU,2,SP2,,RD,0.5,300,,,,,\nW4,SP2,,X1,2,RD,0.5,300,,,,,\n"
    branches = "Branch,From point,To point,Length (mm)\nMAIN,P1,P2,900\n"
    head = "Splice,Branch,Distance (mm),Note\n"
    tables = {"wires": wires, "pins": PINS, "parts": PARTS, "branches": branches}
    silent = papers_of_text(**tables, splices=head + "SP1,,,feed\nSP2,,,feed\n")
    told = papers_of_text(**tables, splices=head + "SP1,MAIN,100,feed\nSP2,,,feed\n")
    assert silent.incomplete == ()
    assert told.incomplete == ("1 splice whose place in the loom the list does not tell: SP2 (case splices A3).",)


def test_many_names_are_told_in_part() -> None:
    rows = "".join(f"W{n},ECU,{n},X1,{n},RD,0.5,,Lamp,T-1,T-1,,\n" for n in range(1, 13))
    (sentence,) = [text for text in incomplete(rows) if "length" in text]
    assert sentence.startswith("12 wires without length") and sentence.endswith("W8 (case wires H9) and 4 more.")


def test_a_rule_that_failed_leaves_the_papers_incomplete() -> None:
    design, result = outcome({"wires": WIRES + WHOLE, "pins": PINS, "parts": PARTS})
    hold: Grade = "hold"
    crashed = RuleOutcome("own-rule", "own.check", hold, 0, 0, 0, "ValueError: no", "", "", "wires")
    papers = make_papers(design, replace(result, rules=(crashed,)), name="case")
    assert papers.incomplete == ("Rule own-rule failed to run: what it would find is not known.",)


def test_a_length_that_no_loom_has_is_told() -> None:
    rows = {"wires": WIRES.replace("(mm)", "(m)") + WHOLE.replace("0.5,300,Lamp 2", "0.5,0.3,Lamp 2"), "pins": PINS, "parts": PARTS}
    reading = read_text(rows)
    design = design_of(reading, shipped_given(), shipped_states())
    found = make_papers(design, run(design, shipped_ruleset(), load_checks(), reading), name="case").incomplete
    assert (
        "1 size or length that no loom has, in these papers as listed: Wire W1 is 300 m long (limit 60 m) (case wires H2)."
        in found
    )
