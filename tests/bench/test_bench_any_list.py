"""Papers of any list: every wire once, every cavity once, nothing that hangs on the order of the rows."""

from __future__ import annotations

import csv
import io
import math
import os
from collections import Counter
from dataclasses import dataclass
from random import Random

import pytest
from bench_lists import papers_of_text, without_places
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from harnessdrc.papers import Papers

EXAMPLES = int(os.environ.get("HARNESSDRC_EXAMPLES", "150")) // 3

HEAD = (
    "Wire", "From", "From cavity", "To", "To cavity", "Colour", "Size (mm²)", "Length (mm)", "Signal", "Twist group",
    "Branch", "Insulation", "From terminal", "To terminal", "Option",
)  # fmt: skip
DEVICES = ("ECU-A", "ECU-B", "X1", "COIL1", "Lamp 2", "F3", "Relay K1")
COMMON = ("SP1", "SP2", "Head stud")


@dataclass(frozen=True)
class Made:
    """A list made up, row by row."""

    rows: tuple[tuple[str, ...], ...]

    def text(self, order: list[int] | None = None) -> str:
        out = io.StringIO()
        rows = [self.rows[at] for at in order] if order is not None else list(self.rows)
        csv.writer(out).writerows([HEAD, *rows])
        return out.getvalue()

    def cavities(self) -> dict[tuple[str, str], Counter[str]]:
        """Wires by device and cavity."""
        found: dict[tuple[str, str], Counter[str]] = {}
        for row in self.rows:
            for item, cavity in ((row[1], row[2]), (row[3], row[4])):
                if cavity:
                    found.setdefault((item, cavity), Counter())[row[0]] += 1
        return found


@st.composite
def ends(draw: st.DrawFn) -> tuple[str, str]:
    kind = draw(st.sampled_from(("cavity",) * 6 + ("common", "common", "open")))
    if kind == "open":
        return "open", ""
    if kind == "common":
        return draw(st.sampled_from(COMMON)), ""
    return draw(st.sampled_from(DEVICES)), draw(st.sampled_from(("1", "2", "3", "10", "A", "a", "30", "87")))


@st.composite
def made_lists(draw: st.DrawFn) -> Made:
    rows = []
    for number in range(draw(st.integers(3, 14))):
        one = draw(ends().filter(lambda end: end[0] != "open"))
        other = draw(ends().filter(lambda end, one=one: end != one))  # type: ignore[misc]
        blank = st.just("")
        rows.append(
            (
                f"W{number + 1}", *one, *other,
                draw(st.sampled_from(("RD", "BK", "WH/GN", ""))),
                draw(st.sampled_from(("0.5", "1", "2.5", "18 AWG", ""))),
                draw(st.one_of(blank, st.integers(20, 4000).map(str))),
                draw(st.sampled_from(("Lamp", "Feed", ""))),
                draw(st.sampled_from(("T1", "T2", "", "", ""))),
                draw(st.sampled_from(("MAIN", "ENG", ""))),
                draw(st.sampled_from(("FLR", "TXL", ""))),
                draw(st.sampled_from(("T-1", "R-6", ""))),
                draw(st.sampled_from(("T-1", "bare", ""))),
                draw(st.sampled_from(("winter", "", ""))),
            )
        )  # fmt: skip
    return Made(tuple(rows))


def told_cavities(papers: Papers) -> dict[tuple[str, str], Counter[str]]:
    found: dict[tuple[str, str], Counter[str]] = {}
    for sheet in papers.connectors:
        for line in sheet.cavities:
            if line.cavity:
                assert (sheet.name, line.cavity) not in found
                found[sheet.name, line.cavity] = Counter(line.wires)
    return found


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
@given(made_lists())
def test_nothing_is_lost_and_nothing_stands_twice(made: Made) -> None:
    papers = papers_of_text(wires=made.text())
    names = [row[0] for row in made.rows]
    assert sorted(line.wire for line in papers.cut) == sorted(names)
    assert told_cavities(papers) == made.cavities()
    labels = Counter(label.subject[1] for label in papers.labels if label.subject[0] == "wire")
    assert labels == dict.fromkeys(names, 2)
    codes = {label.code for label in papers.labels if label.subject[0] == "wire"}
    assert len(codes) == len(names)
    spliced = Counter(wire.wire for sheet in papers.splices for wire in sheet.wires)
    assert spliced == Counter(row[0] for row in made.rows for item in (row[1], row[3]) if item.startswith("SP"))
    studded = Counter(name for sheet in papers.connectors if sheet.name == "Head stud" for name in sheet.cavities[0].wires)
    assert studded == Counter(row[0] for row in made.rows for item in (row[1], row[3]) if item == "Head stud")


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
@given(made_lists())
def test_lengths_add_up(made: Made) -> None:
    papers = papers_of_text({"cut_allowance_mm": 7.0}, wires=made.text())
    length = {row[0]: row[7] for row in made.rows}
    for line in papers.cut:
        assert (line.length_mm is None) == (line.cut_mm is None) == (length[line.wire] == "")
        if line.length_mm is not None and line.cut_mm is not None:
            assert line.length_mm == pytest.approx(float(length[line.wire]))
            assert line.cut_mm == math.ceil(line.length_mm + line.allowance_mm - 1e-6)
            assert line.allowance_mm >= 14.0
            assert line.allowance_mm == 14.0 or line.work
    assert sum(line.wires for line in papers.cables) == len(made.rows)
    assert sum(line.length_m for line in papers.cables) == pytest.approx(sum(line.cut_mm or 0 for line in papers.cut) / 1000)
    lacking = {row[0] for row in made.rows if not row[6] or not row[7]}
    assert papers.totals.unknown == len(lacking)
    whole = [line.cut_mm or 0 for line in papers.cut if line.wire not in lacking]
    assert papers.totals.length_m == pytest.approx(sum(whole) / 1000)
    for what, column in (("length", 7), ("size", 6), ("colour", 5)):
        without = sum(not row[column] for row in made.rows)
        told = [sentence for sentence in papers.incomplete if f"without {what}" in sentence]
        assert (len(told), not without) in ((1, False), (0, True))
        assert not told or told[0].startswith(f"{without} ")


TEST_SHEETS = ("continuity", "isolation", "power_on", "voltages")


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
@given(made_lists(), st.randoms(use_true_random=False))
def test_the_order_of_the_rows_changes_nothing(made: Made, random: Random) -> None:
    order = list(range(len(made.rows)))
    random.shuffle(order)
    one, other = (without_places(papers_of_text(wires=made.text(at))) for at in (None, order))
    for what in one.keys() - set(TEST_SHEETS):
        assert one[what] == other[what], what


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
@given(made_lists(), st.randoms(use_true_random=False))
def test_the_order_of_the_rows_changes_no_test(made: Made, random: Random) -> None:
    order = list(range(len(made.rows)))
    random.shuffle(order)
    one, other = (without_places(papers_of_text(wires=made.text(at))) for at in (None, order))
    for what in TEST_SHEETS:
        assert one[what] == other[what], what


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
@given(made_lists())
def test_terminals_add_up(made: Made) -> None:
    papers = papers_of_text(wires=made.text())
    in_cavities: Counter[tuple[str, str, str]] = Counter()
    wanted: Counter[str] = Counter()
    for row in made.rows:
        for item, cavity, terminal in ((row[1], row[2], row[12]), (row[3], row[4], row[13])):
            if terminal in ("", "bare"):
                continue
            if cavity:
                in_cavities[item, cavity, terminal] = 1  # one crimp, however many wires
            else:
                wanted[terminal] += 1
    for (_, _, terminal), count in in_cavities.items():
        wanted[terminal] += count
    told = {line.part: line.pieces for line in papers.parts if line.kind in ("terminal", "ring terminal")}
    assert told == dict(wanted)
