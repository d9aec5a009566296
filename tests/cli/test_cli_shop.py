"""``shop``: its outputs, its exit codes, what it says, and what it never writes over."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from cli_helpers import FAULTY, assert_refused, contents, csv_list, process, ran, workbook

from harnessdrc.api import shop_papers

PINS = "Connector,Cavity,Signal\n" + "".join(f"{name},{n},Lamp {n}\n" for name in ("ECU", "Dash plug") for n in (1, 2, 3))
HEADINGS = ("Wire", "From", "From cavity", "To", "To cavity", "Colour", "Size (mm²)", "Length (mm)", "Insulation", "Signal")
WHOLE = tuple(
    (f"W{n}", "ECU", str(n), "Dash plug", str(n), colour, "0.5", "850", "FLR2X-B", f"Lamp {n}")
    for n, colour in enumerate(("BU", "GN", "WH"), 1)
)


@pytest.fixture
def whole(tmp_path: Path) -> tuple[Path, Path]:
    """A list whose papers lack nothing."""
    pins = tmp_path / "pins.csv"
    pins.write_text(PINS, encoding="utf-8")
    return csv_list(tmp_path / "loom.csv", WHOLE, HEADINGS), pins


def readings(path: Path) -> list[tuple[str, str]]:
    """Sheet and cell of every place to write a reading in the test sheets of a workbook."""
    book = openpyxl.load_workbook(path)
    found = []
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, str) and cell.value.startswith("Measured ("):
                    found.append((sheet.title, sheet.cell(cell.row + 1, cell.column).coordinate))
    return found


def test_whole_papers_leave_with_0(whole: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    result = ran(capsys, "shop", *whole, "--out", tmp_path / "papers")
    assert (result.code, result.err) == (0, "")
    assert sorted(path.name for path in (tmp_path / "papers").iterdir()) == ["loom.papers.html", "loom.papers.xlsx"]
    assert "3 wires, 2.6 m to cut of 3 cables" in result.out
    assert "INCOMPLETE" not in result.out and "ON HOLD" not in result.out
    assert result.out.splitlines()[-1].startswith("Papers complete: 0 on hold")


def test_without_a_folder_the_papers_stand_beside_the_list(whole: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    assert ran(capsys, "shop", *whole).code == 0
    assert {path.name for path in whole[0].parent.glob("*.papers.*")} == {"loom.papers.html", "loom.papers.xlsx"}


def test_papers_are_named_after_the_file_with_wires(whole: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    assert ran(capsys, "shop", *reversed(whole)).code == 0
    assert (whole[0].parent / "loom.papers.xlsx").is_file()


def test_a_gap_leaves_with_1_and_is_told(whole: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    whole[0].write_text(whole[0].read_text(encoding="utf-8").replace("0.5,850", "0.5,", 1), encoding="utf-8")
    result = ran(capsys, "shop", *whole, "--out", tmp_path / "papers")
    assert result.code == 1
    sentence = "1 wire without length, not to be cut yet and in no total: W1 (loom.csv H2)."
    assert sentence in result.out
    assert result.out.splitlines()[-1].startswith("Papers incomplete:")
    html = (tmp_path / "papers" / "loom.papers.html").read_text(encoding="utf-8")
    assert "1 wire without length" in html
    book = openpyxl.load_workbook(tmp_path / "papers" / "loom.papers.xlsx")
    first = [str(cell.value) for row in book.worksheets[0].iter_rows() for cell in row if cell.value is not None]
    assert any("1 wire without length" in text for text in first)


def test_something_on_hold_leaves_with_1_and_the_papers_are_made(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    result = ran(capsys, "shop", workbook(tmp_path / "loom.xlsx", FAULTY))
    assert result.code == 1
    assert "ON HOLD: 1" in result.out
    assert (tmp_path / "loom.papers.xlsx").is_file()


def test_wires_of_options_are_named(whole: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    rows = [(*row, option) for row, option in zip(WHOLE, ("winter", "", "tow bar"), strict=True)]
    csv_list(whole[0], rows, (*HEADINGS, "Option"))
    assert "Wires of options are all in: tow bar, winter." in ran(capsys, "shop", *whole).out


def test_a_given_value_reaches_the_cut_list(whole: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    assert "2.7 m to cut" in ran(capsys, "shop", *whole, "--given", "cut_allowance_mm=25").out
    assert_refused(ran(capsys, "shop", *whole, "--given", "cut_allowance_mm=-5"), "cut_allowance_mm", "from 0")
    assert_refused(ran(capsys, "shop", *whole, "--given", "reel_m=0"), "reel_m", "above 0")


@pytest.mark.parametrize("arguments", [["nowhere.xlsx"], ["loom.csv", "--mapping", "nowhere.toml"], ["loom.csv", "--out", ""]])
def test_input_that_cannot_be_used_leaves_with_2_and_writes_nothing(
    whole: tuple[Path, Path], arguments: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(whole[0].parent)
    before = contents(whole[0].parent)
    assert_refused(ran(capsys, "shop", *arguments))
    assert contents(whole[0].parent) == before


def test_a_list_without_wires_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "fuses.csv"
    path.write_text("Fuse,Rating (A)\nF1,10\nF2,15\n", encoding="utf-8")
    assert_refused(ran(capsys, "shop", path), "neither a wire list nor a pin list")


def test_a_check_that_crashes_leaves_with_3(whole: tuple[Path, Path], tmp_path: Path) -> None:
    package = tmp_path / "crashing"
    package.mkdir()
    (package / "__init__.py").write_text(
        "from harnessdrc.checks.registry import check\n"
        "@check('crashing.always', counts='wires', subjects=lambda design, limits: [('wire', 'W1')], reads=('wire',), "
        "says={'': 'x'}, remedy={'': 'y'})\n"
        "def always(design, limits):\n"
        '    """Always fails.\n\n    Why it matters: test.\n    Reads: wire.\n    Decides: nothing.\n'
        '    Stays silent when: never.\n    Source: none.\n    """\n'
        "    raise ValueError('no')\n    yield\n",
        encoding="utf-8",
    )
    ruleset = tmp_path / "own.toml"
    ruleset.write_text(
        'name = "own"\nissue = "1"\ntitle = "own"\nbased_on = "engine-loom"\n[packages]\nchecks = ["crashing"]\n'
        '[rule.always]\ncheck = "crashing.always"\ngrade = "note"\nreason = "Test."\nsource = "test"\n',
        encoding="utf-8",
    )
    done = process(
        "shop", *whole, "--ruleset", ruleset, "--allow-checks", "crashing", env={"PYTHONPATH": str(tmp_path)}
    )
    assert done.returncode == 3, done
    assert "Rule always failed to run" in done.stdout.decode()
    assert (tmp_path / "loom.papers.html").is_file()


def test_filled_in_test_sheets_are_never_written_over(whole: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    assert ran(capsys, "shop", *whole).code == 0
    assert ran(capsys, "shop", *whole).code == 0  # papers that nobody has filled in are made anew
    papers = whole[0].parent / "loom.papers.xlsx"
    sheet, cell = readings(papers)[0]
    book = openpyxl.load_workbook(papers)
    book[sheet][cell] = 33.1
    book.save(papers)
    before = contents(papers.parent)
    assert_refused(ran(capsys, "shop", *whole), "loom.papers.xlsx", "1 reading", "rename")
    assert contents(papers.parent) == before
    assert ran(capsys, "shop", *whole, "--out", papers.parent / "again").code == 0


def test_papers_are_never_written_over_a_list(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    csv_list(tmp_path / "loom.csv", WHOLE, HEADINGS)
    other = workbook(tmp_path / "loom.papers.xlsx")
    before = contents(tmp_path)
    assert_refused(ran(capsys, "shop", tmp_path / "loom.csv", other), "loom.papers.xlsx", "papers made from a list")
    assert contents(tmp_path) == before


def test_the_same_list_gives_the_same_bytes(whole: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for folder in ("one", "other"):
        assert ran(capsys, "shop", *whole, "--out", tmp_path / folder).code == 0
    assert contents(tmp_path / "one") == contents(tmp_path / "other")


def test_the_api_gives_what_the_command_line_writes(whole: tuple[Path, Path]) -> None:
    papers, result = shop_papers(list(whole))
    assert papers.name == "loom"
    assert [line.wire for line in papers.cut] == ["W1", "W2", "W3"]
    assert (papers.on_hold, papers.queries, papers.undecided) == (
        result.count("hold"), result.count("query"), len(result.undecided),
    )  # fmt: skip
    assert papers.sources == result.sources
    assert len(papers.issue_mark) == 12 and int(papers.issue_mark, 16) >= 0
