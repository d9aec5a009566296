"""Voltage drops: by hand, against a published divider, against an independent solution, and laws of networks."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from itertools import pairwise

import numpy as np
import pytest
from text_lists import design_from, shipped_given

from harnessdrc.design import Design, wire_ohm
from harnessdrc.design.figures import usual_figures
from harnessdrc.units import parse_size

HEAD = "Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal\n"
BARE = dict.fromkeys(("contact_mohm", "stud_mohm", "device_inner_mohm", "head_block_mohm", "fuse_mohm"), 0.0)


def drops_mv(design: Design) -> dict[str, tuple[float | None, float | None]]:
    """Feed and return drop of every load, mV."""
    drops = design.drops
    found = {}
    for load in design.loads.all:
        sides = drops.feed(load), drops.back(load)
        found[load.device.name] = tuple(None if side is None else side.drop_v * 1000 for side in sides)
    return found


def amps(design: Design) -> dict[str, float]:
    """Current of every wire that carries one."""
    return {w.wire.name: w.current_a for w in design.drops.wires}


# --- resistance of one wire ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("size", "length_m", "t_degc", "mohm"),
    [
        # ISO 6722 maxima at 20 degC (plain copper), times 1 + 0.00393 (t - 20).
        ("0.5 mm2", 1.0, 20.0, 37.1), ("1.5 mm2", 2.0, 20.0, 25.4), ("1.5 mm2", 1.0, 85.0, 15.944215),
        ("2.5 mm2", 1.0, 20.0, 7.6), ("6 mm2", 10.0, 20.0, 31.4),
        # ASTM B258: 18 AWG 1.02362 mm, 0.82294 mm2, 17.241 / 0.82294 x 1.02.
        ("18 AWG", 1.0, 20.0, 21.369), ("10 AWG", 1.0, 20.0, 3.3426),
    ],
)  # fmt: skip
def test_resistance_of_a_wire(size: str, length_m: float, t_degc: float, mohm: float) -> None:
    found = wire_ohm(parse_size(size), length_m, t_degc)
    assert found is not None
    assert found * 1000 == pytest.approx(mohm, rel=2e-4)


def test_no_resistance_without_size_or_length() -> None:
    assert wire_ohm(None, 1.0, 20.0) is None
    assert wire_ohm(parse_size("1 mm2"), None, 20.0) is None


# --- worked cases -------------------------------------------------------------------------------


def test_t1_divider() -> None:
    """200 A into the engine; strap of 1 mohm to the battery beside two legs of 25 mohm through the controller.

    The legs in series are 50 mohm beside 1 mohm: 200 / 51 = 3.92157 A in them, 196.078 A in the strap,
    196.078 mV over the strap and 98.0392 mV over each leg.
    """
    leg_m = 25 / 37.1  # 0.5 mm2 by ISO 6722: 37.1 mohm/m at 20 degC
    design = design_from(
        given={**BARE, "conductor_degc": 20.0},
        wires=HEAD
        + f"W1,ECU,A1,Engine stud,,0.5,{leg_m:.9f},Power ground\nW2,ECU,A2,BATTERY,-,0.5,{leg_m:.9f},Power ground\n"
        "W3,BATTERY,+,WINCH,1,25,1,Winch feed\n",
        components="Component,Kind,Place,Current (A),Earthed by its case\nWINCH,load,engine,200,yes\n",
        earth_points="Earth point,Body\nEngine stud,engine\n",
        straps="Strap,From body,To body,Resistance (mohm)\nS1,engine,battery negative,1\n",
    )
    found = amps(design)
    assert found["W1"] == pytest.approx(200 / 51, rel=1e-7)
    assert found["W2"] == pytest.approx(3.92157, rel=1e-5)
    _, back = drops_mv(design)["WINCH"]
    assert back == pytest.approx(196.078431, rel=1e-7)
    legs = {w.wire.name: w.drop_v * 1000 for w in design.drops.wires}
    assert legs["W1"] == pytest.approx(98.0392, rel=1e-5)


def test_everything_on_the_way_by_hand() -> None:
    """Battery, fuse of 15 A, relay, pump of 8 A, ground over splice and stud, at 85 degC.

    Feed: W1 2 + 2 mohm contacts and 0.5 m of 2.5 mm2 (9.54142 mohm/m hot) = 8.77071; fuse 110 mV / 15 A = 7.33333;
    W2 4 + 0.3 x 9.54142 = 6.862426; relay 3; W3 4 + 2 x 15.944215 = 35.88843; pin inside 2: 63.8549 mohm x 8 A.
    Return: pin inside 2; W4 contact 2 + 0.4 x 15.944215 = 8.377686; W5 0.1 + 0.6 x 15.944215 = 9.666529; strap 1.
    """
    design = design_from(
        wires=HEAD + "W1,BATTERY,+,FUSE 1,1,2.5,0.5,Battery feed\nW2,FUSE 1,2,PUMP RELAY,30,2.5,0.3,Fused feed\n"
        "W3,PUMP RELAY,87,FUEL PUMP,1,1.5,2,Pump feed\nW4,FUEL PUMP,2,SPLICE 1,,1.5,0.4,Pump ground\n"
        "W5,SPLICE 1,,Chassis stud,,1.5,0.6,Pump ground\n",
        components="Component,Kind,Current (A)\nFUEL PUMP,fuel pump,8\n",
        fuses="Fuse,Rating (A)\nFUSE 1,15\n",
        earth_points="Earth point,Body\nChassis stud,chassis\n",
    )
    feed, back = drops_mv(design)["FUEL PUMP"]
    assert feed == pytest.approx(8 * (8.77071 + 110 / 15 + 6.862426 + 3 + 35.88843 + 2), rel=1e-6)
    assert back == pytest.approx(8 * (2 + 8.377686 + 9.666529 + 1), rel=1e-6)
    assert amps(design) == pytest.approx(dict.fromkeys(("W1", "W2", "W3", "W4", "W5"), 8.0))


def test_a_driven_load_returns_through_the_controller() -> None:
    """Two injectors of 1 A: each through its own output, both through the controller's one ground."""
    design = design_from(
        given={**BARE, "conductor_degc": 20.0, "strap_engine_mohm": 0.0},
        wires=HEAD + "W1,BATTERY,+,SPLICE 1,,1.5,1,Injector feed\nW2,SPLICE 1,,INJ 1,1,0.5,0.2,Injector feed\n"
        "W3,SPLICE 1,,INJ 2,1,0.5,0.3,Injector feed\nW4,INJ 1,2,ECU,B1,0.5,1,Injector 1\n"
        "W5,INJ 2,2,ECU,B2,0.5,2,Injector 2\n"
        "W6,ECU,A1,Engine stud,,1.5,0.5,Power ground\n",
        components="Component,Kind,Current (A)\nINJ 1,injector,1\nINJ 2,injector,1\n",
        earth_points="Earth point,Body\nEngine stud,engine\n",
    )
    assert amps(design)["W6"] == pytest.approx(2.0)
    found = drops_mv(design)
    assert found["INJ 1"] == pytest.approx((2 * 12.7 + 0.2 * 37.1, 37.1 + 2 * 0.5 * 12.7))
    assert found["INJ 2"] == pytest.approx((2 * 12.7 + 0.3 * 37.1, 2 * 37.1 + 2 * 0.5 * 12.7))


def test_parallel_wires_share_by_their_resistance() -> None:
    """1.5 and 2.5 mm2 of one length: 6 A in the ratio 1/12.7 to 1/7.6."""
    design = design_from(
        given={**BARE, "conductor_degc": 20.0},
        wires=HEAD
        + "W1,BATTERY,+,SPLICE 1,,1.5,1,Feed\nW2,BATTERY,+,SPLICE 1,,2.5,1,Feed\nW3,SPLICE 1,,FAN,1,2.5,1,Fan feed\n"
        "W4,FAN,2,BATTERY,-,2.5,1,Fan ground\n",
        components="Component,Kind,Current (A)\nFAN,fan,6\n",
    )
    found = amps(design)
    assert found["W1"] == pytest.approx(6 * 7.6 / (12.7 + 7.6))
    assert found["W2"] == pytest.approx(6 * 12.7 / (12.7 + 7.6))
    assert found["W3"] == pytest.approx(6.0)


def test_what_is_lacking_is_named_and_the_drop_a_lower_bound() -> None:
    design = design_from(
        wires=HEAD + "W1,BATTERY,+,FUSE 1,1,,0.5,Battery feed\nW2,FUSE 1,2,FAN,1,2.5,,Fan feed\n"
        "W3,FAN,2,BATTERY,-,2.5,1,Fan ground\n",
        components="Component,Kind,Current (A)\nFAN,fan,6\n",
    )
    [load] = design.loads.all
    feed = design.drops.feed(load)
    assert feed is not None
    assert set(feed.lacking) == {"size of wire W1", "length of wire W2"}
    assert {w.name for w in feed.lacking_wires} == {"W1", "W2"}
    back = design.drops.back(load)
    assert back is not None
    assert back.lacking == ()


def test_currents_come_from_the_component_then_the_wire_then_the_usual_figure() -> None:
    design = design_from(
        wires="Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal,Current (A)\n"
        "W1,BATTERY,+,FAN,1,2.5,1,Fan feed,7\nW2,FAN,2,BATTERY,-,2.5,1,Fan ground,\n"
        "W3,BATTERY,+,FUEL PUMP,1,2.5,1,Pump feed,7\nW4,FUEL PUMP,2,BATTERY,-,2.5,1,Pump ground,\n"
        "W5,BATTERY,+,BILGE PUMP,1,2.5,1,Pump feed,\nW6,BILGE PUMP,2,BATTERY,-,2.5,1,Pump ground,\n",
        components="Component,Kind,Current (A)\nFAN,fan,9\nFUEL PUMP,fuel pump,\n",
    )
    usual = usual_figures()["water pump"].current_a
    assert {load.device.name: load.current_a for load in design.loads.all} == {
        "FAN": 9.0, "FUEL PUMP": 7.0, "BILGE PUMP": usual,
    }  # fmt: skip
    assert [a.subject for a in design.assumptions if a.what == "current"] == ["BILGE PUMP"]


def test_usual_figures_have_a_source_each() -> None:
    for kind, figures in usual_figures().items():
        assert figures.current_a > 0, kind
        assert figures.source, kind


def test_a_load_that_is_not_reached_has_no_drop() -> None:
    design = design_from(
        wires=HEAD + "W1,BATTERY,+,FUSE 1,1,2.5,1,Battery feed\nW2,FUSE 2,2,FAN,1,2.5,1,Fan feed\n"
        "W3,FAN,2,BATTERY,-,2.5,1,Fan ground\n",
        components="Component,Kind,Current (A)\nFAN,fan,6\n",
    )
    assert drops_mv(design)["FAN"][0] is None
    assert amps(design)["W3"] == pytest.approx(6.0), "it is fed by something, and its current comes home all the same"
    assert [(a.subject, a.value) for a in design.circuit.assumptions if a.what == "feed"] == [
        ("FAN", "straight from the battery")
    ]


# --- against an independent solution ------------------------------------------------------------

_OHM_PER_M = {0.5: 37.1e-3, 1.0: 18.5e-3, 1.5: 12.7e-3, 2.5: 7.6e-3, 4.0: 4.71e-3, 6.0: 3.14e-3, 10.0: 1.82e-3}


class MadeUpLoom:
    """Loads on a random tree of feed splices and a random tree of ground splices, with cross wires if wished."""

    def __init__(self, seed: int, *, loops: bool) -> None:
        rng = random.Random(seed)
        self.rng = rng
        self.wires: list[tuple[str, tuple[str, str], tuple[str, str], float, float, str]] = []
        self.loads = {f"PUMP {n}": round(rng.uniform(0.2, 20.0), 2) for n in range(1, rng.randint(2, 9))}
        feeds = [("BATTERY", "+"), *((f"SPLICE {n}", "") for n in range(1, rng.randint(2, 7)))]
        splices = [(f"SPLICE {n}", "") for n in range(11, rng.randint(12, 17))]
        grounds = [("Chassis stud", ""), *splices, ("Head stud", "")]
        for points, signal in ((feeds, "Pump feed"), (grounds, "Pump ground")):
            for number, point in enumerate(points[1:], 1):
                if point[0] != "Head stud":
                    self.add(rng.choice(points[:number]), point, signal)
            if loops:
                for _ in range(rng.randint(1, 4)):
                    one, other = rng.sample(points, 2)
                    if {one[0], other[0]} != {"Chassis stud", "Head stud"}:
                        self.add(one, other, signal)
        for load in self.loads:
            self.add(rng.choice(feeds), (load, "1"), "Pump feed")
            self.add((load, "2"), rng.choice(grounds), "Pump ground")

    def add(self, one: tuple[str, str], other: tuple[str, str], signal: str) -> None:
        """Add a wire of random size and length."""
        size = self.rng.choice(sorted(_OHM_PER_M))
        self.wires.append((f"W{len(self.wires) + 1}", one, other, size, round(self.rng.uniform(0.1, 4.0), 3), signal))

    def design(self, scale: float = 1.0, given: Mapping[str, float] | None = None) -> Design:
        """Its design, with all currents scaled."""
        rows = [
            f"{n},{','.join(a)},{','.join(b)},{size:g},{length:g},{signal}"
            for n, a, b, size, length, signal in self.wires
        ]
        self.rng.shuffle(rows)
        loads = "".join(f"{name},fuel pump,{amps * scale!r}\n" for name, amps in self.loads.items())
        return design_from(
            given=given,
            wires=HEAD + "\n".join(rows) + "\n",
            components="Component,Kind,Current (A)\n" + loads,
            earth_points="Earth point,Body\nChassis stud,chassis\nHead stud,head\n",
        )

    def solved(self, given: Mapping[str, float]) -> tuple[dict[str, tuple[float, float]], dict[str, float]]:
        """Feed and return drop of each load in V, and the current of each wire, by a dense matrix of its own."""
        mohm = {name: given[name] / 1000 for name in given}
        hot = 1 + 0.00393 * (given["conductor_degc"] - 20)
        edges: list[tuple[str, str, float, str]] = []
        for name, a, b, size, length, _ in self.wires:
            ohm = _OHM_PER_M[size] * hot * length
            for item, _cavity in (a, b):
                if item.endswith("stud") or size >= given["bolted_from_mm2"]:
                    ohm += mohm["stud_mohm"]
                elif not item.startswith("SPLICE"):
                    ohm += mohm["contact_mohm"]
            edges.append((" ".join(a), " ".join(b), ohm, name))
        edges.append(("Head stud ", "engine", mohm["head_block_mohm"], ""))
        edges.append(("engine", "zero", mohm["strap_engine_mohm"], ""))
        edges.append(("Chassis stud ", "zero", mohm["strap_chassis_mohm"], ""))
        for load in self.loads:
            edges.append((f"{load} 1", f"{load} in", mohm["device_inner_mohm"], ""))
            edges.append((f"{load} 2", f"{load} out", mohm["device_inner_mohm"], ""))
        same = {"BATTERY +": "zero"}
        edges = [(same.get(a, a), same.get(b, b), ohm, name) for a, b, ohm, name in edges]
        nodes = {"zero": 0}
        for a, b, _, _ in edges:
            nodes.setdefault(a, len(nodes))
            nodes.setdefault(b, len(nodes))
        g = np.zeros((len(nodes), len(nodes)))
        for a, b, ohm, _ in edges:
            i, j = nodes[a], nodes[b]
            g[[i, j], [i, j]] += 1 / ohm
            g[[i, j], [j, i]] -= 1 / ohm
        injected = np.zeros(len(nodes))
        for load, current in self.loads.items():
            injected[nodes[f"{load} in"]] -= current
            injected[nodes[f"{load} out"]] += current
        volts = np.zeros(len(nodes))
        volts[1:] = np.linalg.solve(g[1:, 1:], injected[1:])
        drops = {load: (abs(volts[nodes[f"{load} in"]]), abs(volts[nodes[f"{load} out"]])) for load in self.loads}
        return drops, {name: abs(volts[nodes[a]] - volts[nodes[b]]) / ohm for a, b, ohm, name in edges if name}


@pytest.mark.parametrize("loops", [False, True])
@pytest.mark.parametrize("seed", range(12))
def test_random_looms_against_a_dense_matrix(seed: int, loops: bool) -> None:
    loom = MadeUpLoom(seed, loops=loops)
    design = loom.design()
    drops, currents = loom.solved(shipped_given())
    found = drops_mv(design)
    assert set(found) == set(loom.loads)
    for load, (feed, back) in drops.items():
        assert found[load] == pytest.approx((feed * 1000, back * 1000), rel=1e-7, abs=1e-9)
    carried = amps(design)
    for name, current in currents.items():
        assert carried.get(name, 0.0) == pytest.approx(current, rel=1e-6, abs=1e-8), name


# --- laws ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(8))
def test_doubling_every_current_doubles_every_drop(seed: int) -> None:
    loom = MadeUpLoom(seed, loops=True)
    once, twice = drops_mv(loom.design()), drops_mv(loom.design(scale=2.0))
    for load, sides in once.items():
        assert twice[load] == pytest.approx(tuple(2 * (mv or 0.0) for mv in sides), rel=1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_a_second_wire_beside_one_of_a_tree_raises_no_drop(seed: int) -> None:
    loom = MadeUpLoom(seed, loops=False)
    before = drops_mv(loom.design())
    carried = amps(loom.design())
    _, a, b, size, length, signal = loom.rng.choice([w for w in loom.wires if carried.get(w[0])])
    loom.wires.append((f"W{len(loom.wires) + 1}", a, b, size, length, signal))
    after = drops_mv(loom.design())
    lowered = 0
    for load, sides in before.items():
        for old, new in zip(sides, after[load], strict=True):
            assert old is not None
            assert new is not None
            assert new <= old + 1e-9
            lowered += new < old - 1e-9
    assert lowered


@pytest.mark.parametrize("seed", range(8))
def test_a_further_wire_anywhere_lowers_the_loss_of_the_whole(seed: int) -> None:
    """In a mesh a single drop may rise; the power lost with all currents given never does (Rayleigh)."""
    loom = MadeUpLoom(seed, loops=True)

    def lost_w() -> float:
        found = drops_mv(loom.design())
        return sum(loom.loads[load] * sum(mv or 0.0 for mv in sides) / 1000 for load, sides in found.items())

    losses = [lost_w()]
    for _ in range(3):
        one, other = loom.rng.sample([w for w in loom.wires if w[5] == "Pump feed"], 2)
        if one[1] != other[1]:
            loom.add(one[1], other[1], "Pump feed")
        losses.append(lost_w())
    assert all(later <= earlier * (1 + 1e-9) for earlier, later in pairwise(losses))


def test_currents_balance_at_every_splice() -> None:
    loom = MadeUpLoom(5, loops=True)
    design = loom.design()
    signed = {w.wire.name: w for w in design.drops.wires}
    total = sum(loom.loads.values())
    out = [w.current_a for w in signed.values() if "BATTERY +" in {design.label(c) for c in (w.wire.a, w.wire.b) if c}]
    assert math.isclose(sum(out), total, rel_tol=1e-9)
