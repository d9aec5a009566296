"""Cells that give a gauge and a cross-section: read as the smaller wire, and no vote for the unit of plain numbers."""

from __future__ import annotations

import pytest
from text_lists import design_from, read_text

from harnessdrc.checks.registry import CHECKS, load_checks

load_checks()
HEAD = "Wire,From,From cavity,To,To cavity,Size,Length (m)\n"


def sizes(*cells: str) -> list[str | None]:
    """Sizes of a column as they are understood."""
    rows = "".join(f"W{n},ECU,{n},DASH,{n},{cell},1\n" for n, cell in enumerate(cells, start=1))
    reading = read_text({"wires": HEAD + rows})
    return [None if size is None else str(size) for size in reading.of("wires")[0].frame["size"].tolist()]


def test_two_labels_do_not_tell_what_plain_numbers_are() -> None:
    # 1, 2, 4 and 6 fit both systems; the cell with two labels names both.
    assert sizes("1", "2", "16 AWG (1.5 mm²)") == [None, None, "16 AWG"]
    assert sizes("1", "2", "16 AWG") == ["1 AWG", "2 AWG", "16 AWG"]
    assert sizes("1", "2", "1.5 mm²") == ["1 mm²", "2 mm²", "1.5 mm²"]


@pytest.mark.parametrize(
    ("cell", "check"),
    [("16 AWG (1.5 mm²)", "wire.size_label"), ("Size 16", "listing.not_understood"), ("0", "listing.not_understood")],
)
def test_a_cell_is_told_of_once(cell: str, check: str) -> None:
    design = design_from(wires=HEAD.replace("Size", "Size (mm2)") + f"W1,ECU,1,DASH,1,{cell},1\nW2,ECU,2,DASH,2,1,1\n")
    found = [
        name
        for name in ("wire.size_label", "listing.not_understood", "wire.implausible")
        for limits in [CHECKS[name].limits]
        for outcome in CHECKS[name].run(design, limits() if limits else None)
    ]
    assert found == [check]


def test_the_smaller_wire_is_computed_with() -> None:
    two = design_from(wires=HEAD + "W1,BATTERY,+,FAN,1,16 AWG (1.5 mm²),3\nW2,FAN,2,BATTERY,-,16 AWG,3\n")
    one = design_from(wires=HEAD + "W1,BATTERY,+,FAN,1,16 AWG,3\nW2,FAN,2,BATTERY,-,16 AWG,3\n")
    assert [part.ohm for part in two.circuit.parts] == [part.ohm for part in one.circuit.parts]
