"""How a list was understood, written to a file and given back."""

from __future__ import annotations

from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from make_grids import ends, grid, only, opened, read, reasons

from harnessdrc.errors import MappingError, NothingToReadError
from harnessdrc.intake.grid import Grid
from harnessdrc.intake.mapping import parse_mapping, read_mapping
from harnessdrc.intake.mapping_write import mapping_text
from harnessdrc.intake.reading import read_lists, recognize_all
from harnessdrc.intake.recognition.headings import vocabulary
from harnessdrc.tables.model import Reading

LISTS = {
    "plain": "Wire|From|From pin|To|To pin|Colour|Size|Length\n1|ECU|1|Coil|A|RD|0.5|800\n2|ECU|2|Pump|1|BK|2.5|900",
    "legend": "From|To|Colour|Note\n1|2|RD|\n2|3|BK|\n1|3|GN|\n3|2|BU|\n1|2|YE|\n|1|ECU|\n|2|Coil|\n|3|Pump|",
    "destinations": "Pin|Signal|Destination|Colour\n1|INJ 1|Injector 1|GN\n2|INJ 2|Injector 2|YE\n3|N/C||",
    "nets": "Net|Connector|Pin\nSensor ground|ECU|22\n|CLT|2\n|IAT|2\nCLT signal|ECU|23\n|CLT|1",
    "devices": "Signal|ECU|Coil 1|CLT\nCoil 1 drive|12|A|\nCLT signal|20||1\nSensor ground|21||2",
    "side by side": "Wire|From|To|Colour||Component|Kind|Place\n"
    "1|ECU|Coil|RD||ECU|controller|bay\n2|ECU|Pump|BK||Coil|coil|head",
    "stacked": "X1|\nPin|Signal\n1|INJ 1\n2|INJ 2\n|\nX2|\nPin|Signal\n1|CLT\n2|IAT",
    "gauge": 'From|To|Gauge|Length\nECU|Coil|16|18"\nECU|Pump|10|24',
    "headless": "W1|ECU|12|Coil 1|A|RD|0.75\nW2|ECU|13|Coil 2|A|BK|0.5\nW3|ECU|14|Pump|1|GN|1.5",
    "points": "Point|X (mm)|Y (mm)|Z (in)\nP1|-120|0|1.5\nP2|300|40|0\nP3||",
    "points without units": "Point|X|Y|Z\nP1|-850|0|4\nP2|0|320|12",
    "sparks": "Component|Kind|Fires|Plug lead (mm)|Lead type|Gap (mm)|Boost (psi)|Teeth|Output (mV)|Filter (µs)\n"
    "COIL1|coil|PLUG1 + PLUG4|600|carbon|0.7|12|||\nCRK|reluctor sensor||||||36-1|400|\nECU|controller||||||||20",
    "pairs": "Wire|From|To|Twist|Lay (mm)|Untwisted end (mm)|Shield|Shield material\n1|ECU|CRK|T1|30|40|S1|foil\n"
    "2|ECU|CRK|T1|30|0|S1|steel tube",
    "one ended": "Pin|Signal|Colour\n1|INJ 1|RD\n2|INJ 2|BK",
}


def _same(one: Reading, other: Reading) -> None:
    assert [(t.form, t.sheet, t.heading_row, dict(t.cells), dict(t.headings)) for t in one.tables] == [
        (t.form, t.sheet, t.heading_row, dict(t.cells), dict(t.headings)) for t in other.tables
    ]
    for a, b in zip(one.tables, other.tables, strict=True):
        assert a.frame.equals(b.frame)
    assert (one.rows_seen, one.rows_used) == (other.rows_seen, other.rows_used)
    assert [(s.sheet, s.row) for s in one.set_aside] == [(s.sheet, s.row) for s in other.set_aside]


def _mapping_of(*grids: Grid) -> str:
    files = opened(*grids)
    return mapping_text(recognize_all(files), read_lists(files))


@pytest.mark.parametrize("name", LISTS)
def test_round_trip(name: str) -> None:
    sheet = grid(LISTS[name], sheet="X3")
    text = _mapping_of(sheet)
    _same(read(sheet), read(sheet, mapping=parse_mapping(text, "loom.toml")))


def test_round_trip_of_two_row_headings() -> None:
    rows = [
        ["Wire", "From", None, "To", None, "Colour"], [None, "Connector", "Pin", "Connector", "Pin", None],
        ["W1", "X1", 1, "C101", "A", "RD"], ["W2", "X1", 2, "C101", "B", "BK"],
    ]  # fmt: skip
    sheet = grid(rows)
    _same(read(sheet), read(sheet, mapping=parse_mapping(_mapping_of(sheet), "loom.toml")))


def test_the_file_is_made_to_be_read_by_a_person() -> None:
    text = _mapping_of(grid(LISTS["plain"], sheet="X3"))
    assert 'A = "wire" # Wire' in text
    assert "heading_rows = [1]" in text
    assert "[table.units]" in text
    assert 'size = "mm2"' in text
    assert 'length_m = "mm"' in text


def test_an_edited_mapping_is_obeyed() -> None:
    sheet = grid(LISTS["plain"], sheet="X3")
    text = _mapping_of(sheet).replace('F = "colour"', 'F = "not used"').replace('size = "mm2"', 'size = "mm2"')
    text = (
        text.replace('G = "size"', 'G = "note"').replace('size = "mm2"\n', "").replace("last_row = 3", "last_row = 2")
    )
    reading = read(sheet, mapping=parse_mapping(text, "loom.toml"))
    frame = only(reading, "wires").frame
    assert len(frame) == 1
    assert frame["colour"][0] is None
    assert frame["note"][0] == "0.5"
    assert reasons(reading)[3] == "outside of the tables that the mapping names"


def test_a_mapping_written_by_hand() -> None:
    text = """
[[table]]
sheet = "Oddities"
form = "wires"
heading_rows = [1]
leave_out = { "3" = "crossed out" }
[table.columns]
B = "to_item"
A = "from_item"
C = "length_m"
[table.units]
length_m = "in"
"""
    sheet = grid("Woher|Wohin|xyz\nECU|Coil|10\nECU|Old pump|20\nECU|Pump|30", sheet="Oddities")
    reading = read(sheet, mapping=parse_mapping(text, "loom.toml"))
    table = only(reading, "wires")
    assert ends(table) == [("ECU", None, "Coil", None), ("ECU", None, "Pump", None)]
    assert list(table.frame["length_m"]) == pytest.approx([0.254, 0.762])
    assert reasons(reading) == {1: "headings of the wire list", 3: "crossed out"}


def test_only_and_other_sheets() -> None:
    named, other = grid(LISTS["plain"], sheet="Loom"), grid(LISTS["destinations"], sheet="X9")
    text = _mapping_of(named)
    assert len(read(named, other, mapping=parse_mapping(text, "m.toml")).tables) == 3
    reading = read(named, other, mapping=parse_mapping(text.replace("only = false", "only = true"), "m.toml"))
    assert [t.sheet for t in reading.tables] == ["Loom"]
    assert {s.reason for s in reading.set_aside if s.sheet == "X9"} == {"a sheet that the mapping doesn't name"}


def test_a_sheet_left_out() -> None:
    named, other = grid(LISTS["plain"], sheet="Loom"), grid(LISTS["destinations"], sheet="X9")
    text = '[[table]]\nsheet = "X9"\nform = "none"\n'
    reading = read(named, other, mapping=parse_mapping(text, "m.toml"))
    assert [t.sheet for t in reading.tables] == ["Loom"]
    assert {s.reason for s in reading.set_aside if s.sheet == "X9"} == {"the mapping leaves this sheet out"}


def test_typos_are_named_all_at_once_with_the_nearest() -> None:
    text = """
onyl = true
[[table]]
shet = "Loom"
form = "wire"
heading_rows = "1"
[table.columns]
A = "wirre"
B1 = "from_item"
[[table]]
sheet = "Loom"
form = "wires"
fill_forward = ["from_itm"]
[table.columns]
A = "from_item"
B = "from_item"
C = "size"
[table.units]
size = "mm3"
"""
    with pytest.raises(MappingError) as caught:
        parse_mapping(text, "loom.toml")
    message = str(caught.value)
    for words in (
        "to mend",
        "'onyl' is not known; the nearest name is 'only'",
        "'shet' is not known; the nearest name is 'sheet'",
        "form 'wire' is not known; the nearest name is 'wires'",
        "heading_rows is a list of row numbers",
        "'wirre' is not known; the nearest name is 'wire'",
        "'B1' is no column",
        "'from_itm' is no column of this table",
        "given to column A already",
        "unit 'mm3' is not known; the nearest name is 'mm'",
    ):
        assert words in message


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[[table]]\nsheet = "Lom"\nform = "wires"\n', "the nearest name is 'Loom'"),
        ('[[table]]\nsheet = "Loom"\nform = "wires"\n[table.columns]\nZ = "wire"\n', "has no column Z; its last is H"),
        ('[[table]]\nfile = "lom.xlsx"\nsheet = "Loom"\nform = "wires"\n', "the nearest name is 'loom.xlsx'"),
        ('[[table]]\nsheet = "Loom"\nform = "wires"\nfirst_row = 99\n', "has only 3 rows"),
    ],
)
def test_a_mapping_that_does_not_fit_its_list(text: str, words: str) -> None:
    with pytest.raises(MappingError) as caught:
        read(grid(LISTS["plain"], sheet="Loom"), mapping=parse_mapping(text, "m.toml"))
    assert words in str(caught.value)


def test_unreadable_files(tmp_path: Path) -> None:
    with pytest.raises(MappingError, match="cannot be read"):
        read_mapping(tmp_path / "none.toml")
    bad = tmp_path / "bad.toml"
    bad.write_text("a = = 1")
    with pytest.raises(MappingError, match="not valid TOML"):
        read_mapping(bad)
    bad.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(MappingError, match="UTF-8"):
        read_mapping(bad)


WORDS = [
    "ECU",
    "X1",
    12,
    "A",
    "RD",
    "wh/gn",
    0.75,
    "N/C",
    "reserved",
    "?",
    '"',
    "R+B",
    "Total",
    "Legend",
    "X1:3",
    "D4-D9",
    None,
    None,
]


@given(st.randoms(use_true_random=False))
@settings(max_examples=200, deadline=None)
def test_round_trip_of_any_list(random: Random) -> None:
    keys = [*vocabulary().concepts, *vocabulary().sides]
    rows: list[list[Any]] = []
    width = random.randint(1, 8)
    for _ in range(random.randint(1, 3)):
        rows.append([random.choice(keys) if random.random() < 0.85 else None for _ in range(width)])
        rows += [[random.choice(WORDS) for _ in range(width)] for _ in range(random.randint(0, 8))]
    merged = tuple((r, c, r + 2, c) for r, c in [(random.randint(1, len(rows)), random.randint(0, width - 1))])
    sheet = grid(rows, merged=merged)
    try:
        reading = read(sheet)
    except NothingToReadError:
        return
    _same(reading, read(sheet, mapping=parse_mapping(_mapping_of(sheet), "loom.toml")))


def test_an_older_issue_stays_out_and_can_be_asked_for() -> None:
    new, old = grid(LISTS["plain"], sheet="Loom"), grid(LISTS["plain"].replace("Coil", "Lamp"), sheet="Loom old")
    text = _mapping_of(new, old)
    reading = read(new, old, mapping=parse_mapping(text, "m.toml"))
    assert [t.sheet for t in reading.tables] == ["Loom"]
    by_hand = """
[[table]]
sheet = "Loom old"
form = "wires"
heading_rows = [1]
[table.columns]
B = "from_item"
D = "to_item"
"""
    reading = read(new, old, mapping=parse_mapping(by_hand, "m.toml"))
    assert [t.sheet for t in reading.tables] == ["Loom", "Loom old"]
