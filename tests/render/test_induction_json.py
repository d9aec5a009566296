"""Loops and trigger margins in the JSON: shape, numbers, and that it is written in pieces."""

from __future__ import annotations

import io
import json
import time
import tracemalloc
from typing import Any

import jsonschema
import pytest
from induction_made import EXTREME, USUAL, many, result
from network_made import network, offset

from harnessdrc.render.findings_json import schema, to_dict, to_json, write_json
from harnessdrc.render.induction_json import induction_pieces
from harnessdrc.results import InductionOutcome


def shape(outcome: InductionOutcome) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads("".join(induction_pieces(outcome)), parse_constant=pytest.fail)
    return loaded


def test_an_empty_outcome_has_empty_lists() -> None:
    assert shape(InductionOutcome()) == {"loops": [], "triggers": [], "not_worked_out": []}
    jsonschema.validate(json.loads(to_json(result(InductionOutcome()))), schema())


def test_loops_and_margins_with_their_units() -> None:
    whole = shape(USUAL)
    assert [loop["loop"] for loop in whole["loops"]] == [line.what for line in USUAL.loops]
    first = whole["loops"][0]
    assert first == {
        "subject": ["component", "COIL1"], "loop": "high-voltage return", "way": list(USUAL.loops[0].way), "length_m": 1.92,
        "area_cm2": 2934.0, "area_is_bound": True, "best_area_cm2": 121.0, "area_ratio": 24.247934, "lacking": [],
        "notes": ["no capacitor closes it"],
        "place": {"file": "loom.xlsx", "sheet": "Wire list", "cell": "A2", "label": "component"},
    }  # fmt: skip
    last = whole["loops"][-1]
    assert (last["length_m"], last["area_cm2"], last["area_ratio"], last["place"]) == (None, None, None, None)
    assert last["lacking"] == ["length of wire W77"]
    crank, cam = whole["triggers"]
    assert (crank["subject"], crank["sensor"], crank["limit_db"]) == (["component", "CRANK SENSOR"], "reluctor sensor", 20.0)
    assert (crank["worst_rpm"], crank["worst_margin_db"]) == (60.0, 13.835828)
    assert crank["speeds"][1] == {
        "rpm": 200.0, "signal_mv": 1000.0, "offset_mv": 0.0, "noise_mv": 61.0, "noise_low_mv": 10.166667,
        "noise_high_mv": 366.0, "margin_db": 24.293403, "low_db": 15.293403, "high_db": 33.293403,
    }  # fmt: skip
    assert crank["settings"][0] == {"rpm": 60.0, "filter_us": 0.0, "lowest_v": 0.122, "highest_v": 0.24}
    assert crank["pickups"][0] == {
        "subject": ["component", "COIL1"], "loop": "high-voltage return", "edge": "breakdown", "mutual_nh": 2.7,
        "best_mutual_nh": 0.15, "mv": 54.0, "low_mv": 9.0, "high_mv": 324.0, "distance_m": 0.05,
    }  # fmt: skip
    assert (cam["worst_rpm"], cam["nothing_induced"]) == (7000.0, False)


def test_hard_names_and_numbers_stay_valid() -> None:
    out = io.BytesIO()
    write_json(result(EXTREME), out)
    whole = json.loads(out.getvalue().decode("utf-8"), parse_constant=pytest.fail)
    jsonschema.validate(whole, schema())
    induction = whole["induction"]
    assert induction["loops"][0]["length_m"] is None
    assert induction["loops"][2]["subject"] == ["component", "$x^2$ \ufffd"]
    assert induction["loops"][2]["length_m"] == 0.0
    assert [line["nothing_induced"] for line in induction["triggers"]] == [False, True, False, False, False]
    assert induction["triggers"][3]["worst_rpm"] is None
    assert induction["triggers"][3]["speeds"] == []
    assert induction["not_worked_out"] == list(EXTREME.not_worked_out)
    assert json.loads(to_json(result(EXTREME))) == whole


def test_it_stands_after_the_network_and_is_the_same_in_every_form() -> None:
    outcome = result(USUAL, network=network([offset("COIL1", 476.0)]))
    text = to_json(outcome)
    assert text == to_json(outcome)
    assert list(json.loads(text))[-4:] == ["network", "induction", "sizing", "measured"]
    assert to_dict(outcome) == json.loads(text)
    jsonschema.validate(json.loads(text), schema())
    assert '\n   {"subject": ["component", "COIL2"]' in text


@pytest.mark.parametrize(
    "change",
    [
        lambda whole: whole.pop("induction"),
        lambda whole: whole["induction"]["loops"][0].pop("area_is_bound"),
        lambda whole: whole["induction"]["loops"][0].update(more=1),
        lambda whole: whole["induction"]["triggers"][0].update(worst=0),
        lambda whole: whole["induction"]["triggers"][0]["speeds"][0].pop("noise_mv"),
        lambda whole: whole["induction"]["triggers"][0]["pickups"][0].update(mv="54"),
        lambda whole: whole["induction"]["triggers"][0]["settings"][0].update(filter_ms=1),
        lambda whole: whole["induction"]["triggers"][0]["place"].pop("cell"),
        lambda whole: whole["induction"].update(other=[]),
    ],
)
def test_the_schema_refuses_another_shape(change: Any) -> None:
    whole = json.loads(to_json(result(USUAL)))
    jsonschema.validate(whole, schema())
    change(whole)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(whole, schema())


def test_thousands_of_loops_are_written_in_pieces() -> None:
    outcome = many()
    start = time.perf_counter()
    written = sum(len(piece) for piece in induction_pieces(outcome))
    assert time.perf_counter() - start < 1
    assert written > 1_000_000
    tracemalloc.start()
    try:
        longest = max(len(piece) for piece in induction_pieces(outcome))
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert longest < written / 10
    assert peak < 1_000_000
