"""Concessions as they stand in files: what is taken, and every fault at its place at once."""

from __future__ import annotations

import datetime
from pathlib import Path

import openpyxl
import pytest

from harnessdrc.concessions import ConcessionList, read_concessions
from harnessdrc.concessions.model import known_unit, same_unit
from harnessdrc.concessions.records import date_of
from harnessdrc.errors import ConcessionError, FileUnreadableError

TOML = '''# what the customer has agreed to
[[concession]]
rule = "return-drop"
subject = "FAN"
kind = "component"
reason = """Fan of the pits only;
rule = "none" of the road"""
by = "K. Ostrander"
until = 2027-03-31
accepted = 0.72
unit = "V"

[[concession]]
rule = "two-ends"
subject = "W142"
reason = "a spare, taped back"
by = "K. Ostrander"
until = "2027-01-31"
'''
HEADINGS = ("Rule", "Subject", "Kind", "Reason", "By", "Until", "Accepted value", "Unit")
ROWS = (
    ("return-drop", "FAN", "component", "Fan of the pits only", "K. Ostrander", datetime.date(2027, 3, 31), 720, "mV"),
    ("two-ends", "W142", None, "a spare, taped back", "K. Ostrander", "31.1.2027", None, None),
)


def toml(folder: Path, text: str) -> ConcessionList:
    path = folder / "accepted.toml"
    path.write_text(text, encoding="utf-8")
    return read_concessions(path)


def sheet(folder: Path, *rows: tuple[object, ...], before: int = 0) -> Path:
    book = openpyxl.Workbook()
    page = book.worksheets[0]
    page.title = "Accepted"
    for _ in range(before):
        page.append(("Accepted for the season",))
    for row in rows:
        page.append(row)
    path = folder / "accepted.xlsx"
    book.save(path)
    return path


def faults(folder: Path, text: str) -> list[str]:
    with pytest.raises(ConcessionError) as caught:
        toml(folder, text)
    return list(caught.value.faults)


def test_a_toml_file_gives_its_concessions_with_their_lines(tmp_path: Path) -> None:
    fan, spare = toml(tmp_path, TOML).concessions
    assert (fan.rule, fan.subject, fan.kind, fan.accepted, fan.unit) == ("return-drop", "FAN", "component", 0.72, "V")
    assert fan.until == datetime.date(2027, 3, 31)
    assert spare.until == datetime.date(2027, 1, 31)
    assert spare.accepted is None
    lines = TOML.splitlines()
    for concession in (fan, spare):
        assert lines[int(concession.place.cell) - 1] == "[[concession]]"
        for field, place in concession.cells.items():
            assert lines[int(place.cell) - 1].startswith(f"{field} = ")
    assert fan.cells["rule"].cell == "3", "not the line within the reason"


def test_a_sheet_gives_the_same_with_its_cells(tmp_path: Path) -> None:
    fan, spare = read_concessions(sheet(tmp_path, HEADINGS, *ROWS, before=3)).concessions
    assert (fan.accepted, fan.unit, str(fan.cells["accepted"])) == (720.0, "mV", "accepted.xlsx Accepted G5")
    assert spare.until == datetime.date(2027, 1, 31)
    assert str(spare.place) == "accepted.xlsx Accepted row 6"


def test_text_with_a_unit_in_the_heading_will_do(tmp_path: Path) -> None:
    path = tmp_path / "accepted.csv"
    path.write_text("Rule;Subject;Because;Accepted by;Valid until;Accepted value (mΩ)\nstrap;G1;old strap;me;2027-01-01;2,5\n")
    [one] = read_concessions(path).concessions
    assert (one.accepted, one.unit, one.by) == (2.5, "mohm", "me")


def test_every_fault_is_told_at_once_with_its_line_and_the_nearest_name(tmp_path: Path) -> None:
    told = faults(
        tmp_path,
        '[[concession]]\nrule = "return-drop"\nsubjekt = "FAN"\nreason = " "\nby = "me"\nuntil = "soon"\naccepted = "lots"\n'
        'unit = "mV"\n\n[[concession]]\nrule = "concession.expired"\nsubject = "x"\nuntil = 2027-02-03\n\n[[concesion]]\na = 1\n',
    )
    assert [fault.split(":")[0] for fault in told] == ["line 15", "line 3", "line 4", "line 6", "line 7", "line 10", "line 10", "line 11"]
    assert "did you mean 'concession'?" in told[0]
    assert "did you mean 'subject'?" in told[1]
    assert "'until': expected the last day it holds, such as 2027-03-31, found text 'soon'." in told[3]
    assert "'reason' is missing" in told[5]
    assert "no concession can accept" in told[7]
    assert all(fault.endswith((".", "?")) for fault in told)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[[concession]\n", "line 1, column"),
        ("concession = 3\n", "expected tables [[concession]], found the number 3"),
        ("[concession]\nrule = 'x'\n", "write two brackets"),
        ("", "there is no concession in this file"),
        (TOML + TOML.replace("K. O", "M. O"), "stand at accepted.toml row 2 already"),
        (TOML.replace("until = 2027-03-31", "until = 08:30:00"), "'until': expected the last day it holds"),
        (TOML.replace("accepted = 0.72\n", ""), "there is a unit but no accepted value"),
        (TOML.replace("0.72", "nan"), "'accepted': expected the measured value"),
        (TOML.replace("0.72", "true"), "'accepted': expected the measured value"),
        (TOML.replace("0.72", '"0.72 A"'), "the units 'A' and 'V' contradict each other"),
        (TOML.replace('"FAN"', "['FAN']"), "'subject': expected the name of the object"),
        (TOML.replace("K. Ostrander", "x" * 501), "at most 500 characters"),
    ],
)
def test_a_fault_of_a_toml_file_is_told(tmp_path: Path, text: str, words: str) -> None:
    assert any(words in fault for fault in faults(tmp_path, text)), faults(tmp_path, text)


def test_headings_that_are_lacking_or_mistyped_are_told_once(tmp_path: Path) -> None:
    path = sheet(tmp_path, ("Rule", "Subject", "Reason", "By", "Untill"), *[("a", "b", "c", "d", "2027-01-01")] * 3)
    with pytest.raises(ConcessionError) as caught:
        read_concessions(path)
    assert caught.value.faults == ("sheet 'Accepted', cell E1: the heading 'Untill' is not known; did you mean 'Until'?",)
    path = sheet(tmp_path, ("Rule", "Subject", "Reason", "Until", "Until when"), ("a", "b", "c", "2027-01-01", None))
    with pytest.raises(ConcessionError) as caught:
        read_concessions(path)
    assert len(caught.value.faults) == 2
    assert "cell E1: the heading 'Until when' stands twice in its meaning" in caught.value.faults[0]
    assert "row 1: there is no column 'By'" in caught.value.faults[1]


def test_a_file_without_concessions_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ConcessionError, match="expected the headings Rule, Subject"):
        read_concessions(sheet(tmp_path, ("Wire", "From", "To"), ("W1", "A", "B")))
    with pytest.raises(ConcessionError, match="there is no such file"):
        read_concessions(tmp_path / "none.toml")
    with pytest.raises(ConcessionError, match="this is a folder"):
        (tmp_path / "folder.toml").mkdir()
        read_concessions(tmp_path / "folder.toml")
    with pytest.raises(FileUnreadableError):
        read_concessions(tmp_path / "none.xlsx")
    (tmp_path / "latin.toml").write_bytes("[[concession]]\n# gr\u00fcn\n".encode("latin-1"))
    with pytest.raises(ConcessionError, match="line 2: expected text in UTF-8"):
        read_concessions(tmp_path / "latin.toml")


def test_units_are_compared_as_quantities() -> None:
    assert same_unit(0.72, "V", "mV") == pytest.approx(720.0)
    assert same_unit(720.0, "mV", "V") == pytest.approx(0.72)
    assert same_unit(2.0, "mΩ", "mohm") == 2.0
    assert same_unit(2.0, "%", "percent") == 2.0
    assert same_unit(0.1, "m", "mm") == pytest.approx(100.0)
    assert same_unit(3.0, "", "") == 3.0
    for one, other in (("V", "A"), ("", "mV"), ("mV", ""), ("mm", "mm2"), ("K", "degC"), ("mohm", "V"), ("furlong", "mV")):
        assert same_unit(1.0, one, other) is None, (one, other)
    assert known_unit("furlong") is None
    assert same_unit(4.0, "furlong", "Furlong") == 4.0, "a unit of somebody else's check is compared as written"


def test_dates_without_doubt_are_taken_and_no_others() -> None:
    assert date_of("2027-03-31") == date_of("31.3.2027") == datetime.date(2027, 3, 31)
    for text in ("31/03/2027", "3-31-2027", "2027-02-30", "31.3.27", "tomorrow", ""):
        assert date_of(text) is None, text
