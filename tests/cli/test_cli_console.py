"""The summary: findings of one rule that share their remedy told as one, causes with what follows from them."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from pathlib import Path

import pytest
from cli_helpers import csv_list, process, ran

from harnessdrc.cli.output import console
from harnessdrc.engine import thumbprint
from harnessdrc.findings import Grade, Mark
from harnessdrc.places import Place
from harnessdrc.render.console import print_result, summary_line
from harnessdrc.render.console_cells import cells_text
from harnessdrc.render.lines import counted, visible
from harnessdrc.results import (
    AssumptionLine,
    ReadSummary,
    ReportedFinding,
    ReportedUndecided,
    Result,
    RuleOutcome,
    SourceFile,
)


def finding(
    number: int, remedy: str = "Fill in the colour.", rule: str = "colour-given", grade: Grade = "query",
    follows_from: str | None = None, cell: str = "",
) -> ReportedFinding:  # fmt: skip
    subject = ("wire", f"W{number}")
    mark = Mark(Place("loom.xlsx", "Wire list", cell or f"F{number}"), "colour")
    return ReportedFinding(
        rule, "wire.colour_missing", grade, subject, f"Wire W{number} has no colour.", remedy, None, None, "", (mark,),
        {}, follows_from, None, thumbprint(rule, "wire.colour_missing", subject),
    )  # fmt: skip


def result(*findings: ReportedFinding, undecided: tuple[ReportedUndecided, ...] = ()) -> Result:
    rules = {f.rule: f for f in findings}
    return Result(
        "0", (SourceFile("loom.xlsx", "0" * 64),), "engine-loom", "1", (), ReadSummary(9, 9, (), 5, 0, 2),
        tuple(RuleOutcome(r, f.check, f.grade, 5, 1, 0, None, "r", "s", "wires") for r, f in rules.items()),
        findings, undecided, (),
    )  # fmt: skip


def printed(outcome: Result) -> list[str]:
    stream = io.StringIO()
    print_result(outcome, console(stream))
    return stream.getvalue().splitlines()


def test_twenty_with_one_remedy_are_three_and_a_line() -> None:
    lines = printed(result(*(finding(2 * n) for n in range(1, 21))))
    assert sum("has no colour." in line for line in lines) == 3
    assert sum("→ Fill in the colour." in line for line in lines) == 3
    rest = next(line for line in lines if "more alike" in line)
    cells = ", ".join(f"F{2 * n}" for n in range(4, 21))
    assert rest == f"  … and 17 more alike: Wire list {cells}"
    assert "QUERIES: 20  (for the engineer to answer)" in lines


@pytest.mark.parametrize(("number", "full", "folded"), [(1, 1, 0), (5, 5, 0), (6, 3, 3), (7, 3, 4)])
def test_up_to_five_are_told_in_full(number: int, full: int, folded: int) -> None:
    lines = printed(result(*(finding(2 * n) for n in range(1, number + 1))))
    assert sum("has no colour." in line for line in lines) == full
    rest = [line for line in lines if "more alike" in line]
    assert len(rest) == bool(folded)
    assert all(f"… and {folded} more alike: " in line for line in rest)


def test_findings_of_two_rules_are_never_one() -> None:
    """The same remedy under another rule is another matter."""
    lines = printed(result(*(finding(n) for n in range(1, 5)), *(finding(n, rule="size-given") for n in range(11, 15))))
    assert sum("has no colour." in line for line in lines) == 8
    assert not any("more alike" in line for line in lines)


def test_each_remedy_of_a_rule_is_told() -> None:
    """Three that differ stay in full between many that are alike."""
    many = [finding(n) for n in range(1, 31, 2)]
    others = [finding(100 + n, remedy=f"Ask for W{n}.") for n in range(3)]
    lines = printed(result(*many[:5], *others, *many[5:]))
    assert sum("has no colour." in line for line in lines) == 6
    assert all(f"      → Ask for W{n}." in lines for n in range(3))
    assert any("… and 12 more alike: " in line for line in lines)


def test_many_of_a_rule_with_a_remedy_each_are_cut_with_their_cells() -> None:
    lines = printed(result(*(finding(2 * n, remedy=f"Do {n}.") for n in range(1, 31))))
    assert sum("→ Do " in line for line in lines) == 12
    rest = next(line for line in lines if "more of this rule" in line)
    assert rest.startswith("  … and 18 more of this rule: Wire list F26, F28, ")
    assert rest.endswith("F60")


def test_no_rule_hides_another_one() -> None:
    """Ten thousand queries of one rule, and the one of the next rule is still told."""
    many = [finding(2 * n, remedy=f"Do {n}.") for n in range(1, 10_001)]
    lines = printed(result(*many, finding(7, rule="size-given", remedy="Measure it.")))
    assert "      → Measure it." in lines
    assert "QUERIES: 10,001  (for the engineer to answer)" in lines
    rest = next(line for line in lines if "more of this rule" in line)
    assert "9,948 more in the redline" in rest
    assert len(rest) < 1000


def test_what_follows_stands_with_its_cause() -> None:
    cause = finding(1, rule="one-earth-point", grade="hold", remedy="Move it.")
    following = [finding(n, rule="offset", follows_from=cause.thumbprint) for n in range(10, 22)]
    lines = printed(result(cause, *following))
    assert "ON HOLD: 1  (do not build until these are settled)" in lines
    names = ", ".join(f"W{n}" for n in range(10, 18))
    assert f"      with it: 12 more that follow from this ({names}, …)" in lines
    assert " 12 of them follow from others and stand with their cause." in lines
    assert sum("has no colour." in line for line in lines) == 1


def test_what_follows_from_something_not_told_is_told_itself() -> None:
    cause = finding(1, rule="one-earth-point", grade="hold", follows_from=finding(2, rule="strap").thumbprint)
    second = finding(3, rule="offset", follows_from=cause.thumbprint)
    third = finding(4, rule="reading", follows_from=second.thumbprint)
    lines = printed(result(cause, second, third))
    assert sum("has no colour." in line for line in lines) == 1
    assert any("with it: 2 more that follow from this (W3, W4)" in line for line in lines)


def test_causes_that_go_round_are_all_told() -> None:
    one, two = finding(1, rule="a"), finding(2, rule="b")
    lines = printed(result(replace(one, follows_from=two.thumbprint), replace(two, follows_from=one.thumbprint)))
    assert sum("has no colour." in line for line in lines) == 2


def test_what_is_measured_stands_beside_the_limit() -> None:
    one = replace(finding(1), message="The feed drops.", measured=841.73, limit=500.0, unit="mV")
    assert "  Wire list F1  The feed drops (841.7 mV, limit 500 mV)." in printed(result(one))
    said = replace(finding(1), message="It drops 842 mV (limit 500 mV).", measured=841.73, limit=500.0, unit="mV")
    assert "  Wire list F1  It drops 842 mV (limit 500 mV)." in printed(result(said))
    counted_only = replace(finding(1), measured=2.0, limit=1.0)
    assert "  Wire list F1  Wire W1 has no colour." in printed(result(counted_only))


def test_undecided_subjects_with_what_they_need() -> None:
    def open_question(number: int) -> ReportedUndecided:
        mark = Mark(Place("loom.xlsx", "Wire list", f"G{number}"), "size")
        return ReportedUndecided(
            "feed-drop",
            "feed.voltage_drop",
            "query",
            ("component", f"L{number}"),
            (f"size of wire W{number}",),
            (mark,),
        )

    lines = printed(result(undecided=tuple(open_question(n) for n in range(1, 12))))
    assert "NOT DECIDED: 11  (what is lacking would decide it)" in lines
    assert "  L1: needs size of wire W1  [Wire list G1]" in lines
    assert "  … and 7 more, which need: size (7)" in lines
    five = printed(result(undecided=tuple(open_question(n) for n in range(1, 6))))
    assert sum(": needs " in line for line in five) == 5
    assert not any("more, which need" in line for line in five)


def test_guesses_and_cells_not_understood_are_counted() -> None:
    lines = (
        AssumptionLine("kind", "FAN", "fan", "words", None, 1),
        AssumptionLine("not understood", "x", "", "", None, 1),
    )
    account = printed(replace(result(), assumptions=lines))[1]
    assert account == "9 of 9 rows used, 1 assumption made, 1 cell not understood; 'harnessdrc read' shows them."
    assert printed(result())[1] == "9 of 9 rows used."


def test_the_summary_counts_what_is_left() -> None:
    line = summary_line(
        result(finding(1, grade="hold"), finding(2), replace(finding(3, grade="hold"), concession="C1"))
    )
    assert line == (
        "5 wires, 2 components, 1 rule: 1 on hold, 1 to query, 0 to note, 0 not decided, 1 accepted by concession"
    )


@pytest.mark.parametrize(
    ("cells", "text"),
    [
        (["D7"], "Power D7"),
        (["D7", "D8", "D9", "F9", "F11"], "Power D7–D9, F9, F11"),
        (["4"], "Power row 4"),
        (["4", "5", "6", "9"], "Power rows 4–6, 9"),
        (["4", "6", "D6", "8"], "Power rows 4, 6, D6, row 8"),
        (["A", "oddly"], "Power A, oddly"),
        (["D7", "D7", "D8"], "Power D7–D8"),
        (["D9", "D8"], "Power D9, D8"),
        (["AA10", "AB11"], "Power AA10, AB11"),
        ([""], "Power"),
    ],
)
def test_cells_in_few_words(cells: list[str], text: str) -> None:
    assert cells_text((Place("loom.xlsx", "Power", cell) for cell in cells), True) == text


def test_sheets_and_files_are_named_once() -> None:
    places = [
        Place("a.xlsx", "Loom", "B2"), Place("a.xlsx", "Loom", "C9"), Place("a.xlsx", "Pins", "C9"),
        Place("wires.csv", "wires", "D4"), Place("sub/wires.csv", "wires", "D4"),
    ]  # fmt: skip
    assert cells_text(places, False) == "a.xlsx Loom B2, C9; a.xlsx Pins C9; wires.csv D4; sub/wires.csv D4"
    assert cells_text(places[:3], True) == "Loom B2, C9; Pins C9"
    assert cells_text(places[3:4], True) == "D4"
    assert cells_text(places, False, most=2) == "a.xlsx Loom B2, C9 and 3 more in the redline"


def test_visible_text() -> None:
    assert visible("plain Öl → µ² 配線 👩\u200d🔧") == "plain Öl → µ² 配線 👩\u200d🔧"
    assert visible("a\x1b[31m\nb\tc\x07\x7f\x9b") == "a␛[31m b c␇␡�"
    assert visible("x\u202ey\ud800\u2028z") == "x�y� z"
    assert counted(1, "row") == "1 row"
    assert counted(1204, "branch", "branches") == "1,204 branches"


def test_a_pipe_gets_plain_whole_lines(tmp_path: Path) -> None:
    """No escape sequence, no line cut or wrapped, whatever the width of a terminal would be; no bar."""
    name = "A connector with a very long name indeed " * 8
    rows = [(f"W{n}", name.strip(), "1", f"Plug {n}", "1", "BU", "0.5") for n in range(2)]
    source = csv_list(tmp_path / "loom.csv", rows)
    outcomes = []
    for env in (
        {},
        {"COLUMNS": "40"},
        {"FORCE_COLOR": "1"},
        {"NO_COLOR": "1"},
        {"TERM": "dumb"},
        {"CLICOLOR_FORCE": "1"},
    ):
        done = process("check", source, env=env)
        assert done.returncode == 1
        assert done.stderr == b""
        assert b"\x1b" not in done.stdout and b"\r" not in done.stdout
        outcomes.append(done.stdout.decode("utf-8"))
    assert len(set(outcomes)) == 1
    line = next(line for line in outcomes[0].splitlines() if "holds 2 wires" in line)
    assert re.fullmatch(r"  C3, C2  Cavity " + re.escape(name.strip()) + r" 1 holds 2 wires: W0, W1\.", line) or (
        line == f"  C2–C3  Cavity {name.strip()} 1 holds 2 wires: W0, W1."
    ), line


def test_a_csv_needs_no_sheet_in_its_cells(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = [("W1", "ECU", "1", "X1", "1", "", "0.5"), ("W2", "ECU", "2", "X1", "2", "BU", "0.5")]
    one = csv_list(tmp_path / "loom.csv", rows)
    assert "  F2  Wire W1 has no colour." in ran(capsys, "check", one).out.splitlines()
    two = csv_list(tmp_path / "rear.csv", [("W9", "Tail", "1", "X9", "1", "BU", "0.5")])
    assert "  loom.csv F2  Wire W1 has no colour." in ran(capsys, "check", one, two).out.splitlines()
