"""Lists with cells missing, moved and misspelt: always a verdict, never a fault of the program, no row lost."""

from __future__ import annotations

import csv
import io
import json
import random
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from cli_helpers import SAMPLES, csv_list, ran

from harnessdrc.render.findings_json import schema

SET = SAMPLES / "clean" / "hill_climb_csv"
ODD = (
    "", "?", "-", "0", "-1", "1e999", "nan", "inf", "N/C", "spare", "GND", "ECU", '"', "=1+1", "\u202e", "W101", "STUD1",
    "2x0.5", "99999999999999999999", "0,5", "AWG 0000", "open", "ditto", "same", "F1 in", "SP1", "COIL1", "battery", "+",
    "\u00a0", "x" * 400, "12 AWG / 14 AWG", "ECU-A:1", "yes", "twisted",
)  # fmt: skip


def damaged(dice: random.Random) -> Iterator[tuple[str, str]]:
    """Name and text of each file: cells replaced, taken from elsewhere; rows doubled; sheets left out."""
    for path in sorted(SET.glob("*.csv")):
        if path.stem != "wires" and dice.random() < 0.15:
            continue
        rows = list(csv.reader(io.StringIO(path.read_text("utf-8-sig")), delimiter=";"))
        there = [text for row in rows for text in row if text]
        for _ in range(dice.choice((1, 5, 40, 200))):
            r = dice.randrange(len(rows))
            c = dice.randrange(max(len(rows[r]), 1))
            what = dice.random()
            if what < 0.8 and rows[r]:
                rows[r][c] = dice.choice(ODD if what < 0.4 else there)
            elif what < 0.9:
                rows[r] = list(dice.choice(rows))
            else:
                rows.insert(r, rows[r][c : c + 1])
        text = io.StringIO()
        csv.writer(text, delimiter=";").writerows(rows)
        yield path.name, text.getvalue()


@pytest.mark.parametrize("seed", [6, 12, 79, 509, *range(2000, 2016)])
def test_a_damaged_set_still_gets_a_verdict(seed: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = []
    for name, text in damaged(random.Random(seed)):
        files.append(tmp_path / name)
        files[-1].write_text(text, encoding="utf-8")
    result = ran(capsys, "check", *files, "--json", tmp_path / "o.json")
    assert result.code in (0, 1), result.err
    outcome = json.loads((tmp_path / "o.json").read_text("utf-8"))
    jsonschema.Draft202012Validator(schema()).validate(outcome)
    read = outcome["read"]
    assert read["rows_seen"] == read["rows_used"] + len(read["rows_set_aside"])
    filled = sum(
        any(text.strip() for text in row)
        for file in files
        for row in csv.reader(io.StringIO(file.read_text("utf-8")), delimiter=";")
    )
    assert read["rows_seen"] == pytest.approx(filled, abs=sum(f.read_text("utf-8").count("\u00a0") for f in files))
    assert ran(capsys, "read", *files, "--all").code == 0


@pytest.mark.parametrize(
    ("name", "headings", "rows"),
    [
        ("pins", ("Connector", "Cavity", "Signal"), [("ECU", "1", "Lamp"), ("N/A", "2", "Fan")]),
        (
            "pins",
            ("Connector", "Cavity", "Component", "Signal"),
            [("X1", "1", "ECU", "Lamp"), ("?", "2", "ECU", "Fan")],
        ),
        ("components", ("Component", "Kind", "Place"), [("Dash plug", "lamp", "cabin"), ("", "fan", "bay")]),
        ("earth points", ("Earth point", "Body"), [("STUD1", "head"), ("", "chassis")]),
        ("fuses", ("Fuse", "Rating (A)"), [("F1", "10"), ("", "5")]),
        ("splices", ("Splice", "Branch"), [("SP1", "B1"), ("", "B2")]),
    ],
)
def test_a_row_without_its_name(
    name: str,
    headings: tuple[str, ...],
    rows: list[tuple[str, ...]],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """What no wire can go to by name is set aside with a reason."""
    outcome = _with_wires(name, headings, rows, tmp_path, capsys)
    aside = [row for row in outcome["read"]["rows_set_aside"] if "headings" not in row["reason"]]
    assert [(row["file"], row["row"]) for row in aside] == [(f"{name}.csv", 3)]
    assert aside[0]["reason"].strip()


@pytest.mark.parametrize(
    "broken", [("", "engine", "chassis"), ("G2", "", "chassis"), ("G2", "head", ""), ("G2", "?", "-")]
)
def test_a_strap_without_a_name_or_a_body(
    broken: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = [("G1", "engine", "battery negative"), broken]
    read = _with_wires("straps", ("Strap", "From body", "To body"), rows, tmp_path, capsys)["read"]
    assert read["rows_seen"] == read["rows_used"] + len(read["rows_set_aside"]) == 7


def _with_wires(
    name: str, headings: Sequence[str], rows: Sequence[Sequence[str]], folder: Path, capsys: pytest.CaptureFixture[str]
) -> dict[str, Any]:
    """Outcome of a small wire list together with this table."""
    wires, other = csv_list(folder / "loom.csv"), csv_list(folder / f"{name}.csv", rows, headings)
    result = ran(capsys, "check", wires, other, "--json", folder / "o.json")
    assert result.code in (0, 1), result.err
    outcome: dict[str, Any] = json.loads((folder / "o.json").read_text("utf-8"))
    return outcome
