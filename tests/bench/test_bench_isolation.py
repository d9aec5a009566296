"""Pairs to measure for isolation: those of the trade, each once, of nets that are apart, and not too many."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from measured_lists import GENERATOR, designed

from harnessdrc.bench.isolation import isolation_lines
from harnessdrc.papers import IsolationLine


def pairs(lines: tuple[IsolationLine, ...]) -> dict[frozenset[str], str]:
    """Why two places are measured, by the places."""
    return {frozenset((line.a, line.b)): line.why for line in lines}


SHIELDED = {
    "wires": """Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal,Twist group,Shield
W1,ECU,1,CRANK SENSOR,1,0.5,1,Crank +,T1,S1
W2,ECU,2,CRANK SENSOR,2,0.5,1,Crank -,T1,S1
W3,ECU,3,open,,0.5,1,Crank shield drain,,S1
W4,ECU,4,Head stud,,1.5,1,Power ground,,
W5,ECU,6,TPS,2,0.5,1,Sensor ground,,
W6,ECU,8,DASH,1,0.5,1,CAN H,,
W7,ECU,9,DASH,2,0.5,1,CAN L,,
W8,ECU,11,TPS,1,0.5,1,Sensor 5V,,
W9,ECU,20,FUSE 1,out,1,1,Switched feed,,
W10,FUSE 1,in,BATTERY,+,1,1,Battery feed,,
""",
    "components": "Component,Kind\nCRANK SENSOR,reluctor sensor\nTPS,position sensor\nDASH,display\n",
}  # fmt: skip


@pytest.mark.parametrize(
    ("a", "b", "why"),
    [
        ("ECU 6", "Head stud", "sensor ground and power ground"),
        ("ECU 3", "Head stud", "shield and ground"),
        ("ECU 3", "ECU 1", "shield S1 and wire W1 in it"),
        ("ECU 3", "ECU 2", "shield S1 and wire W2 in it"),
        ("ECU 6", "ECU 3", "sensor ground and shield"),
        ("ECU 8", "ECU 9", "CAN high and CAN low"),
        ("CRANK SENSOR 1", "CRANK SENSOR 2", "signal and return of CRANK SENSOR, unplugged"),
        ("ECU 11", "ECU 20", "two supplies"),
        ("BATTERY +", "Head stud", "every net and power ground"),
    ],
)
def test_the_pairs_of_the_trade(a: str, b: str, why: str) -> None:
    """Common practice, no source."""
    found = pairs(isolation_lines(designed(SHIELDED)))
    assert found.get(frozenset((a, b))) == why


def test_neighbours_of_unlike_nets_are_measured_and_those_of_one_net_are_not() -> None:
    wires = "Wire,From,From cavity,To,To cavity,Signal\nW1,X1,1,SPLICE 1,,Feed\nW2,X1,2,SPLICE 1,,Feed\nW3,X1,3,X2,1,Lamp\nW4,X1,7,X2,2,Horn\nW5,X1,8,X2,4,Wiper\nW6,X1,B1,X3,1,One\nW7,X1,C1,X3,3,Two\n"
    found = pairs(isolation_lines(designed({"wires": wires})))
    assert frozenset(("X1 2", "X1 3")) in found
    assert frozenset(("X1 7", "X1 8")) in found
    assert frozenset(("X1 B1", "X1 C1")) in found  # the next letter of a grid
    assert frozenset(("X1 1", "X1 2")) not in found
    assert frozenset(("X1 3", "X1 7")) not in found


def test_without_an_earth_point_nothing_is_measured_against_ground() -> None:
    lines = isolation_lines(designed({"wires": "Wire,From,From cavity,To,To cavity\nW1,X1,1,X2,1\nW2,X1,5,X2,5\n"}))
    assert lines == ()


def test_what_passes_is_the_given_value() -> None:
    lines = isolation_lines(designed(given={"isolation_least_ohm": 1e8}))
    assert {line.least_ohm for line in lines} == {1e8}


# --- any list -----------------------------------------------------------------------------------

ITEMS = ("ECU", "X1", "X2", "DASH", "TPS", "SPLICE 1", "SPLICE 2", "FUSE 1", "BATTERY", "Head stud", "Chassis stud")
ROWS = st.lists(
    st.tuples(
        st.sampled_from(ITEMS), st.sampled_from(["1", "2", "3", "4", "in", "out", "+", "A1", "B1"]),
        st.sampled_from(ITEMS), st.sampled_from(["1", "2", "3", "5", "in", "out", "-", "A2"]),
        st.sampled_from(["Power ground", "Sensor ground", "Sensor 5V", "CAN H", "CAN L", "Switched feed", "Crank shield", "Lamp"]),
    ),
    min_size=1, max_size=16,
)  # fmt: skip


def listed(rows: list[tuple[str, ...]]) -> str:
    """CSV text of wires."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["Wire", "From", "From cavity", "To", "To cavity", "Signal"])
    for number, row in enumerate(rows, 1):
        writer.writerow([f"W{number}", *row])
    return out.getvalue()


@settings(max_examples=120, deadline=None, suppress_health_check=list(HealthCheck))
@given(ROWS, st.randoms(use_true_random=False))
def test_each_pair_stands_once_is_apart_and_hangs_on_no_order(rows: list[tuple[str, ...]], rng: object) -> None:
    design = designed({"wires": listed(rows)})
    tests = design.testing.isolation
    assert len({test.nets for test in tests}) == len(tests)
    assert [test.test for test in tests] == [f"I{n}" for n in range(1, len(tests) + 1)]
    for test in tests:
        assert len(test.nets) == 2
        assert test.a != test.b
        assert test.a and test.b and test.a_net and test.b_net and test.why
        for number in test.nets - {-1}:
            assert not design.net.nets[number].earths
    cavities = len(design.net.wires_at)
    assert len(tests) <= 5 * cavities + len(design.net.nets)
    against_ground = {number for test in tests if -1 in test.nets for number in test.nets}
    if design.net.earths:
        wired = {n.number for n in design.net.nets if not n.earths and any(design.net.wires_at.get(c) for c in n.contacts)}
        assert wired <= against_ground
    mixed = list(enumerate(rows, 1))
    rng.shuffle(mixed)  # type: ignore[attr-defined]
    text = "Wire,From,From cavity,To,To cavity,Signal\n" + "".join(
        ",".join([f"W{number}", *row]) + "\n" for number, row in mixed
    )
    again = designed({"wires": text}).testing.isolation

    def bare(each: object) -> tuple[object, ...]:
        return tuple(getattr(each, name) for name in ("test", "a", "b", "a_net", "b_net", "why"))

    assert list(map(bare, again)) == list(map(bare, tests))


def test_their_number_grows_with_the_list_and_not_with_its_square() -> None:
    def count(devices: int) -> int:
        rows = [("ECU", str(3 * n + pin), f"BOX {n}", str(pin), f"Signal {n}.{pin}") for n in range(devices) for pin in range(1, 4)]
        rows += [("ECU", "900", "Head stud", "", "Power ground")]
        return len(isolation_lines(designed({"wires": listed(rows)})))

    few, many = count(20), count(80)
    assert few > 60
    assert many < 4.2 * few


def test_every_place_of_the_generator_can_be_probed() -> None:
    design = designed()
    labels = {design.label(contact) for contact in design.net.wires_at}
    for line in isolation_lines(design):
        assert {line.a, line.b} <= labels
        assert not {line.a, line.b} & {"SPLICE 1", "SPLICE 2"}
    assert len(GENERATOR["wires"].splitlines()) > 20
