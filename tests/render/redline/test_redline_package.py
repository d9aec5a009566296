"""Marking a package changes what it must and nothing else."""

from __future__ import annotations

import re
import struct
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import openpyxl
import pytest
from openpyxl.styles import Font
from redline_helpers import (
    MAIN,
    M,
    cells_of,
    handmade,
    in_order,
    mark_file,
    page,
    parts_of,
    rich_workbook,
    simple_mark,
    tree,
)

from harnessdrc.render.redline.package import RedlinePackage

pytestmark = pytest.mark.filterwarnings("ignore:.*not supported and will be removed")

MARKED = {"Wire list": {"A3": simple_mark(), "B3": simple_mark("query"), "K12": simple_mark("note", "N\nx")}}


@pytest.fixture(scope="module", params=[False, True], ids=["xlsx", "xlsm"])
def pair(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    folder = tmp_path_factory.mktemp("rich")
    suffix = ".xlsm" if request.param else ".xlsx"
    source = rich_workbook(folder / f"loom{suffix}", macros=request.param)
    target = folder / f"marked{suffix}"
    package = mark_file(source, target, MARKED)
    assert package.suffix == suffix
    return source, target


def test_only_the_named_parts_change(pair: tuple[Path, Path]) -> None:
    before, after = parts_of(pair[0]), parts_of(pair[1])
    assert set(before) <= set(after)
    changed = {name for name in before if before[name] != after[name]}
    assert changed == {
        "[Content_Types].xml",
        "xl/workbook.xml",
        "xl/_rels/workbook.xml.rels",
        "xl/styles.xml",
        "xl/worksheets/sheet1.xml",
        "xl/comments1.xml",
        "xl/drawings/vmlDrawing1.vml",
    }
    added = {name for name in after if name not in before}
    assert added == {"xl/worksheets/sheet4.xml"}
    for kept in ("xl/charts/chart1.xml", "xl/drawings/drawing1.xml", "xl/media/image1.png"):
        assert kept in before


def test_untouched_parts_keep_compressed_bytes_and_time(pair: tuple[Path, Path]) -> None:
    def raw(path: Path, info: zipfile.ZipInfo) -> bytes:
        with path.open("rb") as file:
            file.seek(info.header_offset)
            header = file.read(30)
            name, extra = struct.unpack_from("<HH", header, 26)
            file.seek(name + extra, 1)
            return file.read(info.compress_size)

    with zipfile.ZipFile(pair[0]) as before, zipfile.ZipFile(pair[1]) as after:
        checked = 0
        for info in before.infolist():
            other = after.getinfo(info.filename)
            if before.read(info) == after.read(other):
                assert raw(pair[0], info) == raw(pair[1], other)
                assert info.date_time == other.date_time
                assert info.external_attr == other.external_attr
                checked += 1
        assert checked >= 8


def test_sheet_differs_only_in_style_links_and_selection(pair: tuple[Path, Path]) -> None:
    before = tree(parts_of(pair[0])["xl/worksheets/sheet1.xml"])
    after = tree(parts_of(pair[1])["xl/worksheets/sheet1.xml"])
    assert in_order(after)
    old_cells, new_cells = cells_of(before), cells_of(after)
    marked = {"A3", "B3"}  # K12 stood nowhere before
    assert set(new_cells) - set(old_cells) == {"K12"}
    for name, cell in old_cells.items():
        attributes = dict(new_cells[name].attrib)
        expected = dict(cell.attrib)
        if name in marked:
            assert attributes.pop("s") != expected.pop("s", "0")
        assert attributes == expected
        assert [ElementTree.tostring(child) for child in new_cells[name]] == [
            ElementTree.tostring(child) for child in cell
        ]

    def rest(sheet: ElementTree.Element) -> list[bytes]:
        kept = [child for child in sheet if child.tag not in (f"{M}sheetData", f"{M}hyperlinks")]
        for view in sheet.iter(f"{M}sheetView"):
            view.attrib.pop("tabSelected", None)
        return [ElementTree.tostring(child) for child in kept]

    assert rest(before) == rest(after)
    links = {link.get("ref"): dict(link.attrib) for link in after.iter(f"{M}hyperlink")}
    old_links = {link.get("ref"): dict(link.attrib) for link in before.iter(f"{M}hyperlink")}
    assert {name: links[name] for name in old_links} == old_links
    assert set(links) - set(old_links) == {"A3", "B3"}  # none on the empty K12, see sheetpart
    assert links["A3"]["location"] == "'Findings'!A3"


def test_looks_of_marked_cells_keep_all_but_the_fill(pair: tuple[Path, Path]) -> None:
    source, target = pair
    marked = target.with_name("looks" + target.suffix)
    mark_file(source, marked, {"Wire list": {"D5": simple_mark(), "A1": simple_mark("query")}})
    old, new = openpyxl.load_workbook(source)["Wire list"], openpyxl.load_workbook(marked)["Wire list"]
    assert new["D5"].number_format == old["D5"].number_format == "0.00"
    assert repr(new["D5"].border) == repr(old["D5"].border)
    assert repr(new["D5"].font) == repr(old["D5"].font)
    assert new["D5"].protection.locked is False
    assert new["D5"].fill.fgColor.rgb == "FFF0917B"
    assert repr(new["D6"].fill) == repr(old["D6"].fill)
    # white letters of a dark heading would vanish on a light fill
    assert old["A1"].font.color.rgb == "FFFFFFFF"
    assert new["A1"].font.color.rgb == "FF1F2A33"
    assert new["A1"].font.b is True


def test_existing_note_keeps_its_text_and_ours_is_under_it(pair: tuple[Path, Path]) -> None:
    book = openpyxl.load_workbook(pair[1])
    text = book["Wire list"]["B3"].comment.text
    assert text.startswith("Ask the engine shop")
    assert text.endswith("HOLD\nwhat was found")
    assert book["Wire list"]["A3"].comment.text == "HOLD\nwhat was found"
    drawing = parts_of(pair[1])["xl/drawings/vmlDrawing1.vml"]
    old = parts_of(pair[0])["xl/drawings/vmlDrawing1.vml"]
    ids = re.findall(rb'id="(_x0000_s\d+)"', drawing)
    assert len(ids) == len(set(ids)) == len(re.findall(rb'id="(_x0000_s\d+)"', old)) + 2
    assert b'ObjectType="Button"' in drawing
    # the box of the note that got longer reaches further down; all else of the drawing is as it was
    corners = [re.findall(rb"<x:Anchor>([^<]*)</x:Anchor>", data) for data in (old, drawing)]
    was, now = ([int(number) for number in found[1].split(b",")] for found in corners)  # 0 is the button
    assert now[:6] + now[7:] == was[:6] + was[7:]
    assert now[6] == was[6] + 3
    tree(drawing)


def test_new_sheets_stand_at_the_end_and_in_front(pair: tuple[Path, Path]) -> None:
    old, new = openpyxl.load_workbook(pair[0]), openpyxl.load_workbook(pair[1])
    assert new.sheetnames == [*old.sheetnames, "Findings"]
    assert new.active.title == "Findings"
    root = tree(parts_of(pair[1])["xl/workbook.xml"])
    names = {
        (one.get("name"), one.get("localSheetId")): one.text for one in root.iter(f"{M}definedName")
    }  # fmt: skip
    before = tree(parts_of(pair[0])["xl/workbook.xml"])
    for one in before.iter(f"{M}definedName"):
        assert names[one.get("name"), one.get("localSheetId")] == one.text
    assert names["_xlnm.Print_Titles", str(len(old.sheetnames))] == "'Findings'!$1:$1"
    selected = [
        name
        for name, data in parts_of(pair[1]).items()
        if name.startswith(("xl/worksheets/sheet", "xl/chartsheets/")) and b'tabSelected="1"' in data
    ]
    assert len(selected) == 1
    assert b"=1+1" in parts_of(pair[1])[selected[0]]


def test_added_text_is_never_a_formula(pair: tuple[Path, Path]) -> None:
    book = openpyxl.load_workbook(pair[1])
    assert book["Findings"]["B2"].data_type in ("s", "inlineStr")
    sheet = next(data for data in parts_of(pair[1]).values() if b"=1+1" in data)
    assert b"<f>" not in sheet
    assert b't="inlineStr"' in sheet


def test_same_input_gives_same_bytes(pair: tuple[Path, Path]) -> None:
    again = pair[1].with_name("again" + pair[1].suffix)
    mark_file(pair[0], again, MARKED)
    assert again.read_bytes() == pair[1].read_bytes()


def test_macro_project_survives(tmp_path: Path) -> None:
    source = rich_workbook(tmp_path / "loom.xlsm", macros=True)
    mark_file(source, tmp_path / "out.xlsm", MARKED)
    before, after = parts_of(source), parts_of(tmp_path / "out.xlsm")
    assert before["xl/vbaProject.bin"] == after["xl/vbaProject.bin"]
    assert b"macroEnabled.main+xml" in after["[Content_Types].xml"]


def test_sheet_without_marks_is_copied(pair: tuple[Path, Path]) -> None:
    target = pair[1].with_name("none" + pair[1].suffix)
    mark_file(pair[0], target, {}, [page(), page("More")])
    before, after = parts_of(pair[0]), parts_of(target)
    assert before["xl/comments1.xml"] == after["xl/comments1.xml"]
    first = before["xl/worksheets/sheet1.xml"].replace(b' tabSelected="1"', b' tabSelected="0"')
    assert after["xl/worksheets/sheet1.xml"] == first
    assert before["xl/worksheets/sheet2.xml"] == after["xl/worksheets/sheet2.xml"]


def test_whole_row_marks_its_first_cell_with_content(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet["B2"].font = Font(bold=True)  # styled but empty
    sheet["C2"] = "first"
    sheet["D2"] = "second"
    book.save(tmp_path / "a.xlsx")
    package = RedlinePackage.of_file(tmp_path / "a.xlsx")
    assert package.resolve(0, [(2, None), (9, None)]) == {(2, None): (2, 2), (9, None): (9, 0)}
    package.close()


def test_marks_show_over_conditional_formats(tmp_path: Path) -> None:
    source = rich_workbook(tmp_path / "a.xlsx")
    marks = {"Wire list": {"D4": simple_mark("hold"), "E9": simple_mark("note"), "A9": simple_mark("note")}}
    mark_file(source, tmp_path / "b.xlsx", marks)
    before, after = (tree(parts_of(tmp_path / n)["xl/worksheets/sheet1.xml"]) for n in ("a.xlsx", "b.xlsx"))
    assert in_order(after)

    def rules(sheet: ElementTree.Element) -> list[tuple[int, str, ElementTree.Element]]:
        return [
            (int(rule.get("priority", "0")), area.get("sqref", ""), rule)
            for area in sheet.iter(f"{M}conditionalFormatting")
            for rule in area.iter(f"{M}cfRule")
        ]

    ours, kept = rules(after)[:2], rules(after)[2:]
    assert [(priority, area) for priority, area, _ in ours] == [(1, "D4"), (2, "E9")]
    assert [(priority - 2, area) for priority, area, _ in kept] == [rule[:2] for rule in rules(before)]
    styles = tree(parts_of(tmp_path / "b.xlsx")["xl/styles.xml"])
    looks = styles.find(f"{M}dxfs")
    assert looks is not None and looks.get("count") == str(len(looks)) == "3"
    for (_, _, rule), colour in zip(ours, ("FFF0917B", "FFEAF3F9"), strict=True):
        fill = looks[int(rule.get("dxfId", "0"))].find(f".//{M}bgColor")
        assert fill is not None and fill.get("rgb") == colour
    openpyxl.load_workbook(tmp_path / "b.xlsx")


def test_extended_conditional_formats_are_seen(tmp_path: Path) -> None:
    tail = (
        '<extLst><ext uri="{78C0D931-6437-407d-A8EE-F0AAD7539E65}" xmlns:x14="http://schemas.microsoft.com/'
        'office/spreadsheetml/2009/9/main"><x14:conditionalFormattings><x14:conditionalFormatting '
        'xmlns:xm="http://schemas.microsoft.com/office/excel/2006/main"><x14:cfRule type="expression" '
        'priority="1" id="{1}"><xm:f>1&gt;0</xm:f></x14:cfRule><xm:sqref>B2:C3 E1</xm:sqref>'
        "</x14:conditionalFormatting></x14:conditionalFormattings></ext></extLst>"
    )
    sheet = f'<worksheet xmlns="{MAIN}"><sheetData/>{tail}</worksheet>'
    source = handmade(tmp_path / "a.xlsx", sheet)
    cells = {name: simple_mark() for name in ("A1", "C3", "E1")}
    mark_file(source, tmp_path / "b.xlsx", {"List": cells})
    data = parts_of(tmp_path / "b.xlsx")["xl/worksheets/sheet1.xml"]
    assert b'<conditionalFormatting sqref="E1 C3"><cfRule type="expression" dxfId="0" priority="1">' in data
    assert b'<x14:cfRule type="expression" priority="2"' in data
    assert in_order(tree(data))
