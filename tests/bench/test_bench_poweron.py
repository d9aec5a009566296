"""Switching on for the first time: every fuse in its turn, nothing alive before its wires were proved."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from measured_lists import GENERATOR, designed
from text_lists import shipped_given, shipped_states

from harnessdrc.api import open_and_read
from harnessdrc.bench.cautions import CAUTIONS
from harnessdrc.bench.poweron import power_steps
from harnessdrc.design import design_of

SAMPLES = sorted((Path(__file__).parents[2] / "sample_wirelists").glob("*/*.xlsx"))

FUSED = """Wire,From,From cavity,To,To cavity,Signal
W1,BATTERY,+,FUSE 1,in,Battery feed
W2,FUSE 1,out,MAIN RELAY,30,Fused feed
W3,MAIN RELAY,87,FUSE 2,in,Switched feed
W4,MAIN RELAY,87,FUSE 3,in,Switched feed
W5,FUSE 2,out,COIL 1,1,Coil feed
W6,FUSE 3,out,ECU,1,Switched feed
W7,ECU,2,Head stud,,Power ground
W8,BATTERY,+,FUSE 4,in,Battery feed
W9,FUSE 4,out,FUEL PUMP,1,Pump feed
W10,FUEL PUMP,2,Chassis stud,,Pump ground
W11,COIL 1,3,Head stud,,Coil 1 ground
W12,ECU,4,COIL 1,2,Coil 1 drive
"""


def turn_of(steps: list[str], fuse: str) -> int:
    """Number of the step that puts a fuse in."""
    [at] = [n for n, text in enumerate(steps) if re.search(rf"fuse {fuse}(?: \([^)]*\))? in,", text)]
    return at


def test_fuses_go_in_from_the_battery_on_and_coils_last() -> None:
    """Common practice, no source."""
    steps = [step.do for step in power_steps(designed({"wires": FUSED}))]
    assert turn_of(steps, "FUSE 1") < turn_of(steps, "FUSE 3") < turn_of(steps, "FUSE 4") < turn_of(steps, "FUSE 2")
    first = "\n".join(steps[: turn_of(steps, "FUSE 1")])
    assert "Pull every fuse (FUSE 1, FUSE 2, FUSE 3 and FUSE 4)" in first
    assert "supply side of FUSE 1 and FUSE 4" in first  # live without the key


def test_each_fuse_says_where_its_feed_arrives() -> None:
    steps = [step.do for step in power_steps(designed({"wires": FUSED}))]
    assert "Measure at COIL 1 1" in steps[turn_of(steps, "FUSE 2")]
    assert "Measure at ECU 1" in steps[turn_of(steps, "FUSE 3")]
    assert "with the key on" in steps[turn_of(steps, "FUSE 3")]
    assert "with the key on" not in steps[turn_of(steps, "FUSE 4")]


def test_a_controller_is_plugged_in_only_after_its_feeds_were_proved_under_load() -> None:
    steps = [step.do for step in power_steps(designed())]
    lamp = next(n for n, text in enumerate(steps) if "lamp" in text)
    plugged = next(n for n, text in enumerate(steps) if "plug in ECU" in text)
    cranked = next(n for n, text in enumerate(steps) if "Crank for no more" in text)
    started = next(n for n, text in enumerate(steps) if "then start" in text)
    assert lamp < plugged < cranked < started


def test_a_list_without_a_fuse_asks_for_one_and_without_a_wire_says_nothing() -> None:
    steps = power_steps(designed({"wires": "Wire,From,From cavity,To,To cavity\nW1,ECU,1,TPS,1\n"}))
    assert "There is no fuse in the list" in steps[0].do
    assert power_steps(designed({"pins": "Connector,Cavity,Signal\nECU,1,Power ground\n"})) == ()


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_every_fuse_of_the_samples_has_its_turn_and_every_step_is_whole(path: Path) -> None:
    _, reading = open_and_read([path])
    design = design_of(reading, shipped_given(), shipped_states())
    steps = power_steps(design)
    assert [step.number for step in steps] == list(range(1, len(steps) + 1))
    for element in design.net.elements:
        if element.kind == "fuse":
            turn_of([step.do for step in steps], re.escape(design.harness.items[element.item].name))
    for step in steps:
        for text in (step.do, step.see, step.else_do):
            assert text.endswith(".")
            assert "None" not in text and "  " not in text and "()" not in text


def test_the_cautions_of_the_readme_stand_at_the_head() -> None:
    text = " ".join(CAUTIONS)
    for words in ("not proof that a loom is safe", "airbag", "tens of kilovolts", "ventilate", "Local codes", "fuse at the source"):
        assert words in text
    assert all(sentence.endswith(".") for sentence in CAUTIONS)


def test_the_generator_has_what_the_tests_want() -> None:
    assert {"FUSE 1", "MAIN RELAY"} <= {item for row in GENERATOR["wires"].splitlines()[1:] for item in row.split(",")}


def test_a_fuse_that_feeds_only_other_fuses_says_where_to_measure() -> None:
    """Common practice, no source."""
    steps = [step.do for step in power_steps(designed({"wires": FUSED}))]
    assert "Measure at the supply side of FUSE 2 and FUSE 3 with the key on" in steps[turn_of(steps, "FUSE 1")]


WORKED = FUSED + "W13,MAIN RELAY,86,FUSE 1,out,Main relay coil feed\nW14,MAIN RELAY,85,ECU,9,Main relay control\n"
FED = FUSED + "W13,MAIN RELAY,86,ECU,9,Main relay control\nW14,MAIN RELAY,85,Chassis stud,,Relay ground\n"


@pytest.mark.parametrize(("wires", "to"), [(WORKED, "ECU 9 for MAIN RELAY to "), (FED, "ECU 9 for MAIN RELAY to BATTERY +")])
def test_a_relay_that_the_unplugged_controller_works_is_closed_by_hand(wires: str, to: str) -> None:
    """Common practice, no source: else nothing behind the main relay can be proved before the controller is in."""
    steps = [step.do for step in power_steps(designed({"wires": wires}))]
    [told] = [n for n, text in enumerate(steps) if "works MAIN RELAY is unplugged" in text]
    assert to in steps[told]
    assert told < turn_of(steps, "FUSE 1")
    assert not [text for text in (step.do for step in power_steps(designed({"wires": FUSED}))) if "works" in text]


def test_every_state_of_the_sheet_has_its_step() -> None:
    design = designed()
    text = " ".join(step.do for step in power_steps(design) if "take the voltages" in step.do)
    states = {test.state for test in design.testing.voltages}
    assert {"key on", "cranking"} <= states
    assert all(state in text for state in states)


def test_a_list_without_an_engine_is_not_cranked() -> None:
    lamps = "Wire,From,From cavity,To,To cavity,Signal\nW1,BATTERY,+,LAMP,1,Feed\nW2,LAMP,2,Chassis stud,,Ground\n"
    text = " ".join(step.do for step in power_steps(designed({"wires": lamps})))
    assert not re.search(r"fuel|engine is|Crank|Idle", text)
    assert "Switch on" in text


def test_the_battery_is_not_fused_lower_for_a_small_consumer() -> None:
    steps = [step.do for step in power_steps(designed())]
    assert any("a lead fused as FUSE 1 in place of the one of 5 A" in text for text in steps)  # 20 A
