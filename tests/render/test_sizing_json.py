"""Wire sizes, fuses and bundles in the JSON: shape, numbers, and that it is written in pieces."""

from __future__ import annotations

import io
import json
import time
import tracemalloc
from typing import Any

import jsonschema
import pytest
from induction_made import USUAL as INDUCTION
from network_made import network, offset
from sizing_made import CLEAN, EXTREME, USUAL, many, result

from harnessdrc.render.findings_json import schema, to_dict, to_json, write_json
from harnessdrc.render.sizing_json import sizing_pieces
from harnessdrc.results import BundleLine, FuseLine, SizeLine, SizingOutcome


def shape(outcome: SizingOutcome) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads("".join(sizing_pieces(outcome)), parse_constant=pytest.fail)
    return loaded


def test_an_empty_outcome_has_empty_lists() -> None:
    limits = {"load_percent": 80.0, "clear_s": 5.0, "fill_percent": 90.0}
    assert shape(SizingOutcome()) == {
        "wires": [], "fuses": [], "bundles": [], "copper_g": 0.0, "needed_g": 0.0, "limits": limits, "not_worked_out": [],
    }  # fmt: skip
    jsonschema.validate(json.loads(to_json(result(SizingOutcome()))), schema())


def test_wires_fuses_and_bundles_with_their_units() -> None:
    whole = shape(USUAL)
    assert whole["wires"][2] == {
        "wire": "W3", "size": "0.5 mm²", "standing": "too small", "current_a": 9.1, "peak_a": 13.65, "state": "full load",
        "allowed_a": 7.4, "margin": -0.186813, "ambient_degc": 85.0, "rated_degc": 105.0, "conductor_degc": 118.0,
        "bundle_wires": 12, "bundle_loading": 0.4, "drop_mv": 120.0, "needed_awg": "18 AWG", "needed_mm2": "0.75 mm²",
        "governs": "heating", "copper_g": 9.0, "needed_g": 13.4, "fuse": None, "fault_a": None, "clears_s": None,
        "may_never_open": False, "withstands_s": None, "on_fault": "", "fault_lacking": [],
        "surely_small": False, "lacking": [],
        "place": {"file": "loom.xlsx", "sheet": "Wire list", "cell": "A4", "label": "wire"},
    }  # fmt: skip
    assert [line["standing"] for line in whole["wires"][:7]] == [
        "could be smaller", "as needed", "too small", "too small", "too small", "may be too small", "not known",
    ]  # fmt: skip
    assert whole["wires"][6]["allowed_a"] is None
    assert whole["wires"][6]["lacking"] == ["size of wire W7"]
    assert whole["fuses"][2] == {
        "fuse": "F3", "family": "blade", "colour": "blue", "rating_a": 15.0, "load_a": 9.0, "state": "full load",
        "thinnest": "W7 (0.75 mm²)", "thinnest_allowed_a": 11.0,
        "thinnest_held_a": None, "certain": [], "fault_a": 31.0, "fault_wire": "W22", "clears_s": 9.0,
        "may_never_open": False, "withstands_s": 4.1, "tight_by": ["wire", "fault"], "lacking": [], "place": None,
    }  # fmt: skip
    assert (whole["fuses"][3]["clears_s"], whole["fuses"][3]["may_never_open"]) == (None, True)
    assert (whole["fuses"][4]["clears_s"], whole["fuses"][4]["may_never_open"]) == (None, False)
    assert whole["bundles"][1] == {
        "branch": "HEAD", "wires": 24, "diameter_mm": 11.8, "bend_mm": 118.0, "sleeve_mm": 12.0, "sleeve_shrunk_mm": None,
        "copper_g": 210.0,
        "ambient_degc": 85.0, "lacking": [], "place": {"file": "loom.xlsx", "sheet": "Wire list", "cell": "A9", "label": "branch"},
    }  # fmt: skip
    assert (whole["copper_g"], whole["needed_g"]) == (2140.0, 1610.0)


def test_every_field_of_the_lines_is_told() -> None:
    whole = shape(USUAL)
    for key, line in (("wires", SizeLine), ("fuses", FuseLine), ("bundles", BundleLine)):
        names = {"place" if name == "mark" else name for name in line._fields}
        assert names <= set(whole[key][0])


def test_hard_names_and_numbers_stay_valid() -> None:
    out = io.BytesIO()
    write_json(result(EXTREME), out)
    whole = json.loads(out.getvalue().decode("utf-8"), parse_constant=pytest.fail)
    jsonschema.validate(whole, schema())
    sizing = whole["sizing"]
    assert sizing["wires"][0]["current_a"] is None
    assert sizing["wires"][2]["wire"] == "$x^2$ \ufffd"
    assert (sizing["copper_g"], sizing["needed_g"]) == (None, None)
    assert sizing["fuses"][0]["may_never_open"] is True
    assert sizing["not_worked_out"] == list(EXTREME.not_worked_out)
    assert json.loads(to_json(result(EXTREME))) == whole


def test_it_stands_after_the_loops_and_is_the_same_in_every_form() -> None:
    outcome = result(USUAL, network=network([offset("COIL1", 476.0)]), induction=INDUCTION)
    text = to_json(outcome)
    assert text == to_json(outcome)
    assert list(json.loads(text))[-4:] == ["network", "induction", "sizing", "measured"]
    assert to_dict(outcome) == json.loads(text)
    jsonschema.validate(json.loads(text), schema())
    assert '\n   {"wire": "W2", ' in text


@pytest.mark.parametrize(
    "change",
    [
        lambda whole: whole.pop("sizing"),
        lambda whole: whole["sizing"].pop("copper_g"),
        lambda whole: whole["sizing"].update(other=[]),
        lambda whole: whole["sizing"]["wires"][0].pop("needed_awg"),
        lambda whole: whole["sizing"]["wires"][0].update(standing="good"),
        lambda whole: whole["sizing"]["wires"][0].update(bundle_wires=1.5),
        lambda whole: whole["sizing"]["fuses"][0].update(tight_by=["colour"]),
        lambda whole: whole["sizing"]["fuses"][0].update(rating_ma=1),
        lambda whole: whole["sizing"]["bundles"][0].update(wires=None),
        lambda whole: whole["sizing"]["bundles"][0]["place"].pop("cell"),
    ],
)
def test_the_schema_refuses_another_shape(change: Any) -> None:
    whole = json.loads(to_json(result(USUAL)))
    jsonschema.validate(whole, schema())
    change(whole)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(whole, schema())


def test_nothing_is_added_where_all_is_well() -> None:
    whole = shape(CLEAN)
    assert {line["standing"] for line in whole["wires"]} == {"as needed"}
    assert all(line["tight_by"] == [] for line in whole["fuses"])


def test_fifty_thousand_wires_are_written_in_pieces() -> None:
    outcome = many()
    start = time.process_time()
    written = sum(len(piece) for piece in sizing_pieces(outcome))
    assert time.process_time() - start < 1.5
    assert written > 10_000_000
    tracemalloc.start()
    try:
        longest = max(len(piece) for piece in sizing_pieces(many(3000, 300, 300)))
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert longest < 300_000
    assert peak < 5_000_000
