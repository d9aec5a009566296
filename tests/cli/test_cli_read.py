"""``read``: how a list was understood, written down, edited and given back."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import pytest
from cli_helpers import FAULTY, REAL, SAMPLES, assert_refused, contents, csv_list, ran, workbook

needs_real = pytest.mark.skipif(not REAL.is_dir(), reason="the real lists are not beside this checkout")
REAL_LISTS = (
    ("robot_cut_list/wiring.xlsx", "76 rows: 75 used, 1 set aside"),
    ("trike_wiring/Wiring_C2Mega.xls", "138 rows: 122 used, 16 set aside"),
    ("trike_wiring/Wiring_C2PCB.xls", "162 rows: 148 used, 14 set aside"),
    ("steering_cable/Steering pinout on cat5.csv", "9 rows: 8 used, 1 set aside"),
)


def test_tables_headings_rows_and_assumptions(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = csv_list(
        tmp_path / "loom.csv",
        [
            ("1", "ECU", "4", "Crank sensor", "2", "bleu/weiss", "20 AWG", "VR+"),
            ("2", "ECU", "5", "Crank sensor", "1", "RD", "soft", "VR-"),
            ("", "", "", "", "", "", "", ""),
            ("Drawn by the apprentice", "", "", "", "", "", "", ""),
        ],
        ("No", "From", "Pin", "To", "Pin", "Colour", "Size", "Function"),
    )
    before = contents(tmp_path)
    result = ran(capsys, "read", source)
    assert result.code == 0
    assert result.err == ""
    lines = [" ".join(line.split()) for line in result.out.splitlines()]
    assert "Wire list headings in row 1, 2 rows, 2 wires" in lines
    for line in ("A No → Wire", "B From → From", "C Pin → From cavity", "E Pin → To cavity", "H Function → Signal"):
        assert line in lines
    assert "Set aside: 2 rows" in lines
    assert any(re.match(r"row 5: ", line) for line in lines), result.out
    assert "Not understood: 1 cell" in lines
    assert any("G3" in line and "'soft'" in line for line in lines)
    assert any("Crank sensor → trigger sensor (the words" in line for line in lines)
    assert not re.search(r"\w+_\w+", result.out.replace("loom.csv", "")), "no inner name of a column is shown"
    assert lines[-1].startswith("4 rows: 2 used, 2 set aside; 2 wires, ")
    assert contents(tmp_path) == before


@needs_real
@pytest.mark.parametrize(("name", "counts"), REAL_LISTS)
def test_every_row_of_the_real_lists_is_accounted_for(
    name: str, counts: str, capsys: pytest.CaptureFixture[str]
) -> None:
    result = ran(capsys, "read", REAL / name, "--all")
    assert result.code == 0
    assert result.out.splitlines()[-1].startswith(counts)
    assert "--all shows them" not in result.out
    assert " _" not in result.out


@needs_real
@pytest.mark.parametrize("name", [name for name, _ in REAL_LISTS])
def test_the_real_lists_are_checked(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = contents(REAL)
    result = ran(capsys, "check", REAL / name, "--out", tmp_path)
    assert result.code in (0, 1), result.err
    assert result.err == ""
    assert result.code == bool(re.search(r"^ON HOLD: ", result.out, re.MULTILINE))
    assert len(contents(tmp_path)) == 1
    assert contents(REAL) == before


def _sources(name: str) -> list[Path]:
    if name == "csv set":
        return sorted((SAMPLES / "clean" / "hill_climb_csv").glob("*.csv"))
    if (SAMPLES / name).is_file():
        return [SAMPLES / name]
    return [REAL / name]


@pytest.mark.parametrize(
    "name",
    [
        "faulty/hill_climb_single_seater.xlsx",
        "faulty/rescue_boat_v8.xlsx",
        "csv set",
        *(pytest.param(name, marks=needs_real) for name, _ in REAL_LISTS),
    ],
)
def test_a_mapping_given_back_gives_the_identical_result(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sources, mapping = _sources(name), tmp_path / "how.toml"
    written = ran(capsys, "read", *sources, "--write-mapping", mapping)
    assert written.code == 0
    assert f"Written: {mapping}" in written.out
    assert tomllib.loads(mapping.read_text("utf-8"))["table"]
    plain = ran(capsys, "check", *sources, "--out", tmp_path, "--json", tmp_path / "1.json")
    mapped = ran(capsys, "check", *sources, "--out", tmp_path, "--json", tmp_path / "2.json", "--mapping", mapping)
    assert plain.code == mapped.code, mapped.err
    one, two = (json.loads((tmp_path / file).read_text("utf-8")) for file in ("1.json", "2.json"))
    for outcome in (one, two):
        for row in outcome["read"]["rows_set_aside"]:
            # The same rows; the reason of one beside the tables is the mapping itself then.
            assert row.pop("reason")
    assert one == two


def test_an_edited_mapping_is_obeyed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source, mapping = csv_list(tmp_path / "loom.csv", FAULTY), tmp_path / "how.toml"
    ran(capsys, "read", source, "--write-mapping", mapping)
    text = mapping.read_text("utf-8")
    assert text.count('"from_cavity"') == 1
    mapping.write_text(text.replace('"from_cavity"', '"not used"'), encoding="utf-8")
    result = ran(capsys, "check", source, "--mapping", mapping)
    assert result.code == 0, "without its column of cavities there is none that is used twice"
    assert "4 wires" in result.out.splitlines()[-1]


def test_typos_of_a_mapping_are_told_all_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source, mapping = csv_list(tmp_path / "loom.csv"), tmp_path / "how.toml"
    ran(capsys, "read", source, "--write-mapping", mapping)
    text = mapping.read_text("utf-8")
    text = text.replace('"from_cavity"', '"from_cavty"').replace('form = "wires"', 'from = "wires"\nform = "wirse"')
    mapping.write_text(text, encoding="utf-8")
    before = contents(tmp_path)
    for verb in ("check", "read"):
        result = ran(capsys, verb, source, "--mapping", mapping)
        assert result.code == 2
        assert result.out == ""
        assert result.err.startswith(f"harnessdrc: {mapping.name}: ")
        for words in ("the nearest name is 'from_cavity'", "the nearest name is 'wires'", "'from' is not known"):
            assert words in result.err, result.err
    assert contents(tmp_path) == before


def test_a_mapping_of_another_list(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one, mapping = workbook(tmp_path / "loom.xlsx", sheet="Wires front"), tmp_path / "how.toml"
    two = workbook(tmp_path / "other.xlsx", sheet="Wires rear")
    ran(capsys, "read", one, "--write-mapping", mapping)
    assert_refused(ran(capsys, "check", two, "--mapping", mapping), "how.toml", "loom.xlsx")


def test_all_shows_all(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = [(f"W{n}", "ECU", f"A{n}", f"Lamp {n}", "1", "BU", "0.5") for n in range(40)]
    source = csv_list(tmp_path / "loom.csv", rows)
    short, full = ran(capsys, "read", source).out, ran(capsys, "read", source, "--all").out
    assert "(--all shows them)" in short
    assert "--all" not in full
    assert full.count("→ lamp (the words 'lamp')") == 40 > short.count("→ lamp (the words 'lamp')")
