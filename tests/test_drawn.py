"""The ground diagram as the report receives it: it agrees with the solved circuit, with Kirchhoff and with itself.

Oracles: Kirchhoff's current law; the solved circuit's own arrays; what was planted in the samples (their expected.csv).
"""

from __future__ import annotations

import csv
import itertools
import random
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from design.engine_looms import SAMPLE_FILES, EngineLoom
from text_lists import design_from, read_rows, shipped_given, shipped_ruleset, shipped_states

from harnessdrc.api import open_and_read
from harnessdrc.checks.registry import load_checks
from harnessdrc.design import Design, design_of
from harnessdrc.design.diagram.drawing import drawing_of
from harnessdrc.diagram import Diagram, DiagramEdge
from harnessdrc.drawn import diagram_of
from harnessdrc.engine import run
from harnessdrc.results import Result
from harnessdrc.tables.model import Reading

CLEAN = [path for path in SAMPLE_FILES if path.parent.name == "clean"]
FAULTY = [path for path in SAMPLE_FILES if path.parent.name == "faulty"]
SEEDS = range(12)


def checked(reading: Reading) -> tuple[Design, Result]:
    """A design with what the shipped rules say of it."""
    rules = shipped_ruleset()
    design = design_of(reading, shipped_given(), shipped_states())
    return design, run(design, rules, load_checks(), reading)


@cache
def drawn(path: Path) -> tuple[Design, Result, Diagram]:
    """A sample with its diagram."""
    design, result = checked(open_and_read([path])[1])
    return design, result, diagram_of(design, result)


def rows_of(loom: EngineLoom, seed: int | None = None) -> Reading:
    """Tables of a loom, their rows in another order where there is a seed."""
    tables = {}
    for name, text in loom.texts().items():
        head, *rows = csv.reader(text.splitlines())
        if seed is not None:
            random.Random(seed).shuffle(rows)
        tables[name] = [head, *rows]
    return read_rows(tables)


@cache
def made_up(seed: int) -> tuple[Design, Result, Diagram]:
    """A made-up loom, every other one with missing lengths and sizes, with its diagram."""
    design, result = checked(rows_of(EngineLoom(seed, lacking=0.1 if seed % 2 else 0.0)))
    return design, result, diagram_of(design, result)


ALL = [pytest.param(drawn, path, id=f"{path.parent.name}-{path.stem}") for path in SAMPLE_FILES]
ALL += [pytest.param(made_up, seed, id=f"made up {seed}") for seed in SEEDS]


# ---------------------------------------------------------------------- numbers
@pytest.mark.parametrize(("make", "what"), ALL)
def test_currents_into_every_box_add_up_to_nothing(make: object, what: object) -> None:
    """Kirchhoff's current law in every state, from the diagram's own numbers."""
    _, _, diagram = make(what)  # type: ignore[operator]
    assert diagram.states == tuple(state.name for state in shipped_states())
    into = np.array([node.brought_a for node in diagram.nodes])
    largest = 0.0
    for edge in diagram.edges:
        average = np.array(edge.average_a)
        into[edge.a] -= average
        into[edge.b] += average
        largest = max(largest, float(np.abs(average).max()))
    assert largest > 5
    np.testing.assert_allclose(into, 0.0, atol=1e-6)
    np.testing.assert_allclose(np.sum([node.brought_a for node in diagram.nodes], axis=0), 0.0, atol=1e-9)


@pytest.mark.parametrize(("make", "what"), ALL)
def test_every_part_of_the_circuit_stands_once(make: object, what: object) -> None:
    design, _, diagram = make(what)  # type: ignore[operator]
    drawing = drawing_of(design)
    stands = [link.part for link in drawing.links if link.part >= 0]
    stands += [part for parts in drawing.inside for part in parts]
    kept = [number for number, kept in enumerate(drawing.kept) if kept]
    assert sorted(stands) == kept
    assert len(diagram.edges) == len(drawing.links)
    carrying = np.nan_to_num(design.analysis.part_currents.peak).max(axis=1) > 1e-6
    assert set(np.flatnonzero(carrying).tolist()) <= set(kept)
    left_out = [part for part, kept in zip(design.circuit.parts, drawing.kept, strict=True) if not kept]
    assert all(part.kind in ("wire", "mate", "switch", "relay", "fuse", "inside") for part in left_out)


@pytest.mark.parametrize(("make", "what"), ALL)
def test_wires_have_the_figures_of_the_solved_network(make: object, what: object) -> None:
    _, result, diagram = make(what)  # type: ignore[operator]
    number = {name: n for n, name in enumerate(result.network.wires)}
    wires = [edge for edge in diagram.edges if edge.kind == "wire"]
    assert len({edge.wire for edge in wires}) == len(wires) > 10
    for edge in wires:
        column = number[edge.wire]
        np.testing.assert_allclose(np.abs(edge.average_a), np.abs(result.network.average_a[:, column]), atol=1e-9)
        np.testing.assert_allclose(edge.peak_a, result.network.peak_a[:, column], atol=1e-9)
        np.testing.assert_allclose(np.abs(edge.drop_mv), np.abs(result.network.average_drop_mv[:, column]), atol=1e-6)
        assert edge.mark is not None
        assert edge.resistance_mohm is not None
        np.testing.assert_allclose(edge.drop_mv, np.array(edge.average_a) * edge.resistance_mohm, atol=1e-5)


@pytest.mark.parametrize(("make", "what"), ALL)
def test_ids_are_places_and_ends_are_there(make: object, what: object) -> None:
    _, _, diagram = make(what)  # type: ignore[operator]
    for things in (diagram.nodes, diagram.edges, diagram.loops):
        assert [thing.id for thing in things] == list(range(len(things)))
    for edge in diagram.edges:
        assert {edge.a, edge.b} <= set(range(len(diagram.nodes)))
        assert edge.a != edge.b
        for loop in edge.loops:
            assert edge.id in diagram.loops[loop].edges
    for loop in diagram.loops:
        assert all(loop.id in diagram.edges[edge].loops for edge in loop.edges)


# ---------------------------------------------------------------------- drawing
@pytest.mark.parametrize(("make", "what"), ALL)
def test_the_whole_is_drawn_from_the_battery_to_its_negative_post(make: object, what: object) -> None:
    _, _, diagram = make(what)  # type: ignore[operator]
    [view] = diagram.views
    assert (view.kind, len(view.nodes), len(view.edges)) == ("whole", len(diagram.nodes), len(diagram.edges))
    at = {placed.node: placed for placed in view.nodes}
    kind = {node.id: node.kind for node in diagram.nodes}
    last = max(placed.layer for placed in view.nodes)
    assert all(at[n].layer == 0 for n in kind if kind[n] == "battery +")
    assert [at[n].layer for n in kind if kind[n] == "battery -"] == [last]
    for a, b in itertools.product(diagram.nodes, repeat=2):
        if ("feed", "device", "ground", "earth", "body").index(a.zone) < (
            "feed", "device", "ground", "earth", "body"
        ).index(b.zone):
            assert at[a.id].layer < at[b.id].layer
    assert view.crossings <= view.crossings_before


@pytest.mark.parametrize(("make", "what"), ALL)
def test_lines_start_and_end_at_their_boxes_and_run_through_no_other(make: object, what: object) -> None:
    from design.test_diagram_layout import runs_through

    _, _, diagram = make(what)  # type: ignore[operator]
    for view in diagram.views:
        at = {placed.node: (placed.x, placed.y, placed.w, placed.h) for placed in view.nodes}
        for routed in view.edges:
            edge = diagram.edges[routed.edge]
            for node, (x, y) in ((edge.a, routed.points[0]), (edge.b, routed.points[-1])):
                box_x, box_y, w, h = at[node]
                assert min(abs(x - box_x), abs(x - box_x - w)) < 0.2
                assert box_y - 0.1 <= y <= box_y + h + 0.1
            for one, other in itertools.pairwise(routed.points):
                assert not any(runs_through(one, other, box) for node, box in at.items())
            assert all(0 <= x <= view.width and 0 <= y <= view.height for x, y in routed.points)


def test_a_sample_is_untangled() -> None:
    """Sweeps take away nine in ten of the crossings of the clean samples; a hairball would keep hundreds."""
    for path in CLEAN:
        [view] = drawn(path)[2].views
        assert view.crossings < 0.1 * view.crossings_before
        assert view.crossings < 40


@pytest.mark.parametrize("seed", SEEDS)
def test_the_order_of_rows_changes_nothing(seed: int) -> None:
    loom = EngineLoom(seed)
    first, second = (diagram_of(*checked(rows_of(loom, shuffled))) for shuffled in (None, seed + 100))
    assert [(n.label, n.kind, n.zone, n.note) for n in first.nodes] == [
        (n.label, n.kind, n.zone, n.note) for n in second.nodes
    ]

    def told(edge: DiagramEdge) -> tuple[object, ...]:
        return edge.name, edge.a, edge.b, edge.a_pin, edge.b_pin, edge.loops, set(edge.shared_by)

    assert [told(edge) for edge in first.edges] == [told(edge) for edge in second.edges]
    for one, other in zip(first.edges, second.edges, strict=True):
        np.testing.assert_allclose(one.average_a, other.average_a, atol=1e-7)
    assert [(loop.kind, loop.label, loop.edges) for loop in first.loops] == [
        (loop.kind, loop.label, loop.edges) for loop in second.loops
    ]
    assert first.views == second.views


# ---------------------------------------------------------------------- loops and shared paths
@pytest.mark.parametrize("path", CLEAN, ids=lambda path: path.stem)
def test_a_clean_loom_has_neither_loop_nor_shared_path(path: Path) -> None:
    diagram = drawn(path)[2]
    assert not diagram.loops
    assert not any(edge.effects or edge.shared_by or edge.loops for edge in diagram.edges)


def wires_in(diagram: Diagram, kind: str) -> set[str]:
    """Wires in the loops of a kind."""
    edges = {edge for loop in diagram.loops if loop.kind == kind for edge in loop.edges}
    return {diagram.edges[edge].wire or "" for edge in edges} - {""}


def test_what_was_planted_in_the_single_seater_stands_out() -> None:
    diagram = drawn(next(path for path in FAULTY if "hill" in path.stem))[2]
    assert {"W301", "W302"} <= wires_in(diagram, "two bodies")  # ground.two_paths of the ECU
    assert "W439" in wires_in(diagram, "sensor ground")  # sensor.return_second_path
    assert "W403" in wires_in(diagram, "sensor ground")  # trigger.shield: connected at both ends
    assert "W440" in wires_in(diagram, "two supplies")  # feed.two_supplies
    assert wires_in(diagram, "two bodies") == {"W301", "W302"}
    shared = {edge.wire: edge for edge in diagram.edges if edge.effects}
    # The air temperature sensor returned to the head reads what the injectors drop in the controller's ground wire.
    assert "IAT" in shared["W301"].shared_by
    assert "injectors" in shared["W301"].shared_by


def test_what_was_planted_in_the_boat_stands_out() -> None:
    diagram = drawn(next(path for path in FAULTY if "boat" in path.stem))[2]
    assert {"67", "69"} <= wires_in(diagram, "two bodies")
    assert "137" in wires_in(diagram, "two supplies")
    assert any("ECT" in edge.shared_by and edge.wire == "69" for edge in diagram.edges)


@pytest.mark.parametrize("path", FAULTY, ids=lambda path: path.stem)
def test_loops_agree_with_the_rules(path: Path) -> None:
    """Every finding of two ways or supplies has its loop, and no loop is there without one."""
    _, result, diagram = drawn(path)
    wanted = {
        "two bodies": ("ground.two_paths",),
        "sensor ground": ("sensor.return_second_path", "trigger.shield"),
        "two supplies": ("feed.two_supplies",),
    }
    for kind, checks in wanted.items():
        there = {finding.check for finding in result.findings} & set(checks)
        assert {loop.kind for loop in diagram.loops if loop.kind == kind} == ({kind} if there else set())


HEAD = "Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal\n"
PLAIN = (
    HEAD + "W1,Battery,+,Fuse 1,in,4,0.5,Battery feed\nW2,Fuse 1,out,ECU,1,1.5,1,Fused feed\n"
    "W3,ECU,2,Head stud,,1.5,1,Power ground\nW4,ECU,3,Head stud,,1.5,1,Power ground\n"
    "W5,Fuse 1,out,Fan,1,2.5,1,Fan feed\nW6,Fan,2,Chassis stud,,2.5,1,Fan ground\n"
    "W7,ECU,8,Coolant temp sensor,1,0.5,1,Coolant temp signal\nW8,Coolant temp sensor,2,ECU,9,0.5,1,Sensor ground\n"
)
TABLES = {
    "components": "Component,Kind,Place,Current (A)\nECU,controller,,2\nFan,fan,chassis,10\n",
    "earth_points": "Earth point,Body\nHead stud,head\nChassis stud,chassis\n",
    "straps": "Strap,From body,To body,Size (mm2),Length (m)\nS1,engine,battery negative,25,0.5\n"
    "S2,chassis,battery negative,16,0.5\nS3,engine,chassis,16,0.5\n",
}


def loops_with(*wires: str) -> list[tuple[str, set[str]]]:
    """Loops of the plain loom with further wires: kind, and what they run through."""
    text = PLAIN + "".join(wire + "\n" for wire in wires)
    design = design_from(wires=text, **TABLES)
    _, result = checked_text(text)
    diagram = diagram_of(design, result)
    return [(loop.kind, {diagram.edges[edge].name for edge in loop.edges}) for loop in diagram.loops]


def checked_text(wires: str) -> tuple[Design, Result]:
    """The plain loom with these wires, checked."""
    tables = {"wires": wires, **TABLES}
    return checked(read_rows({name: list(csv.reader(text.splitlines())) for name, text in tables.items()}))


def test_straps_that_close_a_ring_and_two_wires_to_one_stud_are_no_loop() -> None:
    assert loops_with() == []


def test_a_ground_on_two_bodies_is_a_loop_with_the_strap_between() -> None:
    [(kind, names)] = loops_with("W9,ECU,4,Chassis stud,,1.5,1,Power ground")
    assert kind == "two bodies"
    assert "wire W9" in names
    assert names & {"wire W3", "wire W4"}
    assert names & {"strap S3", "strap S1"}


def test_a_splice_on_two_bodies_is_one_loop() -> None:
    [(kind, names)] = loops_with(
        "W9,Fan,2,Splice 9,,1.5,1,Fan ground", "W10,Splice 9,,Head stud,,1.5,1,Ground",
    )  # fmt: skip
    assert (kind, {"wire W6", "wire W9", "wire W10"} <= names) == ("two bodies", True)


def test_a_sensor_ground_that_is_also_earthed_is_a_loop() -> None:
    [(kind, names)] = loops_with("W9,Coolant temp sensor,2,Head stud,,0.5,1,Sensor ground")
    assert kind == "sensor ground"
    assert {"wire W8", "wire W9"} <= names


def test_two_fuses_on_one_net_are_a_loop() -> None:
    [(kind, names)] = loops_with(
        "W9,Battery,+,Fuse 2,in,4,0.5,Battery feed", "W10,Fuse 2,out,Fan,1,2.5,1,Fan feed",
    )  # fmt: skip
    assert kind == "two supplies"
    assert {"wire W1", "wire W9", "wire W10"} <= names


def test_a_path_is_shared_when_a_strong_load_leans_on_a_reading() -> None:
    """A fan of 10 A over 1 m of 0.5 mm² (37 mΩ and more) lifts the controller's ground by a third of a volt."""
    text = PLAIN.replace("W6,Fan,2,Chassis stud,", "W6,Fan,2,Splice 3,").replace(
        "W3,ECU,2,Head stud,,1.5,1", "W3,ECU,2,Splice 3,,1.5,1").replace("W4,ECU,3,Head stud", "W4,ECU,3,Splice 3")
    text = text.replace("W8,Coolant temp sensor,2,ECU,9", "W8,Coolant temp sensor,2,Head stud,")
    diagram = diagram_of(*checked_text(text + "W9,Splice 3,,Head stud,,0.5,1,Ground\n"))
    shared = {edge.wire: edge for edge in diagram.edges if edge.effects}
    assert "W9" in shared
    [effect] = shared["W9"].effects
    assert effect.victim == ("component", "Coolant temp sensor")
    assert "Fan" in effect.by
    assert abs(effect.mv) > 300
    assert effect.share_of_limit > 5


# ---------------------------------------------------------------------- large and empty
def test_nothing_solved_gives_the_reason_and_no_boxes() -> None:
    text = HEAD + "W1,Battery 24V,+,FAN,1,2.5,1,Fan feed\nW2,FAN,2,Battery 24V,-,2.5,1,Fan ground\n"
    diagram = diagram_of(*checked(read_rows({"wires": list(csv.reader(text.splitlines()))})))
    assert not diagram.nodes
    assert "24 V" in diagram.left_out[0]


@pytest.fixture(scope="module")
def large() -> Diagram:
    """Ten blocks of a made-up list: 1,000 wires, more boxes than one drawing holds."""
    from benchmarks.make_list import HEADINGS, block

    rows: list[list[object]] = [list(HEADINGS)]
    for number in range(1, 11):
        for line in block(number):
            rows.append([f"W{len(rows)}", *line, *[""] * (len(HEADINGS) - 1 - len(line))])
    return diagram_of(*checked(read_rows({"wires": [[str(cell) for cell in row] for row in rows]})))


def test_a_large_list_is_drawn_in_parts(large: Diagram) -> None:
    assert len(large.nodes) > 250
    assert "whole" not in {view.kind for view in large.views}
    controllers = {node.label for node in large.nodes if node.kind == "controller"}
    assert {view.subject for view in large.views if view.kind == "controller"} == controllers
    assert len(controllers) == 10
    seen = set()
    for view in large.views:
        assert 2 <= len(view.nodes) <= 250
        shown = {placed.node for placed in view.nodes}
        between = {edge.id for edge in large.edges if {edge.a, edge.b} <= shown}
        assert {routed.edge for routed in view.edges} == between
        seen |= shown
    assert seen == set(range(len(large.nodes)))


def test_a_controller_is_shown_with_all_that_hangs_on_it(large: Diagram) -> None:
    view = next(view for view in large.views if view.subject == "ECU0001")
    shown = {large.nodes[placed.node].label for placed in view.nodes}
    assert {"Coil 0001-1", "Injector 0001-4", "SP00011", "SP00012", "Head stud 0001", "Oil temp sensor 0001-9"} <= shown
    assert {"Battery 0001 +", "F0001", "battery negative", "head", "chassis"} <= shown
    assert not any("0002" in label for label in shown)


def test_every_finding_that_has_a_view_is_in_it(large: Diagram) -> None:
    views = [view for view in large.views if view.kind == "finding"]
    assert views
    for view in views:
        shown = {placed.node for placed in view.nodes}
        named = [edge for edge in large.edges if view.subject in edge.findings]
        named_nodes = [node for node in large.nodes if view.subject in node.findings]
        assert named or named_nodes
        assert all({edge.a, edge.b} <= shown for edge in named)
        assert all(node.id in shown for node in named_nodes)


def test_what_a_finding_marks_can_be_found_from_both_sides() -> None:
    _, result, diagram = drawn(next(path for path in FAULTY if "hill" in path.stem))
    two_paths = next(f for f in result.findings if f.check == "ground.two_paths" and f.subject[1] == "ECU")
    assert two_paths.thumbprint in next(edge for edge in diagram.edges if edge.wire == "W302").findings
    assert two_paths.thumbprint in next(node for node in diagram.nodes if node.label == "ECU").findings


def test_without_findings_the_drawing_is_the_same() -> None:
    design, result, diagram = drawn(FAULTY[0])
    bare = diagram_of(design, replace(result, findings=()))
    assert bare.views == diagram.views
    assert not any(thing.findings for thing in (*bare.nodes, *bare.edges, *bare.loops))
