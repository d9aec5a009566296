"""What people of the trade know of ignition noise and trigger wiring, held to small lists that go through the design.

Each fact is common practice; none has a source. The four layouts of the spark's return are the worked ones of the
models' page: coil on its plug with its return at the head; a coil 600 mm away with its return led 30 mm beside the plug
lead; the same with its return through block and strap; and a coil of two terminals that has the chassis and the battery
to return by.
"""

from __future__ import annotations

import numpy as np
import pytest
from text_lists import design_from

from harnessdrc.design import Design
from harnessdrc.design.loops import Loop, Margin, Pickup

HEAD = "Wire,From,From cavity,To,To cavity,Signal,Length (mm),Branch,Twist group,Lay (mm),Untwisted end (mm),Shield,Shield material\n"
PAIR = "T1,CRANK VR,1,ECU,10,Crank +,{m},B1,{pair}\nT2,CRANK VR,2,ECU,11,Crank -,{m},B1,{pair}\n"
COIL_ROWS = {
    "head": "W1,COIL 1,4,HEAD STUD,,High-voltage return,200,,,,,,\nW2,ECU,2,COIL 1,2,Coil 1 input,900,,,,,,\n",
    "beside the lead": "W1,COIL 1,4,HEAD STUD,,High-voltage return,650,RETURN,,,,,\nW2,ECU,2,COIL 1,2,Coil 1 input,900,,,,,,\n",
    "block and strap": "W1,COIL 1,4,CHASSIS STUD,,High-voltage return,350,,,,,,\nW2,ECU,2,COIL 1,2,Coil 1 input,900,,,,,,\n"
    "G1,BLOCK STUD,,CHASSIS STUD,,Strap,600,,,,,,\n",
    "chassis and battery": "W1,BATTERY,+,COIL 1,1,Coil feed,2000,FEED,,,,,\nW2,COIL 1,2,ECU,3,Coil 1 primary -,900,,,,,,\n"
    "G1,BLOCK STUD,,BATTERY,-,Strap,2000,STRAP,,,,,\n",
}
"""Wires of the four layouts of a spark's return."""
PLACES = {
    "head": "COIL 1,225,0,0\nPLUG 1,375,0,0\nHEAD STUD,375,0,30\nR,225,0,30\n",
    "beside the lead": "COIL 1,0,0,0\nPLUG 1,600,0,0\nHEAD STUD,600,0,30\nR,0,0,30\n",
    "block and strap": "COIL 1,0,0,0\nPLUG 1,600,0,0\nBLOCK STUD,600,0,350\nCHASSIS STUD,0,0,350\n",
    "chassis and battery": "COIL 1,0,0,0\nPLUG 1,600,0,0\nBLOCK STUD,1050,0,0\nBATTERY,-450,0,500\nR,1050,0,500\nF,-450,0,0\n",
}
BRANCHES = {
    "head": "RETURN,HEAD STUD,R\n",
    "beside the lead": "RETURN,HEAD STUD,R\n",
    "block and strap": "",
    "chassis and battery": "STRAP 1,BLOCK STUD,R\nSTRAP 2,R,BATTERY\nFEED 1,BATTERY,F\nFEED 2,F,COIL 1\n",
}
LAYOUTS = tuple(COIL_ROWS)


def layout(name: str, away_mm: float, spacing_mm: float = 10.0, pair: str = ",,,,", more: str = "") -> Design:
    """One of the four layouts with a pair of 500 mm beside the plug lead, `away_mm` from it."""
    wires = COIL_ROWS[name].replace(",FEED,", ",FEED 1 > FEED 2,").replace(",STRAP,", ",STRAP 1 > STRAP 2,")
    if name == "head":
        wires = wires.replace("200,,", "200,RETURN,")
    return design_from(
        {"loose_spacing_mm": spacing_mm}, wires=HEAD + PAIR.format(m=500, pair=pair) + wires,
        components="Component,Kind,Place,Fires\nCOIL 1,coil,,PLUG 1\nPLUG 1,spark plug,head,\n"
        f"CRANK VR,reluctor sensor,block,\n{more}",
        earth_points="Earth point,Body\nHEAD STUD,head\nBLOCK STUD,block\nCHASSIS STUD,chassis\n",
        branches="Branch,From point,To point\nB1,ECU,CRANK VR\n" + BRANCHES[name],
        points=f"Point,X (mm),Y (mm),Z (mm)\nECU,550,0,{-away_mm}\nCRANK VR,50,0,{-away_mm}\n" + PLACES[name],
    )  # fmt: skip


def spark(design: Design) -> Loop:
    """The high-voltage loop."""
    return design.loops.high_voltage[0].loop


def pickup(design: Design, what: str = "high-voltage return") -> Pickup:
    """What the first loop of this kind induces."""
    return next(p for p in design.coupling.pickups[0] if p.loop.what == what)


def mutual_nh(name: str, away_mm: float, spacing_mm: float = 10.0) -> float:
    """Mutual inductance of a layout with the loose pair, nH."""
    return pickup(layout(name, away_mm, spacing_mm)).mutual_h * 1e9


def curve(sensor: str, components: str = "", boost: str = "", earth: str = "HEAD STUD,", branch: str = "B1") -> Margin:
    """Margin of a sensor whose branch is, or is not, that of the coil's return."""
    hall = "HALL" in sensor
    supply = f"T3,{sensor},3,ECU,12,5V sensor supply,500,B1,,,,,\n" if hall else ""
    signals = ("Cam Hall signal", "Cam Hall ground") if hall else ("Crank +", "Crank -")
    design = design_from(
        wires=HEAD + "".join(f"T{n},{sensor},{n},ECU,{9 + n},{s},500,B1,,,,,\n" for n, s in enumerate(signals, 1)) + supply
        + f"W1,COIL 1,4,HEAD STUD,,High-voltage return,600,{branch},,,,,\nW2,ECU,2,COIL 1,2,Coil 1 input,900,,,,,,\n"
        f"G1,ECU,1,{earth},Power ground,600,,,,,,\nF3,BATTERY,+,ECU,3,Controller feed,900,,,,,,\n"
        "A1,BATTERY,+,ALTERNATOR,B+,Alternator output,1000,,,,,,\n",
        components="Component,Kind,Place,Fires,Plug type,Lead type,Gap (mm),Boost (bar),Earthed by its case\n"
        f"COIL 1,coil,head,PLUG 1,{components or ',,'},{boost},\n{sensor},{'Hall' if hall else 'reluctor'} sensor,block,,,,,,\n"
        "ALTERNATOR,alternator,block,,,,,,yes\n",
        earth_points="Earth point,Body\nHEAD STUD,head\n",
        branches=f"Branch,From point,To point,Length (mm)\nB1,ECU,{sensor},500\nB2,X,Y,500\n",
        straps="Strap,From body,To body,Resistance (mOhm)\nS1,engine,battery negative,20\n",
    )  # fmt: skip
    return design.margins.all[0]


def test_the_areas_of_the_four_layouts() -> None:
    """Common practice, no source: the nearer to the plug the spark returns, the smaller its loop."""
    areas = [(spark(layout(name, 50)).shape.area_m2 or 0.0) * 1e4 for name in LAYOUTS]
    assert areas == pytest.approx([45, 180, 2100, 7500])
    assert [spark(layout(name, 50)).at_home for name in LAYOUTS] == [True, True, False, False]


@pytest.mark.parametrize("away_mm", [50, 150, 300])
def test_the_head_beats_the_strap_which_beats_the_battery(away_mm: float) -> None:
    """Common practice, no source: so it is for what is induced in a pair beside the plug lead, at any distance."""
    nh = [mutual_nh(name, away_mm) for name in LAYOUTS[1:]]
    assert nh == sorted(nh)
    assert mutual_nh("head", away_mm) < nh[0]
    assert nh[1] > 2 * nh[0]


@pytest.mark.parametrize(
    ("name", "away_mm", "nh"),
    [
        ("beside the lead", 50, 1.42), ("beside the lead", 150, 0.18), ("beside the lead", 300, 0.038),
        ("block and strap", 50, 3.05), ("block and strap", 150, 0.65), ("block and strap", 300, 0.19),
    ],
)  # fmt: skip
def test_the_worked_figures_of_the_models_page(name: str, away_mm: float, nh: float) -> None:
    """Common practice, no source: a pair 2 mm apart in the plane of the loop; worked there on a prototype."""
    assert mutual_nh(name, away_mm, 2.0) == pytest.approx(nh, rel=0.03)


def test_area_alone_misleads_close_in() -> None:
    """Common practice, no source: 3.6 times the area, at 50 mm next to no more coupling, at 300 mm a good deal more."""
    near = mutual_nh("chassis and battery", 50) / mutual_nh("block and strap", 50)
    far = mutual_nh("chassis and battery", 300) / mutual_nh("block and strap", 300)
    assert 7500 / 2100 > 3.5
    assert 1.0 < near < 1.2
    assert 1.5 < far < 2.5


def test_a_twisted_pair_beats_a_loose_one_and_its_tails_spoil_it() -> None:
    """Common practice, no source."""
    loose = pickup(layout("block and strap", 50)).mutual_h
    tails = [pickup(layout("block and strap", 50, pair=f"P,30,{mm},,")).mutual_h for mm in (0, 20, 40, 100)]
    assert tails == sorted(tails)
    assert tails[0] < loose / 100
    assert tails[2] > 5 * tails[0]
    assert tails[3] < loose


def test_steel_helps_and_copper_does_not_count() -> None:
    """Common practice, no source."""
    volts = {}
    for material in ("copper braid", "aluminium foil", "steel braid", "steel conduit"):
        design = layout("block and strap", 50, pair=f",,,SH1,{material}")
        assert design.loops.pairs[0].material == material
        volts[material] = pickup(design).volts(material)[1]
    bare = pickup(layout("block and strap", 50, pair=",,,SH1,")).volts(None)[1]
    assert volts["copper braid"] == volts["aluminium foil"] == pytest.approx(bare)
    assert volts["steel braid"] < 0.8 * bare
    assert volts["steel conduit"] < 0.8 * bare


def test_a_reluctors_margin_grows_with_speed_and_a_fixed_levels_shrinks() -> None:
    """Common practice, no source: from idle to full load; what the inlet's pressure adds, a reluctor makes up for."""
    reluctor, hall = curve("CRANK VR"), curve("CAM HALL")
    running = reluctor.rpm >= 800
    assert reluctor.db[running][-1] > reluctor.db[running][0] + 6
    assert hall.db[running][-1] < hall.db[running][0]
    assert reluctor.worst == 0  # cranking


def test_a_hall_sensor_loses_the_ground_offset_and_a_reluctor_does_not() -> None:
    """Common practice, no source: the controller at the battery's post lies an offset away from nothing a reluctor sees."""
    assert not curve("CRANK VR", earth="BATTERY,-").offset_v.any()
    hall = curve("CAM HALL", earth="BATTERY,-")
    assert hall.db == pytest.approx(20 * np.log10((hall.signal_v - hall.offset_v) / hall.noise_v))


@pytest.mark.parametrize(
    ("parts", "boost"), [("plain,,", ""), (",solid,", ""), ("resistor,suppressed,1.2", ""), ("plain,solid,", ""), (",,", "1")]
)
def test_plain_plugs_solid_leads_gap_and_boost_make_more_noise(parts: str, boost: str) -> None:
    """Common practice, no source."""
    usual, strong = curve("CRANK VR"), curve("CRANK VR", parts, boost)
    assert (strong.noise_v >= usual.noise_v).all()
    assert strong.noise_v[-1] > 1.3 * usual.noise_v[-1]


def test_a_sensor_in_the_coils_branch_has_less_margin_than_in_another() -> None:
    """Common practice, no source: in another branch nothing is counted at all; with points it is a matter of distance."""
    assert curve("CRANK VR").known
    assert not curve("CRANK VR", branch="B2").pickups
    assert mutual_nh("block and strap", 50) > 3 * mutual_nh("block and strap", 300)
