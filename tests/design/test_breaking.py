"""Prospective faults right behind fuses against sums done by hand."""

from __future__ import annotations

import pytest
from text_lists import design_from, shipped_given

from harnessdrc.checks.fuse import breaking_capacity
from harnessdrc.design import Design
from harnessdrc.design.sizing.breaking import Prospective, prospective_faults
from harnessdrc.findings import Finding, Undecided

STRAP = "Strap,From body,To body,Resistance (mΩ)\nCHASSIS,chassis,battery negative,{}\n"
SHORT = STRAP.format(0.3)
ENGINE = "ENGINE,engine block,battery negative,{}\n"


def loom(
    length_m: float = 0.15, rating: str = "10", family: str = "regular blade", strap: str = SHORT, battery: str = "",
    size: str = "6",
) -> Design:  # fmt: skip
    return design_from(
        wires="Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal\n"
        f"W1,BATTERY,+,FUSE 3,1,{size},{length_m},Battery feed\n"
        "W2,FUSE 3,2,MARKER LAMP,1,1.5,2,Lamp feed\nW3,MARKER LAMP,2,Chassis stud,,1.5,1,Lamp ground\n",
        components=f"Component,Kind,Current (A),Voltage (V)\nMARKER LAMP,lamp,1,\nBATTERY,battery,,{battery}\n",
        fuses=f"Fuse,Rating (A),Family\nFUSE 3,{rating},{family}\n",
        earth_points="Earth point,Body\nChassis stud,chassis\n",
        straps=strap,
    )


def faults(
    length_m: float = 0.15, rating: str = "10", family: str = "regular blade", strap: str = SHORT, battery: str = "",
) -> list[Prospective]:  # fmt: skip
    return list(prospective_faults(loom(length_m, rating, family, strap, battery)))


def test_a_metre_of_feed_adds_its_copper() -> None:
    """ISO 6722: 6 mm² has at most 3.14 mΩ/m at 20 °C (read); copper 0.393 % per kelvin."""
    [short], [long] = faults(0.5), faults(1.5)
    warm = 1 + 0.00393 * (shipped_given()["conductor_degc"] - 20)
    assert long.feed_ohm - short.feed_ohm == pytest.approx(3.14e-3 * warm, rel=1e-3)
    assert long.usual_a < short.usual_a


def test_current_is_voltage_over_the_loop() -> None:
    given = shipped_given()
    [fault] = faults()
    assert fault.usual_a * (fault.feed_ohm + fault.home_ohm) == pytest.approx(given["fault_v"])
    assert fault.low_a == fault.usual_a == fault.high_a
    # no more than the battery gives by itself
    assert fault.usual_a < given["fault_v"] / given["battery_inner_mohm"] * 1000
    assert fault.home_ohm == pytest.approx(0.3e-3, abs=0.2e-3)  # the strap as listed, and its joints


def test_the_fuse_itself_is_left_out() -> None:
    """Prospective is what flows in place of a fuse without resistance (IEC 60269-1, from memory)."""
    assert {fault.usual_a for rating in ("1", "10", "30") for fault in faults(rating=rating)} == {faults()[0].usual_a}


def test_of_several_bodies_that_with_the_least_resistance_counts() -> None:
    [alone] = faults(strap=STRAP.format(5))
    [both] = faults(strap=STRAP.format(5) + ENGINE.format(0.3))
    assert both.home_ohm < alone.home_ohm
    assert both.home_ohm == pytest.approx(faults()[0].home_ohm)


def test_a_battery_of_24_v_drives_twice_the_current() -> None:
    assert faults(battery="24")[0].usual_a == pytest.approx(2 * faults(battery="12")[0].usual_a)


def test_families_without_a_figure_are_left_alone_and_without_a_name_asked_for() -> None:
    assert faults(family="bolt-down 30 mm", rating="60") == []
    design = loom(0.15, family="", size="35")
    [said] = breaking_capacity(design, None)
    assert isinstance(said, Undecided)
    assert said.missing == ("family of FUSE 3",)
    [told] = breaking_capacity(loom(0.15, size="35"), None)
    assert isinstance(told, Finding)
    assert told.measured == pytest.approx(said.low, rel=1e-6)
    assert told.limit == 1000.0  # ISO 8820-3, read
    assert list(breaking_capacity(loom(3, family=""), None)) == []


def test_a_fuse_that_no_battery_feeds_is_not_looked_at() -> None:
    design = design_from(
        wires="Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal\nW2,FUSE 3,2,LAMP,1,1.5,2,Lamp feed\n",
        fuses="Fuse,Rating (A),Family\nFUSE 3,10,regular blade\n",
    )
    assert list(prospective_faults(design)) == []
