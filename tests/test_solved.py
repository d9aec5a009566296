"""The plain outcome of the solved circuit: what the renderers get agrees with the analysis and with itself."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
from text_lists import design_from, shipped_given, shipped_states

from harnessdrc.api import open_and_read
from harnessdrc.design import Design, design_of
from harnessdrc.design.analysis.limits import OffsetLimits
from harnessdrc.design.circuit.circuit import LeftOut
from harnessdrc.solved import left_out_sentence, network_outcome

SAMPLES = sorted((Path(__file__).parents[1] / "sample_wirelists").glob("*/*.xlsx"))


@pytest.fixture(scope="module", params=SAMPLES, ids=lambda p: f"{p.parent.name}-{p.stem}")
def design(request: pytest.FixtureRequest) -> Design:
    _, reading = open_and_read([request.param])
    return design_of(reading, shipped_given(), shipped_states())


def test_states_balance(design: Design) -> None:
    """What the alternator does not give the battery does; its terminals lie at its own voltage less its inner drop."""
    outcome = network_outcome(design, OffsetLimits())
    ports, average = design.circuit.ports, design.analysis.new.settled.average_a
    given_a = -average[[n for n, port in enumerate(ports) if port.kind == "alternator"]].sum(axis=0)
    inner_ohm = design.given["battery_inner_mohm"] / 1000
    assert [line.name for line in outcome.states] == [state.name for state in shipped_states()]
    for number, (line, state) in enumerate(zip(outcome.states, shipped_states(), strict=True)):
        assert line.charge_a == pytest.approx(given_a[number] - line.loads_a - line.starter_a, abs=1e-9)
        assert line.battery_v == pytest.approx(state.battery_v + inner_ohm * line.charge_a, rel=1e-9)
        assert (line.starter_a > 0) == state.starter
        if state.alternator:
            assert line.charge_a <= state.charge_a + 1e-9


def test_wires_obey_ohm_and_carry_no_less_at_their_peak(design: Design) -> None:
    outcome = network_outcome(design, OffsetLimits())
    circuit = design.circuit
    assert len(outcome.wires) == len(circuit.wire_parts) == len(outcome.wire_marks)
    ohm = circuit.ohm()[circuit.wire_parts]
    shape = (len(outcome.states), len(outcome.wires))
    for values in (outcome.average_a, outcome.peak_a, outcome.average_drop_mv, outcome.peak_drop_mv):
        assert np.shape(values) == shape
    np.testing.assert_allclose(outcome.average_drop_mv, np.asarray(outcome.average_a) * ohm * 1000, atol=1e-6)
    assert (np.asarray(outcome.peak_a) >= np.abs(outcome.average_a) - 1e-9).all()
    assert np.shape(outcome.node_v) == (len(outcome.states), len(outcome.nodes))


def test_offsets_are_told_worst_first_with_parts_that_add_up(design: Design) -> None:
    limits = OffsetLimits()
    outcome, analysis = network_outcome(design, limits), design.analysis
    assert len(outcome.offsets) == len(analysis.victims) > 3
    told = 0
    shares_of_limit = []
    for line in outcome.offsets:
        assert len(line.average_mv) == len(line.peak_mv) == len(line.shares) == len(analysis.states)
        worst = line.peak_mv[line.worst]
        shares_of_limit.append(
            max(worst / limit for limit in (line.low_limit_mv, line.high_limit_mv) if limit is not None)
        )
        for peak, shares in zip(line.peak_mv, line.shares, strict=True):
            if shares:
                assert sum(share.mv for share in shares) == pytest.approx(peak, abs=1e-5)
                told += 1
        rises = [reserve.mohm for reserve in line.reserves]
        assert rises == sorted(rises)
        assert all(0 <= rise <= 1000 for rise in rises)
        if line.low_mv is not None and line.high_mv is not None:
            assert line.low_mv - 1e-6 <= worst <= line.high_mv + 1e-6
    assert told > 10
    assert shares_of_limit == sorted(shares_of_limit, reverse=True)


def test_figures_are_those_of_the_analysis(design: Design) -> None:
    outcome, analysis = network_outcome(design, OffsetLimits()), design.analysis
    rows = {(v.subject, v.kind): n for n, v in enumerate(analysis.victims)}
    assert len(rows) == len(analysis.victims)
    for line in outcome.offsets:
        number = rows[line.victim, line.what]
        assert line.average_mv == pytest.approx(analysis.new.average_v[number] * 1000)
        assert line.aged_average_mv == pytest.approx(analysis.aged.average_v[number] * 1000)
        for state, peak in enumerate(line.peak_mv):
            ends = analysis.new.low_v[number, state] * 1000, analysis.new.high_v[number, state] * 1000
            assert min(abs(peak - end) for end in ends) < 1e-9


@pytest.mark.parametrize(
    "reason",
    ["no battery negative", "in series", "another voltage", "battery shorted", "net shorted", "no way home", "no feed",
     "no current", "joint not known"],
)  # fmt: skip
def test_everything_left_out_has_a_sentence(reason: str) -> None:
    sentence = left_out_sentence(LeftOut(reason, "FAN", "CHASSIS STUD"))
    assert sentence.endswith(".")
    assert "{" not in sentence
    assert reason == "no battery negative" or "FAN" in sentence


def test_nothing_solved_says_why_and_gives_no_figures() -> None:
    design = design_from(
        wires="Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal\nW1,Battery 24V,+,FAN,1,2.5,1,Fan feed\n"
        "W2,FAN,2,Battery 24V,-,2.5,1,Fan ground\n",
        components="Component,Kind,Current (A)\nFAN,fan,6\n",
    )
    outcome = network_outcome(design, OffsetLimits())
    [sentence] = outcome.not_solved
    assert "Battery 24V" in sentence
    assert "24 V" in sentence
    assert "Nothing was solved" in sentence
    assert not outcome.states
    assert not outcome.offsets
    assert len(outcome.wires) == 0


def test_small_lists_need_no_scipy() -> None:
    import subprocess

    code = (
        "import sys; from harnessdrc import check_lists; "
        f"r = check_lists([{str(SAMPLES[0])!r}]); print(len(r.network.states), 'scipy' in sys.modules)"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.split() == [str(len(shipped_states())), "False"]
