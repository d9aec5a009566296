"""Points, branches and what is fired, from tables to objects."""

from __future__ import annotations

import pytest
from text_lists import design_from

from harnessdrc.design import Design
from harnessdrc.harness.fired import fired_names
from harnessdrc.harness.vocabulary import guess_kind

WIRES = "Wire,From,From cavity,To,To cavity\nW1,ECU,A1,COIL1,1\nW2,ECU,A2,CRK,1\n"


def kinds(design: Design) -> dict[str, str | None]:
    return {item.name: item.kind for item in design.harness.items.values()}


def said(design: Design, what: str) -> dict[str, str]:
    """Assumptions of one sort: subject → value."""
    return {a.subject: a.value for a in design.assumptions if a.what == what}


# --- what is fired ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("PLUG1", (("PLUG1",),)), ("PLUG1 + PLUG4", (("PLUG1", "PLUG4"),)), ("A&B; C & D", (("A", "B"), ("C", "D"))),
        ("A, B", (("A",), ("B",))), ("A + A", (("A",),)), (" , A,", (("A",),)), ("Plug LH front", (("Plug LH front",),)),
    ],
)  # fmt: skip
def test_outputs_and_sparks(text: str, names: tuple[tuple[str, ...], ...]) -> None:
    assert fired_names(text) == names


def test_a_coil_knows_its_plugs_by_folded_names_and_the_cell() -> None:
    design = design_from(
        wires=WIRES,
        components="Component,Kind,Fires,Plug type\nCOIL1,coil,plug 1 +  PLUG 4,\nPLUG 1,spark plug,,plain\nPLUG 4,spark plug,,resistor\n",
    )
    coil = design.harness.items["coil1"]
    assert coil.details.fires == (("plug 1", "plug 4"),)
    assert [design.harness.items[name].details.plug_type for name in coil.details.fires[0]] == ["plain", "resistor"]
    place = coil.cell("fires")
    assert place is not None
    assert (place.sheet, place.cell) == ("components", "C2")


def test_plugs_that_no_list_has_become_items_and_are_listed() -> None:
    design = design_from(wires=WIRES, components='Component,Kind,Fires\nCOIL1,coil,"PLUG1 + PLUG4"\n')
    assert {name: kind for name, kind in kinds(design).items() if name.startswith("PLUG")} == {
        "PLUG1": "spark plug",
        "PLUG4": "spark plug",
    }
    plug = design.harness.items["plug1"]
    assert not plug.listed
    assert plug.cell("gap_m") == plug.place
    assert {subject: value for subject, value in said(design, "kind").items() if "PLUG" in subject} == {
        "PLUG1": "spark plug",
        "PLUG4": "spark plug",
    }


def test_a_listed_plug_without_a_kind_is_a_spark_plug_and_any_other_kind_stays() -> None:
    design = design_from(
        wires=WIRES,
        components='Component,Kind,Fires\nCOIL1,coil,"PLUG1, CRK, Z9"\nPLUG1,,\nCRK,reluctor sensor,\nZ9,,\n',
    )
    found = kinds(design)
    assert (found["PLUG1"], found["CRK"], found["Z9"]) == ("spark plug", "reluctor sensor", "spark plug")
    assert "connector" not in said(design, "kind").values()


@pytest.mark.parametrize("name", ["Distributor", "Dizzy", "DIST 1", "Zündverteiler", "Distributor cap"])
def test_a_distributor_by_its_name(name: str) -> None:
    design = design_from(wires=WIRES, components=f"Component,Kind,Fires\nCOIL1,coil,{name}\n")
    assert kinds(design)[name] == "distributor"
    again = design_from(
        wires=WIRES, components=f'Component,Kind,Fires\nCOIL1,coil,{name}\n{name},distributor,"P1, P2, P3"\n'
    )
    key = again.harness.items["coil1"].details.fires[0][0]
    assert again.harness.items[key].details.fires == (("p1",), ("p2",), ("p3",))


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("Distributor", "distributor"), ("dizzy", "distributor"), ("Dist cap", "distributor"), ("Power dist", "power distribution"),
        ("Power distribution box", "power distribution"), ("Dist block", "power distribution"), ("Distributor hall", "Hall sensor"),
        ("Distance sensor", None), ("Bougie 1", "spark plug"), ("Zündkerze 3", "spark plug"), ("Bougie de préchauffage", "heater"),
        ("Glow plug", "heater"), ("Distribution stud", "post"),
    ],
)  # fmt: skip
def test_kinds_by_names(name: str, kind: str | None) -> None:
    guess = guess_kind(name)
    assert (guess.value if guess else None) == kind


def test_a_distributor_draws_nothing() -> None:
    design = design_from(
        wires="Wire,From,From cavity,To,To cavity,Signal\nW1,FUSE 1,out,DIZZY,1,Switched feed\nW2,DIZZY,2,Block stud,,Ground\n",
        components="Component,Kind\nDIZZY,distributor\n",
    )
    assert "DIZZY" not in {load.device.name for load in design.loads.all}


# --- points and branches ----------------------------------------------------------------------------


def test_points_and_branches() -> None:
    design = design_from(
        wires=WIRES,
        branches="Branch,From point,To point,Length (mm),Zone\nB1,ECU,P1,600,bay\nB2,,CRK,,\n",
        points="Point,X (mm),Y (mm),Z (mm)\nECU,0,0,0\nP1,500,-20,35\nCRK,700,,\n",
    )
    harness = design.harness
    assert {key: point.xyz_m for key, point in harness.points.items()} == {
        "ecu": (0, 0, 0),
        "p1": (0.5, -0.02, 0.035),
        "crk": None,
    }
    first, second = harness.branches["b1"], harness.branches["b2"]
    assert (first.from_point, first.to_point, first.length_m, first.zone) == ("ECU", "P1", 0.6, "bay")
    assert (second.from_point, second.to_point, second.length_m) == (None, "CRK", None)
    assert second.place.of("from_point").cell == "B3"
    assert harness.repeated_points == harness.repeated_branches == ()


def test_a_flat_drawing_lies_at_zero_and_says_so() -> None:
    design = design_from(wires=WIRES, points="Point,X (mm),Y (mm)\nECU,0,0\nCRK,300,40\nCOIL1,,\n")
    assert [p.xyz_m for p in design.harness.points.values()] == [(0, 0, 0), (0.3, 0.04, 0), None]
    assert said(design, "coordinates") == {"z of all points": "0"}
    assert not said(design_from(wires=WIRES, points="Point,X (mm),Y (mm),Z (mm)\nECU,0,0,0\n"), "coordinates")


def test_of_a_name_that_stands_twice_the_first_row_counts_and_the_other_is_kept_apart() -> None:
    design = design_from(
        wires=WIRES,
        branches="Branch,From point,To point,Length (mm)\nB1,ECU,CRK,600\nb1,CRK,ECU,600\nB1,ECU,CRK,700\n",
        points="Point,X (mm),Y (mm),Z (mm)\nECU,0,0,0\necu,0,0,0\nECU,0,0,5\n",
    )
    harness = design.harness
    assert harness.points["ecu"].xyz_m == (0, 0, 0)
    assert [(a.place.row, b.place.row) for a, b in harness.repeated_points] == [(2, 4)]
    assert harness.branches["b1"].length_m == 0.6
    assert [(a.place.row, b.place.row) for a, b in harness.repeated_branches] == [(2, 4)]


def test_a_splice_knows_where_it_lies() -> None:
    design = design_from(wires=WIRES, splices="Splice,Branch,Distance (mm)\nSP1,B1,250\n")
    splice = design.harness.items["sp1"]
    assert (splice.details.branch, splice.details.distance_m) == ("B1", 0.25)


# --- wires ------------------------------------------------------------------------------------------


def test_what_a_wire_says_of_its_twist_and_shield() -> None:
    design = design_from(
        wires="Wire,From,From cavity,To,To cavity,Lay (mm),Untwisted end (mm),Shield material\n"
        "W1,ECU,A1,CRK,1,30,40,foil\nW2,ECU,A2,CRK,2,,,\n"
    )
    first, second = design.harness.wires
    assert (first.lay_m, first.untwisted_m, first.shield_material) == (0.03, 0.04, "aluminium foil")
    assert (second.lay_m, second.untwisted_m, second.shield_material) == (None, None, None)


def test_the_row_of_the_other_end_gives_what_the_first_lacks() -> None:
    design = design_from(
        wires="Wire,From,From cavity,To,To cavity,Lay (mm),Shield material\nW1,ECU,A1,CRK,1,30,\nW1,CRK,1,ECU,A1,,steel braid\n"
    )
    (wire,) = design.harness.wires
    assert (wire.lay_m, wire.shield_material) == (0.03, "steel braid")
