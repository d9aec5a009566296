"""From a result to marked copies: pages, links both ways, names, and what is left when something fails."""

from __future__ import annotations

import datetime as dt
import errno
import os
import re
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import python_calamine
import xlsxwriter
from redline_helpers import finding, in_order, parts_of, result, rich_workbook, tree

from harnessdrc.errors import OutputError
from harnessdrc.findings import GRADES, Mark
from harnessdrc.places import Place, cell_name
from harnessdrc.render.redline import RedlineSource, SheetRows, write_redline
from harnessdrc.render.redline.findings_page import CAUTIONS, PROOF, verdict
from harnessdrc.render.redline.looks import MARK_FILLS
from harnessdrc.render.redline.marking import MOST_NOTES
from harnessdrc.render.redline.ordering import numbered
from harnessdrc.render.redline.pagelooks import GRADE_LOOKS
from harnessdrc.results import ReportedUndecided, Result

pytestmark = pytest.mark.filterwarnings("ignore:.*not supported and will be removed")


def at(cell: str, sheet: str = "Wire list", file: str = "loom.xlsx") -> Place:
    return Place(file, sheet, cell)


FINDINGS = [
    finding(1, "note", [at("C7")]),
    finding(2, "query", [at("B4"), at("B9")], follows_from="print-3"),
    finding(3, "hold", [at("A3"), at("D5"), at("B2", "Pin list"), at("A9", "Joints", "other.xlsx")]),
    finding(4, "query", [at("D5")], measured=None),
    finding(5, "hold", [at("12")], message="=HYPERLINK(\"http://x\",\"y\") & +cmd|' /C calc'!A0"),
    finding(6, "hold", [at("E2")], concession="agreed until issue D"),
    finding(7, "query", [at("A1", "Old issue")]),
    finding(8, "note", [at("E20")], follows_from="print-2"),
]  # fmt: skip
UNDECIDED = [
    ReportedUndecided("drop", "wire.drop", "query", ("wire", "W9"), ("length of wire W9",), (Mark(at("E10"), ""),)),
    ReportedUndecided("bus", "bus.ends", "hold", ("bus", "CAN"), (), ()),
]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    folder = tmp_path_factory.mktemp("composed")
    source = rich_workbook(folder / "loom.xlsx")
    paths = write_redline(result(FINDINGS, undecided=UNDECIDED), [RedlineSource("loom.xlsx", source, None)], folder)
    assert paths == [folder / "loom.redline.xlsx"]
    return source, paths[0]


def rows_of(path: Path, sheet: str) -> list[list[Any]]:
    return [[cell.value for cell in row] for row in openpyxl.load_workbook(path)[sheet].iter_rows()]


def test_order_and_numbers() -> None:
    order = [(one.number, one.finding.rule, one.depth) for one in numbered(FINDINGS)]
    assert order == [
        ("1", "rule-3", 0),
        ("1.1", "rule-2", 1),
        ("1.1.1", "rule-8", 2),
        ("2", "rule-5", 0),
        ("3", "rule-4", 0),
        ("4", "rule-7", 0),
        ("5", "rule-1", 0),
        ("6", "rule-6", 0),
    ]


def test_causes_in_a_ring_are_all_listed() -> None:
    ring = [
        finding(1, "hold", [], follows_from="print-2"),
        finding(2, "hold", [], follows_from="print-1"),
        finding(3, "note", [], follows_from="print-3"),
        finding(4, "note", [], follows_from="gone"),
    ]
    assert sorted(one.finding.rule for one in numbered(ring)) == ["rule-1", "rule-2", "rule-3", "rule-4"]


def test_findings_sheet_says_what_it_must(made: tuple[Path, Path]) -> None:
    rows = rows_of(made[1], "Findings")
    top = [row[0] for row in rows[:8]]
    assert top[0] == "Redline of loom.xlsx"
    assert top[1].startswith("2 hold · 3 query · 2 note · 2 undecided · 1 accepted under a concession.")
    assert "Do not build" in top[1]
    assert f"{PROOF} {CAUTIONS}" in top
    heading = next(index for index, row in enumerate(rows) if row[0] == "No.")
    assert rows[heading] == [
        "No.", "Grade", "Subject", "What was found", "Measured", "Limit", "Unit", "What to do", "Place",
        "Also see", "Rule", "Done",
    ]  # fmt: skip
    listed = {str(row[0]): row for row in rows[heading + 1 :] if row[1]}
    assert list(listed) == ["1", "1.1", "1.1.1", "2", "3", "4", "5", "6", "U1", "U2"]
    assert listed["1"][1:9] == [
        "HOLD", "wire W3", "Wire W3 lifts the ground by 31.4 mV.", 31.42, 10, "mV",
        "Take W3 to the star point.", "Wire list A3",
    ]  # fmt: skip
    assert listed["3"][4] is None
    assert listed["2"][3] == FINDINGS[4].message
    assert "agreed until issue D" in listed["6"][3]
    assert listed["U1"][1] == "UNDECIDED"
    assert "length of wire W9" in listed["U1"][7]
    assert all(row[11] == "☐" for row in listed.values())
    sections = [row[0] for row in rows[heading + 1 :] if row[0] and not row[1]]
    assert [text.split(":")[0].split(" ")[0] for text in sections] == [
        "ON", "QUERIES", "NOTES", "ACCEPTED", "UNDECIDED",
    ]  # fmt: skip
    assert sections[0].endswith("(2, with 2 that follow from them)")
    other = next(row for row in rows if row[9] and "other.xlsx" in row[9])
    assert other[9] == "other.xlsx, Joints A9"


def test_links_lead_both_ways(made: tuple[Path, Path]) -> None:
    book = openpyxl.load_workbook(made[1])
    findings = book["Findings"]
    back = {
        cell.value: cell.hyperlink.location
        for row in findings.iter_rows()
        for cell in row
        if cell.hyperlink is not None
    }
    assert back["Wire list A3"] == "'Wire list'!A3"
    assert back["Pin list B2"] == "'Pin list'!B2"
    assert back["Wire list row 12"] == "'Wire list'!A12"
    assert back["Wire list E10"] == "'Wire list'!E10"
    assert "other.xlsx, Joints A9" not in back
    assert "Old issue A1" not in back  # a hidden sheet cannot be jumped to
    for sheet, cell, number in (("Wire list", "A3", 1), ("Wire list", "B9", "1.1"), ("Pin list", "B2", 1)):
        row = int(book[sheet][cell].hyperlink.location.removeprefix("'Findings'!A"))
        assert findings.cell(row, 1).value == number


def test_cells_are_filled_and_noted(made: tuple[Path, Path]) -> None:
    book = openpyxl.load_workbook(made[1])
    wires = book["Wire list"]
    fills = {"hold": "solid", "query": "lightUp", "note": "gray0625"}
    for cell, grade in (("A3", "hold"), ("D5", "hold"), ("B4", "query"), ("C7", "note"), ("A12", "hold")):
        assert wires[cell].fill.patternType == fills[grade], cell
    assert wires["E2"].fill.patternType == fills["note"]  # accepted
    assert book["Old issue"]["A1"].fill.patternType == fills["query"]
    assert wires["A3"].comment.text == (
        "HOLD · finding 1\nWire W3 lifts the ground by 31.4 mV.\nTo do: Take W3 to the star point.\nRule: rule-3"
    )
    both = wires["D5"].comment.text
    assert both.index("HOLD · finding 1") < both.index("QUERY · finding 3")
    assert "This cell: place 1." in both
    assert "Main place: Wire list A3" in both


def test_fills_are_told_apart_without_colour() -> None:
    def lightness(colour: str) -> float:
        red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (0, 2, 4))
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    hold, query, note = (lightness(MARK_FILLS[grade].ground) for grade in GRADES)
    assert query - hold > 0.12 and note - query > 0.1
    assert hold > 0.5  # black text stays readable
    assert len({fill.pattern for fill in MARK_FILLS.values()}) == 3
    assert len({look.border for look in GRADE_LOOKS.values()}) == 3


def test_other_sheets(made: tuple[Path, Path]) -> None:
    assumptions = rows_of(made[1], "Assumptions")
    assert ["unit", "Size", "mm²", "the heading", "Wire list D1", 30] in assumptions
    assert ["row set aside", "loom.xlsx", "Wire list", "no wire in it", "Wire list row 33", 1] in assumptions
    coverage = rows_of(made[1], "Coverage")
    by_rule = {row[0]: row for row in coverage}
    assert by_rule["bus-ends"][7] == "Looked at nothing: the list gave it no buses. Its silence says nothing."
    assert by_rule["fuse-wire"][7] == "Nothing found in 7 fuses."
    assert by_rule["rule-1"][7] == "2 findings, 1 undecided"
    assert "failed" in by_rule["seals"][7] and "no such column" in by_rule["seals"][7]
    assert by_rule["bundle-heat"][8] == "no bundles in this build"
    assert by_rule["ambient_degc"][1:3] == [85, "°C"]
    assert by_rule["loom.xlsx"][1] == "ab" * 32


def test_added_sheets_are_well_formed_and_print_well(made: tuple[Path, Path]) -> None:
    before, parts = parts_of(made[0]), parts_of(made[1])
    pages = [name for name in parts if name.startswith("xl/worksheets/sheet") and name not in before]
    assert len(pages) == 3
    for name in pages:
        sheet = tree(parts[name])
        assert in_order(sheet)
        assert b'orientation="landscape"' in parts[name]
        assert b'paperSize="9"' in parts[name]
        assert b'state="frozen"' in parts[name]
        assert b"<f>" not in parts[name] and b"<f " not in parts[name]
    assert b"=HYPERLINK(" in b"".join(parts[name] for name in pages)


def test_values_of_the_source_stay(made: tuple[Path, Path]) -> None:
    before, after = (python_calamine.CalamineWorkbook.from_path(str(path)) for path in made)
    for name in ("Wire list", "Pin list", "Old issue"):
        assert before.get_sheet_by_name(name).to_python() == after.get_sheet_by_name(name).to_python()
    old, new = (openpyxl.load_workbook(path) for path in made)
    for name in ("Wire list", "Pin list", "Old issue"):
        assert [[c.value for c in row] for row in old[name].iter_rows()] == [
            [c.value for c in row] for row in new[name].iter_rows(max_row=old[name].max_row)
        ]


def test_same_run_gives_same_bytes(made: tuple[Path, Path], tmp_path: Path) -> None:
    paths = write_redline(result(FINDINGS, undecided=UNDECIDED), [RedlineSource("loom.xlsx", made[0], None)], tmp_path)
    assert paths[0].read_bytes() == made[1].read_bytes()


@pytest.mark.parametrize(
    ("counts", "words"),
    [
        ({"hold": 1}, "1 hold · 0 query · 0 note · 0 undecided. Do not build"),
        ({}, "0 hold · 0 query · 0 note · 0 undecided. Nothing on hold was found in what was looked at"),
    ],
)
def test_verdict(counts: dict[Any, int], words: str) -> None:
    outcome = result([finding(n, grade, []) for grade, count in counts.items() for n in range(count)])
    clean = replace(outcome, rules=tuple(rule for rule in outcome.rules if not rule.crashed))
    assert verdict(clean).startswith(words)
    assert "1 check failed to run" in verdict(outcome)
    undecided = replace(clean, undecided=tuple(UNDECIDED))
    if not counts:
        assert "not everything could be decided" in verdict(undecided)


def test_no_word_calls_a_loom_safe(made: tuple[Path, Path]) -> None:
    texts = [
        str(value)
        for sheet in ("Findings", "Assumptions", "Coverage")
        for row in rows_of(made[1], sheet)
        for value in row
        if value is not None
    ]
    assert not [text for text in texts if re.search(r"\bsafe\b", text.replace(PROOF, ""), re.IGNORECASE)]


def test_taken_sheet_names_get_another(tmp_path: Path) -> None:
    book = xlsxwriter.Workbook(tmp_path / "a.xlsx")
    for name in ("Wire list", "findings", "Findings (redline)", "O'Brien's"):
        book.add_worksheet(name).write(0, 0, "x")
    book.close()
    outcome = result([finding(1, "hold", [at("A1", "O'Brien's", "a.xlsx")])], file="a.xlsx")
    (path,) = write_redline(outcome, [RedlineSource("a.xlsx", tmp_path / "a.xlsx", None)], tmp_path)
    names = openpyxl.load_workbook(path).sheetnames
    assert names[4:] == ["Findings (redline) 2", "Assumptions", "Coverage"]
    sheet = openpyxl.load_workbook(path)["O'Brien's"]
    assert sheet["A1"].hyperlink.location.startswith("'Findings (redline) 2'!A")
    links = [c.hyperlink.location for r in openpyxl.load_workbook(path)[names[4]].iter_rows() for c in r if c.hyperlink]
    assert "'O''Brien''s'!A1" in links


def test_text_lists_share_one_workbook(tmp_path: Path) -> None:
    sources = [
        RedlineSource("a/loom.csv", tmp_path / "a" / "loom.csv", [SheetRows("loom", [["Wire"], ["=1+1"]])]),
        RedlineSource("b/loom.csv", tmp_path / "b" / "loom.csv", [SheetRows("loom", [[], [None, "x", 5]])]),
        RedlineSource("old.xls", tmp_path / "old.xls", [SheetRows("S", [["a"]]), SheetRows("T", [["b"]])]),
    ]
    outcome = result(
        [
            finding(1, "hold", [at("A2", "loom", "a/loom.csv"), at("2", "loom", "b/loom.csv")]),
            finding(2, "note", [at("A1", "T", "old.xls")]),
        ],
        file="a/loom.csv",
        sheet="loom",
    )
    paths = write_redline(outcome, sources, tmp_path)
    assert [path.name for path in paths] == ["loom.redline.xlsx", "old.redline.xlsx"]
    texts, old = (openpyxl.load_workbook(path) for path in paths)
    assert texts.sheetnames == ["loom", "loom 2", "Findings", "Assumptions", "Coverage"]
    assert texts["loom"]["A2"].value == "=1+1"
    assert texts["loom"]["A2"].data_type != "f"
    assert texts["loom"]["A2"].fill.patternType == "solid"
    assert (texts["loom 2"]["B2"].value, texts["loom 2"]["C2"].value) == ("x", 5)
    assert texts["loom 2"]["B2"].fill.patternType == "solid"
    assert old.sheetnames[:2] == ["S", "T"]
    assert old["T"]["A1"].fill.patternType == "gray0625"
    said = [c.value for r in texts["Findings"].iter_rows() for c in r if isinstance(c.value, str)]
    assert "old.xls, T A1" in said
    assert any("Findings in other lists" in text for text in said)


def test_a_source_is_never_written_over(tmp_path: Path) -> None:
    first = rich_workbook(tmp_path / "loom.xlsx")
    second = rich_workbook(tmp_path / "loom.redline.xlsx")
    kept = {path: path.read_bytes() for path in (first, second)}
    sources = [RedlineSource(path.name, path, None) for path in (first, second)]
    paths = write_redline(result(FINDINGS), sources, tmp_path)
    assert [path.name for path in paths] == ["loom-2.redline.xlsx", "loom.redline.redline.xlsx"]
    assert {path: path.read_bytes() for path in kept} == kept


def test_two_lists_with_one_stem(tmp_path: Path) -> None:
    sources = [
        RedlineSource("a.xls", tmp_path / "a.xls", [SheetRows("S", [["a"]])]),
        RedlineSource("a.ods", tmp_path / "a.ods", [SheetRows("S", [["b"]])]),
    ]
    paths = write_redline(result([]), sources, tmp_path)
    assert [path.name for path in paths] == ["a.redline.xlsx", "a-2.redline.xlsx"]


def test_notes_stop_at_their_limit_and_the_sheet_says_so(tmp_path: Path) -> None:
    count = MOST_NOTES + 50
    rows = [[f"W{row}"] for row in range(count)]
    findings = [
        finding(n, "hold" if n >= count - 10 else "note", [at(f"A{n + 1}", "list", "list.csv")]) for n in range(count)
    ]
    source = RedlineSource("list.csv", tmp_path / "list.csv", [SheetRows("list", rows)])
    (path,) = write_redline(result(findings, file="list.csv", sheet="list"), [source], tmp_path)
    book = openpyxl.load_workbook(path)
    cells = [book["list"].cell(row, 1) for row in range(1, count + 1)]
    assert sum(cell.comment is not None for cell in cells) == MOST_NOTES
    assert all(cell.comment is not None for cell in cells[-10:])
    assert all(cell.fill.patternType and cell.hyperlink for cell in cells)
    said = [row[0].value for row in book["Findings"].iter_rows(max_row=8)]
    assert any(str(text).startswith("4,050 cells are marked. The first 4,000") for text in said)


def test_many_places_and_findings_on_one_cell(tmp_path: Path) -> None:
    places = [at(f"A{row}", "list", "list.csv") for row in range(1, 61)]
    findings = [finding(n, "query", [places[0], *places[n + 1 :]]) for n in range(30)]
    source = RedlineSource("list.csv", tmp_path / "list.csv", [SheetRows("list", [[dt.date(2024, 1, 1)]] * 60)])
    (path,) = write_redline(result(findings, file="list.csv", sheet="list"), [source], tmp_path)
    book = openpyxl.load_workbook(path)
    assert book["list"]["A1"].comment.text.endswith("And 24 more: see the sheet Findings.")
    assert book["list"]["A60"].fill.patternType == "lightUp"
    said = [c.value for r in book["Findings"].iter_rows() for c in r if isinstance(c.value, str)]
    assert "– and 39 more places, each marked in its sheet" in said


def failing(code: int) -> Callable[..., Any]:
    def fail(*args: object, **kwargs: object) -> Any:
        raise OSError(code, os.strerror(code))

    return fail


@pytest.mark.parametrize("call", ["replace", "fsync", "fdopen", "open"])
@pytest.mark.parametrize(
    ("code", "words"),
    [(errno.ENOSPC, "disk is full"), (errno.EACCES, "not permitted"), (errno.EROFS, "only be read")],
)
def test_failure_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str, code: int, words: str
) -> None:
    source = RedlineSource("list.csv", tmp_path / "list.csv", [SheetRows("list", [["a"]])])
    monkeypatch.setattr(os, call, failing(code))
    with pytest.raises(OutputError, match=words) as caught:
        write_redline(result([]), [source], tmp_path)
    monkeypatch.undo()
    assert "list.redline.xlsx" in str(caught.value)
    assert list(tmp_path.iterdir()) == []


def test_disk_that_fills_while_writing(tmp_path: Path) -> None:
    if not Path("/dev/full").exists():
        pytest.skip("no /dev/full here")
    from harnessdrc.render.outfile import StagedFiles

    def write(out: Any) -> None:
        out.write(b"begun")
        with Path("/dev/full").open("wb", buffering=0) as full:
            full.write(b"x")

    with pytest.raises(OutputError, match="disk is full"), StagedFiles() as staged:
        staged.stage(tmp_path / "a.redline.xlsx", write)
    assert list(tmp_path.iterdir()) == []


def test_earlier_redline_stays_when_the_new_one_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    source = RedlineSource("list.csv", tmp_path / "list.csv", [SheetRows("list", [["a"]])])
    (path,) = write_redline(result([]), [source], tmp_path)
    before = path.read_bytes()
    monkeypatch.setattr(os, "replace", failing(errno.ENOSPC))
    with pytest.raises(OutputError):
        write_redline(result(FINDINGS), [source], tmp_path)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_folder_that_is_not_there(tmp_path: Path) -> None:
    source = RedlineSource("list.csv", tmp_path / "list.csv", [SheetRows("list", [["a"]])])
    with pytest.raises(OutputError, match="folder does not exist"):
        write_redline(result([]), [source], tmp_path / "gone")


def test_source_that_went_away_or_is_damaged(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match=r"loom\.xlsx.*can no longer be read"):
        write_redline(result([]), [RedlineSource("loom.xlsx", tmp_path / "loom.xlsx", None)], tmp_path)
    source = rich_workbook(tmp_path / "loom.xlsx")
    source.write_bytes(source.read_bytes()[:3000])
    with pytest.raises(OutputError, match=r"loom\.xlsx.*cannot be edited"):
        write_redline(result([]), [RedlineSource("loom.xlsx", source, None)], tmp_path)
    assert list(tmp_path.iterdir()) == [source]


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_opens_in_libreoffice(made: tuple[Path, Path], tmp_path: Path) -> None:
    run = subprocess.run(
        [
            "soffice", f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", "--convert-to", "pdf",
            "--outdir", str(tmp_path), str(made[1]),
        ],
        capture_output=True,
        text=True,
        timeout=180,
        check=True,
    )  # fmt: skip
    assert "Error" not in run.stderr + run.stdout
    data = (tmp_path / "loom.redline.pdf").read_bytes()
    assert data.startswith(b"%PDF")
    assert len(data) > 10_000


def test_time_grows_with_the_list(tmp_path: Path) -> None:
    import time

    def seconds(count: int) -> float:
        rows = [[f"W{row}", *range(15)] for row in range(count)]
        findings = [
            finding(n, "query", [at(cell_name(1 + n * 2, n % 16), "list", "list.csv")]) for n in range(count // 2)
        ]
        outcome: Result = result(findings, file="list.csv", sheet="list")
        source = RedlineSource("list.csv", tmp_path / "list.csv", [SheetRows("list", rows)])
        best = 1e9
        for _ in range(2):
            start = time.process_time()
            write_redline(outcome, [source], tmp_path)
            best = min(best, time.process_time() - start)
        return best

    small, large = seconds(4_000), seconds(16_000)
    assert large < 4 * small * 2.5
