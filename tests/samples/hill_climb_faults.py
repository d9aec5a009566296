"""Slips of the hill-climb single-seater, and the finding expected of each."""

from __future__ import annotations

from build_model import Build
from hill_climb import clean
from hill_climb_assembly_faults import assembly_slips
from hill_climb_parts_faults import parts_slips
from hill_climb_protection_faults import protection_slips


def faulty() -> Build:
    """The clean build with slips that happen, each with the finding and the cell that it should give."""
    build = clean()
    expect = build.expect

    # -- grounds
    build.change("W302", to_item="STUD3")
    expect(
        "ground.two_paths",
        "component",
        "ECU",
        ("wires", "W302", "to_item"),
        "power ground 2 goes to the chassis while power ground 1 goes to the head: a loop over both straps",
    )
    build.change("W212", to_item="STUD4", length=1400.0)
    build.earth_points.append(
        {
            "earth_point": "STUD4",
            "body": "battery negative",
            "resistance_ohm": 0.1,
            "note": "on the battery post",
        }
    )
    expect(
        "ground.one_point",
        "component",
        "COIL3",
        ("wires", "W212", "to_item"),
        "ground of coil 3 goes to the battery, those of the other coils to the star stud on the head",
    )
    build.drop("W303")
    expect(
        "ground.no_return",
        "component",
        "WB",
        ("components", "WB", "component"),
        "the wideband controller has a feed and no ground",
    )
    build.change("W138", size="0.5")
    expect(
        "ground.voltage_drop",
        "component",
        "FAN",
        ("wires", "W138", "size"),
        "8 A through 1.5 m of 0.5 mm² loses more than half a volt when hot",
    )

    # -- ignition
    build.change("W216", to_item="STUD3", length=1100.0)
    expect(
        "ignition.high_voltage_return",
        "component",
        "COIL2",
        ("wires", "W216", "to_item"),
        "spark current of coil 2 has to find its way home through the chassis",
    )
    build.earth_points.append(
        {"earth_point": "STUD5", "body": "head", "resistance_ohm": 0.1, "note": "right rear of the head"}
    )
    build.points.append({"point": "STUD5", "x_m": -480, "y_m": -230, "z_m": 430, "note": "right rear of the head"})
    build.change("W215", to_item="STUD5", length=800.0, note="")
    expect(
        "ignition.loop_area",
        "component",
        "COIL1",
        ("components", "COIL1", "component"),
        "spark return of coil 1 on a stud at the other end of the head: a loop across all four coils",
    )
    build.change("W218", to_item="SP19", length=200.0)
    build.change("W305", to_item="SP19")
    build.add_after("W305", "W306 | SP19 | STUD1 | BK | 1 | 100 | Dash ground | | | COV | one ring for both")
    build.splices.append({"splice": "SP19", "branch": "COV", "distance_m": 20, "note": "dash ground and coil 4"})
    expect(
        "ignition.shared_return",
        "component",
        "COIL4",
        ("wires", "W306", "to_item"),
        "spark current of coil 4 and the ground of the dash share a wire and a ring",
    )
    build.component("PLUG2").update(plug_type="plain", gap_m=1.1)
    expect(
        "ignition.noise_source",
        "component",
        "COIL2",
        ("components", "PLUG2", "plug_type"),
        "a plug without resistor, its gap worn wide",
    )

    # -- sensors
    build.change("W414", to_item="STUD2", length=500.0)
    expect(
        "sensor.return_elsewhere",
        "component",
        "IAT",
        ("wires", "W414", "to_item"),
        "return of the air temperature sensor ends on a stud of the head",
    )
    build.add_after("W431", "W439 | SP5 | STUD1 | BN/BK | 0.75 | 700 | Sensor ground | | | ENG | extra earth")
    expect(
        "sensor.return_second_path",
        "net",
        "sensor ground ECU-B 7",
        ("wires", "W439", "to_item"),
        "sensor ground is joined to the star stud: power current may return through it",
    )

    # -- triggers
    build.change("W401", twist="", lay=None, untwisted=None)
    build.change("W402", twist="", lay=None, untwisted=None)
    expect(
        "trigger.twisted_pair",
        "component",
        "CRK",
        ("wires", "W401", "twist"),
        "the two wires of the crank sensor are not twisted",
    )
    expect(
        "trigger.shield_material",
        "component",
        "CRK",
        ("wires", "W401", "shield_material"),
        "copper braid keeps no magnetic field off a pair that is not twisted",
    )
    for wire in ("W404", "W405", "W406"):
        build.change(wire, branch="ECU, ENG, COV")
    expect(
        "trigger.beside_coils",
        "component",
        "CAM",
        ("wires", "W405", "branch"),
        "the cam sensor is in the loom of the coils, along all of the cam cover",
    )
    expect(
        "trigger.margin",
        "component",
        "CAM",
        ("wires", "W405", "branch"),
        "beside coil 2 with its worn plug and its return through the chassis, twisting is not enough",
    )
    build.change("W403", to_item="STUD1", note="ring at the engine end")
    expect(
        "trigger.shield",
        "shield",
        "SH1",
        ("wires", "W403", "to_item"),
        "the shield is connected at the controller and at the engine",
    )

    # -- feeds
    build.change("W133", size="0.5")
    expect(
        "feed.voltage_drop",
        "component",
        "PUMP",
        ("wires", "W133", "size"),
        "6 A through 2.2 m of 0.5 mm² loses more than half a volt when hot",
    )
    build.add_after("W430", "W440 | SP6 | SP4 | RD/PK | 0.5 | 600 | Sensor supply 5 V | | | ECU")
    expect(
        "feed.two_supplies",
        "net",
        "fed by fuse F2",
        ("wires", "W440", "wire"),
        "the 5 V sensor supply is joined to the controller's battery feed",
    )
    build.add_after("W154", "W165 | SP14 | SP18 | RD/GY | 0.75 | 300 | Panel lamp feed | | | PNL")
    build.add_after(
        "W165", "W166 | SP18 | STUD3 | BK | 0.75 | 300 | Panel lamp ground | | | PNL | lamp left out"
    )
    build.splices.append({"splice": "SP18", "branch": "PNL", "distance_m": 230, "note": "panel lamp"})
    expect(
        "feed.shorted_to_ground",
        "net",
        "fed by fuse F8",
        ("wires", "W166", "to_item"),
        "the permanent feed reaches the chassis stud through SP18 with no load between",
    )

    # -- fuses, sizes, sleeves
    protection_slips(build)

    # -- cavities and lists
    build.change("W426", from_cavity="13")
    expect(
        "cavity.used_twice",
        "cavity",
        "ECU-B 13",
        ("wires", "W426", "from_cavity"),
        "oil pressure and fuel pressure signals are both in cavity 13",
    )
    expect(
        "cavity.lists_disagree",
        "cavity",
        "ECU-B 14",
        ("pins", "ECU-B:14", "wire"),
        "the pin list has W426 in cavity 14, the wire list has it in cavity 13",
    )
    build.change_pin("ECU-B", "11", wire="W420")
    build.change_pin("ECU-B", "12", wire="W417")
    expect(
        "cavity.lists_disagree",
        "cavity",
        "ECU-B 11",
        ("pins", "ECU-B:11", "wire"),
        "the pin list has W420 here, the wire list W417",
    )
    expect(
        "cavity.lists_disagree",
        "cavity",
        "ECU-B 12",
        ("pins", "ECU-B:12", "wire"),
        "the pin list has W417 here, the wire list W420",
    )
    build.add_after("W163", "W167 | SP3 | ECU-A:22 | PK | 0.75 | 500 | Ignition on | | | ECU")
    build.change_pin("ECU-A", "22", wire="")
    expect(
        "cavity.unused_but_wired",
        "cavity",
        "ECU-A 22",
        ("wires", "W167", "to_cavity"),
        "the pin list says N/C, the wire list has W167 here",
    )

    # -- branches and points
    build.branch("RAD")["to_point"] = None
    expect("branch.ends", "branch", "RAD", ("branches", "RAD", "to_point"), "nobody has said where it ends")
    build.point("KNK")["z_m"] = None
    expect("branch.coordinates", "point", "KNK", ("points", "KNK", "z_m"), "x and y of the knock sensor, and no z")

    # -- splices, cut lengths, the bus
    assembly_slips(build)

    # -- the list itself
    build.add_after(
        "W141", "W142 | ECU-A:18 |  | BU/YE | 0.5 | 1500 | Tacho output | | | ECU | to be decided"
    )
    build.change_pin("ECU-A", "18", signal="Tacho output", role="digital signal", wire="W142")
    expect("wire.one_end", "wire", "W142", ("wires", "W142", "to_item"), "the wire ends nowhere")
    build.renumber("W435", "W425")
    expect(
        "wire.duplicate_number",
        "wire number",
        "W425",
        ("wires", "W425", "wire"),
        "a sensor ground and the shift switch signal are both called W425",
    )
    build.change("W224", colour="")
    expect("wire.colour_missing", "wire", "W224", ("wires", "W224", "colour"), "no colour given")
    build.change("W228", size="")
    expect("wire.size_missing", "wire", "W228", ("wires", "W228", "size"), "no size given")

    # -- terminals, seals and connectors
    parts_slips(build)
    return build
