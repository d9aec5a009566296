"""Margins of trigger sensors over speed and the settings that leave them: worked out again from the lists' figures."""

from __future__ import annotations

import math

import numpy as np
import pytest
from text_lists import design_from, shipped_given, shipped_states

from harnessdrc.checks.registry import CHECKS, load_checks
from harnessdrc.design import Design
from harnessdrc.design.loops import Margin
from harnessdrc.findings import Finding, Undecided
from harnessdrc.induced import induction_outcome
from harnessdrc.physics.trigger_inputs import FILTERS_S

load_checks()

RUNNING = sorted((state for state in shipped_states() if state.rpm > 0), key=lambda state: state.rpm)
WIRES = (
    "Wire,From,From cavity,To,To cavity,Signal,Length (mm),Size (mm2),Branch,Twist group\n"
    "{sensor}"
    "W3,COIL 1,4,HEAD STUD,,High-voltage return,800,1,,\nW4,ECU,2,COIL 1,2,Coil 1 input,900,0.5,,\n"
    "F1,BATTERY,+,COIL 1,1,Coil feed,900,1.5,,\nF2,COIL 1,3,HEAD STUD,,Coil ground,300,1.5,,\n"
    "G1,ECU,1,{earth},Power ground,600,1.5,,\nF3,BATTERY,+,ECU,3,Controller feed,900,1.5,,\n"
    "A1,BATTERY,+,ALTERNATOR,B+,Alternator output,1000,16,,\n"
)
RELUCTOR = "W1,CRANK VR,1,ECU,10,Crank +,900,0.5,B1,\nW2,CRANK VR,2,ECU,11,Crank -,900,0.5,B1,\n"
HALL = (
    "W1,CAM HALL,1,ECU,10,Cam Hall signal,900,0.5,B1,\nW2,CAM HALL,2,ECU,11,Cam Hall ground,900,0.5,B1,\n"
    "W5,CAM HALL,3,ECU,12,5V sensor supply,900,0.5,B1,\n"
)
POINTS = (
    "Point,X (mm),Y (mm),Z (mm)\nCOIL 1,0,60,150\nPLUG 1,0,60,0\nHEAD STUD,600,60,0\nECU,-100,0,0\n{sensor},800,0,0\n"
    "BATTERY,-500,2000,0\nALTERNATOR,300,1800,0\n"
)


def loom(
    name: str = "CRANK VR", output: str = "", threshold: str = "", teeth: str = "", tau_us: str = "", boost: str = "",
    earth: str = "HEAD STUD,", strap_mohm: float = 1.0, points: str = POINTS, **given: float,
) -> Design:
    """A coil with a long return beside the pair of one sensor."""
    hall = "HALL" in name
    kind = "Hall sensor" if hall else "reluctor sensor"
    return design_from(
        given,
        wires=WIRES.format(sensor=HALL if hall else RELUCTOR.replace("CRANK VR", name), earth=earth),
        components="Component,Kind,Place,Fires,Output (V),Threshold (V),Teeth,Filter (us),Boost (bar),Earthed by its case\n"
        f"COIL 1,coil,head,PLUG 1,,,,,{boost},\nPLUG 1,spark plug,head,,,,,,,\nECU,controller,,,,,,,,\n"
        f"{name},{kind},block,,{output},{threshold},{teeth},{tau_us},,\nALTERNATOR,alternator,block,,,,,,,yes\n",
        earth_points="Earth point,Body\nHEAD STUD,head\n",
        branches=f"Branch,From point,To point,Length (mm)\nB1,ECU,{name},900\n",
        straps=f"Strap,From body,To body,Resistance (mOhm)\nS1,engine,battery negative,{strap_mohm}\n",
        points=points.format(sensor=name),
    )  # fmt: skip


def only(design: Design) -> Margin:
    """Margin of the one sensor."""
    [margin] = design.margins.all
    assert margin.known, margin.lacking
    return margin


def over(rpm: np.ndarray, values: list[float]) -> np.ndarray:
    """Figures of the running states on straight lines, the greatest of several at one speed."""
    at: dict[float, float] = {}
    for state, value in zip(RUNNING, values, strict=True):
        at[state.rpm] = max(value, at.get(state.rpm, -math.inf))
    return np.array([np.interp(x, list(at), list(at.values())) for x in rpm])


def noise_v(design: Design, margin: Margin, boost_bar: float = 0.0, tau_s: float = 0.0) -> np.ndarray:
    """Strongest of breakdown, arc and switch-off, from the mutual inductances and the given figures."""
    bar = over(margin.rpm, [s.manifold_bar + (boost_bar if "full load" in (s.name, *s.like) else 0.0) for s in RUNNING])
    given = design.given
    found = np.zeros_like(margin.rpm)
    share = {t: 1.0 if tau_s == 0.0 else 1.0 - math.exp(-t / tau_s) for t in (50e-9, 10e-6)}
    for pickup in margin.pickups:
        if pickup.loop.what == "high-voltage return":
            found = np.maximum(found, pickup.mutual_h * given["breakdown_a_per_us"] * 1e6 * bar * share[50e-9])
            found = np.maximum(found, pickup.mutual_h * given["arc_a_per_us"] * 1e6 * share[10e-6])
        else:
            assert pickup.loop.what == "primary"
            amps = pickup.edges[0].a_per_s * given["primary_off_us"] / 1e6
            assert 4.0 < amps < 12.0
            found = np.maximum(found, pickup.mutual_h * amps / (given["primary_off_us"] / 1e6) * share[10e-6])
    return found


def test_a_reluctors_curve_by_hand() -> None:
    design = loom(output="0.4")
    margin = only(design)
    signal = 0.4 * margin.rpm / 100
    assert margin.rpm[0] == RUNNING[0].rpm
    assert margin.rpm[-1] == RUNNING[-1].rpm
    assert {state.rpm for state in RUNNING} <= set(margin.rpm.tolist())
    assert margin.signal_v == pytest.approx(signal)
    assert margin.noise_v == pytest.approx(noise_v(design, margin))
    assert margin.db == pytest.approx(20 * np.log10(signal / margin.noise_v))
    assert not margin.offset_v.any()


def test_the_range_takes_the_weakest_signal_with_the_strongest_noise() -> None:
    design = loom()
    margin, given = only(design), shipped_given()
    [pickup] = [p for p in margin.pickups if p.loop.what == "high-voltage return"]
    low = np.log10(given["reluctor_low_v"] * margin.rpm / 100 / margin.noise_high_v)
    high = np.log10(given["reluctor_high_v"] * margin.rpm / 100 / margin.noise_low_v)
    assert margin.low_db == pytest.approx(20 * low)
    assert margin.high_db == pytest.approx(20 * high)
    first = RUNNING[0].manifold_bar
    assert margin.noise_high_v[0] == pytest.approx(pickup.high_h * given["breakdown_high_a_per_us"] * 1e6 * first)
    assert (margin.low_db < margin.db).all()
    assert (margin.db < margin.high_db).all()


def test_a_reluctor_on_the_camshaft_turns_at_half_speed() -> None:
    crank, cam = only(loom(output="0.4")), only(loom("CAM VR", output="0.4"))
    assert cam.signal_v == pytest.approx(crank.signal_v / 2)


def test_filter_teeth_and_threshold_by_hand() -> None:
    """36 teeth and 10 µs: the teeth keep 1/√(1+(2πfτ)²), a pulse of 50 ns keeps 0.5 %."""
    design = loom(output="2", teeth="36-1", tau_us="10", threshold="0.5")
    margin = only(design)
    hz = 36 * margin.rpm / 60
    peak = 2 * margin.rpm / 100 / np.sqrt(1 + (2 * math.pi * hz * 10e-6) ** 2)
    assert margin.signal_v == pytest.approx(np.minimum(0.5, peak - 0.5))
    assert margin.noise_v == pytest.approx(noise_v(design, margin, tau_s=10e-6))


def test_a_threshold_above_the_signal_leaves_none() -> None:
    margin = only(loom(output="0.2", threshold="5"))
    short = 0.2 * margin.rpm / 100 <= 5.0
    assert short.any()
    assert np.isneginf(margin.db[short]).all()
    assert np.isfinite(margin.db[~short]).all()


@pytest.mark.parametrize(("sensor", "output"), [("CRANK VR", "0"), ("CRANK VR", "-1"), ("CAM HALL", "0.2"), ("CAM HALL", "0")])
def test_an_output_without_sense_is_no_signal(sensor: str, output: str) -> None:
    design = loom(sensor, output=output)
    [line] = induction_outcome(design, 20.0).triggers
    [margin] = design.margins.all
    if margin.run.pair.device.item.details.output_v is not None:
        assert np.isneginf(margin.db).all()
        assert line.settings == () or all(each.lowest_v is None for each in line.settings)


@pytest.mark.parametrize("strap_mohm", [1.0, 20.0])
def test_a_hall_sensors_curve_by_hand_with_its_ground_offset(strap_mohm: float) -> None:
    """Threshold of 2.5 V between 0.4 and 5 V: 2.1 V to the low level, less the offset of the sensor's ground."""
    design = loom("CAM HALL", earth="BATTERY,-", strap_mohm=strap_mohm)
    margin, analysis = only(design), design.analysis
    levels = [n for n, victim in enumerate(analysis.victims) if victim.kind == "trigger level"]
    assert levels
    at = {state.name: n for n, state in enumerate(analysis.states)}
    worst = [max(max(abs(analysis.new.high_v[n][at[s.name]]), abs(analysis.new.low_v[n][at[s.name]])) for n in levels)
             for s in RUNNING]  # fmt: skip
    offset = over(margin.rpm, worst)
    assert margin.offset_v == pytest.approx(offset)
    assert margin.signal_v == pytest.approx(np.full_like(margin.rpm, 2.1))
    assert margin.noise_v == pytest.approx(noise_v(design, margin))
    left = 2.1 - offset
    assert (left > 0).all()
    assert margin.db == pytest.approx(20 * np.log10(left / margin.noise_v))


def test_boost_counts_at_full_load_only() -> None:
    plain, boosted = only(loom(output="0.4")), only(loom(output="0.4", boost="1"))
    design = loom(output="0.4", boost="1")
    assert boosted.noise_v == pytest.approx(noise_v(design, boosted, 1.0))
    assert boosted.noise_v[0] == pytest.approx(plain.noise_v[0])
    assert boosted.noise_v[-1] > 1.5 * plain.noise_v[-1]


# ---------------------------------------------------------------------- settings
SENSORS = [
    ("CRANK VR", {"output": "0.4", "teeth": "36"}), ("CRANK VR", {"output": "0.1", "teeth": "60"}),
    ("CRANK VR", {"output": "2"}), ("CAM HALL", {"teeth": "4"}), ("CAM HALL", {"teeth": "60"}), ("CAM HALL", {}),
    ("CRANK VR", {"output": "0.4", "tau_us": "5"}),
]  # fmt: skip


def left_db(design: Design, margin: Margin, tau_s: float, threshold_v: float, at: int) -> float:
    """Margin at one speed with a filter and a threshold, from scratch."""
    item, rpm = margin.run.pair.device.item, float(margin.rpm[at])
    cam = 0.5 if "CAM" in margin.run.pair.device.name else 1.0
    hz = (item.details.teeth or 0.0) * rpm * cam / 60
    share = 1 / math.sqrt(1 + (2 * math.pi * hz * tau_s) ** 2)
    noise = float(noise_v(design, margin, tau_s=tau_s)[at])
    if margin.run.pair.device.kind == "reluctor sensor":
        peak = (item.details.output_v or design.given["reluctor_v"]) * rpm * cam / 100 * share
        left = min(threshold_v, peak - threshold_v)
    else:
        middle, half = (5.0 + 0.4) / 2, (5.0 - 0.4) / 2 * share
        left = min(threshold_v - (middle - half), middle + half - threshold_v) - float(margin.offset_v[at])
    return 20 * math.log10(left / noise) if left > 0 else -math.inf


@pytest.mark.parametrize(("sensor", "figures"), SENSORS)
@pytest.mark.parametrize("demanded_db", [0.0, 12.0, 20.0])
def test_thresholds_inside_the_window_leave_the_margin_and_those_outside_do_not(
    sensor: str, figures: dict[str, str], demanded_db: float
) -> None:
    design = loom(sensor, **figures)  # type: ignore[arg-type]
    margin = only(design)
    settings = design.margins.settings(margin, demanded_db)
    assert settings is not None
    assert settings.filter_s in ((*FILTERS_S,) if "teeth" in figures else (0.0, 5e-6))
    told = 0
    for at, (low, high) in enumerate(zip(settings.lowest_v, settings.highest_v, strict=True)):
        if low is None or high is None:
            middle = [left_db(design, margin, settings.filter_s, v, at) for v in np.linspace(0.0, 6.0, 601)]
            assert max(middle) < demanded_db + 1e-9
            continue
        told += 1
        for inside in (low * (1 + 1e-9), (low + high) / 2, high * (1 - 1e-9)):
            assert left_db(design, margin, settings.filter_s, inside, at) >= demanded_db - 1e-5
        for outside in (low - 1e-4 * (high - low) - 1e-6, high + 1e-4 * (high - low) + 1e-6):
            assert left_db(design, margin, settings.filter_s, outside, at) < demanded_db
    assert told or not settings.everywhere


def test_the_filter_is_the_shortest_that_does_at_every_speed() -> None:
    design = loom("CRANK VR", output="0.3", teeth="36")
    margin = only(design)
    settings = design.margins.settings(margin, 20.0)
    assert settings is not None
    assert settings.everywhere
    assert settings.filter_s > 0.0
    for shorter in [tau for tau in FILTERS_S if tau < settings.filter_s]:
        best = [max(left_db(design, margin, shorter, v, at) for v in np.linspace(1e-3, 1.2 * margin.signal_v[at], 400))
                for at in range(len(margin.rpm))]  # fmt: skip
        assert min(best) < 20.0


# ---------------------------------------------------------------------- what is lacking
def test_without_coils_there_is_nothing_to_decide() -> None:
    wires = "Wire,From,From cavity,To,To cavity,Signal,Length (mm)\n" + "".join(
        ",".join(row.split(",")[:7]) + "\n" for row in RELUCTOR.splitlines()
    )
    design = design_from(wires=wires)
    [margin] = design.margins.all
    assert not margin.known
    assert margin.lacking == ()
    check = CHECKS["trigger.margin"]
    assert check.limits is not None
    assert list(check.run(design, check.limits())) == []


@pytest.mark.parametrize(
    ("away", "lacking"),
    [
        ("CRANK VR", {"x, y, z of CRANK VR"}), ("HEAD STUD", {"x, y, z of HEAD STUD"}),
        ("ECU", {"x, y, z of ECU"}), ("PLUG 1", {"x, y, z of PLUG 1"}),
    ],
)  # fmt: skip
def test_a_point_that_is_lacking_is_named(away: str, lacking: set[str]) -> None:
    points = "".join(f"{row}\n" for row in POINTS.format(sensor="CRANK VR").splitlines() if not row.startswith(away))
    design = loom(output="50", points=points)
    [margin] = design.margins.all
    assert set(margin.lacking) == lacking
    check = CHECKS["trigger.margin"]
    assert check.limits is not None
    [outcome] = check.run(design, check.limits())
    assert isinstance(outcome, Undecided)
    assert set(outcome.missing) == lacking


def test_a_return_that_is_not_in_place_is_named() -> None:
    """Signal in its branch, return in one whose end is nowhere: the pair is not in place, and that is said."""
    wires = WIRES.format(sensor=RELUCTOR.replace("Crank -,900,0.5,B1", "Crank -,900,0.5,B2"), earth="HEAD STUD,")
    design = design_from(
        wires=wires, components="Component,Kind,Place,Fires\nCOIL 1,coil,head,PLUG 1\nPLUG 1,spark plug,head,\n",
        earth_points="Earth point,Body\nHEAD STUD,head\n", points=POINTS.format(sensor="CRANK VR"),
        branches="Branch,From point,To point\nB1,ECU,CRANK VR\nB2,ECU,NOWHERE\n",
    )  # fmt: skip
    [margin] = design.margins.all
    assert not margin.known
    assert margin.lacking == ("x, y, z of nowhere",)


def test_of_very_many_coils_without_places_only_the_first_are_named() -> None:
    coils = "".join(f"C{n},COIL {n},4,HEAD STUD,,High-voltage return,300\nD{n},ECU,{20 + n},COIL {n},2,Coil {n} input,900\n"
                    for n in range(1, 101))  # fmt: skip
    wires = "Wire,From,From cavity,To,To cavity,Signal,Length (mm)\nW1,CRANK VR,1,ECU,10,Crank +,900\nW2,CRANK VR,2,ECU,11,Crank -,900\n"
    [margin] = design_from(wires=wires + coils, earth_points="Earth point,Body\nHEAD STUD,head\n").margins.all
    assert len(margin.lacking) < 20
    assert margin.lacking[-1].startswith("the same of ")


def test_the_finding_tells_the_worst_speed_and_its_figures() -> None:
    design = loom(output="0.2")
    margin = only(design)
    check = CHECKS["trigger.margin"]
    assert check.limits is not None
    [finding] = check.run(design, check.limits())
    assert isinstance(finding, Finding)
    assert finding.measured == pytest.approx(float(margin.db.min()), abs=1e-3)
    assert finding.evidence["rpm"] == f"{margin.rpm[margin.worst]:.0f}"
    assert finding.evidence["loop_name"] == "COIL 1"
