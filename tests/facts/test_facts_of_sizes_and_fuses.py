"""What people of the trade know of wire sizes, fuses and bundles, held to whole lists that the rules run over.

Each fact says its source; most are common practice and have none.
"""

from __future__ import annotations

import pytest
from sized_lists import (
    BRANCHES,
    EARTHS,
    HEAD,
    STRAPS,
    awg_of,
    bundle_of,
    found,
    fuse_of,
    loom,
    mm2_of,
    result_of,
    size_of,
    undecided,
)

from harnessdrc.results import Result

GROUND = "W9,{0},2,STUD,,4,1,Ground,TXL,CABIN,\n"


def fused(
    rating_a: str = "10",
    size: str = "1.5",
    length_m: str = "2",
    load_a: str = "4",
    family: str = "regular blade",
    branch: str = "CABIN",
    insulation: str = "TXL",
    ahead_m: str = "0.2",
    kind: str = "lamp",
    more: str = "",
    **given: float,
) -> Result:
    """A load behind a fuse: W1 to the fuse, W2 from it to the load."""
    return loom(
        f"W1,BATTERY,+,F1,in,6,{ahead_m},Battery feed,TXL,CABIN,\n"
        f"W2,F1,out,LOAD,1,{size},{length_m},Load feed,{insulation},{branch},\n" + GROUND.format("LOAD") + more,
        f"LOAD,{kind},{load_a}\n",
        f"F1,{rating_a},{family}\n",
        given=given,
    )


def crowd(count: int, branch: str = "BAY") -> str:
    """So many signal wires that carry nothing."""
    return "".join(f"S{n},BOX,{n},PANEL,{n},0.5,1,Speed signal {n},TXL,{branch},\n" for n in range(count))


# ---------------------------------------------------------------------- what a fuse is for
@pytest.mark.parametrize("load_a", ["0.1", "3", "7.9"])
def test_a_fuse_protects_the_wire_and_not_the_load(load_a: str) -> None:
    """Common practice, no source: the size behind a fuse goes by its rating, whatever the load draws."""
    thin = fused(rating_a="30", size="0.5", length_m="1", load_a=load_a)
    [finding] = found(thin, "fuse.protects_wire")
    assert finding.grade == "hold"
    assert finding.measured == 30.0
    line = size_of(thin, "W2")
    assert line.governs in ("fuse", "short circuit")
    assert line.needed_mm2 == size_of(fused(rating_a="30", size="0.5", length_m="1", load_a="1"), "W2").needed_mm2
    assert not found(fused(rating_a="10", size="0.75", length_m="1", load_a=load_a), "fuse.protects_wire")


def test_the_needed_size_behind_a_fuse_carries_its_rating_for_ever() -> None:
    """ISO 8820-3 (read): a blade fuse holds 110 % of its rating for 100 h, so its wire has to as well."""
    for rating_a in ("5", "10", "20", "30"):
        needed = size_of(fused(rating_a=rating_a, size="16", load_a="1"), "W2")
        again = size_of(fused(rating_a=rating_a, size=str(mm2_of(needed.needed_mm2)), load_a="1"), "W2")
        assert again.allowed_a is not None and again.allowed_a >= float(rating_a) * 0.9999


SPLICED = (
    "W1,BATTERY,+,F1,in,6,0.2,Battery feed,TXL,CABIN,\nW2,F1,out,SPL 1,,4,1,Load feed,TXL,CABIN,\n"
    "W3,SPL 1,,FAN,1,4,1,Fan feed,TXL,CABIN,\nW4,SPL 1,,LAMP,1,{thin},1,Lamp feed,TXL,CABIN,\n"
    "W5,FAN,2,STUD,,4,1,Ground,TXL,CABIN,\nW6,LAMP,2,STUD,,1,1,Ground,TXL,CABIN,\n"
)


def test_a_smaller_wire_spliced_behind_a_bigger_fuse_is_unprotected() -> None:
    """Common practice, no source: the fuse knows of the thick wire alone."""
    loads, fuse = "FAN,fan,15\nLAMP,lamp,0.5\n", "F1,25,regular blade\n"
    result = loom(SPLICED.format(thin="0.35"), loads, fuse)
    [finding] = found(result, "fuse.protects_wire")
    assert "W4" in finding.message and "W3" not in finding.message
    assert fuse_of(result, "F1").thinnest.startswith("W4")
    assert not found(loom(SPLICED.format(thin="4"), loads, fuse), "fuse.protects_wire")


def test_a_smaller_fuse_at_the_splice_protects_the_smaller_wire() -> None:
    """Common practice, no source: what is thinner gets a fuse of its own where it begins."""
    wires = SPLICED.format(thin="0.35").replace(
        "W4,SPL 1,,LAMP,1,0.35,1,", "W4a,SPL 1,,F2,in,4,0.1,Lamp feed,TXL,CABIN,\nW4,F2,out,LAMP,1,0.35,1,"
    )
    result = loom(wires, "FAN,fan,15\nLAMP,lamp,0.5\n", "F1,25,regular blade\nF2,3,mini blade\n")
    assert not found(result, "fuse.protects_wire")
    assert not found(result, "fuse.blows")


def test_a_big_fuse_never_blows_on_a_short_at_the_end_of_a_long_thin_wire() -> None:
    """Common practice, no source: 12 V over the wire's own resistance is no more than the fuse carries for long."""
    result = fused(rating_a="30", size="0.5", length_m="8")
    [finding] = [f for f in found(result, "fuse.blows") if "W2" in f.message]
    assert finding.measured is not None and finding.limit is not None
    # 8 m of 37.1 mohm/m (ISO 6722, from memory), warm: less than 12 V / 0.297 ohm = 40 A
    assert finding.measured < 40.4 < 1.35 * 30 <= finding.limit * 1.0001
    assert fuse_of(result, "F1").clears_s == float("inf")
    assert not found(fused(rating_a="5", size="0.5", length_m="8"), "fuse.blows")


def test_a_slow_fuse_lets_a_wire_burn_that_a_quick_one_of_the_same_rating_saves() -> None:
    """ISO 8820-3 (from memory): at 350 % a maxi blade may take 7 s where a regular blade takes 0.5 s."""
    quick = fused(rating_a="30", size="0.75", length_m="2", load_a="5")
    slow = fused(rating_a="30", size="0.75", length_m="2", load_a="5", family="maxi blade")
    times = [fuse_of(each, "F1").clears_s for each in (quick, slow)]
    assert times[0] is not None and times[1] is not None and times[0] < times[1] / 5
    assert not found(quick, "fuse.blows")
    assert found(slow, "fuse.blows")


@pytest.mark.parametrize(("load_a", "told"), [("7.4", False), ("7.99", False), ("8.1", True), ("9.9", True)])
def test_a_fuse_is_loaded_to_four_fifths_for_hours(load_a: str, told: bool) -> None:
    """Common practice of fuse makers, 75 to 80 %, no source."""
    assert bool(found(fused(rating_a="10", load_a=load_a), "fuse.load")) is told


def test_unfused_copper_at_the_battery_is_as_short_as_possible() -> None:
    """Common practice, no source; 0.3 m by the shipped ruleset."""
    assert not found(fused(ahead_m="0.15"), "feed.unfused_length")
    [finding] = found(fused(ahead_m="1.5"), "feed.unfused_length")
    assert "W1" in finding.message


def test_a_fuse_at_the_far_end_leaves_its_wire_unprotected() -> None:
    """Common practice, no source: the fuse stands at the source, not at the load."""
    result = loom(
        "W1,BATTERY,+,F1,in,0.75,2.5,Load feed,TXL,CABIN,\nW2,F1,out,LOAD,1,0.75,0.1,Load feed,TXL,CABIN,\n"
        + GROUND.format("LOAD"),
        "LOAD,lamp,4\n",
        "F1,7.5,regular blade\n",
    )
    [finding] = found(result, "feed.unfused_length")
    assert finding.measured == pytest.approx(2.5)


def test_a_fuse_does_not_belong_into_a_ground() -> None:
    """Common practice, no source: a feed that chafes through goes past it."""
    result = loom(
        "W1,BATTERY,+,F1,in,6,0.2,Battery feed,TXL,CABIN,\nW2,F1,out,LOAD,1,1.5,2,Load feed,TXL,CABIN,\n"
        "W3,LOAD,2,F2,in,1.5,1,Load ground,TXL,CABIN,\nW4,F2,out,STUD,,1.5,0.2,Ground,TXL,CABIN,\n",
        "LOAD,lamp,4\n",
        "F1,10,regular blade\nF2,10,regular blade\n",
    )
    assert [f.subject for f in found(result, "fuse.in_ground")] == [("fuse", "F2")]
    assert not found(fused(), "fuse.in_ground")


# ---------------------------------------------------------------------- contacts
CONTACT = "Component,Kind,Current (A),Contact rating (A)\nK1,relay,,{rating}\nLOAD,{kind},{amps}\n"


@pytest.mark.parametrize(
    ("kind", "amps", "bears", "burns"),
    [("lamp", 5, 25.5, 24.5), ("fan", 10, 20.5, 19.5), ("solenoid", 4, 8.2, 7.8), ("heater", 8, 8.2, 7.6)],
)
def test_lamps_motors_and_coils_need_a_larger_contact(kind: str, amps: int, bears: float, burns: float) -> None:
    """AC 43.13-1B, derating of switches at 12 V (from memory): lamp 5, motor 2, inductive 2, resistive 1.

    A cold filament draws eight to ten times its current, a stalled motor several times (common practice, no source).
    A heater is a resistance: at idling voltage it draws a little other than what is listed.
    """
    wires = (
        "W1,BATTERY,+,F1,in,6,0.2,Battery feed,TXL,CABIN,\nW2,F1,out,K1,30,4,0.5,Feed,TXL,CABIN,\n"
        "W3,K1,87,LOAD,1,4,0.5,Load feed,TXL,CABIN,\n" + GROUND.format("LOAD")
    )
    told = []
    for rating in (bears * (1.25 if kind == "heater" else 1.0), burns * (0.75 if kind == "heater" else 1.0)):
        result = result_of(
            wires=HEAD + wires,
            branches=BRANCHES,
            earth_points=EARTHS,
            straps=STRAPS,
            components=CONTACT.format(rating=rating, kind=kind, amps=amps),
            fuses="Fuse,Rating (A),Family\nF1,30,regular blade\n",
        )
        told.append(bool(found(result, "contact.rating")))
    assert told == [False, True]


# ---------------------------------------------------------------------- heat
def test_more_wires_in_the_bundle_allow_less() -> None:
    """MIL-W-5088L bundle curves (digitised, read): 33 wires at a fifth loaded allow about half of one alone."""
    alone, some, full = (size_of(fused(branch="BAY", more=crowd(n)), "W2").allowed_a for n in (0, 8, 32))
    assert alone is not None and some is not None and full is not None
    assert alone > some > full
    assert full / alone == pytest.approx(0.53, abs=0.05)


def test_a_hotter_place_allows_less_and_the_head_least() -> None:
    """Common practice, no source: heat to spare is what the insulation bears less what is around it."""
    allowed = [size_of(fused(branch=b, more=crowd(1, b)), "W2").allowed_a for b in ("CABIN", "BAY", "HEAD")]
    assert None not in allowed
    assert allowed == sorted(allowed, reverse=True) and len(set(allowed)) == 3  # type: ignore[type-var]


def test_a_wire_thick_enough_in_free_air_is_not_in_a_full_bundle() -> None:
    """Common practice, no source; curves of MIL-W-5088L for how much."""
    wire = {"rating_a": "20", "load_a": "14", "size": "1.5", "length_m": "0.5", "branch": "BAY"}
    assert not found(fused(**wire), "wire.current")  # type: ignore[arg-type]
    [finding] = found(fused(**wire, more=crowd(40)), "wire.current")  # type: ignore[arg-type]
    assert "W2" in finding.message


def test_insulation_that_does_not_bear_the_head_is_told_whatever_the_current() -> None:
    """Common practice, no source: at 110 °C around it PVC of 85 °C carries nothing at all."""
    told = found(fused(insulation="class A", branch="HEAD", load_a="0.1"), "wire.current")
    assert [finding.subject for finding in told] == [("wire", "W2")]


def test_better_insulation_carries_more_on_the_same_copper() -> None:
    """Common practice, no source."""
    allowed = [
        size_of(fused(insulation=i, branch="BAY"), "W2").allowed_a for i in ("PVC 105", "TXL", "ETFE 150", "PTFE 200")
    ]
    assert allowed == sorted(allowed) and len(set(allowed)) == 4  # type: ignore[type-var]


def test_a_fifth_less_air_at_20000_ft_takes_a_tenth_of_the_current() -> None:
    """AC 43.13-1B figure 11-5 (read): 0.91 at 20,000 ft."""
    low, high = (size_of(fused(height_m=h), "W2").allowed_a for h in (0.0, 6096.0))
    assert low is not None and high == pytest.approx(0.91 * low, rel=1e-5)


# ---------------------------------------------------------------------- drop and handling
def test_a_starter_cable_is_governed_by_drop_and_not_by_heat() -> None:
    """Common practice, no source: it carries hundreds of amperes for seconds, but every volt is missing at the starter."""
    result = loom(
        "W1,BATTERY,+,STARTER,30,35,1.2,Starter feed,TXL,BAY,\nW2,BATTERY,-,STUD,,35,0.5,Battery ground,TXL,BAY,\n",
        "STARTER,starter,250\n",
        straps="Strap,From body,To body,Size (mm2),Length (m)\nG1,chassis,engine,35,0.4\n",
    )
    line = size_of(result, "W1")
    assert (line.governs, line.state) == ("drop", "cranking")
    assert line.peak_a is not None and line.current_a is not None and line.allowed_a is not None
    assert line.peak_a > line.allowed_a > line.current_a
    assert mm2_of(line.needed_mm2) >= 16


def test_sensor_wires_are_governed_by_what_can_be_handled() -> None:
    """Common practice, no source: 0.35 mm² and 22 AWG, below which a crimp breaks its wire."""
    result = loom(crowd(6))
    for line in result.sizing.wires:
        assert (line.governs, line.needed_mm2, line.needed_awg) == ("smallest", "0.35 mm²", "22 AWG")


def test_a_long_wire_is_governed_by_drop_and_a_short_one_by_its_fuse() -> None:
    """Common practice, no source."""
    wire = {"rating_a": "15", "load_a": "10", "size": "2.5"}
    assert size_of(fused(**wire, length_m="0.4"), "W2").governs in ("fuse", "short circuit")  # type: ignore[arg-type]
    assert size_of(fused(**wire, length_m="12"), "W2").governs == "drop"  # type: ignore[arg-type]


def test_twice_the_length_drops_twice_as_much_and_weighs_twice() -> None:
    """Ohm's law."""
    one, two = (size_of(fused(length_m=m), "W2") for m in ("1", "2"))
    assert one.drop_mv and two.drop_mv == pytest.approx(2 * one.drop_mv, rel=1e-4)
    assert one.copper_g and two.copper_g == pytest.approx(2 * one.copper_g, rel=1e-6)


def test_a_hot_wire_drops_more() -> None:
    """Copper has 0.39 % more resistance per kelvin (IEC 60228): 25 K from cabin to bay are some 8 %."""
    cool, hot = (size_of(fused(branch=b), "W2") for b in ("CABIN", "BAY"))
    assert cool.drop_mv and hot.drop_mv
    assert hot.drop_mv / cool.drop_mv == pytest.approx((234.5 + hot.conductor_degc) / (234.5 + cool.conductor_degc), rel=1e-3)  # type: ignore[operator]  # fmt: skip
    assert 1.05 < hot.drop_mv / cool.drop_mv < 1.12


# ---------------------------------------------------------------------- labels
def test_16_awg_is_not_1_5_mm2() -> None:
    """ASTM B258: 16 AWG has 1.309 mm²; the trade sells it as 1.5 mm². A label is never converted."""
    gauge, metric = (size_of(fused(size=s), "W2") for s in ("16 AWG", "1.5 mm2"))
    assert gauge.copper_g and metric.copper_g and gauge.allowed_a and metric.allowed_a
    assert gauge.copper_g / metric.copper_g == pytest.approx(1.309 / 1.5, rel=0.01)
    assert gauge.allowed_a < 0.9 * metric.allowed_a
    assert (gauge.size, metric.size) == ("16 AWG", "1.5 mm²")
    both = fused(size="16 AWG (1.5 mm2)")
    [finding] = found(both, "wire.size_label")
    assert finding.grade == "query" and finding.marks[0].place.cell == "F3"
    assert size_of(both, "W2").allowed_a == pytest.approx(gauge.allowed_a, rel=1e-6)


def test_the_sizes_needed_in_both_systems_carry_the_same() -> None:
    """Common practice, no source: the two answers are each the smallest of its system, not one converted."""
    for rating_a in ("5", "10", "15", "20", "30"):
        line = size_of(fused(rating_a=rating_a, load_a="1", size="16"), "W2")
        awg, metric = awg_of(line.needed_awg), mm2_of(line.needed_mm2)
        gauge_mm2 = 0.012668 * 92 ** ((36 - awg) / 19.5)  # ASTM B258
        assert 0.5 < gauge_mm2 / metric < 2.0


# ---------------------------------------------------------------------- bundles
def test_seven_equal_wires_are_three_wires_thick_and_packing_adds_a_twentieth() -> None:
    """Geometry: seven round wires pack into three diameters; the rule 1.2 sqrt(N) d of the trade has 3.17."""
    rows = "".join(f"S{n},BOX,{n},PANEL,{n},1,1,Speed signal {n},TXL,BAY,\n" for n in range(7))
    diameter = bundle_of(loom(rows), "BAY").diameter_mm
    single = bundle_of(loom(rows.split("\n")[0] + "\n"), "BAY").diameter_mm
    assert diameter is not None and single is not None
    assert 3.0 <= diameter / single <= 3.2


@pytest.mark.parametrize(("column", "check", "bears", "fails"), [
    ("Sleeve (mm)", "bundle.sleeve", "12", "6"), ("Bend radius (mm)", "bundle.bend", "60", "12"),
])  # fmt: skip
def test_sleeve_and_bend_have_room(column: str, check: str, bears: str, fails: str) -> None:
    """AC 43.13-1B (from memory): a bend of ten times the largest wire; a tenth of room in a sleeve is common practice."""
    rows = "".join(f"S{n},BOX,{n},PANEL,{n},1,1,Speed signal {n},TXL,BAY,\n" for n in range(10))
    told = [
        bool(found(loom(rows, branches=f"Branch,From point,To point,Zone,{column}\nBAY,P1,P2,bay,{value}\n"), check))
        for value in (bears, fails)
    ]
    assert told == [False, True]


# ---------------------------------------------------------------------- what is not known is asked for
@pytest.mark.parametrize(
    ("change", "needs"),
    [
        ({"insulation": ""}, "insulation of wire W2"), ({"branch": ""}, "branch of wire W2"),
        ({"size": ""}, "size of wire W2"),
    ],
)  # fmt: skip
def test_near_the_limit_what_is_lacking_is_asked_for(change: dict[str, str], needs: str) -> None:
    """Common practice, no source: nobody can say that a fuse protects a wire nobody has described."""
    result = fused(**{"rating_a": "15", "size": "1", "branch": "BAY", **change})  # type: ignore[arg-type]
    assert needs in {what for each in undecided(result, "fuse.protects_wire") for what in each.missing}
