"""Cells about sizes, insulation and fuses that cannot be: a query or an undecided subject with the cell, no traceback."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from cli_helpers import ran

WIRES = (
    "Wire,From,From cavity,To,To cavity,Colour,{size_heading},Length (m),Signal,Insulation,Branch\n"
    "W1,BATTERY,+,F1,in,RD,6,0.2,Battery feed,TXL,BAY\n"
    "W2,F1,out,LAMP,1,YE,{size},{length},Lamp feed,{insulation},BAY\n"
    "W3,LAMP,2,STUD,,BK,1,1,Ground,TXL,BAY\n"
)
USUAL = {"size_heading": "Size (mm²)", "size": "1", "length": "1", "insulation": "TXL"}


def checked(
    folder: Path, capsys: pytest.CaptureFixture[str], fuse: str = "F1,7.5,regular blade,brown", zone: str = "bay",
    **change: str,
) -> dict[str, Any]:  # fmt: skip
    """JSON of a check over csv files, once it ended without a traceback and with an exit code that says so."""
    files = {
        "wires.csv": WIRES.format(**{**USUAL, **change}),
        "components.csv": "Component,Kind,Current (A)\nLAMP,lamp,4\n",
        "fuses.csv": f"Fuse,Rating (A),Family,Colour\n{fuse}\n",
        "branches.csv": f"Branch,From point,To point,Length (mm),Zone,Sleeve (mm),Bend radius (mm)\nBAY,P1,P2,800,{zone},20,90\n",
        "earths.csv": "Earth point,Body\nSTUD,chassis\n",
        "straps.csv": "Strap,From body,To body,Size (mm²),Length (m)\nG1,chassis,battery negative,16,1.5\n",
    }
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    result = ran(
        capsys, "check", *(folder / name for name in files), "--out", folder / "out", "--json", folder / "told.json"
    )
    assert result.code in (0, 1), result
    assert "Traceback" not in result.out + result.err
    told: dict[str, Any] = json.loads((folder / "told.json").read_text(encoding="utf-8"))
    assert not [rule for rule in told["rules"] if rule["crashed"]]
    assert not [line for line in told["sizing"]["not_worked_out"] if "failed" in line]
    return told


def asked(told: dict[str, Any], cell: str, *checks: str) -> list[dict[str, Any]]:
    """Queries and undecided subjects that name a cell, of some checks or of any; a hold is no question."""
    check_of = {rule["rule"]: rule["check"] for rule in told["rules"]}
    found = [
        each
        for each in (*told["findings"], *told["undecided"])
        if any(place["cell"] == cell for place in each["places"])
        and (not checks or check_of[each["rule"]] in checks)
        and each.get("grade") != "hold"
    ]
    assert found, (cell, checks, told["findings"], told["undecided"])
    return found


def line_of(told: dict[str, Any], wire: str) -> dict[str, Any]:
    """Line of a wire among the sizes."""
    return next(line for line in told["sizing"]["wires"] if line["wire"] == wire)


def test_nothing_is_asked_of_the_usual_list(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = checked(tmp_path, capsys)
    assert told["findings"] == []
    assert told["undecided"] == []


@pytest.mark.parametrize("insulation", ["purple", "unobtainium 900", "класс Б", "0", "-5 °C", "=1/0", "thin wall"])
def test_an_unknown_insulation(insulation: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = checked(tmp_path, capsys, insulation=insulation)
    assert asked(told, "J3", "wire.insulation", "listing.not_understood")
    assert any(insulation.split()[0] in lack for lack in line_of(told, "W2")["lacking"])


@pytest.mark.parametrize("family", ["bottle cap", "42", "класс", "fuse", "AAA"])
def test_an_unknown_fuse_family(family: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = checked(tmp_path, capsys, fuse=f"F1,7.5,{family},brown")
    assert asked(told, "C2", "fuse.family", "listing.not_understood")
    assert told["sizing"]["fuses"][0]["clears_s"] is None
    assert asked(told, "C2", "fuse.blows")


@pytest.mark.parametrize("size", ["0", "0.0", "-1", "0 mm²", "Size 16", "size 20", "M6", "16 pin", "nan", "1e9", "∞"])
def test_a_size_that_is_none_or_is_that_of_a_contact(
    size: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """16 and 20 in a terminal list are sizes of contacts, not gauges (common practice, no source)."""
    told = checked(tmp_path, capsys, size=size)
    assert asked(told, "G3", "wire.size_missing", "listing.not_understood", "wire.implausible")
    line = line_of(told, "W2")
    assert line["allowed_a"] is None or line["size"] not in ("16 AWG", "20 AWG")
    assert not [f for f in told["findings"] if "16 AWG" in f["message"] or "20 AWG" in f["message"]]


@pytest.mark.parametrize("size", ["16 AWG (1.5 mm²)", "1.5 mm² / 16 AWG", "16 AWG = 1.5 mm2", "AWG 16 (1.25 mm²)"])
def test_gauge_and_cross_section_that_contradict(size: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = checked(tmp_path, capsys, size=size)
    [finding] = asked(told, "G3", "wire.size_label")
    assert finding["grade"] == "query"
    # the one with less copper counts: 16 AWG 1.31 mm², 20 AWG 0.52 mm² (ASTM B258)
    assert line_of(told, "W2")["size"] == ("1.25 mm²" if "1.25" in size else "16 AWG")


@pytest.mark.parametrize("size", ["20 AWG 4 mm²", "22 AWG (6 mm²)", "1.5 mm² 2.5 mm²"])
def test_labels_far_apart(size: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = checked(tmp_path, capsys, size=size)
    assert asked(told, "G3", "wire.size_label", "listing.not_understood", "wire.size_missing")
    # never the thicker of the two
    assert line_of(told, "W2")["size"] not in ("4 mm²", "6 mm²", "2.5 mm²")


@pytest.mark.parametrize(
    "rating",
    [
        "0",
        "-10",
        "ten",
        "10/15",
        "1e9",
        "∞",
    ],
)
def test_a_rating_that_is_none(rating: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = checked(tmp_path, capsys, fuse=f"F1,{rating},regular blade,")
    if rating == "1e9":  # a number, if a strange one: no wire bears it
        assert [f for f in told["findings"] if f["measured"] == 1e9 or "1e+09" in f["message"]]
        return
    assert asked(told, "B2")
    assert told["sizing"]["fuses"][0]["rating_a"] is None


@pytest.mark.parametrize("length", ["-1", "long", "0", "", "1e12"])
def test_a_length_that_is_none(length: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = checked(tmp_path, capsys, length=length)
    if length == "1e12":
        assert told["findings"]
        return
    assert asked(told, "H3")
    line = line_of(told, "W2")
    assert (line["needed_mm2"], line["drop_mv"]) == ("", None)
    assert "length of wire W2" in line["lacking"]


@pytest.mark.parametrize("zone", ["somewhere", "", "moon", "0"])
def test_a_zone_that_is_none(zone: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = checked(tmp_path, capsys, zone=zone, size="0.5")
    assert "zone of branch BAY" in line_of(told, "W2")["lacking"]
    assert asked(told, "G3") or asked(told, "E2")


@pytest.mark.parametrize(
    "given", ["height_m=-1e9", "height_m=nan", "ambient_bay_degc=1e9", "ambient_bay_degc=cold", "bundle_usual_wires=0",
     "conductor_degc=-300", "battery_inner_mohm=0"]
)
def test_a_given_value_that_cannot_be_is_refused_or_borne(
    given: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    checked(tmp_path, capsys)
    result = ran(
        capsys, "check", tmp_path / "wires.csv", tmp_path / "branches.csv", "--out", tmp_path / "out", "--given", given
    )
    assert result.code in (0, 1, 2)
    assert "Traceback" not in result.out + result.err
    assert "failed" not in result.out
