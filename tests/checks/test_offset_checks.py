"""What the cases of the computed checks do not show: folding, causes, evidence, lacking data, joints in common."""

from __future__ import annotations

import pytest
from text_lists import design_from, shipped_states

from harnessdrc.api import check_lists
from harnessdrc.checks.registry import CHECKS, Outcome, load_checks
from harnessdrc.design import Design
from harnessdrc.design.analysis.limits import OffsetLimits
from harnessdrc.findings import Finding, Undecided
from harnessdrc.wording import message, remedy

load_checks()

HEAD = "Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal\n"
PARTS = "Component,Kind,Place,Current (A)\nECU,controller,,0.8\nSTARTER,starter,block,200\n"
EARTHS = "Earth point,Body\nEngine stud,engine\nFire wall,chassis\n"


def straps(engine_mohm: float, chassis_mohm: float = 0.5) -> str:
    """Straps of engine and chassis to the battery."""
    return (
        "Strap,From body,To body,Resistance (mOhm)\n"
        f"G1,engine,battery negative,{engine_mohm}\nG2,chassis,battery negative,{chassis_mohm}\n"
    )


def four_coils(engine_mohm: float, *, length: str = "0.5") -> Design:
    """A controller at the battery, four coils at the engine, the fourth with a longer ground."""
    wires = HEAD + f"W1,BATTERY,+,ECU,1,2.5,0.5,Controller feed\nW2,ECU,2,BATTERY,-,1.5,{length},Power ground\n"
    for n in range(1, 5):
        wires += (
            f"A{n},BATTERY,+,COIL {n},1,1.5,0.5,Coil feed\nB{n},ECU,{10 + n},COIL {n},2,0.5,1,Coil {n} input\n"
            f"C{n},COIL {n},3,Engine stud,,1.5,{0.5 if n < 4 else 0.9},Coil ground\n"
        )
    coils = "".join(f"COIL {n},coil,head,8\n" for n in range(1, 5))
    return design_from(wires=wires, components=PARTS + coils, earth_points=EARTHS, straps=straps(engine_mohm))


def said(design: Design, check: str, **limits: float | str) -> list[Outcome]:
    """All that a check says."""
    of = CHECKS[check]
    assert of.limits is not None
    return list(of.run(design, of.limits(**limits)))


def findings(design: Design, check: str, **limits: float | str) -> list[Finding]:
    """Findings among it."""
    return [outcome for outcome in said(design, check, **limits) if isinstance(outcome, Finding)]


# --- one strap, four coils ----------------------------------------------------------------------
def test_coils_hit_by_one_strap_are_one_matter() -> None:
    """The worst is the cause of the others, and follows from its own earth point."""
    found = findings(four_coils(40.0), "ignition.input_offset")
    assert [f.variant for f in found] == ["fires"] * 4
    roots = [f for f in found if f.follows_from and f.follows_from[0] == "ground.one_point"]
    assert len(roots) == 1
    worst = max(found, key=lambda f: f.measured or 0.0)
    assert roots[0].measured == worst.measured
    assert {f.follows_from for f in found if f is not roots[0]} == {("ignition.input_offset", roots[0].subject)}


def test_the_shares_add_up_to_the_offset() -> None:
    for finding in findings(four_coils(40.0), "ignition.input_offset"):
        shares = [share["mv"] for share in finding.evidence["shares"]]
        assert sum(shares) == pytest.approx(finding.evidence["offset_mv"], abs=0.01)
        assert finding.measured == pytest.approx(200 - finding.evidence["offset_mv"], abs=0.01)
        assert finding.evidence["joint"] == "strap G1"
        assert finding.evidence["joint_mohm"] == 40.0
        # The strap and the controller's own ground are all there is on the way.
        assert abs(finding.evidence["joint_mv"]) < abs(finding.evidence["offset_mv"])
        assert {mark.place.sheet for mark in finding.marks} == {"components", "straps"}


def test_the_advice_says_what_lies_between() -> None:
    check = CHECKS["ignition.input_offset"]
    first = findings(four_coils(40.0), "ignition.input_offset")[0]
    assert remedy(check, first).endswith("so that strap G1 does not lie between them.")
    assert "Most of it is dropped in strap G1 (40 mΩ" in message(check, first)
    # A thin ground wire of the coil itself is another matter.
    design = design_from(
        wires=HEAD + "W1,BATTERY,+,ECU,1,2.5,0.5,Controller feed\nW2,ECU,2,Engine stud,,1.5,0.5,Power ground\n"
        "W3,BATTERY,+,COIL 1,1,1.5,0.5,Coil feed\nW4,ECU,3,COIL 1,2,0.5,1,Coil 1 input\n"
        "W5,COIL 1,3,Engine stud,,0.35,5,Coil ground\n",
        components=PARTS + "COIL 1,coil,head,8\n",
        earth_points=EARTHS,
        straps=straps(1.0),
    )
    [finding] = findings(design, "ignition.input_offset")
    assert finding.variant == "weak"
    assert finding.evidence["joint"] == "wire W5"
    assert finding.follows_from is None
    assert remedy(check, finding).startswith("Make wire W5 larger or shorter")


def test_what_is_over_as_new_is_not_told_again_when_aged() -> None:
    design = four_coils(40.0)
    assert len(findings(design, "ignition.input_offset")) == 4
    assert not said(design, "ignition.input_offset", joints="aged")
    sound = four_coils(8.0)
    assert not said(sound, "ignition.input_offset")
    assert {f.evidence["joints"] for f in findings(sound, "ignition.input_offset", joints="aged")} <= {
        "with joints aged"
    }


# --- lacking data -------------------------------------------------------------------------------
def test_a_finding_over_the_whole_range_stands_and_says_so() -> None:
    design = four_coils(40.0, length="")
    found = findings(design, "ignition.input_offset")
    assert len(found) == 4
    for finding in found:
        low_mv, high_mv = finding.evidence["range_mv"]
        assert low_mv < finding.evidence["offset_mv"] < high_mv
        assert high_mv < -500
        assert "over the whole range" in message(CHECKS["ignition.input_offset"], finding)


def test_what_only_part_of_the_range_is_over_is_not_decided() -> None:
    outcomes = said(four_coils(20.0, length=""), "ignition.input_offset", surely_on_mv=0.0)
    assert len(outcomes) == 4
    for outcome in outcomes:
        assert isinstance(outcome, Undecided)
        assert outcome.missing == ("length of wire W2",)
        assert (outcome.limit, outcome.unit) == (700.0, "mV")
        assert outcome.low is not None
        assert outcome.high is not None
        assert outcome.low < 700.0 < outcome.high
    # What hangs on lacking data as new hangs on it when aged too.
    aged = said(four_coils(20.0, length=""), "ignition.input_offset", surely_on_mv=0.0, joints="aged")
    assert [(type(o), o.subject) for o in aged] == [(type(o), o.subject) for o in outcomes]


def test_a_nominal_value_over_the_limit_whose_range_reaches_back_is_not_decided() -> None:
    """The given strap of 1 mohm may be 0.5: with 130 mV allowed, 190 mV as usual are 95 mV at best."""
    design = design_from(
        wires=HEAD + "W1,BATTERY,+,ECU,1,2.5,0.5,Controller feed\nW2,ECU,2,BATTERY,-,1.5,0.5,Power ground\n"
        "W3,ECU,3,DASH,1,0.5,1,CAN H\nW4,ECU,4,DASH,2,0.5,1,CAN L\nW5,DASH,3,Engine stud,,0.5,1,Power ground\n"
        "W6,BATTERY,+,DASH,4,0.5,1,Dash feed\n",
        components=PARTS + "DASH,display,,0\n",
        earth_points=EARTHS,
    )
    [outcome] = said(design, "ground.offset", bus_mv=130.0)
    assert isinstance(outcome, Undecided)
    assert outcome.missing[0] == "strap from engine to battery negative"
    assert outcome.low is not None
    assert outcome.low < 130.0
    assert outcome.high is not None
    assert outcome.high > 190.0


def test_nothing_is_told_without_operating_states() -> None:
    with_states = four_coils(40.0)
    design = Design(with_states.harness, with_states.given, ())
    for check in ("ignition.input_offset", "ground.cranking_current", "ground.joint_reserve"):
        outcomes = said(design, check)
        assert outcomes
        assert all(isinstance(o, Undecided) and "operating states" in o.missing[0] for o in outcomes)


def test_a_state_with_the_starter_on_is_asked_for() -> None:
    with_states = four_coils(40.0)
    idle = [state for state in shipped_states() if not state.starter]
    [outcome] = said(Design(with_states.harness, with_states.given, idle), "ground.cranking_current")
    assert isinstance(outcome, Undecided)
    assert outcome.missing == ("an operating state with the starter on",)


@pytest.mark.parametrize(
    ("length", "starter", "missing"),
    [("", "200", ("length of wire W2",)), ("0.5", "", ("current of STARTER",))],
)
def test_what_a_ground_wire_carries_hangs_on_its_length_and_on_the_starter(
    length: str, starter: str, missing: tuple[str, ...]
) -> None:
    wires = (
        HEAD + "W1,ECU,1,BATTERY,-,1.5,0.5,Power ground\n"
        f"W2,ECU,2,Engine stud,,1.5,{length},Power ground\nW3,BATTERY,+,FUSE 1,1,4,1,Feed\n"
    )
    parts = f"Component,Kind,Place,Current (A)\nECU,controller,,0\nSTARTER,starter,block,{starter}\n"
    design = design_from(wires=wires, components=parts, earth_points=EARTHS, straps=straps(1.0))
    [outcome] = said(design, "ground.cranking_current")
    assert isinstance(outcome, Undecided)
    assert outcome.missing == missing
    assert outcome.low is not None
    assert outcome.high is not None
    assert outcome.low < 8.0 < outcome.high
    # Where even the least is over, the finding stands.
    [finding] = findings(design, "ground.cranking_current", current_a=outcome.low * 0.99)
    assert finding.variant == "fitted"
    assert not said(design, "ground.cranking_current", current_a=outcome.high * 1.01)


# --- joints -------------------------------------------------------------------------------------
def test_the_reserve_is_that_at_which_the_coil_fires() -> None:
    """Adding what was told to the strap brings the input to the limit, the machines solved anew."""
    design = four_coils(15.0)
    found = [f for f in findings(design, "ground.joint_reserve") if "fire" in f.evidence["harm"]]
    assert len(found) == 4
    cause = next(f for f in found if f.follows_from and f.follows_from[0] == "ground.one_point")
    assert {f.follows_from for f in found if f is not cause} == {("ground.joint_reserve", cause.subject)}
    assert cause.evidence["joint"] == "ring of strap G1 on engine or ring of strap G1 on battery negative"
    assert cause.measured is not None
    risen = four_coils(15.0 + cause.measured).analysis
    at = next(n for n, v in enumerate(risen.victims) if v.subject == cause.subject and v.kind == "coil input, off")
    assert risen.worst(at, OffsetLimits()).offset_v == pytest.approx(-0.5, abs=1e-5)


def test_nothing_is_told_of_the_reserve_of_what_is_over_already() -> None:
    assert not [f for f in findings(four_coils(40.0), "ground.joint_reserve") if "fire" in f.evidence["harm"]]


def test_a_second_strap_takes_the_loose_one_over() -> None:
    """With another strap from block to chassis the controller's loop sees little of the starter's current."""
    wires = (
        HEAD
        + "W1,ECU,1,Fire wall,,1.5,1,Power ground\nW2,ECU,2,Engine stud,,1.5,1,Power ground\nW3,BATTERY,+,FUSE 1,1,4,1,Feed\n"
    )
    one = design_from(wires=wires, components=PARTS, earth_points=EARTHS, straps=straps(0.2))
    both = design_from(
        wires=wires, components=PARTS, earth_points=EARTHS, straps=straps(0.2) + "G3,engine,chassis,0.2\n"
    )
    [finding] = findings(one, "ground.cranking_current", strap="loose")
    assert finding.evidence["strap"] == "strap G1"
    assert finding.follows_from == ("ground.two_paths", ("component", "ECU"))
    assert not findings(both, "ground.cranking_current", strap="loose")


# --- shared returns -----------------------------------------------------------------------------
def test_the_loads_of_a_shared_return_are_named_with_their_currents() -> None:
    design = design_from(
        wires=HEAD + "W1,BATTERY,+,ECU,1,2.5,0.5,Controller feed\nW2,ECU,2,BATTERY,-,1.5,0.5,Power ground\n"
        "W3,ECU,3,CLT,1,0.5,1,CLT signal\nW4,ECU,4,SPLICE 1,,0.5,0.5,Sensor ground\n"
        "W5,SPLICE 1,,CLT,2,0.5,0.5,Sensor ground\nW6,BATTERY,+,LAMP 1,1,0.5,0.5,Lamp feed\n"
        "W7,LAMP 1,2,SPLICE 1,,0.5,0.5,Lamp ground\nW8,BATTERY,+,LAMP 2,1,0.5,0.5,Lamp feed\n"
        "W9,LAMP 2,2,SPLICE 1,,0.5,0.5,Lamp ground\n",
        components="Component,Kind,Current (A)\nECU,controller,0.8\nLAMP 1,lamp,0.4\nLAMP 2,lamp,0.3\n",
    )
    [finding] = [o for o in said(design, "sensor.shared_return") if isinstance(o, Finding)]
    assert finding.evidence["wire"] == "W4"
    assert {load["source"]: abs(load["ma"]) for load in finding.evidence["loads"]} == {
        "LAMP 1": pytest.approx(400.0),
        "LAMP 2": pytest.approx(300.0),
    }
    assert finding.measured == pytest.approx(700.0)


def test_the_clean_samples_say_nothing_of_offsets(request: pytest.FixtureRequest) -> None:
    folder = request.config.rootpath / "sample_wirelists" / "clean"
    for path in sorted(folder.glob("*.xlsx")):
        result = check_lists([path])
        assert not [rule for rule in result.rules if rule.crashed]
        looked = {rule.rule: rule.looked_at for rule in result.rules}
        assert looked["reading-error"] >= 6
        assert looked["joint-reserve"] >= 7
        assert not result.findings
        assert not result.undecided
