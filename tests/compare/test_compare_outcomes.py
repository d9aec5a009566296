"""What the rules say of two issues: findings new, carried over and gone, offsets, whole lists with their rows shuffled.

Expected values are worked out beside them or are the tool's own figures of each issue alone; no outside source.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from pathlib import Path

import pytest
from compare_made import HEAD, Tables, checked, told, wires

from harnessdrc.api import load_rules, open_and_read
from harnessdrc.compare import Issue, compare_issues
from harnessdrc.compare.numbers import share_of_limit
from harnessdrc.compare.outcomes import Followed, trend_of
from harnessdrc.comparison import Comparison
from harnessdrc.design import design_of
from harnessdrc.engine import given_numbers, run
from harnessdrc.findings import Subject
from harnessdrc.intake.folders import files_of_list
from harnessdrc.results import ReportedFinding

SAMPLES = Path(__file__).parents[2] / "sample_wirelists"
REAL = Path(__file__).parents[3] / "shared" / "real_wirelists"

CLEAN = (
    ("W1", "ECU", "1", "PANEL", "1", "BU", 0.5, 850, "Lamp 1"), ("W2", "ECU", "2", "PANEL", "2", "GN", 0.5, 850, "Lamp 2"),
    ("W3", "ECU", "3", "PANEL", "3", "WH", 0.5, 850, "Lamp 3"),
)  # fmt: skip
TWO_IN_ONE = ("W4", "ECU", "3", "PANEL", "4", "YE", 0.5, 850, "Lamp 4")
"""Cavity 3 of the ECU holds two wires."""
ONE_END = ("W5", "ECU", "5", None, None, "YE", 0.5, 850, "Lamp 5")


def both(old: Tables, new: Tables) -> Comparison:
    """Two issues with what the rules say."""
    return compare_issues(checked(old), checked(new))


def subjects(comparison: Comparison, trend: str, rule: str) -> list[tuple[Subject | None, Subject | None]]:
    """Subjects of the findings of a rule that went on so, in both issues."""
    return [
        (change.before and change.before.subject, change.after and change.after.subject)
        for change in comparison.findings
        if change.trend == trend and change.finding.rule == rule
    ]


def test_a_finding_that_comes_is_new_and_one_that_goes_is_gone() -> None:
    before, after = wires(*CLEAN, ONE_END), wires(*CLEAN, TWO_IN_ONE)
    comparison = both(before, after)
    assert subjects(comparison, "new", "one-wire-per-cavity") == [(None, ("cavity", "ECU 3"))]
    assert subjects(comparison, "gone", "two-ends") == [(("wire", "W5"), None)]
    back = both(after, before)
    assert subjects(back, "gone", "one-wire-per-cavity") == [(("cavity", "ECU 3"), None)]
    assert subjects(back, "new", "two-ends") == [(None, ("wire", "W5"))]


def test_the_finding_of_a_renamed_wire_is_carried_over() -> None:
    comparison = both(wires(*CLEAN, ONE_END), wires(*CLEAN, ("N7", *ONE_END[1:])))
    assert subjects(comparison, "same", "two-ends") == [(("wire", "W5"), ("wire", "N7"))]
    assert all(change.trend == "same" for change in comparison.findings)


def test_findings_of_wires_that_exchange_their_numbers_go_with_the_wires() -> None:
    exchanged = (("W5", *CLEAN[0][1:]), *CLEAN[1:], ("W1", *ONE_END[1:]))
    comparison = both(wires(*CLEAN, ONE_END), wires(*exchanged))
    assert subjects(comparison, "same", "two-ends") == [(("wire", "W5"), ("wire", "W1"))]


def test_the_finding_of_a_renamed_connector_is_carried_over() -> None:
    before = wires(*CLEAN, TWO_IN_ONE)
    after = {"Wires": [[("ECM" if cell == "ECU" else cell) for cell in row] for row in before["Wires"]]}
    comparison = both(before, after)
    assert subjects(comparison, "same", "one-wire-per-cavity") == [(("cavity", "ECU 3"), ("cavity", "ECM 3"))]


def test_names_are_followed_as_whole_words_and_only_where_they_must() -> None:
    followed = Followed({"1": "2", "W3": "W3"}, {"ECU-A": "ECM-A", "v1.xlsx": "v2.xlsx"})
    assert followed.candidates(("wire", "1")) == (("wire", "2"),)
    assert followed.candidates(("wire", "W3")) == (("wire", "W3"),)
    assert followed.candidates(("crimp", "1 + W3 at ECU-A 11"))[1] == ("crimp", "2 + W3 at ECM-A 11")
    assert followed.candidates(("connector", "ECU-A")) == (("connector", "ECM-A"),)
    assert followed.candidates(("connector", "ECU-AB")) == (("connector", "ECU-AB"),)
    spoken = Followed({"ECU 1 – INJ 2": "ECU 1 – INJ 3", "1": "2", "2": "1"}, {})
    assert spoken.candidates(("crimp", "ECU 1 – INJ 2, 2 + 1 at SP1"))[1] == ("crimp", "ECU 1 – INJ 3, 1 + 2 at SP1")
    assert followed.candidates(("column", "colour of v1.xlsx Wires"))[1] == ("column", "colour of v2.xlsx Wires")


def finding(measured: float | None, limit: float | None, unit: str = "mV") -> ReportedFinding:
    return ReportedFinding(
        "r", "c", "hold", ("wire", "W1"), "", "", measured, limit, unit, (), {}, None, None, "0" * 16
    )


@pytest.mark.parametrize(
    ("before", "after", "trend"),
    [
        (finding(60, 50), finding(70, 50), "worse"), (finding(70, 50), finding(60, 50), "better"),
        (finding(60, 50), finding(60.2, 50), "same"),  # 0.4 % of the limit
        (finding(60, 50), finding(60.3, 50), "worse"),  # 0.6 %
        (finding(-60, -50), finding(-70, -50), "worse"), (finding(5, 10), finding(4, 10), "worse"),
        (finding(4, 10), finding(5, 10), "better"), (finding(60, 50), finding(60, 40), "worse"),
        (finding(None, None), finding(None, None), "same"), (finding(3, None), finding(4, None), "worse"),
        (finding(60, 50, "mV"), finding(90, 50, "A"), "same"),
    ],
)  # fmt: skip
def test_worse_is_further_beyond_the_limit_on_whichever_side(
    before: ReportedFinding, after: ReportedFinding, trend: str
) -> None:
    assert trend_of(before, after) == trend


# ---------------------------------------------------------------------- whole lists
def read(paths: Sequence[Path], shuffled: int | None = None) -> Issue:
    """A list of files as checked, with the rows of each of its tables in another order where that is asked for."""
    checks, rules = load_rules("engine-loom")
    _, reading = open_and_read(paths)
    if shuffled is not None:
        tables = tuple(
            dataclasses.replace(table, frame=table.frame.sample(frac=1, random_state=shuffled).reset_index(drop=True))
            for table in reading.tables
        )
        reading = dataclasses.replace(reading, tables=tables)
    design = design_of(reading, given_numbers(rules), rules.states)
    return Issue(design, run(design, rules, checks, reading))


def assert_no_difference(comparison: Comparison) -> None:
    assert told(comparison) == set()
    assert [change for change in comparison.findings if change.trend != "same"] == []
    assert comparison.columns == () and comparison.undecided == () and not comparison.differs
    assert all(
        change.before is not None and change.after is not None
        and change.after.peak_mv == pytest.approx(change.before.peak_mv, rel=1e-6, abs=1e-6)
        for change in comparison.offsets
    )  # fmt: skip
    assert all(total.before == pytest.approx(total.after, rel=1e-12) for total in comparison.totals)


@pytest.mark.parametrize("name", ["clean/hill_climb_single_seater", "clean/rescue_boat_v8", "faulty/rescue_boat_v8"])
def test_a_list_and_itself_with_its_rows_shuffled_have_no_difference(name: str) -> None:
    paths = [SAMPLES / f"{name}.xlsx"]
    straight = read(paths)
    for seed in (1, 2):
        comparison = compare_issues(straight, read(paths, shuffled=seed))
        assert len(comparison.findings) == len(straight.result.findings)
        assert_no_difference(comparison)


@pytest.mark.skipif(not REAL.is_dir(), reason="the lists of real looms are not beside the repository")
def test_real_lists_with_their_rows_shuffled_have_no_difference() -> None:
    for folder in sorted(path for path in REAL.iterdir() if path.is_dir()):
        paths = files_of_list(folder)
        assert_no_difference(compare_issues(read(paths), read(paths, shuffled=3)))


@pytest.fixture(scope="module")
def boats() -> tuple[Issue, Issue]:
    """The clean boat, and the one with planted faults."""
    clean, faulty = (read([SAMPLES / kind / "rescue_boat_v8.xlsx"]) for kind in ("clean", "faulty"))
    return clean, faulty


def test_exchanging_the_issues_exchanges_all_that_is_told(boats: tuple[Issue, Issue]) -> None:
    there, back = compare_issues(*boats), compare_issues(*reversed(boats))
    assert told(there) and {(e, o, n) for _, e, o, n, *_ in told(there)} == {
        ({"added": "removed", "removed": "added"}.get(str(e), e), n, o) for _, e, o, n, *_ in told(back)
    }
    assert there.trends("new") == back.trends("gone") > 0 and there.trends("same") == back.trends("same")
    assert [(t.before, t.after) for t in there.totals] == [(t.after, t.before) for t in back.totals]


def test_every_finding_of_both_issues_is_told_once(boats: tuple[Issue, Issue]) -> None:
    comparison = compare_issues(*boats)
    before = [id(change.before) for change in comparison.findings if change.before]
    after = [id(change.after) for change in comparison.findings if change.after]
    assert sorted(before) == sorted(map(id, boats[0].result.findings))
    assert sorted(after) == sorted(map(id, boats[1].result.findings))


def test_offsets_of_both_issues_stand_side_by_side(boats: tuple[Issue, Issue]) -> None:
    comparison = compare_issues(*boats)
    assert comparison.states == tuple(state.name for state in boats[0].result.network.states)
    told_before = {id(change.before) for change in comparison.offsets if change.before}
    assert told_before == set(map(id, boats[0].result.network.offsets))
    first = comparison.offsets[0]
    assert first.line.victim == ("component", "ECT") and first.before is not None and first.after is not None
    assert len(first.before.peak_mv) == len(comparison.states)
    assert abs(first.share_after or 0) > 1 > abs(first.share_before or 0)
    sizes = [round(abs((c.share_after or 0) - (c.share_before or 0)), 9) for c in comparison.offsets]
    assert sizes == sorted(sizes, reverse=True)


def test_the_share_of_the_limit_is_that_of_the_side_it_lies_on(boats: tuple[Issue, Issue]) -> None:
    line = boats[1].result.network.offsets[0]
    made = dataclasses.replace(line, peak_mv=(-30.0,), worst=0, low_limit_mv=-40.0, high_limit_mv=10.0)
    assert share_of_limit(made) == 0.75
    assert share_of_limit(dataclasses.replace(made, low_limit_mv=None)) is None


def test_the_accounts_are_those_of_the_results(boats: tuple[Issue, Issue]) -> None:
    comparison = compare_issues(*boats)
    for account, issue in zip((comparison.old, comparison.new), boats, strict=True):
        assert (account.hold, account.undecided) == (issue.result.count("hold"), len(issue.result.undecided))
        assert account.wires == len(issue.design.harness.wires)


def test_the_same_files_are_said_to_be_the_same() -> None:
    one, other = (read([SAMPLES / "clean" / "hill_climb_single_seater.xlsx"]) for _ in range(2))
    comparison = compare_issues(one, other)
    assert not comparison.differs
    assert comparison.remarks[0] == "Both issues are the same files, byte for byte."


def test_the_headings_of_these_lists_are_read() -> None:
    assert set(HEAD) >= {"Wire", "From", "To"} and len(checked(wires(*CLEAN)).design.harness.wires) == 3
