"""Slips of the hill-climb single-seater in splices, cut lengths and the CAN bus, and the finding expected of each."""

from __future__ import annotations

from build_model import Build


def assembly_slips(build: Build) -> None:
    """Plant them; the other slips have put SP18 and SP19 where there is no room and earthed the controller twice."""
    expect = build.expect

    expect(
        "cavity.like_colours",
        "connector",
        "ECU-A",
        ("wires", "W301", "from_cavity"),
        "two black wires beside each other that no longer end on one stud",
    )
    expect(
        "splice.near_end",
        "splice",
        "SP19",
        ("splices", "SP19", "splice"),
        "20 mm from where the loom turns on to the cam cover",
    )
    for splice, why in (("SP18", "20 mm from SP4, which was there before"), ("SP3", "10 mm from SP18")):
        expect("splice.stagger", "splice", splice, ("splices", splice, "splice"), why)
    expect(
        "wire.too_short",
        "wire",
        "W166",
        ("wires", "W166", "length_m"),
        "300 mm from the splice in the panel loom to a stud that is 360 mm away",
    )
    next(row for row in build.splices if row["splice"] == "SP8")["part"] = "SPL-6"
    expect(
        "splice.crimp",
        "splice",
        "SP8",
        ("splices", "SP8", "part"),
        "8.5 mm² of coil grounds in a crimp for 6 mm²",
    )
    build.change("W417", length=2600.0)
    expect(
        "wire.too_long",
        "wire",
        "W417",
        ("wires", "W417", "length_m"),
        "2600 mm to a sensor beside the airbox",
    )
    build.change("W433", length=1420.0)
    expect(
        "twist.unequal_length",
        "twist group",
        "T3",
        ("wires", "W433", "length_m"),
        "one wire of the knock sensor is 120 mm longer than its partner",
    )
    build.change("W411", to_item="SP20", to_cavity="", length=400.0, branch="ECU")
    build.add_after("W411", "W441 | SP20 | SP21  | YE | 0.5 | 400 | Coolant temperature | | | ECU, ENG")
    build.add_after("W441", "W442 | SP21 | CLT:1 | YE | 0.5 | 500 | Coolant temperature | | | ENG | lengthened twice")
    build.change_pin("CLT", "1", wire="W442")
    expect(
        "splice.per_wire",
        "run of wires",
        "W411, W441, W442",
        ("wires", "W411", "to_item"),
        "the wire to the coolant sensor is put together from three pieces",
    )

    # -- CAN
    for device in ("ECU", "WB", "DASH"):
        build.component(device)["bit_rate_kbit_s"] = 500
    expect(
        "bus.stub",
        "stub",
        "ECU on bus ECU-A 19",
        ("wires", "W501", "from_cavity"),
        "400 mm off the bus to the controller, on a bus that was made for 250 kbit/s and set to 500",
    )
    build.change("W511", to_cavity="4")
    build.change("W512", to_cavity="3")
    build.change_pin("DASH", "3", wire="W512")
    build.change_pin("DASH", "4", wire="W511")
    expect(
        "bus.polarity",
        "bus",
        "ECU-A 19",
        ("wires", "W511", "to_cavity"),
        "CAN high is in the dash's cavity for CAN low, and the other way round",
    )
