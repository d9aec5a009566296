"""Which character separates: what people's lists show, and what misleads."""

from __future__ import annotations

import pytest

from harnessdrc.intake.formats.delimited import read_delimited
from harnessdrc.intake.formats.separators import find_separator

CASES = {
    "comma": ("wire,from,to\nW1,ECU,INJ\n", ","),
    "semicolon": ("wire;from;to\nW1;ECU;INJ\n", ";"),
    "tab": ("wire\tfrom\tto\nW1\tECU\tINJ\n", "\t"),
    "bar": ("wire|from|to\nW1|ECU|INJ\n", "|"),
    "decimal commas": ("wire;size;length\nW1;0,5;1,25\nW2;0,35;2,5\nW3;1,5;0,75\n", ";"),
    "decimal commas, no heading": ("W1;0,5;1,25\nW2;0,35;2,5\n", ";"),
    "decimal commas in every field": ("0,5;0,5;0,5\n1,5;2,5;3,5\n", ";"),
    "decimal commas after tabs": ("wire\tsize\tlength\nW1\t0,5\t1,25\nW2\t0,35\t2,5\n", "\t"),
    "two columns with decimals": ("size;length\n0,5;1,25\n0,35;2,5\n", ";"),
    "prose with commas": (
        "wire;note\nW1;red, then black\nW2;see note, page 2, left\nW3;to coil 1, 2, 3 and 4\n",
        ";",
    ),
    "semicolons in notes": ("wire,from,note\nW1,ECU,splice; solder\nW2,ECU,\nW3,ECU,crimp; seal; tape\n", ","),
    "bars in names": ("wire,from,to\nW1,X1|3,X2|4\nW2,X1|5,X2|6\nW3,X1|7,X2|8\n", ","),
    "whole numbers between commas": ("1,2,3,4\n5,6,7,8\n", ","),
    "separator inside quotes": ('wire,note\nW1,"a;b;c"\nW2,"d;e;f"\nW3,"g;h;i"\n', ","),
    "banner lines": (
        "Engine loom, rev B\n\nprinted on Monday\nwire;from;to\nW1;ECU;INJ\nW2;ECU;COIL\nW3;ECU;CAM\n",
        ";",
    ),
    "ragged ends": ("wire,from,to,note\nW1,ECU,INJ\nW2,ECU,COIL,long\nW3,ECU\nW4,ECU,CAM\n", ","),
    "padding to the widest table": ("wire,from,,,,\nW1,ECU,,,,\nW2,ECU,,,,\n", ","),
    "one data row": ("wire;from\nW1;ECU\n", ";"),
    "comma list with one bar": ("a,b,c\nd,e|f,g\n", ","),
    "tabs in one note": ("a,b,c\nd,e\tf,g\nh,i,j\n", ","),
}


@pytest.mark.parametrize("name", CASES)
def test_separator(name: str) -> None:
    text, expected = CASES[name]
    assert find_separator(text).character == expected
    assert find_separator(text.replace("\n", "\r\n")).character == expected
    assert find_separator(text.replace("\n", "\r")).character == expected


@pytest.mark.parametrize("line", ["sep=;", "SEP=;", '"sep=;"', "sep=;;;;"])
def test_a_stated_separator_is_believed_and_is_no_row(line: str) -> None:
    grid, kind, notes = read_delimited(f"{line}\r\na,b;c,d\r\n".encode(), "loom.csv", "loom")
    assert grid.rows == [["a,b", "c,d"]] and kind == "csv"
    (note,) = notes
    assert note.value == "semicolon" and "first line" in note.because


def test_a_wire_that_begins_with_sep_is_data() -> None:
    assert read_delimited(b"separator,from\nW1,ECU\n", "l.csv", "l")[0].rows[0] == ["separator", "from"]


def test_the_note_says_what_was_taken_and_why() -> None:
    _, _, (note,) = read_delimited(b"wire;from;to\nW1;ECU;INJ\n", "loom.csv", "loom")
    assert (note.what, note.subject, note.value) == ("separator", "loom.csv", "semicolon")
    assert note.because == "it parts 2 of the first 2 rows into 3 fields"


def test_only_the_beginning_is_looked_at() -> None:
    text = "wire,from,to\n" * 100_000 + "x;y\n" * 400_000
    assert find_separator(text).character == ","


def test_one_column_has_no_separator() -> None:
    _, _, (note,) = read_delimited(b"wire\nW1\n", "loom.csv", "loom")
    assert note.value == "none" and "one column" in note.because


def test_no_separator_takes_the_one_the_name_suggests() -> None:
    assert find_separator("wire\nW1\n").character == ","
    assert find_separator("wire\nW1\n", "\t").character == "\t"
