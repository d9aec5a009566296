"""Packages as other writers make them: prefixes, missing references, strict vocabulary, threads, signatures."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import openpyxl
import pytest
from redline_helpers import (
    MAIN,
    M,
    cells_of,
    handmade,
    in_order,
    mark_file,
    parts_of,
    rezip,
    rich_workbook,
    simple_mark,
    tree,
)

from harnessdrc.render.redline.package import SIGNATURE_REMARK, RedlinePackage
from harnessdrc.render.redline.xmlbytes import MalformedPartError

OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
pytestmark = pytest.mark.filterwarnings("ignore:.*not supported and will be removed")


def sheet_with(data: str, tail: str = "", head: str = "") -> str:
    return f'<worksheet xmlns="{MAIN}" xmlns:r="{OFFICE}">{head}<sheetData>{data}</sheetData>{tail}</worksheet>'


def marked(tmp_path: Path, source: Path, *cells: str, note: str = "N\nx") -> dict[str, bytes]:
    target = tmp_path / "out.xlsx"
    mark_file(source, target, {"List": {cell: simple_mark(note=note) for cell in cells}})
    parts = parts_of(target)
    for name, data in parts.items():
        if name.endswith((".xml", ".rels", ".vml")):
            tree(data)
    assert in_order(tree(parts["xl/worksheets/sheet1.xml"]))
    openpyxl.load_workbook(target)
    return parts


def test_rows_and_cells_without_references(tmp_path: Path) -> None:
    sheet = sheet_with("<row><c><v>1</v></c><c><v>2</v></c></row><row/><row r='9'><c r='C9'/><c><v>4</v></c></row>")
    parts = marked(tmp_path, handmade(tmp_path / "a.xlsx", sheet), "B1", "D1", "B2", "A5", "D9", "B9", "E9", "A20")
    data = parts["xl/worksheets/sheet1.xml"].decode()
    body = data[data.index("<sheetData>") : data.index("</sheetData>")]
    assert re.sub(r' s="1"', "!", body) == (
        '<sheetData><row><c><v>1</v></c><c!><v>2</v></c><c r="D1"!/></row><row><c r="B2"!/></row>'
        '<row r="5"><c r="A5"!/></row>'
        "<row r='9'><c r=\"B9\"!/><c r='C9'/><c!><v>4</v></c><c r=\"E9\"!/></row>"
        '<row r="20"><c r="A20"!/></row>'
    )
    book = openpyxl.load_workbook(tmp_path / "out.xlsx")["List"]
    assert [book["A1"].value, book["B1"].value, book["D9"].value] == [1, 2, 4]


def test_empty_sheet_data(tmp_path: Path) -> None:
    source = handmade(tmp_path / "a.xlsx", f'<worksheet xmlns="{MAIN}"><sheetData/></worksheet>')
    data = marked(tmp_path, source, "B2", "A1", "C2")["xl/worksheets/sheet1.xml"]
    assert list(cells_of(tree(data))) == ["A1", "B2", "C2"]


def test_prefixed_names(tmp_path: Path) -> None:
    sheet = (
        f'<x:worksheet xmlns:x="{MAIN}"><x:sheetData><x:row r="1"><x:c r="A1" t="inlineStr"><x:is><x:t>a</x:t>'
        '</x:is></x:c></x:row></x:sheetData><x:pageMargins left="1" right="1" top="1" bottom="1" header="1" '
        'footer="1"/></x:worksheet>'
    )
    styles = f'<x:styleSheet xmlns:x="{MAIN}"><x:cellXfs count="1"><x:xf/></x:cellXfs></x:styleSheet>'
    workbook = (
        f'<x:workbook xmlns:x="{MAIN}"><x:sheets><x:sheet name="List" sheetId="1" xmlns:q="{OFFICE}" '
        'q:id="rId1"/></x:sheets></x:workbook>'
    )
    source = handmade(tmp_path / "a.xlsx", sheet, styles=styles, workbook=workbook)
    parts = marked(tmp_path, source, "A1", "B1")
    data = parts["xl/worksheets/sheet1.xml"]
    assert b"<x:legacyDrawing" in data and b"<x:hyperlinks>" in data
    assert [cell.get("s") for cell in cells_of(tree(data)).values()] == ["1", "1"]
    assert openpyxl.load_workbook(tmp_path / "out.xlsx").sheetnames == ["List", "Findings"]


def test_strict_vocabulary_stays_strict(tmp_path: Path) -> None:
    main, office = "http://purl.oclc.org/ooxml/spreadsheetml/main", (
        "http://purl.oclc.org/ooxml/officeDocument/relationships"
    )  # fmt: skip
    sheet = (
        f'<worksheet xmlns="{main}" xmlns:r="{office}"><sheetData><row r="1"><c r="A1"/></row></sheetData></worksheet>'
    )
    source = handmade(tmp_path / "a.xlsx", sheet, main=main, office=office)
    mark_file(source, tmp_path / "out.xlsx", {"List": {"A1": simple_mark()}})
    parts = parts_of(tmp_path / "out.xlsx")
    for name in ("xl/comments1.xml", "xl/worksheets/sheet2.xml", "xl/styles.xml"):
        assert main.encode() in parts[name]
        assert MAIN.encode() not in parts[name]
    assert f"{office}/comments".encode() in parts["xl/worksheets/_rels/sheet1.xml.rels"]
    assert f"{office}/styles".encode() in parts["xl/_rels/workbook.xml.rels"]
    assert b"legacyDrawing r:id" in parts["xl/worksheets/sheet1.xml"]


def test_missing_styles_are_made(tmp_path: Path) -> None:
    source = handmade(tmp_path / "a.xlsx", sheet_with('<row r="1"><c r="A1"><v>1</v></c></row>'))
    marked(tmp_path, source, "A1")
    book = openpyxl.load_workbook(tmp_path / "out.xlsx")
    assert book["List"]["A1"].fill.fgColor.rgb == "FFF0917B"
    assert book["List"]["A1"].value == 1


def test_text_that_looks_like_cells_is_left_alone(tmp_path: Path) -> None:
    text = '<![CDATA[<row r="1"><c r="A1" s="7"/></row></sheetData>]]>'
    sheet = sheet_with(
        '<!-- <row r="2"><c r="A2"/></row> --><row r="1"><c r="B1" t="inlineStr"><is><t>r="A1" '
        f'{text}</t></is></c></row><?skip <row r="3"/>?><row r="3"><c r="A3"/></row>'
    )
    data = marked(tmp_path, handmade(tmp_path / "a.xlsx", sheet), "A1", "A2", "B1")["xl/worksheets/sheet1.xml"]
    assert text.encode() in data
    cells = cells_of(tree(data))
    assert list(cells) == ["A1", "B1", "A2", "A3"]
    assert [cells[name].get("s") for name in cells] == ["1", "1", "1", None]


def test_document_type_is_refused(tmp_path: Path) -> None:
    sheet = '<!DOCTYPE x [<!ENTITY a "b">]>' + sheet_with("<row r='1'><c r='A1'><v>&a;</v></c></row>")
    source = handmade(tmp_path / "a.xlsx", sheet)
    with pytest.raises(MalformedPartError, match=r"List.*document type"):
        mark_file(source, tmp_path / "out.xlsx", {"List": {"A1": simple_mark()}})


@pytest.mark.parametrize("encoding", ["utf-16", "iso-8859-1"])
def test_other_encodings(tmp_path: Path, encoding: str) -> None:
    text = f'<?xml version="1.0" encoding="{encoding}"?>' + sheet_with(
        '<row r="1"><c r="A1" t="inlineStr"><is><t>2×0,5 mm²</t></is></c></row>'
    )
    marked(tmp_path, handmade(tmp_path / "a.xlsx", text.encode(encoding)), "A1")
    assert openpyxl.load_workbook(tmp_path / "out.xlsx")["List"]["A1"].value == "2×0,5 mm²"


def test_merged_cells_mark_the_top_left(tmp_path: Path) -> None:
    sheet = sheet_with(
        '<row r="2"><c r="B2"><v>1</v></c><c r="C2"/></row><row r="4"><c r="C4"/></row>',
        '<mergeCells count="1"><mergeCell ref="B2:D4"/></mergeCells>',
    )
    data = marked(tmp_path, handmade(tmp_path / "a.xlsx", sheet), "C4")["xl/worksheets/sheet1.xml"]
    cells = cells_of(tree(data))
    assert {name for name in cells if cells[name].get("s")} == {"B2"}


def test_new_cells_take_the_look_of_their_row_or_column(tmp_path: Path) -> None:
    styles = (
        f'<styleSheet xmlns="{MAIN}"><fonts><font><sz val="8"/></font><font><sz val="20"/></font></fonts>'
        "<fills/><borders><border/></borders><cellStyleXfs><xf/></cellStyleXfs><cellXfs count='3'><xf/>"
        '<xf fontId="1" applyFont="1"/><xf numFmtId="14" applyNumberFormat="1"/></cellXfs></styleSheet>'
    )
    sheet = sheet_with(
        '<row r="1" s="1" customFormat="1" spans="1:1"><c r="A1"/></row><row r="2" s="1"><c r="A2"/></row>',
        head='<cols><col min="2" max="4" style="2"/></cols>',
    )
    source = handmade(tmp_path / "a.xlsx", sheet, styles=styles)
    data = marked(tmp_path, source, "C1", "C2", "F2")["xl/worksheets/sheet1.xml"]
    assert b'spans="1:3"' in data
    book = openpyxl.load_workbook(tmp_path / "out.xlsx")["List"]
    assert (book["C1"].font.sz, book["C1"].number_format) == (20, "General")
    assert (book["C2"].font.sz, book["C2"].number_format) == (8, "mm-dd-yy")
    assert (book["F2"].font.sz, book["F2"].number_format) == (8, "General")


def test_place_of_links_and_drawing_among_other_elements(tmp_path: Path) -> None:
    tail = (
        '<customSheetViews><customSheetView guid="{00000000-0000-0000-0000-000000000000}"><pageMargins left="1" '
        'right="1" top="1" bottom="1" header="1" footer="1"/></customSheetView></customSheetViews>'
        '<pageMargins left="1" right="1" top="1" bottom="1" header="1" footer="1"/>'
        '<mc:AlternateContent xmlns:mc="http://schemas.openxmlformats.org/markup-compatibility/2006">'
        '<mc:Choice Requires="x14"><controls/></mc:Choice></mc:AlternateContent><extLst/>'
    )
    source = handmade(tmp_path / "a.xlsx", sheet_with('<row r="1"><c r="A1"><v>1</v></c></row>', tail))
    data = marked(tmp_path, source, "A1")["xl/worksheets/sheet1.xml"]
    order = [child.tag.rpartition("}")[2] for child in tree(data)]
    assert order == [
        "sheetData", "customSheetViews", "hyperlinks", "pageMargins", "legacyDrawing", "AlternateContent",
        "extLst",
    ]  # fmt: skip


def test_link_of_the_source_wins(tmp_path: Path) -> None:
    sheet = sheet_with(
        '<row r="1"><c r="A1"><v>1</v></c><c r="B1"><v>2</v></c><c r="C1"/></row>',
        '<hyperlinks><hyperlink ref="A1:A3" location="List!B9"/></hyperlinks>',
    )
    data = marked(tmp_path, handmade(tmp_path / "a.xlsx", sheet), "A1", "B1", "C1")["xl/worksheets/sheet1.xml"]
    assert [(link.get("ref"), link.get("location")) for link in tree(data).iter(f"{M}hyperlink")] == [
        ("A1:A3", "List!B9"),
        ("B1", "'Findings'!A3"),
    ]


def notes_source(tmp_path: Path, comments: str, drawing: str) -> Path:
    rels = (
        f'<Relationship Id="rId1" Type="{OFFICE}/comments" Target="../comments1.xml"/>'
        f'<Relationship Id="rId2" Type="{OFFICE}/vmlDrawing" Target="/xl/drawings/vmlDrawing1.vml"/>'
        '<Relationship Id="rId3" Type="http://schemas.microsoft.com/office/2017/10/relationships/'
        'threadedComment" Target="../threadedComments/threadedComment1.xml"/>'
    )
    return handmade(
        tmp_path / "a.xlsx",
        sheet_with('<row r="1"><c r="A1"/><c r="B1"/></row>', '<legacyDrawing r:id="rId2"/>'),
        sheet_rels=rels,
        types=(
            '<Default Extension="vml" ContentType="application/vnd.openxmlformats-officedocument.vmlDrawing"/>'
            '<Override PartName="/xl/comments1.xml" ContentType="application/vnd.openxmlformats-'
            'officedocument.spreadsheetml.comments+xml"/>'
        ),
        extra={
            "xl/comments1.xml": f'<comments xmlns="{MAIN}">{comments}</comments>',
            "xl/drawings/vmlDrawing1.vml": drawing,
            "xl/threadedComments/threadedComment1.xml": "<ThreadedComments>kept</ThreadedComments>",
        },
    )


VML = (
    '<xml xmlns:v="urn:schemas-microsoft-com:vml" xmlns:o="urn:schemas-microsoft-com:office:office" '
    'xmlns:x="urn:schemas-microsoft-com:office:excel"><o:shapelayout v:ext="edit"><o:idmap v:ext="edit" '
    'data="3"/></o:shapelayout><v:shape id="_x0000_s3073"/></xml>'
)


def test_threaded_and_plain_notes_survive(tmp_path: Path) -> None:
    comments = (
        "<authors><author>tc={1}</author></authors><commentList>"
        '<comment ref="A1" authorId="0"><text><t>[Threaded comment] Is this right?</t></text></comment>'
        "</commentList>"
    )
    source = notes_source(tmp_path, comments, VML)
    parts = marked(tmp_path, source, "A1", "B1", note="HOLD\nunder <it> & more")
    before = parts_of(source)
    for name in before:
        if "threaded" in name or name == "xl/worksheets/_rels/sheet1.xml.rels":
            assert parts[name] == before[name]
    book = openpyxl.load_workbook(tmp_path / "out.xlsx")["List"]
    assert book["A1"].comment.text == "[Threaded comment] Is this right?\n\nHOLD\nunder <it> & more"
    assert book["A1"].comment.author == "tc={1}"
    assert book["B1"].comment.text == "HOLD\nunder <it> & more"
    drawing = parts["xl/drawings/vmlDrawing1.vml"].decode()
    assert 'data="3,4"' in drawing
    assert re.findall(r'id="_x0000_s(\d+)"', drawing) == ["3073", "4097"]
    assert drawing.count("_x0000_t202") == 2  # the shape type, and the shape that uses it


@pytest.mark.parametrize(
    "comments",
    ["", "<authors/><commentList/>", '<authors/><commentList><comment ref="A1" authorId="0"/></commentList>'],
)
def test_incomplete_notes_parts(tmp_path: Path, comments: str) -> None:
    parts = marked(tmp_path, notes_source(tmp_path, comments, VML), "A1", "B1")
    texts = ["".join(text.itertext()) for text in tree(parts["xl/comments1.xml"]).iter(f"{M}comment")]
    assert texts == ["N\nx", "N\nx"]


def test_drawing_without_an_end_is_refused(tmp_path: Path) -> None:
    source = notes_source(tmp_path, "", "<xml>")
    with pytest.raises(MalformedPartError, match="no end"):
        mark_file(source, tmp_path / "out.xlsx", {"List": {"B1": simple_mark()}})


def test_drawing_that_is_named_but_missing(tmp_path: Path) -> None:
    sheet = sheet_with('<row r="1"><c r="A1"/></row>', '<legacyDrawing r:id="rId7"/>')
    parts = marked(tmp_path, handmade(tmp_path / "a.xlsx", sheet), "A1")
    assert parts["xl/worksheets/sheet1.xml"].count(b"<legacyDrawing") == 1
    assert b'Id="rId7"' in parts["xl/worksheets/_rels/sheet1.xml.rels"]
    assert openpyxl.load_workbook(tmp_path / "out.xlsx")["List"]["A1"].comment.text == "N\nx"


def test_signature_is_dropped_and_said(tmp_path: Path) -> None:
    kind = "http://schemas.openxmlformats.org/package/2006/relationships/digital-signature/origin"
    source = handmade(
        tmp_path / "a.xlsx",
        sheet_with('<row r="1"><c r="A1"/></row>'),
        rels=f'<Relationship Id="rId9" Type="{kind}" Target="_xmlsignatures/origin.sigs"/>',
        types='<Override PartName="/_xmlsignatures/sig1.xml" ContentType="application/x-sig"/>',
        extra={"_xmlsignatures/origin.sigs": b"", "_xmlsignatures/sig1.xml": "<Signature/>"},
    )
    package = mark_file(source, tmp_path / "out.xlsx", {"List": {"A1": simple_mark()}})
    assert package.remarks == [SIGNATURE_REMARK]
    parts = parts_of(tmp_path / "out.xlsx")
    assert not [name for name in parts if "signature" in name]
    assert b"signature" not in parts["_rels/.rels"] + parts["[Content_Types].xml"]
    assert b"officeDocument" in parts["_rels/.rels"]


def test_more_notes_than_a_block_of_shape_numbers(tmp_path: Path) -> None:
    source = handmade(tmp_path / "a.xlsx", sheet_with(""))
    parts = marked(tmp_path, source, *(f"A{row}" for row in range(1, 2101)))
    ids = [int(one) for one in re.findall(rb'id="_x0000_s(\d+)"', parts["xl/drawings/vmlDrawing1.vml"])]
    assert len(set(ids)) == 2100
    assert {one // 1024 for one in ids} == {1, 2, 3}
    assert b'data="1,2,3"' in parts["xl/drawings/vmlDrawing1.vml"]


def test_chart_sheets_and_hidden_sheets_are_told_apart(tmp_path: Path) -> None:
    package = RedlinePackage.of_file(rich_workbook(tmp_path / "a.xlsx"))
    assert [(one.name, one.has_cells, one.hidden) for one in package.sheets] == [
        ("Wire list", True, False),
        ("Pin list", True, False),
        ("Old issue", True, True),
        ("Plot", False, False),
    ]
    package.close()


def test_1904_dates_keep_their_day(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904
    book.active.title = "List"
    book.active["A1"] = dt.datetime(2024, 5, 1)
    book.save(tmp_path / "a.xlsx")
    marked(tmp_path, tmp_path / "a.xlsx", "A1")
    assert openpyxl.load_workbook(tmp_path / "out.xlsx")["List"]["A1"].value == dt.datetime(2024, 5, 1)


def test_active_chart_sheet_is_put_behind(tmp_path: Path) -> None:
    source = rich_workbook(tmp_path / "a.xlsx")
    parts = parts_of(source)
    chart = parts["xl/chartsheets/sheet1.xml"].replace(b"<sheetView ", b'<sheetView tabSelected="1" ')
    rezip(source, tmp_path / "b.xlsx", {"xl/chartsheets/sheet1.xml": chart})
    mark_file(tmp_path / "b.xlsx", tmp_path / "out.xlsx", {})
    after = parts_of(tmp_path / "out.xlsx")
    assert after["xl/chartsheets/sheet1.xml"] == chart.replace(b'tabSelected="1"', b'tabSelected="0"')


@pytest.mark.parametrize("damage", ["xl/workbook.xml", "[Content_Types].xml"])
def test_missing_parts_are_said(tmp_path: Path, damage: str) -> None:
    source = handmade(tmp_path / "a.xlsx", sheet_with(""))
    rezip(source, tmp_path / "b.xlsx", {damage: None})
    with pytest.raises(MalformedPartError, match="missing"):
        RedlinePackage.of_file(tmp_path / "b.xlsx")
