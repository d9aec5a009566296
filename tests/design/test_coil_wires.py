"""Which wires carry the current of coils: from fuse to coil and from coil to earth, and no wire beside them."""

from __future__ import annotations

import random

import pytest
from text_lists import design_from

HEAD = "Wire,From,From cavity,To,To cavity,Signal"
COP = (
    "F0,BATTERY,+,FUSE 1,1,Battery feed",
    "F1,FUSE 1,2,SPLICE 1,,Fused feed",
    "F2,SPLICE 1,,SPLICE 2,,Fused feed",
    "F3,SPLICE 2,,COIL 1,1,Coil feed",
    "F4,SPLICE 2,,COIL 2,1,Coil feed",
    "F5,SPLICE 1,,INJ 1,1,Injector feed",
    "I1,ECU,D1,COIL 1,2,Coil 1 input",
    "I2,ECU,D2,COIL 2,2,Coil 2 input",
    "G1,COIL 1,3,SPLICE 3,,Coil ground",
    "G2,COIL 2,3,SPLICE 3,,Coil ground",
    "G3,SPLICE 3,,Head stud,,Coil ground",
    "H1,COIL 1,4,Head stud,,HV return",
    "S1,INJ 1,2,ECU,E1,Injector 1",
    "C1,CRANK SENSOR,1,ECU,C1,Crank +",
)


def carried(rows: tuple[str, ...], **tables: str) -> dict[str, str]:
    """Coil wires by name, with the device whose current they carry."""
    design = design_from(wires="\n".join((HEAD, *rows)), **tables)
    return {one.wire.name: one.device for one in design.coil_wires}


def test_feed_and_ground_count_from_the_fuse_to_the_earth_point() -> None:
    assert set(carried(COP)) == {"F1", "F2", "F3", "F4", "G1", "G2", "G3", "H1"}


@pytest.mark.parametrize("seed", range(5))
def test_the_order_of_rows_changes_nothing(seed: int) -> None:
    rows = list(COP)
    random.Random(seed).shuffle(rows)
    assert list(carried(tuple(rows)).items()) == list(carried(COP).items())


def test_what_drives_a_coil_of_two_terminals_is_its_primary() -> None:
    rows = ("F1,RELAY 1,87,COIL 1,1,Coil feed", "P1,COIL 1,2,IGNITER,1,Coil 1", "G1,IGNITER,2,Block stud,,Ground",
            "I1,ECU,D1,IGNITER,3,Igniter input")  # fmt: skip
    assert set(carried(rows)) == {"F1", "P1", "G1"}


def test_a_feed_goes_on_beyond_a_bulkhead() -> None:
    rows = ("F1,FUSE 1,2,BULKHEAD P,1,Coil feed", "F2,BULKHEAD S,1,COIL 1,1,Coil feed",
            "F3,BULKHEAD S,2,FAN,1,Fan feed")  # fmt: skip
    mates = "Component,Kind,Mates with\nBULKHEAD P,connector,BULKHEAD S\nBULKHEAD S,connector,BULKHEAD P"
    assert set(carried(rows, components=mates)) == {"F1", "F2"}


def test_plug_leads_count_and_the_points_of_a_distributor_do_not() -> None:
    rows = ("L1,COIL 1,HT,DIST,C,HT lead", "L2,DIST,1,PLUG 1,,HT lead", "L3,DIST,2,PLUG 2,,HT lead",
            "T1,DIST,P,ECU,C1,Crank +")  # fmt: skip
    kinds = "Component,Kind\nDIST,distributor\nPLUG 1,spark plug\nPLUG 2,spark plug"
    assert set(carried(rows, components=kinds)) == {"L1", "L2", "L3"}


def test_a_feed_whose_source_is_not_in_the_list_counts_as_far_as_it_is_the_coils_own() -> None:
    assert set(carried(("F1,SPLICE 1,,COIL 1,1,Coil feed", "F2,SPLICE 1,,INJ 1,1,Injector feed"))) == {"F1"}


def test_a_list_without_coils_has_none() -> None:
    assert carried(("C1,CRANK SENSOR,1,ECU,C1,Crank +",)) == {}
