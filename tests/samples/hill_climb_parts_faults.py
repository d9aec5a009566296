"""Slips of the hill-climb single-seater in terminals, seals and connectors, and the finding expected of each."""

from __future__ import annotations

from build_model import Build
from hill_climb_parts import fit


def parts_slips(build: Build) -> None:
    """Fit the parts to the list as it has become, and plant the slips."""
    build.change("W121", note="double crimp with W122")
    build.change("W122", from_item="K2", from_cavity="86", note="double crimp with W121")
    fit(build)
    _terminal_slips(build)
    _seal_slips(build)
    _table_slips(build)


def _terminal_slips(build: Build) -> None:
    expect = build.expect
    build.change("W301", to_terminal="R6-6")
    expect(
        "terminal.wire_size", "crimp", "W301 at STUD1", ("wires", "W301", "to_terminal"),
        "a ring for 4 to 6 mm² on 2.5 mm²",
    )  # fmt: skip
    expect(
        "terminal.two_wires", "crimp", "W121 + W122 at K2 86", ("wires", "W121", "to_terminal"),
        "the coils of two relays in one crimp: 1.5 mm² in a receptacle for 1 mm²",
    )  # fmt: skip
    build.parts.append(
        {"part": "T-1S", "kind": "terminal", "family": "P2.5 sealed", "sex": "socket", "size_min": 0.75, "size_max": 1,
         "insulation_min_m": 1.1, "insulation_max_m": 1.5, "strip_m": 4.5, "note": "for ultra-thin wall"}
    )  # fmt: skip
    build.change("W162", to_terminal="T-1S")
    expect(
        "terminal.insulation", "crimp", "W162 at ECU-A 3", ("wires", "W162", "to_terminal"),
        "wings for 1.5 mm at most on cable of 1.7 to 1.9 mm",
    )  # fmt: skip
    build.change("W503", to_terminal="B-1")
    expect(
        "terminal.family", "crimp", "W503 at TERM1 1", ("wires", "W503", "to_terminal"),
        "a blade receptacle in a connector of the sealed family",
    )  # fmt: skip
    build.change("W124", to_terminal="T-1")
    expect(
        "terminal.family", "crimp", "W124 at X10P 4", ("wires", "W124", "to_terminal"),
        "a socket in the half that takes pins",
    )  # fmt: skip
    build.change("W433", to_terminal="T-05")
    expect("part.not_listed", "part", "T-05", ("wires", "W433", "to_terminal"), "T-0.5 without its point")
    build.change("W431", to_terminal="SL-2")
    expect("part.kind", "part", "SL-2", ("wires", "W431", "to_terminal"), "a seal in the column of terminals")


def _seal_slips(build: Build) -> None:
    expect = build.expect
    build.change_pin("ECU-A", "1", seal="SL-1")
    expect(
        "seal.insulation", "seal", "W120 at ECU-A 1", ("pins", "ECU-A:1", "seal"),
        "a seal for 1.7 mm at most on cable of 2.2 to 2.4 mm",
    )  # fmt: skip
    build.parts.append(
        {"part": "PLG-3", "kind": "cavity plug", "family": "P1.5 sealed", "bore_min_m": 3.4, "bore_max_m": 3.8}
    )
    build.change_pin("ECU-B", "20", seal="PLG-3")
    expect(
        "seal.bore", "seal", "PLG-3 in ECU-B", ("pins", "ECU-B:20", "seal"),
        "a plug of the smaller family in a bore of 5 mm",
    )  # fmt: skip
    expect(
        "seal.family", "seal", "PLG-3 in ECU-B", ("pins", "ECU-B:20", "seal"),
        "a plug of the small family in a connector of the large one",
    )  # fmt: skip
    build.change_pin("INJ3", "1", seal="")
    expect("seal.missing", "seal", "W224 at INJ3 1", ("pins", "INJ3:1", "seal"), "no seal on the feed of injector 3")
    build.change_pin("X10S", "10", seal="")
    expect("seal.no_plug", "connector", "X10S", ("pins", "X10S:10", "seal"), "cavity 10 is open")


def _table_slips(build: Build) -> None:
    expect = build.expect
    build.parts.append({**build.part("HX-S"), "part": "HX-S8", "cavities": 8})
    build.component("X10S")["part"] = "HX-S8"
    expect(
        "connector.mate", "connector", "X10P with X10S", ("components", "X10P", "part"),
        "the half of eight ways for one of twelve",
    )  # fmt: skip
    build.component("GPS")["strain_relief"] = None
    expect(
        "connector.strain_relief", "connector", "GPS", ("components", "GPS", "strain_relief"),
        "nobody has said what holds its wires",
    )  # fmt: skip
    build.parts.append(
        {"part": "T-18", "kind": "terminal", "family": "P2.5 sealed", "sex": "socket", "size_min": "20 AWG",
         "size_max": "1 mm²"}
    )  # fmt: skip
    expect("part.range_given", "part", "T-18", ("parts", "T-18", "size_max"), "a gauge at one end, mm² at the other")
    at = next(index for index, row in enumerate(build.parts) if row["part"] == "R6-1")
    build.parts.insert(at, {**build.part("R6-1"), "size_min": 0.35, "note": "from an older sheet"})
    expect("part.listed_twice", "part", "R6-1", ("parts", "R6-1", "part"), "two rows, 0.35 and 0.5 mm² at least")
