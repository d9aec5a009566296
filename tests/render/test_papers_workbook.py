"""The papers as a workbook: text never an order, the same bytes each time, the test sheets as their reader wants them."""

from __future__ import annotations

import zipfile
from io import BytesIO

import pytest
from openpyxl import load_workbook
from paper_lines import HARMFUL, papers_by_hand

from harnessdrc.render.papers.workbook import papers_workbook

SHEETS = [
    "First page", "Cut list", "Connectors", "Splices", "Labels", "Parts", "Cable", "Test continuity",
    "Test isolation", "First power-on", "Test voltages",
]  # fmt: skip


@pytest.mark.parametrize("text", HARMFUL, ids=range(len(HARMFUL)))
def test_texts_of_the_list_stay_texts(text: str) -> None:
    data = papers_workbook(papers_by_hand((text, "W2"), name=text))
    with zipfile.ZipFile(BytesIO(data)) as package:
        for name in package.namelist():
            if name.startswith("xl/worksheets/"):
                assert b"<f>" not in package.read(name)
                assert b"<hyperlink" not in package.read(name)
    book = load_workbook(BytesIO(data))
    assert book.sheetnames == SHEETS
    assert {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row} <= {"s", "n", "inlineStr"}


def test_every_sheet_says_its_issue_and_prints_on_a4() -> None:
    book = load_workbook(BytesIO(papers_workbook(papers_by_hand())))
    for sheet in book:
        assert sheet["A2"].value == "Issue of the list: 3f9a01bc22ee"
        assert int(sheet.page_setup.paperSize) == 9
        assert sheet.page_setup.fitToWidth in (None, 1)  # one page wide is what the format means by nothing
        assert sheet.page_setup.fitToHeight == 0


def test_same_papers_same_bytes() -> None:
    assert papers_workbook(papers_by_hand()) == papers_workbook(papers_by_hand())


def test_each_wire_has_its_row_to_write_in() -> None:
    wires = tuple(f"W{number}" for number in range(50))
    sheet = load_workbook(BytesIO(papers_workbook(papers_by_hand(wires))))["Test continuity"]
    rows = [[cell.value for cell in row] for row in sheet.iter_rows()]
    head = next(row for row in rows if "Measured (mΩ)" in row)
    found = [row[head.index("Wire")] for row in rows[rows.index(head) + 1 :]]
    assert found == list(wires)
    assert all(row[head.index("Measured (mΩ)")] is None for row in rows[rows.index(head) + 1 :])


def test_the_isolation_sheet_says_what_the_cautions_say() -> None:
    """The pairs against power ground reach every ring only while the rings are joined (common practice, no source)."""
    book = load_workbook(BytesIO(papers_workbook(papers_by_hand())))
    head = " ".join(str(row[0].value) for row in book["Test isolation"].iter_rows(max_row=5))
    assert "rings joined" in head
    assert "isolator off" in head
    assert "off their studs" not in head
    assert "before it is covered" in " ".join(str(r[0].value) for r in book["Test continuity"].iter_rows(max_row=5))
