"""Slips of the rescue boat in fuses, sizes, contacts and sleeves, and the finding expected of each."""

from __future__ import annotations

from build_model import Build


def protection_slips(build: Build) -> None:
    """Plant them; the thin pump feed 72 is planted already."""
    expect = build.expect

    build.fuse("FU6").update(rating_a=40, colour="orange")
    expect(
        "fuse.protects_wire",
        "fuse",
        "FU6",
        ("wires", "72", "size"),
        "40 A fitted because 15 A kept blowing, in front of 18 AWG",
    )
    expect(
        "fuse.blows",
        "fuse",
        "FU6",
        ("wires", "72", "size"),
        "13 ft of 18 AWG hold down the current of a short circuit at the pump: the wire burns first",
    )
    build.fuse("FU10").update(family="bolt-down")
    expect(
        "fuse.family",
        "fuse",
        "FU10",
        ("fuses", "FU10", "family"),
        "two families of bolt-down fuses are made in 80 A",
    )
    build.change("82", length=5.0, branch="HELM")
    expect(
        "feed.unfused_length",
        "fuse",
        "FU8",
        ("wires", "82", "length_m"),
        "fuse of the blower at the helm, five feet of live wire ahead of it",
    )
    build.change("4", size="8", insulation="GXL")
    expect(
        "feed.cranking_drop",
        "component",
        "STARTER",
        ("wires", "4", "size"),
        "220 A through five feet of 8 AWG, cut from the wrong reel",
    )
    expect(
        "wire.current",
        "wire",
        "4",
        ("wires", "4", "size"),
        "a quarter of a minute of cranking overheats 8 AWG",
    )
    build.component("RY2")["contact_a"] = 10
    expect(
        "contact.rating",
        "component",
        "RY2",
        ("components", "RY2", "contact_a"),
        "a contact of 10 A for a pump that draws 7 A and much more as it starts",
    )
    build.change("87", size="16 AWG (1.5 mm²)")
    expect(
        "wire.size_label",
        "wire",
        "87",
        ("wires", "87", "size"),
        "the reel says both, and they are two wires",
    )
    build.branch("MAIN")["sleeve_m"] = 0.75
    expect(
        "bundle.sleeve",
        "branch",
        "MAIN",
        ("branches", "MAIN", "sleeve_m"),
        "27 wires do not go through a sleeve of three quarters of an inch",
    )
