"""Ground offsets, the star point, proposals and ranges on the terminal."""

from __future__ import annotations

import io
import math
import re
import time
from dataclasses import replace

import numpy as np
import pytest
from network_made import NOT_SOLVED, RING, STARS, network, offset, result, shares
from rich.console import Console

from harnessdrc.findings import Mark
from harnessdrc.places import Place
from harnessdrc.render.console import print_result
from harnessdrc.render.console_network import print_network
from harnessdrc.render.offsets import (
    limits_text,
    mohm_text,
    mv_text,
    share_of_limit,
    shares_of_limit,
    shares_text,
    worst_shares,
)
from harnessdrc.results import (
    NetworkOutcome,
    OffsetLine,
    Proposal,
    ReportedFinding,
    ReportedUndecided,
    ReserveLine,
    StarLine,
)


def printed(solved: NetworkOutcome, width: int = 120, terminal: bool = False) -> list[str]:
    stream = io.StringIO()
    console = Console(
        file=stream, width=width, force_terminal=terminal, color_system=None, soft_wrap=not terminal, highlight=False,
        markup=False, emoji=False,
    )  # fmt: skip
    print_network(console, solved)
    return [line.rstrip() for line in stream.getvalue().splitlines()]


def summary(*findings: ReportedFinding, undecided: tuple[ReportedUndecided, ...] = (), solved: NetworkOutcome | None = None) -> list[str]:
    stream = io.StringIO()
    console = Console(file=stream, width=120, soft_wrap=True, highlight=False, markup=False, emoji=False)
    print_result(result(solved or NetworkOutcome(), *findings, undecided=undecided), console)
    return stream.getvalue().splitlines()


def finding(number: int = 1, proposal: Proposal | None = None, remedy: str = "Take its ground to the star point.") -> ReportedFinding:
    mark = Mark(Place("loom.xlsx", "Wire list", f"D{number}"), "earth")
    return ReportedFinding(
        "one-star-point", "ground.offsets", "hold", ("component", f"COIL{number}"), f"COIL{number} stands off.", remedy,
        476.0, 400.0, "mV", (mark,), {}, None, None, f"{number:016x}", proposal,
    )  # fmt: skip


# --- offsets -----------------------------------------------------------------------------------------


def test_an_empty_network_prints_nothing() -> None:
    assert printed(NetworkOutcome()) == []
    assert printed(network()) == []


def test_a_victim_is_told_with_figures_shares_and_its_weakest_joint() -> None:
    parts = shares(("charge", 359.0), ("FAN", 60.0), ("PUMP", 42.0), ("own current", 12.0), ("everything else", 3.0))
    assert printed(network([offset("COIL1", 476.0, parts=parts)])) == [
        "GROUND OFFSETS: 1 ground in 4 states  (worst instant, joints new → aged)",
        " COIL1, coil input, against ECU ground",
        "    full load: 476 → 809 mV, limits -400 and 700 mV: over when aged",
        "    charge 359 mV, FAN 60, PUMP 42, own current 12, others 3 = 476 mV",
        "    crosses the limit when ring of G1 on battery negative rises by 4.8 mΩ",
        "",
    ]


@pytest.mark.parametrize(
    ("mv", "aged", "told"),
    [(700.0, 1.0, ": over"), (699.0, 1.0, "100 % of it"), (412.0, 1.7, ": over when aged"), (-41.0, 1.7, "17 % of it"),
     (350.0, 0.5, "50 % of it"), (-400.0, 1.7, ": over"), (0.1, 1.0, "0.014 % of it")],
)  # fmt: skip
def test_how_it_stands_to_the_limit_on_its_side(mv: float, aged: float, told: str) -> None:
    assert printed(network([offset("COIL1", mv, aged=aged)]))[2].endswith(told)


def test_a_range_and_what_it_makes_of_a_reading() -> None:
    sensor = offset(
        "CLT", -48.0, what="sensor reading", low=-53, high=53, worst=1, aged=1.0, between=(-61.0, -30.0), error=2.1,
        unit="K",
    )  # fmt: skip
    lines = printed(network([sensor]))
    assert lines[2] == (
        "    cranking: -48 → -48 mV (-30 to -61 while data is lacking), limit ±53 mV: 91 % of it; reading off by +2.1 K"
    )
    assert printed(network([replace(sensor, error=math.inf)]))[2].endswith("; reads as a sensor fault")


def test_victims_alike_are_one() -> None:
    lines = printed(network([offset(f"COIL{n}", 500.0 - n) for n in (2, 1, 4, 3)]))
    assert lines[1] == " COIL1 … COIL4, coil input, against ECU ground"
    assert lines[2].startswith("    full load: up to 498 → ")
    assert lines[3].startswith("    at COIL2: charge ")
    assert sum("crosses the limit" in line for line in lines) == 1


@pytest.mark.parametrize(
    "other",
    [offset("COIL2", 400.0), offset("COIL2", 500.0, worst=2), offset("COIL2", 500.0, low=-500.0), offset("COIL2", 500.0, aged=3.0),
     replace(offset("COIL2", 500.0), reference="DASH ground"), offset("COIL2", 500.0, what="bus node")],
    ids=["value", "state", "limit", "aged", "reference", "what"],
)  # fmt: skip
def test_victims_that_differ_are_told_apart(other: OffsetLine) -> None:
    lines = printed(network([offset("COIL1", 500.0), other]))
    assert [line for line in lines if line.startswith((" COIL1, ", " COIL2, "))] == [
        " COIL1, coil input, against ECU ground", f" COIL2, {other.what}, against {other.reference}",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("names", "told"),
    [(("A", "B"), "A and B"), (("A", "B", "C"), "A, B and C"), (tuple("ABCDE"), "A, B, C and 2 more"),
     (("INJ9", "INJ10", "INJ11"), "INJ9 … INJ11"), (("INJ1", "INJ2", "INJ4"), "INJ1, INJ2 and INJ4"),
     (("1", "2", "3"), "1 … 3"), (("C01", "C02", "C03"), "C01 … C03"), (("A1", "B2", "A3"), "A1, B2 and A3")],
)  # fmt: skip
def test_names_of_several(names: tuple[str, ...], told: str) -> None:
    assert printed(network([offset(name, 500.0) for name in names]))[1].startswith(f" {told}, coil input")


def test_the_rest_is_counted_and_bounded() -> None:
    few = [offset("COIL1", 500.0), *(offset(f"S{n}", 100.0 - n, aged=1.0) for n in range(30))]
    lines = printed(network(few))
    assert sum("coil input" in line for line in lines) == 1
    assert lines[5] == " The other 30 stay below 15 % of the limit, aged, in every state (sheet Ground offsets)."


def test_the_bound_holds_for_every_state_and_instant() -> None:
    """The worst state by name is not always where the aged average is worst."""
    quiet = offset("S1", 10.0, aged=1.0)
    odd = replace(quiet, aged_average_mv=(0.0, 0.0, -120.0, 0.0))
    assert "below 30 % of the limit" in printed(network([offset("COIL1", 500.0), odd]))[5]


def test_many_over_their_limits_are_six_and_a_count() -> None:
    lines = printed(network([offset(f"V{n}x", 2000.0 * 0.8**n) for n in range(9)]))
    assert sum("coil input" in line for line in lines) == 6
    rest = next(line for line in lines if "more" in line)
    assert rest == (
        " 2 more are over the limit, new or aged; the other one stays below 82 % of the limit, aged, in every state "
        "(sheet Ground offsets)."
    )
    assert len(lines) < 32


def test_a_clean_loom_gives_one_victim_and_a_bound() -> None:
    lines = printed(network([offset(f"S{n}", 5.0 * 0.5**n) for n in range(4)]))
    assert sum("coil input" in line for line in lines) == 1
    assert any("The other 3 stay below 1 % of the limit" in line for line in lines)


def test_victims_without_limits_are_counted() -> None:
    lines = printed(network([offset("COIL1", 500.0), offset("S1", 5.0, low=None, high=None)]))
    assert " 1 has no limit (sheet Ground offsets)." in lines
    alone = printed(network([offset("S1", 5.0, low=None, high=None, reserves=())]))
    assert alone[2] == "    full load: 5.0 → 8.5 mV, no limit given"


@pytest.mark.parametrize(
    ("mohm", "state", "told"),
    [(0.531, "full load", "rises by 0.53 mΩ"), (12.34, "full load", "rises by 12.3 mΩ"),
     (3.0, "idle", "crosses the limit in idle when "), (249.6, "full load", "rises by 250 mΩ"), (251.0, "full load", ""),
     (0.0, "full load", ""), (math.inf, "full load", ""), (math.nan, "full load", "")],
)  # fmt: skip
def test_the_weakest_joint_where_it_is_one(mohm: float, state: str, told: str) -> None:
    joint = ReserveLine("ring of G1", "G1", mohm, state, None)
    text = "\n".join(printed(network([offset("C", 500.0, reserves=(joint, RING))])))
    assert ("crosses" in text) == bool(told)
    assert told in text


# --- shares ------------------------------------------------------------------------------------------


def added(text: str) -> tuple[float, float]:
    """Sum of the figures told, and the whole."""
    parts, whole = text.split(" = ")
    figures = [float(part.removesuffix(" mV").split()[-1].replace(",", "")) for part in parts.split(", ")]
    return sum(figures), float(whole.removesuffix(" mV").replace(",", ""))


@pytest.mark.parametrize(
    "values",
    [(359.0, 60.0, 42.0, 12.0, 3.0), (100.4, 100.4, 100.4), (-200.6, 30.3, -0.4), (5.04, 1.04, 0.33), (0.04,) * 9,
     (33.4,) * 9, (1000.49, -999.49)],
)  # fmt: skip
def test_the_figures_told_add_up(values: tuple[float, ...]) -> None:
    parts = shares(*((chr(65 + n), value) for n, value in enumerate(values)))
    text = shares_text(parts)
    figures, whole = added(text)
    assert figures == pytest.approx(whole, abs=1e-9), text
    assert whole == pytest.approx(sum(values), abs=0.5)


def test_small_shares_and_everything_else_are_others() -> None:
    parts = shares(*((f"L{n}", 50.0 - n) for n in range(7)), ("tiny", 0.2), ("everything else", 4.0))
    assert shares_text(parts) == "L0 50 mV, L1 49, L2 48, L3 47, L4 46, others 93 = 333 mV"
    assert shares_text(shares(("charge", 7.26), ("FAN", 0.04))) == "charge 7.3 mV = 7.3 mV"
    assert shares_text(()) == shares_text(shares(("charge", math.nan))) == ""


# --- star point, not solved --------------------------------------------------------------------------


def test_the_star_point_is_a_table_that_says_what_it_is() -> None:
    lines = printed(network(stars=STARS))
    assert lines == [
        "STAR POINT  (an analysis, not a rule: every candidate solved again)",
        " candidate                        worst  of limit  at     in state   HV return",
        " HEAD STUD on engine block        69 mV     9.9 %  COIL3  full load     0.42 m",
        " today: CHASSIS STUD on chassis  476 mV     119 %  COIL1  full load     1.92 m",
        " BATTERY NEGATIVE                610 mV     152 %  COIL1  idle               -",
        " HV return needs: length of wire G3, length of wire G9",
        "",
    ]


def test_todays_star_point_is_always_told() -> None:
    many = tuple(StarLine(f"STUD {n}", n == 8, 10.0 * n, "C", "idle", 0.1 * n, 1.0) for n in range(9))
    lines = printed(network(stars=many))
    assert sum(" mV " in line for line in lines) == 5
    assert any(line.startswith(" today: STUD 8 ") for line in lines)
    assert " … and 4 more (sheet Ground offsets)" in lines


def test_what_was_not_solved_is_told_up_to_five() -> None:
    lines = printed(network(not_solved=tuple(f"{n} floats." for n in range(8))))
    assert lines[:2] == ["NOT SOLVED: 8  (left out of the network)", " 0 floats."]
    assert lines[6] == " … and 3 more (sheet Ground offsets)"


@pytest.mark.parametrize("width", [80, 120])
def test_nothing_is_wider_than_the_terminal(width: int) -> None:
    long = StarLine("A stud with a very long name on the left front longeron of the car", True, 9.0, "C" * 40, "s" * 40, 1.5, 1.0)
    solved = network(
        [offset("COIL1", 500.0), offset("CLT", -90.0, low=-53, high=53, between=(-99.0, -40.0), error=2.1, unit="K")],
        stars=(*STARS, long), not_solved=NOT_SOLVED,
    )  # fmt: skip
    lines = printed(solved, width, terminal=True)
    assert max(map(len, lines)) <= width
    at = next(n for n, line in enumerate(lines) if line.startswith("STAR POINT"))
    rows = lines[at + 1 : at + 6]
    assert all(re.search(r"( m|-|return)$", row) for row in rows), rows
    assert len({len(row) for row in rows}) == 1, "the columns do not stand under each other"


def test_control_characters_of_a_list_are_shown_not_sent() -> None:
    odd = STARS[0]._replace(earth_point="STUD\x1b[2J\n9")
    solved = network([offset("COIL\x1b1", 500.0)], stars=(odd,), not_solved=("it\x07 floats",))
    text = "\n".join(printed(solved, 80, terminal=True))
    assert not set(text) & {"\x1b", "\x07"}
    assert "STUD␛[2J 9" in text


def test_ten_thousand_victims_are_quick_and_short() -> None:
    many = network([offset(f"COIL {n}", 900.0 - n * 0.05) for n in range(10_000)])
    start = time.process_time()
    lines = printed(many)
    assert time.process_time() - start < 2.0
    assert len(lines) < 32


# --- proposals and ranges ----------------------------------------------------------------------------


def test_a_proposal_stands_in_the_place_of_the_remedy() -> None:
    alone = Proposal("Move the end of wire W12 at CHASSIS STUD to HEAD STUD.", ("W12",), 476.2, 69.04, "mV")
    lines = summary(finding(1, alone), finding(2))
    assert (
        "      → Move the end of wire W12 at CHASSIS STUD to HEAD STUD: 476 → 69 mV, proved by solving again." in lines
    )
    assert sum("→ Take its ground to the star point." in line for line in lines) == 1


@pytest.mark.parametrize(
    ("proposal", "told"),
    [(Proposal("Add a wire.", (), None, None, ""), "→ Add a wire: proved by solving again."),
     (Proposal("Add a wire.", (), 3.0, 0.0, ""), "→ Add a wire: 3 → 0, proved by solving again."),
     (Proposal("Add a wire.", (), 1.0, 0.512, "V", 1), "1 → 0.512 V, proved by solving again together with 1 other change."),
     (Proposal("Add a wire.", (), 1e4, 12.34, "mV", 3, ("a", "b", "c")),
      "10,000 → 12.3 mV, proved by solving again together with 3 other changes, clears 2 more findings.")],
)  # fmt: skip
def test_a_proposal_in_words(proposal: Proposal, told: str) -> None:
    assert any(line.endswith(told) for line in summary(finding(1, proposal)))


def test_a_range_stands_before_what_is_needed() -> None:
    asked = ReportedUndecided("r", "c", "hold", ("component", "COIL2"), ("length of wire W14",), (), 120.0, 810.0, 500.0, "mV")
    half = replace(asked, subject=("component", "COIL3"), high=None, limit=None)
    lines = summary(undecided=(asked, half))
    assert "  COIL2: between 120 and 810 mV, limit 500 mV; needs length of wire W14" in lines
    assert "  COIL3: at least 120 mV; needs length of wire W14" in lines


def test_the_network_stands_between_findings_and_what_is_not_decided() -> None:
    asked = ReportedUndecided("r", "c", "hold", ("component", "COIL2"), ("length of wire W14",), ())
    lines = summary(finding(), undecided=(asked,), solved=network([offset("COIL1", 500.0)], stars=STARS))
    heads = [line.split(":")[0].split("  ")[0] for line in lines if re.match("[A-Z]{2}", line)]
    assert heads == ["ON HOLD", "GROUND OFFSETS", "STAR POINT", "NOT DECIDED"]


# --- figures -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("mv", "text"),
    [(476.4, "476"), (19.96, "20.0"), (20.0, "20"), (-7.54, "-7.5"), (-0.01, "0.0"), (12345.0, "12,345"),
     (math.nan, "not known"), (math.inf, "no end")],
)  # fmt: skip
def test_an_offset_as_text(mv: float, text: str) -> None:
    assert mv_text(mv) == text


def test_limits_and_resistances_as_text() -> None:
    assert limits_text(offset("C", 1, low=-51.48, high=51.32)) == "limit ±51 mV"
    assert limits_text(offset("C", 1, low=-51.48, high=55.3)) == "limits -51 and 55 mV"
    assert limits_text(offset("C", 1, low=None, high=None)) == "no limit given"
    assert limits_text(offset("C", 1, low=None, high=700)) == "limit 700 mV"
    assert limits_text(offset("C", 1, low=-400, high=None)) == "limit -400 mV"
    assert [mohm_text(x) for x in (0.104, 4.83, 99.94, 1500)] == ["0.10", "4.8", "99.9", "1,500"]


def test_the_worst_share_looks_at_all_four_figures() -> None:
    lines = [
        offset("A", 350.0, aged=1.0), offset("B", -200.0, aged=2.0), offset("C", 1.0, low=None, high=None),
        offset("D", 1.0, low=0.0, high=0.0), offset("E", 0.0, low=0.0, high=0.0), offset("F", math.nan),
        offset("G", 7.0, low=-1.0, high=None),
    ]  # fmt: skip
    found = worst_shares(lines).tolist()
    assert found[:2] == [0.5, 1.0]
    assert math.isnan(found[2])
    assert found[3:5] == [math.inf, 0.0]
    assert math.isnan(found[5])
    assert found[6] == 0.0, "it does no harm on a side without a limit"
    assert len(worst_shares([])) == 0


@pytest.mark.parametrize("low", [None, -400.0, 0.0])
@pytest.mark.parametrize("high", [None, 700.0, 0.0])
@pytest.mark.parametrize("mv", [-500.0, 0.0, 350.0, math.nan, math.inf])
def test_one_share_and_many_are_the_same(low: float | None, high: float | None, mv: float) -> None:
    line = offset("C", 1.0, low=low, high=high)
    one = share_of_limit(line, mv)
    many = float(shares_of_limit([line, line], np.array([[1.0, mv], [mv, mv]]))[0, 1])
    assert math.isnan(many) if one is None else many == one
