"""Slips of the rescue boat in splices, shields and the CAN bus, and the finding expected of each."""

from __future__ import annotations

from build_model import Build


def assembly_slips(build: Build) -> None:
    """Plant them; the other slips have earthed the controller at two places."""
    expect = build.expect

    expect(
        "cavity.like_colours",
        "connector",
        "J1",
        ("wires", "68", "from_cavity"),
        "two black wires beside each other that end on two studs",
    )
    build.add_after("58", "141 | S4 | open | Red/Green | 18 | 2 | Injector feed, spare | | | | end sleeved")
    expect(
        "splice.wire_count",
        "splice",
        "S4",
        ("wires", "50", "to_item"),
        "eight injectors, their feed, the spare run and a spare in one splice",
    )
    build.add_after("85", "142 | S19 | G4 | Black | 8 | 3 | Spare ground")
    build.add_after("142", "143 | S19 | open | Black | 20 | 2 | Spare ground | | | | end sleeved")
    expect(
        "splice.balance",
        "splice",
        "S19",
        ("wires", "143", "from_item"),
        "20 AWG alone on the other side of 8 AWG",
    )
    build.drop("128")
    expect(
        "shield.drain",
        "shield",
        "SCR2",
        ("wires", "126", "shield"),
        "the drain of the port knock sensor's screen is forgotten",
    )

    # -- CAN
    build.component("DISPLAY").update(terminator_ohm=120, bit_rate_kbit_s=500)
    expect(
        "bus.terminators",
        "bus",
        "J1 11",
        ("components", "DISPLAY", "terminator_ohm"),
        "a display with a terminator inside, beside the two that are there",
    )
    expect(
        "bus.length",
        "bus",
        "J1 11",
        ("components", "DISPLAY", "bit_rate_kbit_s"),
        "the display is set to 500 kbit/s, the controller to 250",
    )
    build.change("99", twist="CAN-F")
    expect(
        "bus.twisted",
        "bus",
        "J1 11",
        ("wires", "98", "twist"),
        "CAN high to the display is twisted with nothing: its partner's group is another one",
    )
