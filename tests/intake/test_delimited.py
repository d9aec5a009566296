"""Delimited text: rows as a spreadsheet shows them, fields as written."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdrc.errors import FileUnreadableError
from harnessdrc.intake.formats import limits
from harnessdrc.intake.formats.delimited import read_delimited
from harnessdrc.intake.grid import Cell


def rows(text: str | bytes, **options: bool) -> list[list[Cell]]:
    data = text if isinstance(text, bytes) else text.encode()
    return read_delimited(data, "loom.csv", "loom", **options)[0].rows


def refused(text: str) -> str:
    with pytest.raises(FileUnreadableError) as caught:
        rows(text)
    return str(caught.value)


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("last", [True, False])
def test_line_ends(end: str, last: bool) -> None:
    text = end.join(["wire,from,to", "W1,ECU,INJ1", "", "W2,ECU,INJ2"]) + (end if last else "")
    assert rows(text) == [["wire", "from", "to"], ["W1", "ECU", "INJ1"], [], ["W2", "ECU", "INJ2"]]


def test_mixed_line_ends() -> None:
    assert rows("a,b\r\nc,d\ne,f\rg,h") == [["a", "b"], ["c", "d"], ["e", "f"], ["g", "h"]]


def test_leading_blank_lines_and_columns_keep_their_places() -> None:
    assert rows("\n\n,,wire,from\n,,W1,ECU\n") == [[], [], [None, None, "wire", "from"], [None, None, "W1", "ECU"]]


def test_trailing_blanks_go() -> None:
    assert rows("a,b,,\nc,d,,\n,,,\n\n") == [["a", "b"], ["c", "d"]]


def test_surrounding_white_space_goes_and_nothing_else() -> None:
    found = rows("wire , from\u00a0,\tto\n W1,A  B , 007 \n,   ,x\n")
    assert found == [["wire", "from", "to"], ["W1", "A  B", "007"], [None, None, "x"]]


def test_numbers_dates_and_formulas_stay_text() -> None:
    assert rows("a,b,c,d\n1.50,2024-05-06,=1+1,TRUE\n")[1] == ["1.50", "2024-05-06", "=1+1", "TRUE"]


def test_text_is_not_normalized() -> None:
    assert rows("a,b\nZu\u0308ndung,ﬁ\n")[1] == ["Zu\u0308ndung", "ﬁ"]


def test_quoted_fields() -> None:
    found = rows('wire,note\nW1,"18"" bare, tinned"\nW2, "padded, quoted"\nW3,""\nW4,"two\nlines"\nW5,x\n')
    assert found[1:] == [
        ["W1", '18" bare, tinned'],
        ["W2", "padded, quoted"],
        ["W3"],
        ["W4", "two\nlines"],
        ["W5", "x"],
    ]


def test_a_quoted_line_break_is_inside_one_row() -> None:
    found = rows('a,b\r\n1,"x\r\ny\r\nz"\r\n2,w\r\n')
    assert found == [["a", "b"], ["1", "x\r\ny\r\nz"], ["2", "w"]]


def test_inch_marks_inside_fields_are_text() -> None:
    assert rows('wire,length\nW1,18"\nW2,6\' 2"\n')[1:] == [["W1", '18"'], ["W2", "6' 2\""]]


def test_text_after_a_closing_quote_stays() -> None:
    assert rows('wire,from\nW1,"ECU" side\n')[1] == ["W1", "ECU side"]


def test_an_open_quote_names_the_line_and_row_it_starts_at() -> None:
    text = refused('wire,note\nW1,"two\nlines"\nW2,"18 bare\nW3,x\nW4,y\n')
    assert "line 4 (row 3) opens a quote" in text and "loom.csv" in text


def test_an_open_quote_on_the_last_line() -> None:
    assert "line 3 (row 3) opens a quote" in refused('a,b\nc,d\ne,"f')


def test_a_quote_closed_rows_later_by_another_is_not_taken_for_text() -> None:
    assert "line 2 (row 2) opens a quote" in refused('wire,note,x\nW1,"18 bare,1\nW2,"RD",2\nW3,y,3\n')


def test_a_field_too_long_names_its_line() -> None:
    text = refused("a,b\nc,d\ne," + "x" * (limits.MAX_FIELD_CHARACTERS + 1) + "\n")
    assert "line 3" in text and "131,072 characters" in text


def test_a_very_long_line_of_many_fields_is_read() -> None:
    assert rows(",".join(["x"] * 200_000) + "\n") == [["x"] * 200_000]


def test_a_single_column() -> None:
    grid, kind, _ = read_delimited(b"wire\nW1\nW2\n", "loom.csv", "loom")
    assert (grid.rows, kind) == ([["wire"], ["W1"], ["W2"]], "csv")
    assert read_delimited(b"wire\nW1\n", "loom.tsv", "loom", tabs_expected=True)[1] == "tsv"


def test_an_end_of_file_mark_of_old_systems_is_no_text() -> None:
    assert rows(b"a,b\r\nc,d\r\n\x1a") == [["a", "b"], ["c", "d"]]


def test_rows_of_equal_text_share_it() -> None:
    found = rows("ECU connector A,x\n" * 3)
    assert found[0][0] is found[1][0] is found[2][0]


def as_read(field: str) -> str | None:
    return field.strip() or None


FIELD = st.text(alphabet=st.characters(blacklist_categories=("Cs",), blacklist_characters="\0"), max_size=8)


@settings(max_examples=300, deadline=None)
@given(
    st.lists(st.lists(FIELD, min_size=1, max_size=5), max_size=8),
    st.sampled_from(",;\t|"),
    st.sampled_from(["\n", "\r\n", "\r"]),
    st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
)
def test_what_the_csv_writer_writes_is_read_back(
    lines: list[list[str]], separator: str, end: str, quoting: int
) -> None:
    buffer = io.StringIO(newline="")
    if any("\r" in field or "\n" in field for line in lines for field in line):
        quoting = csv.QUOTE_ALL  # the writer leaves a line break alone that is not its own line end
    # A stated separator: the text is random, so nothing in it could tell.
    buffer.write(f"sep={separator}{end}")
    csv.writer(buffer, delimiter=separator, lineterminator=end, quoting=quoting).writerows(lines)  # type: ignore[arg-type]
    expected: list[list[Cell]] = [[as_read(field) for field in line] for line in lines]
    for row in expected:
        while row and row[-1] is None:
            row.pop()
    while expected and not expected[-1]:
        expected.pop()
    assert rows(buffer.getvalue().encode("utf-8")) == expected


WORD = st.text(alphabet="ABCWX0123456789 .+-/_", min_size=1, max_size=8).filter(lambda text: bool(text.strip()))


@settings(max_examples=200, deadline=None)
@given(
    st.integers(2, 7).flatmap(
        lambda width: st.lists(st.lists(WORD, min_size=width, max_size=width), min_size=2, max_size=10)
    ),
    st.sampled_from(",;\t|"),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]),
)
def test_lists_are_read_back_without_being_told_separator_or_encoding(
    lines: list[list[str]], separator: str, encoding: str
) -> None:
    lines = [[*line[:-1], line[-1] + " Ä"] for line in lines]
    buffer = io.StringIO(newline="")
    csv.writer(buffer, delimiter=separator).writerows(lines)
    assert rows(buffer.getvalue().encode(encoding)) == [[field.strip() for field in line] for line in lines]
