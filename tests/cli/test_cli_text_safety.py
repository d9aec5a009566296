"""Text from lists stays text: no formula, no markup, no order to the terminal, nothing that breaks the JSON."""

from __future__ import annotations

import json
import unicodedata
import zipfile
from pathlib import Path

import jsonschema
import openpyxl
import pytest
from cli_helpers import HEADINGS, csv_list, process, ran, workbook

from harnessdrc.render.findings_json import schema

LONG = "Signal " + "x" * (32_767 - len("Signal "))
NASTY = {
    "formula": "=cmd|' /C calc'!A0",
    "formula by at": "@SUM(1+1)",
    "formula by plus": "+1+cmd",
    "markup": "[bold red]x[/]",
    "markup that never ends": "[/nothing] [link=http://x.invalid]",
    "braces": "{subject} {0} %s {{}}",
    "escape": "\x1b[31mred\x1b[0m\x1b]0;title\x07",
    "bell": "bell\x07back\x08",
    "next line": "one\x85two\u2028three",
    "right to left": "מחבר ראשי",
    "turned about": "abc\u202egnp.exe\u202c",
    "emoji": ":warning: 👩\u200d🔧",
    "html": "<script>alert(1)</script>&amp;",
    "xml end": "]]></t></is>",
}


def faulty(text: str) -> list[tuple[str, ...]]:
    """Two wires in one cavity and one number twice, so that every name gets into a sentence."""
    return [
        (text, text, "1", "Dash plug", "1", "BU", "0.5"),
        ("W2", text, "1", f"X {text}", "2", text, text),
        ("W2", "ECU", text, "Dash plug", text, "", ""),
    ]


def assert_tame(out: str) -> None:
    """Nothing in it that a terminal obeys."""
    for character in out:
        assert character == "\n" or unicodedata.category(character) not in ("Cc", "Cs"), repr(character)
        assert character not in "\u202a\u202b\u202c\u202d\u202e\u2028\u2029"


@pytest.mark.parametrize("what", NASTY)
def test_nasty_text_in_a_workbook(what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = "".join(c for c in NASTY[what] if c not in "\x07\x08\x1b")  # no workbook can hold these
    book = openpyxl.Workbook()
    page = book.worksheets[0]
    for row in (HEADINGS, *faulty(text)):
        page.append(list(row))
    for cells in page.iter_rows():
        for cell in cells:
            cell.data_type = "s"
    book.save(tmp_path / "loom.xlsx")
    check_nasty(tmp_path, tmp_path / "loom.xlsx", text, capsys)


@pytest.mark.parametrize("what", NASTY)
def test_nasty_text_in_delimited_text(what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    padding = [(f"N{n}", "ECU", f"A{n}", "Gear plug", f"{n}", "BU", "0.5") for n in range(200)]
    source = csv_list(tmp_path / "loom.csv", [*faulty(NASTY[what].replace(",", ";")), *padding])
    check_nasty(tmp_path, source, NASTY[what].replace(",", ";"), capsys)


def check_nasty(folder: Path, source: Path, text: str, capsys: pytest.CaptureFixture[str]) -> None:
    result = ran(capsys, "check", source, "--json", folder / "o.json")
    assert result.code in (0, 1), result
    assert result.err == ""
    assert_tame(result.out)
    read = ran(capsys, "read", source, "--all")
    assert read.code == 0
    assert_tame(read.out)
    outcome = json.loads((folder / "o.json").read_bytes().decode("utf-8"))
    jsonschema.Draft202012Validator(schema()).validate(outcome)
    if text.isprintable() and "[" in text:
        assert text in result.out  # told as it stands, not taken for markup
    assert_no_formula(folder / "loom.redline.xlsx")


def assert_no_formula(redline: Path) -> None:
    with zipfile.ZipFile(redline) as package:
        for name in package.namelist():
            if name.startswith("xl/worksheets/sheet"):
                assert b"<f>" not in package.read(name), name
    book = openpyxl.load_workbook(redline)
    for page in book.worksheets:
        assert not any(cell.data_type == "f" for cells in page.iter_rows() for cell in cells)


def test_markup_is_told_as_it_stands(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = [
        ("[bold red]x[/]", "[b]ECU[/b]", "1", "X1", "1", "BU", "0.5"),
        ("W2", "[b]ECU[/b]", "1", "X1", "2", "GN", "1"),
    ]
    out = ran(capsys, "check", csv_list(tmp_path / "loom.csv", rows)).out
    assert "Cavity [b]ECU[/b] 1 holds 2 wires: [bold red]x[/], W2." in out


def test_signals_as_long_as_a_cell_can_hold(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = [
        ["W1", "ECU", 1, "X1", 1, "BU", 0.5, LONG],
        ["W2", "ECU", 1, "X1", 2, "GN", 0.5, LONG + "y"],
        [LONG, LONG, LONG, LONG, LONG, LONG, LONG, LONG],
        [LONG, "ECU", 1, "X1", 3, LONG, LONG, LONG],
    ]
    book = openpyxl.Workbook()
    for row in ([*HEADINGS, "Signal"], *rows):
        book.worksheets[0].append(row)
    book.save(tmp_path / "loom.xlsx")
    result = ran(capsys, "check", tmp_path / "loom.xlsx", "--json", tmp_path / "o.json")
    assert result.code == 1, result.err
    jsonschema.Draft202012Validator(schema()).validate(json.loads((tmp_path / "o.json").read_text("utf-8")))
    redline = openpyxl.load_workbook(tmp_path / "loom.redline.xlsx")
    longest = max(
        len(cell.value) for page in redline.worksheets for cells in page.iter_rows() for cell in cells
        if isinstance(cell.value, str)
    )  # fmt: skip
    assert longest <= 32_767
    assert ran(capsys, "read", tmp_path / "loom.xlsx").code == 0


@pytest.mark.parametrize(
    "half", [b"\xed\xa0\x80", b"\xed\xbf\xbf", b"\xff", b"\xc3("], ids=["high", "low", "ff", "cut"]
)
def test_bytes_that_are_no_text(half: bytes, tmp_path: Path) -> None:
    """Halves of characters and stray bytes in a csv: read, told, and the JSON is still UTF-8."""
    source = tmp_path / "loom.csv"
    rows = b"W1,ECU" + half + b",1,X1,1,BU,0.5\nW2,ECU" + half + b",1,X1,2,GN,0.5\n"
    source.write_bytes(",".join(HEADINGS).encode() + b"\n" + rows * 1)
    done = process("check", source, "--json", "-")
    assert done.returncode == 1, done.stderr
    outcome = json.loads(done.stdout.decode("utf-8"))
    jsonschema.Draft202012Validator(schema()).validate(outcome)
    done.stderr.decode("utf-8")


def test_half_a_character_written_out_in_a_workbook(tmp_path: Path) -> None:
    """``_xD800_`` is how a workbook writes a character that XML cannot hold."""
    source = workbook(
        tmp_path / "loom.xlsx",
        [["W1", "ECU_xD800_", "1", "X1", "1", "BU", 0.5], ["W2", "ECU_xD800_", "1", "X1_x001B_[31m", "2", "BU", 0.5]],
    )
    done = process("check", source, "--json", "-")
    assert done.returncode == 1, done.stderr
    json.loads(done.stdout.decode("utf-8"))
    assert_tame(done.stderr.decode("utf-8"))


def test_names_of_files_are_told_without_their_orders(tmp_path: Path) -> None:
    name = "lo\x1b[31mom\n.csv"
    source = csv_list(tmp_path / name)
    done = process("check", source, "--out", tmp_path / "out")
    assert done.returncode == 0, done.stderr
    assert_tame(done.stdout.decode("utf-8"))
    missing = process("check", tmp_path / "no\x1b[31m.csv")
    assert missing.returncode == 2
    assert_tame(missing.stderr.decode("utf-8"))


def test_a_name_of_a_file_that_is_no_text(tmp_path: Path) -> None:
    source = csv_list(tmp_path / "loom.csv")
    odd = source.rename(tmp_path / b"lo\xffom.csv".decode("utf-8", "surrogateescape"))
    done = process("check", odd, "--json", "-")
    assert done.returncode == 0, done.stderr
    json.loads(done.stdout.decode("utf-8"))
    assert process("check", odd).returncode == 0


@pytest.mark.parametrize("encoding", ["utf-16", "utf-8-sig", "cp1252", "latin-1"])
def test_encodings(encoding: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = [
        ("W1", "Steuergerät", "1", "Öldruck", "1", "BU", "0.5"),
        ("W2", "Steuergerät", "1", "Öldruck", "2", "GN", "1"),
    ]
    source = csv_list(tmp_path / "loom.csv", rows)
    source.write_bytes(source.read_text("utf-8").encode(encoding))
    result = ran(capsys, "check", source, "--json", tmp_path / "o.json")
    assert result.code == 1, result
    assert "Cavity Steuergerät 1 holds 2 wires" in result.out
