"""Slips of the rescue boat, and the finding expected of each."""

from __future__ import annotations

from build_model import Build
from rescue_boat import clean
from rescue_boat_assembly_faults import assembly_slips
from rescue_boat_parts_faults import parts_slips
from rescue_boat_protection_faults import protection_slips


def faulty() -> Build:
    """The clean build with slips that happen, each with the finding and the cell that it should give."""
    build = clean()
    expect = build.expect

    # -- grounds: the star is on the hull, one leg of it at the battery
    build.change("67", to_item="G3")
    build.change("68", to_item="G3")
    build.change("69", to_item="G4", length=9.0)
    build.change("89", to_item="G3")
    build.earth_points[0]["note"] = "rear of port head"
    build.earth_points[2]["note"] = "bonding stud on the engine bed, controller and display"
    build.change("67", note="")
    expect(
        "ground.two_paths",
        "component",
        "ECM",
        ("wires", "69", "to_item"),
        "ECM grounds go to the hull and to the battery negative: a loop over the bonding conductor",
    )
    build.add_after(
        "123", "136 | J2:21 | OILT:1 | Yellow/Brown | 20 | 6 | Oil temperature | | | | one-wire sender"
    )
    build.change_pin("J2", "21", signal="Oil temperature", role="temperature signal", wire="136")
    build.components.insert(
        30,
        {"component": "OILT", "kind": "Temperature sensor", "place": "block", "current_a": None,
         "capacitance_f": None, "case_earthed": "yes", "mate": None, "note": "one-wire sender"},
    )  # fmt: skip
    expect(
        "sensor.body_grounded",
        "component",
        "OILT",
        ("components", "OILT", "component"),
        "a sender earthed by its case on the block, while the star point of the ECM is on the hull",
    )
    build.change("85", size="22")
    expect(
        "ground.voltage_drop",
        "component",
        "BLOWER",
        ("wires", "85", "size"),
        "4 A through 9 ft of 22 AWG loses more than half a volt when hot",
    )

    # -- ignition
    build.drop("44")
    build.drop("45")
    build.components.remove(build.component("CAP2"))
    build.points.remove(build.point("CAP2"))
    build.pins = [pin for pin in build.pins if pin.connector != "CAP2"]
    expect(
        "ignition.capacitor",
        "component",
        "COIL3",
        ("wires", "42", "to_cavity"),
        "no suppression capacitor from the positive of the stbd coil bank to the engine",
    )
    expect(
        "ignition.capacitor",
        "component",
        "COIL4",
        ("wires", "43", "to_cavity"),
        "no suppression capacitor from the positive of the stbd coil bank to the engine",
    )

    # -- triggers
    build.change("106", twist="", lay=None, untwisted=None)
    build.change("108", twist="TP2")
    expect(
        "trigger.twisted_pair",
        "component",
        "CAM",
        ("wires", "105", "twist"),
        "cam signal + is twisted with the coolant temperature wire, not with its own return",
    )
    build.change("107", to_item="G2", note="ring to the head")
    expect(
        "trigger.shield",
        "shield",
        "SCR1",
        ("wires", "107", "to_item"),
        "the shield of the cam sensor is connected at the controller and at the head",
    )
    expect(
        "trigger.shield_material",
        "component",
        "CAM",
        ("wires", "105", "shield_material"),
        "foil keeps no magnetic field off a pair that is not twisted",
    )
    build.change("103", lay=4)
    build.change("104", lay=4)
    expect(
        "trigger.lay",
        "component",
        "CRANK",
        ("wires", "103", "lay_m"),
        "one turn in 4 inches: too long to cancel what the coils induce",
    )

    # -- sensors
    build.change("109", to_item="G3", length=7.0)
    expect(
        "sensor.return_elsewhere",
        "component",
        "ECT",
        ("wires", "109", "to_item"),
        "return of the coolant temperature sensor ends on the hull stud",
    )

    # -- feeds
    build.change("72", size="18")
    expect(
        "feed.voltage_drop",
        "component",
        "FPUMP",
        ("wires", "72", "size"),
        "7 A through 13 ft of 18 AWG loses more than half a volt when hot",
    )
    build.add_after("50", "137 | S4 | S6 | Red/Green | 12 | 2 | Injector feed | | | | spare run")
    expect(
        "feed.two_supplies",
        "net",
        "fed by fuse FU3",
        ("wires", "137", "wire"),
        "outputs of fuses FU3 (injectors) and FU4 (coils port) are joined",
    )
    build.add_after("81", "138 | S9 | S18 | Brown/Red | 16 | 2 | Bilge panel light feed")
    build.add_after("138", "139 | S18 | G4 | Black | 16 | 2 | Bilge panel light ground")
    expect(
        "feed.shorted_to_ground",
        "net",
        "fed by fuse FU7",
        ("wires", "139", "to_item"),
        "the bilge pump feed reaches the negative bus through S18 with no load between",
    )

    # -- fuses, sizes, sleeves
    protection_slips(build)

    # -- cavities and lists
    build.change("120", from_cavity="12")
    expect(
        "cavity.used_twice",
        "cavity",
        "J2 12",
        ("wires", "120", "from_cavity"),
        "throttle position and oil pressure signals are both in cavity 12",
    )
    expect(
        "cavity.lists_disagree",
        "cavity",
        "J2 13",
        ("pins", "J2:13", "wire"),
        "the pin list has wire 120 in cavity 13, the wire list has it in cavity 12",
    )
    build.change("135", from_cavity="41")
    build.change_pin("J1", "38", signal="N/C", role="spare", wire="")
    expect(
        "cavity.not_in_pin_list",
        "cavity",
        "J1 41",
        ("wires", "135", "from_cavity"),
        "the pin list of J1 ends at cavity 40",
    )
    build.change("133", from_cavity="30")
    build.change_pin("J1", "36", signal="N/C", role="spare", wire="")
    expect(
        "cavity.unused_but_wired",
        "cavity",
        "J1 30",
        ("wires", "133", "from_cavity"),
        "the pin list says N/C, the wire list has wire 133 here",
    )
    build.change_pin("J1", "22", wire="61")
    build.change_pin("J1", "23", wire="60")
    expect(
        "cavity.lists_disagree",
        "cavity",
        "J1 22",
        ("pins", "J1:22", "wire"),
        "the pin list has wire 61 here, the wire list wire 60",
    )
    expect(
        "cavity.lists_disagree",
        "cavity",
        "J1 23",
        ("pins", "J1:23", "wire"),
        "the pin list has wire 60 here, the wire list wire 61",
    )

    # -- bundles
    build.branch("FRONT")["length_m"] = 18
    expect(
        "branch.length",
        "branch",
        "FRONT",
        ("branches", "FRONT", "length_m"),
        "measured in inches, written under a heading in feet",
    )

    # -- splices, cut lengths, the bus
    assembly_slips(build)

    # -- the list itself
    build.add_after("34", "140 | J1:9 |  | Blue/White | 18 | 8 | Trim pump relay control | | | | later")
    build.change_pin("J1", "9", signal="Trim pump relay control", role="low-side output", wire="140")
    expect("wire.one_end", "wire", "140", ("wires", "140", "to_item"), "the wire ends nowhere")
    build.renumber("129", "126")
    expect(
        "wire.duplicate_number",
        "wire number",
        "126",
        ("wires", "126", "wire"),
        "the signals of the two knock sensors are both number 126",
    )
    build.change("58", colour="")
    expect("wire.colour_missing", "wire", "58", ("wires", "58", "colour"), "no colour given")
    build.change("130", colour="Oxblood")
    expect(
        "listing.not_understood",
        "column",
        "colour of rescue_boat_v8.xlsx Harness",
        ("wires", "130", "colour"),
        "no colour that can be ordered",
    )
    build.change("80", size="")
    expect("wire.size_missing", "wire", "80", ("wires", "80", "size"), "no size given")

    # -- terminals, seals and connectors
    parts_slips(build)
    return build
