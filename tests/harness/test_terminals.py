"""Names that hold a terminal, one wire on several rows, and what all rows together say about names."""

from __future__ import annotations

import pytest
from text_lists import design_from

from harnessdrc.harness.terminals import signed_stem, terminals_in_names


def _found(*names: str, counts: int = 1, listed: tuple[str, ...] = ()) -> dict[str, tuple[str, str]]:
    found = terminals_in_names(dict.fromkeys(names, counts), lambda name: name in listed)
    return {name: (device, terminal) for name, (device, terminal, _) in found.items()}


def test_terminals_that_the_kind_is_known_for() -> None:
    assert _found("Main relay 87", "Main relay 30", "Battery +", "Battery – neg", "Starter 50") == {
        "Main relay 87": ("Main relay", "87"), "Main relay 30": ("Main relay", "30"), "Battery +": ("Battery", "+"),
        "Battery – neg": ("Battery", "neg"), "Starter 50": ("Starter", "50"),
    }  # fmt: skip


def test_numbered_devices_stay_devices() -> None:
    assert _found("Relay 30", "Relay 31", "Coil 1", "Coil 2", "Injector 4", "Fuse 30") == {}
    assert _found("ECU 1", "ECU 2", "ECU 3", "ECU 4", counts=6) == {}, "four controllers, each met often"


def test_pins_of_one_controller_are_each_met_once() -> None:
    assert _found("ECU 4", "ECU 5", "ECU 12", "ECU B7")["ECU 12"] == ("ECU", "12")
    assert _found("ECU 4", "ECU 5") == {}, "too few to tell"


def test_a_name_of_the_component_list_is_taken_as_it_is() -> None:
    assert _found("Battery +", listed=("Battery",)) == {}
    assert _found("Main relay 87", listed=("Main relay 87",)) == {}


@pytest.mark.parametrize(("name", "stem"), [("Coil +", "Coil"), ("Pump neg", "Pump"), ("Coil", None), ("A+", None)])
def test_the_sign_of_a_terminal(name: str, stem: str | None) -> None:
    assert signed_stem(name) == stem


def test_a_switch_called_s3_is_no_splice() -> None:
    design = design_from(
        wires="Wire,From,From cavity,To,To cavity\n1,CB2,2,S3,1\n2,S3,2,L1,1\n3,S7,,L1,2\n4,S7,,CB2,3\n"
    )
    items = design.harness.items
    assert items["s3"].kind is None
    assert items["s7"].kind == "splice"


def test_only_grounds_make_a_letter_and_a_number_an_earth_point() -> None:
    text = "Wire,From,From cavity,To,Signal\n1,ECU,1,G1,Power ground\n2,ECU,2,G2,Power ground\n3,ECU,3,G2,Tacho\n"
    items = design_from(wires=text).harness.items
    assert items["g1"].kind == "earth point"
    assert items["g2"].kind is None


def test_a_row_without_a_number_written_from_the_other_end_is_the_same_wire() -> None:
    text = "From,From cavity,To,To cavity,Colour\nX1,1,X2,5,RD\nX2,5,X1,1,RD\nX1,2,X2,6,RD\nX2,6,X1,2,BK\nX1,3,X2,7,RD\nX1,3,X2,7,RD\n"
    wires = design_from(wires=text).harness.wires
    assert len(wires) == 5, "what disagrees or is written twice from one end stays two wires"
    assert len(wires[0].also) == 1


def test_each_further_end_of_a_row_is_a_wire_of_that_row() -> None:
    text = 'Wire,From,From cavity,To\n1,Box,1,"C3:1,C6:1"\n2,Box,2,C3:2\n'
    design = design_from(wires=text)
    ends = {(w.a, w.b) for w in design.harness.wires}
    assert ends == {(("box", "1"), ("c3", "1")), (("box", "1"), ("c6", "1")), (("box", "2"), ("c3", "2"))}
    assert design.harness.repeated == (), "no number given twice by mistake"
