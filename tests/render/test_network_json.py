"""The network in the JSON: its shape, its numbers, and that it is written in pieces."""

from __future__ import annotations

import io
import json
import math
import time
from dataclasses import replace
from typing import Any

import jsonschema
import numpy as np
import pytest
from network_made import NOT_SOLVED, RING, STARS, STATES, network, offset, result, shares

from harnessdrc.findings import Mark
from harnessdrc.places import Place
from harnessdrc.render.findings_json import schema, to_dict, to_json, write_json
from harnessdrc.render.network_json import network_pieces
from harnessdrc.results import NetworkOutcome, Proposal, ReportedFinding, ReportedUndecided, ReserveLine


def shape(solved: NetworkOutcome) -> dict[str, Any]:
    text = "".join(network_pieces(solved))
    loaded: dict[str, Any] = json.loads(text, parse_constant=pytest.fail)
    return loaded


def finding(number: int = 1, proposal: Proposal | None = None) -> ReportedFinding:
    mark = Mark(Place("loom.xlsx", "Wire list", f"D{number}"), "earth")
    return ReportedFinding(
        "one-star-point", "ground.offsets", "hold", ("component", f"COIL{number}"), "It stands off.\nMuch.", "Move it.",
        476.0, 400.0, "mV", (mark,), {"earth": "line\nend", "list": [1, {}]}, None, None, f"{number:016x}", proposal,
    )  # fmt: skip


def test_an_empty_network_has_empty_lists() -> None:
    assert shape(NetworkOutcome()) == {"states": [], "star_points": [], "not_solved": []}
    jsonschema.validate(json.loads(to_json(result(NetworkOutcome()))), schema())


def test_every_state_has_its_nodes_wires_and_offsets() -> None:
    solved = network([offset("COIL1", 476.0, between=(300.0, 610.0))], stars=STARS, not_solved=NOT_SOLVED)
    whole = shape(solved)
    assert [state["name"] for state in whole["states"]] == [state.name for state in STATES]
    cranking = whole["states"][1]
    assert (cranking["rpm"], cranking["starter_a"], cranking["battery_v"]) == (250, 200, 10.1)
    assert cranking["nodes"][2] == {"node": "N2", "volts": 0.25}
    assert cranking["wires"][0] == {
        "wire": "W2", "amps": 2.0, "drop_mv": -8.0, "degc": 85.0, "peak_amps": 3.0, "peak_drop_mv": 12.0,
    }  # fmt: skip
    full = whole["states"][3]["offsets"][0]
    assert (full["victim"], full["what"], full["reference"]) == ("COIL1", "coil input", "ECU ground")
    assert (full["mv"], full["peak_mv"], full["aged_mv"], full["aged_peak_mv"]) == (238.0, 476.0, 404.6, 809.2)
    assert (full["limit_mv"], full["low_mv"], full["high_mv"]) == (700.0, 300.0, 610.0)
    assert full["shares"] == [{"source": "charge", "mv": 428.4}, {"source": "own current", "mv": 47.6}]
    assert full["critical_joints"] == [{"joint": RING.joint, "ohms": 0.0048}]
    elsewhere = cranking["offsets"][0]
    assert elsewhere["low_mv"] is None
    assert elsewhere["shares"] == elsewhere["critical_joints"] == []
    assert whole["star_points"][2]["lacking"] == ["length of wire G3", "length of wire G9"]
    assert [star["today"] for star in whole["star_points"]] == [False, True, False]
    assert whole["star_points"][2]["high_voltage_return_m"] is None
    assert whole["not_solved"] == list(NOT_SOLVED)
    jsonschema.validate(json.loads(to_json(result(solved))), schema())


def test_a_wire_without_current_is_left_out_of_the_state_alone() -> None:
    solved = network(wires=3)
    peak = np.array(solved.peak_a)
    peak[2, 0] = 0.5  # flows at an instant of idling, nothing on average
    average = np.array(solved.average_a)
    average[0, 1] = 2e-7  # below what is told
    peak[0, 1] = -3e-7
    states = shape(replace(solved, peak_a=peak, average_a=average))["states"]
    assert [[wire["wire"] for wire in state["wires"]] for state in states] == [
        ["W3"], ["W2", "W3"], ["W1", "W2", "W3"], ["W2", "W3"],
    ]  # fmt: skip
    assert states[2]["wires"][0]["amps"] == 0.0


def test_what_is_no_number_is_null_and_the_wire_stays() -> None:
    solved = network([offset("COIL1", math.nan, error=math.nan, unit="K")], wires=3)
    amps = np.array(solved.average_a)
    amps[:, 1] = np.nan
    peak = np.array(solved.peak_a)
    peak[0, 2] = np.inf
    volts = np.array(solved.node_v)
    volts[3] = (np.nan, -np.inf, 1e300)
    odd = replace(solved, average_a=amps, peak_a=peak, node_v=volts)
    whole = shape(odd)
    assert whole["states"][0]["wires"][0]["amps"] is None
    assert whole["states"][0]["wires"][1]["peak_amps"] is None
    assert [node["volts"] for node in whole["states"][3]["nodes"]] == [None, None, 1e300]
    assert whole["states"][3]["offsets"][0]["mv"] is None
    assert whole["states"][3]["offsets"][0]["error"] is None
    assert whole["states"][3]["offsets"][0]["sensor_fault"] is False
    jsonschema.validate(json.loads(to_json(result(odd))), schema())


def test_numbers_are_rounded_and_no_zero_has_a_sign() -> None:
    solved = replace(network(wires=0, nodes=3), node_v=np.array([[1 / 3, -2e-9, -1234.5678904]] * len(STATES)))
    text = "".join(network_pieces(solved))
    assert '{"node": "N0", "volts": 0.333333},' in text
    assert '{"node": "N1", "volts": 0.0},' in text
    assert '{"node": "N2", "volts": -1234.56789}\n' in text


@pytest.mark.parametrize(
    ("mv", "low", "high", "limit"),
    [(5.0, -40.0, 70.0, 70.0), (0.0, -40.0, 70.0, 70.0), (-5.0, -40.0, 70.0, -40.0), (5.0, -40.0, None, None),
     (-5.0, None, 70.0, None)],
)  # fmt: skip
def test_the_limit_is_that_on_the_side_of_the_offset(
    mv: float, low: float | None, high: float | None, limit: float | None
) -> None:
    assert shape(network([offset("C", mv, low=low, high=high)]))["states"][3]["offsets"][0]["limit_mv"] == limit


def test_a_sensor_fault_is_no_number_but_told() -> None:
    solved = network([offset("CLT", 900.0, what="sensor reading", error=math.inf, unit="K")])
    states = shape(solved)["states"]
    assert (states[3]["offsets"][0]["error"], states[3]["offsets"][0]["sensor_fault"]) == (None, True)
    assert (states[0]["offsets"][0]["error_unit"], states[0]["offsets"][0]["sensor_fault"]) == ("", False)


def test_a_joint_stands_in_the_state_it_is_worked_out_in() -> None:
    joints = (
        ReserveLine("a", None, 1.0, "idle", None), ReserveLine("b", None, 2.0, "full load", None),
        ReserveLine("c", None, math.inf, "idle", None), ReserveLine("d", None, 4.0, "no such state", None),
    )  # fmt: skip
    states = shape(network([offset("C", 5.0, reserves=joints)]))["states"]
    found = [[joint["joint"] for joint in state["offsets"][0]["critical_joints"]] for state in states]
    assert found == [[], [], ["a", "c"], ["b", "d"]]
    assert states[2]["offsets"][0]["critical_joints"][1]["ohms"] is None


def test_texts_are_put_in_quotes_by_json() -> None:
    names = ['a"b', "c\\d\n", "50 % Ω %s", "half \ud800"]
    solved = network([offset('"\n%s', 5.0, parts=shares(('F"AN', 5.0)))], wires=4, names=names)
    whole = json.loads(to_json(result(solved)).encode("utf-8"))["network"]
    assert [wire["wire"] for wire in whole["states"][0]["wires"]] == [*names[1:3], "half \ufffd"]
    assert whole["states"][3]["offsets"][0]["victim"] == '"\n%s'
    assert whole["states"][3]["offsets"][0]["shares"][0]["source"] == 'F"AN'


def test_each_node_wire_and_victim_has_a_line() -> None:
    solved = network([offset("COIL1", 5.0), offset("COIL2", 4.0)], wires=9000, nodes=5000)
    lines = "".join(network_pieces(solved)).splitlines()
    for name, number in (("node", 5000), ("wire", 8999), ("victim", 2)):
        own = [line for line in lines if line.startswith(f'     {{"{name}": ')]
        assert len(own) == number * len(STATES)
        assert all(json.loads(line.rstrip(",")) for line in own)


def test_the_streamed_bytes_are_those_of_the_text() -> None:
    many = [finding(n, Proposal("Move W1.", ("W1",), 476.0, 69.0, "mV", 2, ("a" * 16,)) if n % 2 else None)
            for n in range(1, 700)]  # fmt: skip
    asked = ReportedUndecided("r", "c", "hold", ("wire", "half \udc00"), ("length",), (), 120.0, 810.0, 500.0, "mV")
    whole = result(network([offset("COIL1", 5.0)], stars=STARS), *many, undecided=(asked,))
    stream = io.BytesIO()
    write_json(whole, stream)
    assert stream.getvalue().decode("utf-8") == to_json(whole)
    assert json.loads(stream.getvalue())["undecided"][0]["subject"] == ["wire", "half \ufffd"]


@pytest.mark.parametrize("number", [0, 1, 256, 257, 600])
def test_all_but_network_loops_and_sizes_is_laid_out_as_by_the_standard_library(number: int) -> None:
    whole = result(NetworkOutcome(), *(finding(n) for n in range(number)))
    expected = to_dict(whole)
    del expected["network"], expected["induction"], expected["sizing"], expected["measured"]
    laid_out = json.dumps(expected, indent=1, ensure_ascii=False).removesuffix("\n}")
    assert to_json(whole).startswith(f'{laid_out},\n "network": {{\n')
    assert json.loads(to_json(whole)) == to_dict(whole)


def test_a_proposal_and_a_range_are_told() -> None:
    proposal = Proposal("Move the end of wire W12.", ("W12",), 476.0, 69.0, "mV", 2, ("a" * 16, "b" * 16))
    asked = ReportedUndecided("r", "c", "hold", ("wire", "W1"), ("length",), (), 120.0, 810.0, 500.0, "mV")
    bare = ReportedUndecided("r", "c", "hold", ("wire", "W2"), ("length",), ())
    whole = json.loads(to_json(result(NetworkOutcome(), finding(1, proposal), finding(2), undecided=(asked, bare))))
    jsonschema.validate(whole, schema())
    assert whole["findings"][0]["proposal"] == {
        "change": "Move the end of wire W12.", "wires": ["W12"], "before": 476.0, "after": 69.0, "unit": "mV",
        "together": 2, "clears": ["a" * 16, "b" * 16],
    }  # fmt: skip
    assert whole["findings"][1]["proposal"] is None
    told = [(one["low"], one["high"], one["limit"], one["unit"]) for one in whole["undecided"]]
    assert told == [(120.0, 810.0, 500.0, "mV"), (None, None, None, "")]


def test_the_schema_refuses_a_network_of_another_shape() -> None:
    whole = to_dict(result(network([offset("COIL1", 5.0)], stars=STARS), finding()))
    jsonschema.validate(whole, schema())
    for spoil in (
        lambda w: w["network"].pop("star_points"),
        lambda w: w["network"]["states"][3]["offsets"][0].pop("limit_mv"),
        lambda w: w["network"]["states"][3]["offsets"][0].update(mv="5"),
        lambda w: w["network"]["states"][0]["wires"][0].pop("peak_amps"),
        lambda w: w["network"]["states"][0].update(extra=1),
        lambda w: w["findings"][0].pop("proposal"),
        lambda w: w["findings"][0].update(proposal={"change": "x"}),
    ):
        spoiled = json.loads(json.dumps(whole))
        spoil(spoiled)
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(spoiled, schema())


def test_every_field_of_the_network_says_what_it_means() -> None:
    solved = schema()["properties"]["network"]["properties"]
    offsets = solved["states"]["items"]["properties"]["offsets"]["items"]["properties"]
    assert [name for name, one in offsets.items() if not one.get("description")] == []
    wires = solved["states"]["items"]["properties"]["wires"]
    assert "left out" in wires["description"]


def test_a_large_network_is_written_in_the_time_of_a_few_plain_passes_and_never_held() -> None:
    """Against json.dumps without layout on plain objects: the fast path of the standard library."""
    wires = 20_000
    rng = np.random.default_rng(5)
    amps = rng.normal(0, 5, (len(STATES), wires))
    solved = replace(network(wires=wires, nodes=0), average_a=amps, peak_a=amps, average_drop_mv=amps, peak_drop_mv=amps)

    def timed(work: Any) -> float:
        start = time.process_time()
        work()
        return time.process_time() - start

    plain = shape(solved)
    longest = 0
    for piece in network_pieces(solved):
        longest = max(longest, len(piece))
    assert longest < 2_000_000
    ours = min(timed(lambda: [None for _ in network_pieces(solved)]) for _ in range(3))
    theirs = min(timed(lambda: json.dumps(plain)) for _ in range(3))
    assert ours < 3 * theirs
