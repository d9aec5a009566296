"""Slips of the rescue boat in terminals, seals and connectors, and the finding expected of each."""

from __future__ import annotations

from build_model import Build
from rescue_boat_parts import fit


def parts_slips(build: Build) -> None:
    """Fit the parts to the list as it has become, and plant the slips."""
    fit(build)
    expect = build.expect

    build.change("68", to_terminal="RG-14")
    expect(
        "terminal.wire_size", "crimp", "68 at G3", ("wires", "68", "to_terminal"),
        "a ring for 16 and 14 AWG on 12 AWG",
    )  # fmt: skip
    build.change("12", to_terminal="CT-14")
    expect(
        "terminal.family", "crimp", "12 at X20P 1", ("wires", "12", "to_terminal"),
        "a socket in the half that takes pins",
    )  # fmt: skip
    build.change("51", to_terminal="CT-2O")
    expect("part.not_listed", "part", "CT-2O", ("wires", "51", "to_terminal"), "a letter O for the nought")
    build.change_pin("J1", "32", seal="SE-20")
    expect(
        "seal.insulation", "seal", "47 at J1 32", ("pins", "J1:32", "seal"),
        "a seal for 0.11 in at most on cable of 0.132 to 0.14 in",
    )  # fmt: skip
    build.change_pin("J2", "40", seal="")
    expect("seal.no_plug", "connector", "J2", ("pins", "J2:40", "seal"), "cavity 40 is open")
    build.component("MAP")["strain_relief"] = None
    expect(
        "connector.strain_relief", "connector", "MAP", ("components", "MAP", "strain_relief"),
        "nobody has said what holds its wires",
    )  # fmt: skip
    build.part("BL-8").update(insulation_min_m=0.25, insulation_max_m=0.2)
    expect(
        "part.range_given", "part", "BL-8", ("parts", "BL-8", "insulation_min_m"), "smallest and largest changed round"
    )
