"""Branches as bundles: diameters by hand and by the physics, ranges, copper, and laws that hold for any of them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from text_lists import design_from

from harnessdrc.design import Design
from harnessdrc.design.sizing.packs import boots, bundle_lines, packs

HEAD = "Wire,From,From cavity,To,To cavity,Size,Length (m),Branch\n"
BRANCHES = "Branch,From point,To point,Length (mm),Zone,Sleeve (mm),Bend radius (mm)\n"


def bundle(*sizes: str, branch: str = "B1") -> Design:
    """Wires of these sizes in one branch of 500 mm."""
    rows = "".join(f"W{n},ECU,{n},DASH,{n},{size},1,{branch}\n" for n, size in enumerate(sizes, start=1))
    return design_from(wires=HEAD + rows, branches=BRANCHES + "B1,ECU,DASH,500,bay,12,50\n")


@pytest.mark.parametrize(
    ("sizes", "diameter_mm"),
    [
        # 1 mm²: 2.1 mm. Packs of equal circles: 1, 2, 1 + 2/√3; for 7 and 24 the rule 1.2 √N is above the packing.
        (1, 2.1), (2, 4.2), (3, 2.1 * (1 + 2 / math.sqrt(3))), (7, 1.2 * 2.1 * math.sqrt(7)),
        (24, 1.2 * 2.1 * math.sqrt(24)),
    ],
)  # fmt: skip
def test_equal_wires(sizes: int, diameter_mm: float) -> None:
    pack = packs(bundle(*["1 mm²"] * sizes))["b1"]
    assert pack.wires == sizes
    assert pack.diameter == pytest.approx((diameter_mm,) * 3)
    assert pack.largest == pytest.approx((2.1,) * 3)
    assert not pack.lacking


def test_a_line_has_everything_the_results_want() -> None:
    (line,) = bundle_lines(bundle("2.5 mm²", "1 mm²", "18 AWG"))
    # Copper 8.89 g/cm³, lay factor 1.02; 18 AWG 0.8229 mm²; medium wall 2.6 mm.
    assert line.copper_g == pytest.approx(8.89e-3 * 1.02 * (2.5 + 1 + 0.82294) * 0.5 * 1000, rel=1e-4)
    assert line.diameter_mm == pytest.approx(1.2 * math.sqrt(3.0**2 + 2.1**2 + 2.6**2), rel=0.1)
    assert (line.key, line.branch, line.wires, line.bend_mm, line.sleeve_mm) == ("b1", "B1", 3, 30.0, 12.0)
    assert (line.zone, line.lacking) == ("bay", ())
    assert line.mark is not None
    assert (line.mark.place.sheet, line.mark.place.cell) == ("branches", "A2")


def test_a_wire_without_a_size_makes_a_range_and_no_copper() -> None:
    design = bundle("1 mm²", "")
    pack = packs(design)["b1"]
    assert pack.diameter.low == pytest.approx(2.1 + 1.4)  # 0.35 mm²
    assert pack.diameter.high == pytest.approx(2.1 + 4.3)  # 6 mm²
    assert pack.diameter.low <= pack.diameter.usual <= pack.diameter.high
    assert pack.lacking == ("size of wire W2",)
    assert bundle_lines(design)[0].copper_g is None


def test_many_wires_without_a_size_are_counted() -> None:
    pack = packs(bundle(*["1 mm²"], *[""] * 9))["b1"]
    assert pack.lacking[:2] == ("size of wire W2", "size of wire W3")
    assert pack.lacking[-1] == "size of 4 more wires"


def test_a_size_beyond_the_table_has_no_upper_bound() -> None:
    pack = packs(bundle("1 mm²", "30 AWG"))["b1"]
    assert pack.diameter.high == math.inf
    assert pack.diameter.low == pytest.approx(1.2 * math.hypot(2.1, 0.2546), abs=1e-3)  # 0.0100 in of copper
    assert pack.lacking == ("outer diameter of 30 AWG",)


def test_a_branch_that_only_wires_name_has_no_length() -> None:
    (line,) = bundle_lines(design_from(wires=HEAD + "W1,ECU,1,DASH,1,1 mm²,1,Tail loom\n"))
    assert (line.branch, line.copper_g, line.zone, line.sleeve_mm) == ("Tail loom", None, None, None)
    assert line.lacking == ("length of branch Tail loom",)


def test_a_wire_lies_in_every_branch_its_cell_names() -> None:
    found = packs(bundle("1 mm²", "2.5 mm²", branch='"B1, B2"'))
    assert [(key, pack.wires) for key, pack in found.items()] == [("b1", 2), ("b2", 2)]
    assert list(packs(bundle("1 mm²", branch='"B1, B2"'), {"b2"})) == ["b2"]


SIZES = st.sampled_from(["0.35 mm²", "0.5 mm²", "1 mm²", "2.5 mm²", "6 mm²", "20 AWG", "16 AWG", "10 AWG", ""])


@settings(max_examples=60, deadline=None)
@given(st.lists(SIZES, min_size=1, max_size=25), SIZES)
def test_a_further_wire_never_makes_a_bundle_thinner(sizes: list[str], further: str) -> None:
    before, after = packs(bundle(*sizes))["b1"], packs(bundle(*sizes, further))["b1"]
    for thin, thick in zip(before.diameter, after.diameter, strict=True):
        assert thick >= thin - 1e-9
    assert all(after.largest[n] >= before.largest[n] - 1e-9 for n in range(3))


@settings(max_examples=60, deadline=None)
@given(st.lists(SIZES, min_size=1, max_size=25), st.sampled_from(["0.35 mm²", "0.75 mm²", "2 mm²", "6 mm²"]))
def test_what_is_filled_in_later_lies_within_the_range(sizes: list[str], filled_in: str) -> None:
    ranged = packs(bundle(*sizes))["b1"]
    certain = packs(bundle(*(size or filled_in for size in sizes)))["b1"]
    assert certain.diameter.low == certain.diameter.usual == certain.diameter.high
    assert ranged.diameter.low - 1e-9 <= certain.diameter.usual <= ranged.diameter.high + 1e-9
    assert ranged.largest.low - 1e-9 <= certain.largest.usual <= ranged.largest.high + 1e-9


@settings(max_examples=40, deadline=None)
@given(st.permutations(["0.5 mm²", "1 mm²", "", "2.5 mm²", "18 AWG", "10 AWG"]))
def test_the_order_of_wires_changes_nothing(sizes: list[str]) -> None:
    found, usual = packs(bundle(*sizes))["b1"], packs(bundle("0.5 mm²", "1 mm²", "", "2.5 mm²", "18 AWG", "10 AWG"))["b1"]
    assert found.diameter == pytest.approx(usual.diameter)
    assert found.largest == pytest.approx(usual.largest)


BOOTS = "Component,Kind,Boot (mm),Boot shrunk (mm)\n"


def booted_loom(components: str, *wires: str) -> Design:
    return design_from(
        wires="Wire,From,From cavity,To,To cavity,Size (mm2),Length (m)\n" + "\n".join(wires) + "\n",
        components=BOOTS + components, pins="Connector,Cavity,Component\nECU-A,1,ECU\nECU-B,1,ECU\n",
    )  # fmt: skip


def test_all_wires_of_a_connector_go_through_its_boot_and_no_bridge() -> None:
    wires = [f"W{n},X1,{n},DASH,{n},1,1" for n in range(1, 8)]
    (boot,) = boots(booted_loom("X1,connector,12,5\n", *wires, "W9,X1,8,X1,9,1,0.1"))
    assert (boot.item.name, boot.supplied_mm, boot.shrunk_mm) == ("X1", 12.0, 5.0)
    assert boot.girth is not None
    assert boot.girth.wires == 7
    assert boot.girth.diameter == pytest.approx((1.2 * 2.1 * math.sqrt(7),) * 3)


def test_a_component_stands_for_its_connectors() -> None:
    (boot,) = boots(booted_loom("ECU,controller,12,\n", "W1,ECU-A,1,DASH,1,1,1", "W2,ECU-B,1,DASH,2,1,1"))
    assert boot.girth is not None
    assert (boot.girth.wires, boot.girth.diameter.usual) == (2, pytest.approx(4.2))
    assert boot.shrunk_mm is None


def test_a_boot_without_wires_and_a_list_without_boots() -> None:
    (boot,) = boots(booted_loom("X5,connector,12,5\n", "W1,X1,1,DASH,1,1,1"))
    assert boot.girth is None
    assert boots(booted_loom("X1,connector,,\n", "W1,X1,1,DASH,1,1,1")) == []


@settings(max_examples=30, deadline=None)
@given(st.lists(st.sampled_from(["0.5", "1", "2.5", "6"]), min_size=1, max_size=12))
def test_one_more_wire_never_makes_a_boot_emptier(sizes: list[str]) -> None:
    wires = [f"W{n},X1,{n},DASH,{n},{size},1" for n, size in enumerate(sizes, 1)]
    across = []
    for some in (wires, [*wires, "W99,X1,99,DASH,99,0.5,1"]):
        (boot,) = boots(booted_loom("X1,connector,12,5\n", *some))
        assert boot.girth is not None
        across.append(boot.girth.diameter.usual)
    assert across[0] <= across[1] + 1e-9
