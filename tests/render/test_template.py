"""The recommended workbook: what it holds, that its example hangs together, and how it is written."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from collections import Counter
from pathlib import Path
from xml.etree import ElementTree

import openpyxl
import pytest
from openpyxl.workbook import Workbook

from harnessdrc.api import check_lists
from harnessdrc.errors import OutputError
from harnessdrc.intake.files import open_files
from harnessdrc.intake.reading import read_lists
from harnessdrc.render.template import LAST_ROW, heading_of, write_template
from harnessdrc.render.template_example import EXAMPLE
from harnessdrc.render.template_guide import CAUTIONS, SHEETS, WRITING
from harnessdrc.tables.columns import FORMS
from harnessdrc.tables.words import (
    BODIES,
    KINDS,
    LEAD_TYPES,
    PART_KINDS,
    PLACES,
    PLUG_TYPES,
    ROLES,
    SEXES,
    SHIELD_MATERIALS,
)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("template") / "loom.xlsx"
    write_template(path)
    return path


@pytest.fixture(scope="module")
def book(path: Path) -> Workbook:
    return openpyxl.load_workbook(path)


def rows_of(form: str) -> list[dict[str, object]]:
    columns, rows = EXAMPLE[form]
    return [dict(zip(columns, row, strict=True)) for row in rows]


# ---- sheets, headings, drop-downs


def test_guidance_first_then_a_sheet_per_form_then_the_lists(book: Workbook) -> None:
    assert book.sheetnames == ["Read me", *(form.title for form in FORMS.values()), "Lists"]


@pytest.mark.parametrize("form", FORMS.values(), ids=lambda form: form.name)
def test_headings_are_those_of_the_form_with_units_and_comments(book: Workbook, form) -> None:  # type: ignore[no-untyped-def]
    sheet = book[form.title]
    headings = [cell.value for cell in sheet[1]]
    assert headings == [heading_of(form, column) for column in form.columns]
    for cell, column in zip(sheet[1], form.columns, strict=True):
        assert column.meaning in cell.comment.text
        assert ("Needed" in cell.comment.text) == column.needed


def test_headings_carry_the_unit_they_are_written_in() -> None:
    def heading(form: str, column: str) -> str:
        return heading_of(FORMS[form], FORMS[form].column(column))

    assert heading("wires", "size") == "Size (mm²)"
    assert heading("wires", "length_m") == "Length (mm)"
    assert heading("wires", "current_a") == "Current (A)"
    assert heading("wires", "colour") == "Colour"
    assert heading("components", "resistance_ohm") == "Resistance (Ω)"
    assert heading("components", "capacitance_f") == "Capacitance (µF)"
    assert heading("straps", "resistance_ohm") == "Resistance (mΩ)"
    assert heading("points", "x_m") == "X (mm)"
    assert heading("components", "boost_bar") == "Boost (bar)"
    assert heading("components", "filter_s") == "Filter (µs)"
    assert heading("components", "teeth") == "Teeth"


@pytest.mark.parametrize(
    ("form", "column", "words"),
    [
        ("pins", "role", [word for word, _ in ROLES]),
        ("components", "kind", [word for word, _ in KINDS]),
        ("parts", "kind", [word for word, _ in PART_KINDS]),
        ("parts", "sex", [word for word, _ in SEXES]),
        ("components", "place", [word for word, _ in PLACES]),
        ("components", "case_earthed", ["yes", "no"]),
        ("earth_points", "body", [word for word, _ in BODIES]),
        ("straps", "from_body", [word for word, _ in BODIES]),
        ("straps", "to_body", [word for word, _ in BODIES]),
        ("components", "lead_type", [word for word, _ in LEAD_TYPES]),
        ("components", "plug_type", [word for word, _ in PLUG_TYPES]),
        ("wires", "shield_material", [word for word, _ in SHIELD_MATERIALS]),
    ],
)
def test_a_drop_down_offers_exactly_its_words(
    book: Workbook, form: str, column: str, words: list[str]
) -> None:
    assert drop_down(book, form, column) == words


def test_drop_downs_of_colour_and_size_offer_the_letters_and_the_usual_sizes(book: Workbook) -> None:
    colours = drop_down(book, "wires", "colour")
    letters = [
        "BK",
        "BN",
        "RD",
        "OG",
        "YE",
        "GN",
        "BU",
        "VT",
        "GY",
        "WH",
        "PK",
        "GD",
        "TQ",
        "SR",
        "GNYE",
    ]  # IEC 60757
    assert colours[: len(letters)] == letters
    for pair in colours[len(letters) :]:
        base, tracer = str(pair).split("/")
        assert base in letters and tracer in letters and base != tracer
    sizes = drop_down(book, "wires", "size")
    assert {0.5, 0.75, 1, 1.5, 2.5, 4, 6, 16, "18 AWG", "2/0 AWG"} <= set(sizes)
    assert len(sizes) == len(set(sizes))


def drop_down(book: Workbook, form: str, column: str) -> list[object]:
    """Words that the spreadsheet offers in the whole of one column, read back from the list's range."""
    sheet = book[FORMS[form].title]
    index = [c.name for c in FORMS[form].columns].index(column)
    letter = openpyxl.utils.get_column_letter(index + 1)
    found = [v for v in sheet.data_validations.dataValidation if f"{letter}2" in v.sqref]
    assert len(found) == 1 and found[0].type == "list"
    assert str(found[0].sqref) == f"{letter}2:{letter}{LAST_ROW}"
    sheet_name, cells = found[0].formula1.split("!")
    return [row[0].value for row in book[sheet_name][cells.replace("$", "")]]


def test_no_drop_down_range_runs_past_its_list(book: Workbook) -> None:
    for form in FORMS.values():
        for drop in book[form.title].data_validations.dataValidation:
            sheet_name, cells = drop.formula1.split("!")
            values = [row[0].value for row in book[sheet_name][cells.replace("$", "")]]
            assert None not in values
            below = openpyxl.utils.cell.range_boundaries(cells.replace("$", ""))
            assert book[sheet_name].cell(below[3] + 1, below[0]).value is None


def test_defined_names_reach_the_same_words(book: Workbook) -> None:
    assert book.defined_names["list_roles"].attr_text.startswith("Lists!$")
    assert len(book.defined_names) == 15


# ---- the page of guidance


def test_guidance_names_every_sheet_and_says_which_is_needed(book: Workbook) -> None:
    page = {row[1].value: row for row in book["Read me"].iter_rows() if row[3].value}
    for name, _, needed in SHEETS:
        row = page[FORMS[name].title]
        assert row[3].value == ("needed" if needed else "optional")
        assert row[1].hyperlink.location == f"'{FORMS[name].title}'!A1"
    assert [name for name, _, _ in SHEETS] == list(FORMS)


def test_guidance_explains_how_to_write_and_cautions(book: Workbook) -> None:
    text = " ".join(str(c.value) for row in book["Read me"].iter_rows() for c in row if c.value).lower()
    for word, sentence in (*WRITING, *CAUTIONS):
        assert word.lower() in text and sentence.lower() in text
    for matter in (
        "disconnect the battery", "airbag", "kilovolts", "ventilate", "fuse close to the battery", "n/c",
        "a clear result is not proof that a loom is safe", "local codes and standards come first", "licensed",
        "iec 60757", "twisted together", "drain", "splice", "earthed by its case",
    ):  # fmt: skip
        assert matter in text, matter


# ---- look and print


@pytest.mark.parametrize("form", FORMS.values(), ids=lambda form: form.name)
def test_sheets_print_on_a4_landscape_one_page_wide_with_the_headings_on_every_page(
    book: Workbook, form
) -> None:  # type: ignore[no-untyped-def]
    sheet = book[form.title]
    assert sheet.page_setup.orientation == "landscape"
    assert int(sheet.page_setup.paperSize) == 9
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (1, 0)
    assert sheet.print_title_rows == "$1:$1"
    assert sheet.freeze_panes in ("A2", "B2")
    for index, column in enumerate(form.columns):
        width = sheet.column_dimensions[openpyxl.utils.get_column_letter(index + 1)].width
        longest_word = max(len(word) for word in heading_of(form, column).split())
        assert width >= longest_word, f"{column.heading} is cut"


# ---- the example


def test_example_uses_known_columns_and_known_words() -> None:
    assert set(EXAMPLE) == set(FORMS)
    words = {
        "role": ROLES,
        "kind": KINDS,
        "place": PLACES,
        "body": BODIES,
        "from_body": BODIES,
        "to_body": BODIES,
        "lead_type": LEAD_TYPES,
        "plug_type": PLUG_TYPES,
        "shield_material": SHIELD_MATERIALS,
        "sex": SEXES,
    }
    for name, (columns, rows) in EXAMPLE.items():
        known = {column.name for column in FORMS[name].columns}
        assert set(columns) <= known and len(set(columns)) == len(columns)
        assert rows
        needed = {column.name for column in FORMS[name].columns if column.needed}
        for row in rows_of(name):
            assert all(row[column] not in (None, "") for column in needed)
            for column, choice in {**words, **({"kind": PART_KINDS} if name == "parts" else {})}.items():
                if row.get(column) is not None:
                    assert row[column] in {word for word, _ in choice}


def test_example_is_one_row_per_wire_with_two_ends_and_one_wire_per_cavity() -> None:
    wires = rows_of("wires")
    assert 10 <= len(wires) <= 20
    assert all(count == 1 for count in Counter(wire["wire"] for wire in wires).values())
    ends = [
        (wire[f"{end}_item"], wire[f"{end}_cavity"])
        for wire in wires
        for end in ("from", "to")
        if wire[f"{end}_cavity"] is not None
    ]
    assert all(count == 1 for count in Counter(ends).values())
    for wire in wires:
        assert wire["colour"] and wire["size"] and wire["length_m"] and wire["signal"]


def test_example_names_hang_together_over_all_sheets() -> None:
    known = (
        {row["component"] for row in rows_of("components")}
        | {row["earth_point"] for row in rows_of("earth_points")}
        | {row["fuse"] for row in rows_of("fuses")}
        | {row["splice"] for row in rows_of("splices")}
        | {"open"}
    )
    wires = {wire["wire"]: wire for wire in rows_of("wires")}
    fired = {row["fires"] for row in rows_of("components") if row["fires"]}
    assert fired <= known
    assert {wire[end] for wire in wires.values() for end in ("from_item", "to_item")} == known - fired
    points = {row["point"] for row in rows_of("points")}
    assert points <= known
    assert {row[end] for row in rows_of("branches") for end in ("from_point", "to_point")} <= points
    assert {wire["branch"] for wire in wires.values()} == {row["branch"] for row in rows_of("branches")}
    wired = {
        (str(wire[f"{end}_item"]), str(wire[f"{end}_cavity"])): name
        for name, wire in wires.items()
        for end in ("from", "to")
        if wire[f"{end}_cavity"] is not None
    }
    pins = {(str(pin["connector"]), str(pin["cavity"])): pin["wire"] for pin in rows_of("pins")}
    for pin, name in pins.items():
        assert wired.get(pin) == name, pin
    listed = {connector for connector, _ in pins}
    assert {pin for pin in wired if pin[0] in listed} <= set(pins)


def test_example_follows_its_own_rules() -> None:
    roles = {(str(pin["connector"]), str(pin["cavity"])): pin["role"] for pin in rows_of("pins")}
    bodies = {row["earth_point"]: row["body"] for row in rows_of("earth_points")}
    for wire in rows_of("wires"):
        ends = [
            (str(wire["from_item"]), str(wire["from_cavity"])),
            (str(wire["to_item"]), str(wire["to_cavity"])),
        ]
        found = {roles.get(end) for end in ends}
        if "sensor ground" in found:
            assert found == {"sensor ground"}
        if found & {"power ground", "coil ground", "coil high-voltage return"}:
            assert "head" in {bodies.get(end[0]) for end in ends}
        if "shield drain" in found:
            assert "open" in {end[0] for end in ends} and wire["shield"]
        if found & {"trigger signal +", "trigger signal -"}:
            assert wire["twist"] and wire["shield"]
    grounds = {
        wire["to_item"] for wire in rows_of("wires") if wire["signal"] in ("Power ground", "Coil ground")
    }
    assert len(grounds) == 1


def test_example_rows_stand_in_the_sheets_under_their_headings(book: Workbook) -> None:
    for name, (columns, rows) in EXAMPLE.items():
        form, sheet = FORMS[name], book[FORMS[name].title]
        place = {cell.value: cell.column for cell in sheet[1]}
        assert sheet.max_row == len(rows) + 1
        for number, row in enumerate(rows, start=2):
            for column, value in zip(columns, row, strict=True):
                cell = sheet.cell(number, place[heading_of(form, form.column(column))])
                shown = str(value) if isinstance(value, str) else value
                assert (str(cell.value) if isinstance(shown, str) else cell.value) == shown
                assert cell.data_type != "f"


# ---- reading it back


def test_what_is_filled_in_is_read_back(path: Path, tmp_path: Path) -> None:
    book = openpyxl.load_workbook(path)
    wanted = {
        "components": {"component": "PLUG2", "kind": "spark plug", "lead_m": 410, "lead_type": "solid", "plug_type": "plain",
                       "gap_m": 0.65, "boost_bar": 0.9, "teeth": "60-2", "output_v": 0.35, "threshold_v": 0.2, "filter_s": 12.5,
                       "contact_a": 30},
        "wires": {"wire": "W90", "from_item": "ECU", "from_cavity": "11", "to_item": "CHT", "to_cavity": "3", "twist": "T2",
                  "lay_m": 28, "untwisted_m": 15, "shield": "SH9", "shield_material": "copper braid"},
        "points": {"point": "CHT", "x_m": -12.5, "y_m": "0.4 m", "z_m": 0},
        "branches": {"branch": "B9", "from_point": None, "to_point": "CHT", "length_m": 300, "sleeve_m": 8, "bend_m": 40},
    }  # fmt: skip
    for form, values in wanted.items():
        sheet = book[FORMS[form].title]
        at = {cell.value: cell.column for cell in sheet[1]}
        row = sheet.max_row + 1
        for name, value in values.items():
            sheet.cell(row, at[heading_of(FORMS[form], FORMS[form].column(name))], value)
    book.save(tmp_path / "filled.xlsx")
    reading = read_lists(open_files([tmp_path / "filled.xlsx"]))
    assert not reading.unreadable
    read_back = {form: reading.of(form)[0].frame.iloc[-1].to_dict() for form in wanted}
    metric = {"lead_m": 0.41, "gap_m": 0.00065, "teeth": 60, "filter_s": 12.5e-6, "lay_m": 0.028, "untwisted_m": 0.015,
              "x_m": -0.0125, "y_m": 0.4, "length_m": 0.3, "sleeve_m": 0.008, "bend_m": 0.04}  # fmt: skip
    for form, values in wanted.items():
        for name, value in values.items():
            expected = metric.get(name, value)
            found = read_back[form][name]
            assert found == (pytest.approx(expected) if isinstance(expected, float) else expected), (form, name)


def test_the_example_is_read_without_a_doubt_and_nothing_is_found_in_it(path: Path) -> None:
    result = check_lists([path])
    assert [finding.message for finding in result.findings] == []
    assert [rule.rule for rule in result.rules if rule.crashed] == []
    looked_at = {rule.check: rule.looked_at for rule in result.rules}
    assert (looked_at["branch.ends"], looked_at["branch.coordinates"], looked_at["branch.length"]) == (3, 7, 3)


# ---- writing


def test_the_package_is_whole_and_well_formed(path: Path) -> None:
    with zipfile.ZipFile(path) as package:
        assert package.testzip() is None
        for name in package.namelist():
            if name.endswith((".xml", ".rels", ".vml")):
                ElementTree.fromstring(package.read(name))


def test_refuses_to_overwrite_and_leaves_the_file_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "loom.xlsx"
    path.write_bytes(b"somebody's work")
    with pytest.raises(OutputError, match=r"loom\.xlsx: this file exists already.*give another name"):
        write_template(path)
    assert path.read_bytes() == b"somebody's work"
    assert list(tmp_path.iterdir()) == [path]


def test_refuses_a_dangling_link(tmp_path: Path) -> None:
    path = tmp_path / "loom.xlsx"
    path.symlink_to(tmp_path / "elsewhere.xlsx")
    with pytest.raises(OutputError, match="exists already"):
        write_template(path)
    assert path.is_symlink()


@pytest.mark.parametrize("name", ["loom.xls", "loom.csv", "loom"])
def test_another_ending_is_refused_with_the_name_to_give(tmp_path: Path, name: str) -> None:
    with pytest.raises(OutputError, match=r"ends in \.xlsx, for example loom\.xlsx"):
        write_template(tmp_path / name)
    assert list(tmp_path.iterdir()) == []


def test_a_missing_folder_is_named(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match=r"nowhere.*its folder does not exist\. Make the folder"):
        write_template(tmp_path / "nowhere" / "loom.xlsx")
    (tmp_path / "plain").write_text("")
    with pytest.raises(OutputError, match="its folder does not exist"):
        write_template(tmp_path / "plain" / "loom.xlsx")


def test_no_permission_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real_open = os.open

    def refuse(path: Path, *rest: int, **named: int) -> int:
        if str(path).endswith(".part"):
            raise PermissionError(13, "Permission denied")
        return real_open(path, *rest, **named)

    monkeypatch.setattr("harnessdrc.render.outfile.os.open", refuse)
    with pytest.raises(OutputError, match="writing there is not permitted"):
        write_template(tmp_path / "loom.xlsx")
    assert list(tmp_path.iterdir()) == []


def test_a_failing_move_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(_source: Path, _target: Path) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("harnessdrc.render.outfile.os.replace", fail)
    with pytest.raises(OutputError, match="could not be written because the disk is full"):
        write_template(tmp_path / "loom.xlsx")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="limits the file size by a Unix resource limit"
)
@pytest.mark.parametrize(
    ("before", "said"),
    [
        ("", "could not be put together in the folder for temporary files"),
        ("whole = bytes(10_000); template.template_workbook = lambda: Ready()", "could not be written"),
    ],
)
def test_a_full_disk_is_said_and_leaves_nothing_behind(tmp_path: Path, before: str, said: str) -> None:
    # A limit on the size of files makes a real write fail half way, as a full disk does. In the last case the
    # workbook stands ready in memory, so that it is the write of the file itself that fails.
    code = f"""
import resource, sys
from pathlib import Path
from harnessdrc.errors import OutputError
from harnessdrc.render import template

class Ready:
    def save(self, buffer):
        buffer.write(whole)

{before}
resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))
try:
    template.write_template(Path(sys.argv[1]))
except OutputError as error:
    print(error)
    sys.exit(2)
"""
    run = subprocess.run(
        [sys.executable, "-B", "-c", code, str(tmp_path / "loom.xlsx")],
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 2, run.stderr
    assert said in run.stdout and "ree some space" in run.stdout
    assert list(tmp_path.iterdir()) == []


def test_the_file_gets_the_usual_permissions(path: Path) -> None:
    plain = path.with_name("plain")
    plain.write_text("")
    assert path.stat().st_mode == plain.stat().st_mode
