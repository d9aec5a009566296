"""Slips of the hill-climb single-seater in fuses, sizes, cables and bends, and the finding expected of each."""

from __future__ import annotations

from build_model import Build


def protection_slips(build: Build) -> None:
    """Plant them; the thin pump feed W133 is planted already."""
    expect = build.expect

    build.change("W133", insulation="FLRY-B")
    expect(
        "wire.current",
        "wire",
        "W133",
        ("wires", "W133", "size"),
        "6 A through 0.5 mm² of 100 °C cable in the full loom of the panel",
    )
    expect(
        "fuse.protects_wire",
        "fuse",
        "F6",
        ("wires", "W133", "size"),
        "10 A in front of a wire of 0.5 mm² in a hot bundle",
    )
    build.fuse("F7").update(rating_a=7.5, colour="brown")
    expect(
        "fuse.load",
        "fuse",
        "F7",
        ("fuses", "F7", "rating_a"),
        "7.5 A for a fan that draws 8 A",
    )
    build.fuse("F5").update(colour="red")
    expect(
        "fuse.colour",
        "fuse",
        "F5",
        ("fuses", "F5", "colour"),
        "red is 10 A, the list says 5 A",
    )
    build.change("W134", to_item="F12", to_cavity="in")
    build.add_after("W134", "W143 | F12:out | STUD3 | BK | 4 | 100 | Fuel pump return | | | TANK")
    build.change("W143", insulation="FLR2X-B")
    build.fuses.append(
        {"fuse": "F12", "rating_a": 10, "family": "regular blade", "colour": "red", "protects": "Fuel pump return"}
    )
    expect(
        "fuse.in_ground",
        "fuse",
        "F12",
        ("wires", "W134", "to_cavity"),
        "a second fuse for the pump, in its ground",
    )
    build.change("W437", insulation="thin wall")
    expect(
        "wire.insulation",
        "insulation",
        "thin wall",
        ("wires", "W437", "insulation"),
        "thin wall is the wall of several classes, from 85 to 125 °C",
    )
    build.component("X10S")["boot_shrunk_m"] = 8
    expect(
        "bundle.boot",
        "component",
        "X10S",
        ("components", "X10S", "boot_shrunk_m"),
        "the boot of the next size shrinks to 8 mm and hangs loose on nine thin wires",
    )
    build.branch("CKP")["bend_m"] = 8
    expect(
        "bundle.bend",
        "branch",
        "CKP",
        ("branches", "CKP", "bend_m"),
        "bent to 8 mm behind the dash",
    )
