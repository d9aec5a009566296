"""Proposals: the known repair for each planted fault, proved, and nothing that would do harm."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from advice_lists import HEADINGS, changes_of, checked, holds, keys, loom, proposed, unlike, with_change
from text_lists import read_rows, shipped_given, shipped_ruleset, shipped_states

from harnessdrc.advice import proposing
from harnessdrc.advice.candidates import MOST, candidates, is_about_grounds
from harnessdrc.advice.homes import Homes
from harnessdrc.advice.proposing import propose
from harnessdrc.advice.proving import edited
from harnessdrc.advice.worth import ADVISED_CHECKS
from harnessdrc.api import open_and_read
from harnessdrc.checks.cases import Case, cases_of
from harnessdrc.checks.registry import CHECKS, load_checks
from harnessdrc.design import design_of
from harnessdrc.engine import run

SAMPLES = Path(__file__).parents[2] / "sample_wirelists" / "faulty"


def test_a_loom_in_order_gets_no_proposal() -> None:
    design, result = checked(loom())
    assert result.findings == ()
    assert propose(design, shipped_ruleset(), CHECKS, result) is result


PLANTED = {
    "coil away from the star": (
        loom("W11,COIL 2,3,Chassis stud,,BK,1,0.5,Coil ground"),
        ("ground.one_point", "COIL 2"),
        "Move the end of wire W11 at Chassis stud to Head stud.",
    ),
    "controller earthed twice": (
        loom("W22,ECU,A5,Chassis stud,,BK,1.5,0.7,Power ground"),
        ("ground.two_paths", "ECU"),
        "Move the end of wire W22 at Chassis stud to Head stud.",
    ),
    "bus bar joined to both bodies": (
        loom(
            "W4,ECU,A2,SPLICE 3,,BK,1.5,0.4,Power ground",
            "W22,SPLICE 3,,Head stud,,BK,1.5,0.3,Power ground",
            "W23,SPLICE 3,,Chassis stud,,BK,1.5,0.3,Power ground",
        ),
        ("ground.two_paths", "ECU"),
        "Take wire W23 away.",
    ),
    "ground that ends on nothing": (
        loom("W19,FUEL PUMP,2,SPLICE 9,,BK,1.5,0.6,Pump ground"),
        ("ground.no_return", "FUEL PUMP"),
        "Move the end of wire W19 at SPLICE 9 to Head stud.",
    ),
    "spark current through the chassis": (
        loom("W12,COIL 2,4,Chassis stud,,BN,1,0.4,HV return"),
        ("ignition.high_voltage_return", "COIL 2"),
        "Move the end of wire W12 at Chassis stud to Head stud.",
    ),
    "sensor returned to the engine": (
        loom("W16,IAT SENSOR,2,Head stud,,BN,0.5,0.6,Sensor ground"),
        ("sensor.return_elsewhere", "IAT SENSOR"),
        "Move the end of wire W16 at Head stud to SPLICE 2.",
    ),
    "sensor ground with a second way out": (
        loom("W22,SPLICE 2,,Head stud,,BK,1,0.4,Sensor ground"),
        ("sensor.return_second_path", "sensor ground ECU B9"),
        "Take wire W22 away.",
    ),
    "power grounds on the sensor ground": (
        loom(
            "W19,FUEL PUMP,2,SPLICE 2,,BK,1.5,0.6,Pump ground",
            "W12,COIL 2,4,SPLICE 2,,BN,1,0.4,HV return",
        ),
        ("sensor.return_second_path", "sensor ground ECU B9"),
        "Move the ends of wires W12 and W19 at SPLICE 2 to Head stud.",
    ),
    "thin return": (
        # 8 A: 0.75 mm² makes 74 mΩ of 2.4 m at 85 °C, 595 mV; 1 mm² 56 mΩ, 446 mV and some 40 mV at the joints.
        loom("W19,FUEL PUMP,2,Chassis stud,,BK,0.5,2.4,Pump ground"),
        ("ground.voltage_drop", "FUEL PUMP"),
        "Make wire W19 1 mm² instead of 0.5 mm².",
    ),
    "thin feed": (
        loom("W18,SPLICE 1,,FUEL PUMP,1,RD,0.5,2,Pump feed,8"),
        ("feed.voltage_drop", "FUEL PUMP"),
        "Make wire W18 1 mm² instead of 0.5 mm².",
    ),
}


@pytest.mark.parametrize(("wires", "finding", "change"), PLANTED.values(), ids=PLANTED)
def test_the_known_repair_is_proposed(wires: str, finding: tuple[str, str], change: str) -> None:
    assert proposed(wires)[finding] == change


@pytest.mark.parametrize("wires", [wires for wires, _, _ in PLANTED.values()], ids=PLANTED)
def test_the_finding_is_gone_when_the_change_is_made_and_nothing_else_comes(wires: str) -> None:
    design, result = checked(wires)
    found = changes_of(design, result)
    assert found
    for key, proved in found.items():
        holds(design, key, proved)


@pytest.mark.parametrize("name", PLANTED)
def test_the_order_of_the_rows_does_not_matter(name: str) -> None:
    heading, *rows = PLANTED[name][0].splitlines()
    told = proposed("\n".join([heading, *rows]))
    for seed in range(3):
        random.Random(seed).shuffle(rows)
        assert proposed("\n".join([heading, *rows])) == told


def test_a_shield_is_cut_back_at_its_far_end() -> None:
    wires = (
        "Wire,From,From cavity,To,To cavity,Colour,Size (mm2),Length (m),Signal,Twist group,Shield\n"
        "W1,CRANK VR SENSOR,1,ECU,B1,WH,0.5,1,Crank VR +,T1,SH1\n"
        "W2,CRANK VR SENSOR,2,ECU,B2,BN,0.5,1,Crank VR -,T1,SH1\n"
        "W3,ECU,B3,Head stud,,bare,0.5,1,Shield drain,,SH1\n"
        "W4,ECU,A1,Head stud,,BK,1.5,0.7,Power ground,,\n"
    )
    design, result = checked(wires)
    told = propose(design, shipped_ruleset(), CHECKS, result)
    shield = next(f for f in told.findings if f.check == "trigger.shield")
    assert shield.proposal is not None
    assert shield.proposal.change == "Cut wire W3 back at Head stud and insulate its end."
    assert shield.proposal.clears == (shield.thumbprint,)


def test_a_controller_on_the_chassis_is_moved_to_where_its_sensor_is_earthed() -> None:
    parts = "Component,Kind,Place,Earthed by its case\nOIL TEMP SENSOR,temperature sensor,block,yes\n"
    wires = loom(
        *(f"{w},{d},{p},Chassis stud,,BK,1.5,0.7,{s}" for w, d, p, s in (
            ("W4", "ECU", "A2", "Power ground"), ("W7", "COIL 1", "3", "Coil ground"),
            ("W11", "COIL 2", "3", "Coil ground"))),
        "W22,ECU,B4,OIL TEMP SENSOR,1,YE,0.5,1.2,Oil temp signal",
        without=("W8", "W12"),
    )  # fmt: skip
    design, result = checked(wires, components=parts)
    found = changes_of(design, result)
    key = next(key for key in found if key[1] == "sensor.body_grounded")
    # The coils have to go along, or they would be away from the star point.
    every = [*found[key].others, found[key].change]
    assert {name for change in every for name in change.wires} == {"W4", "W7", "W11"}
    assert "sensor.body_grounded" not in {check for _, check, _ in keys(with_change(design, every))}
    holds(design, key, found[key])


def test_a_change_that_would_make_another_finding_is_not_offered() -> None:
    """One sensor, one sensor-ground pin with its wire: a second wire there would be two in one cavity."""
    wires = loom(
        "W14,CLT SENSOR,2,ECU,B9,BN,0.5,0.9,Sensor ground",
        "W16,IAT SENSOR,2,Head stud,,BN,0.5,0.6,Sensor ground",
        without=("W17",),
    )
    design, result = checked(wires)
    finding = next(f for f in result.findings if f.check == "sensor.return_elsewhere")
    first = candidates(Homes(design), finding)[0]
    assert first.sentence(design) == "Move the end of wire W16 at Head stud to ECU B9."
    assert "cavity.used_twice" in {check for _, check, _ in keys(with_change(design, [first]))}
    change = proposed(wires)["sensor.return_elsewhere", "IAT SENSOR"]
    assert change == "Put a splice into wire W14. Move the end of wire W16 at Head stud to that splice."


def test_nothing_is_offered_where_nothing_helps() -> None:
    """No size of the wire alone, nor of all on the way, brings 60 m of wire within the limit."""
    wires = loom("W19,FUEL PUMP,2,Chassis stud,,BK,120,600,Pump ground")
    told = proposed(wires)
    assert told["ground.voltage_drop", "FUEL PUMP"] == ""


def test_no_wire_is_taken_away_that_leaves_a_pin_without_a_ground() -> None:
    """The second ground of a fan is a pin of its own: its wire goes elsewhere, it is not taken away."""
    wires = loom(
        "W22,SPLICE 1,,FAN,1,RD,2.5,1,Fan feed",
        "W23,FAN,2,Head stud,,BK,2.5,1,Fan ground",
        "W24,FAN,3,Chassis stud,,BK,2.5,1,Fan ground",
    )
    design, result = checked(wires)
    finding = next(f for f in result.findings if f.check == "ground.two_paths")
    offered = [change.sentence(design) for change in candidates(Homes(design), finding)]
    assert offered[0] == "Move the end of wire W24 at Chassis stud to Head stud."
    assert not [text for text in offered if text.startswith("Take")]


def test_findings_of_one_cause_share_one_proposal() -> None:
    """Two pumps on a splice that leads nowhere: one wire brings both home."""
    wires = loom(
        "W19,FUEL PUMP,2,SPLICE 7,,BK,1.5,0.6,Pump ground",
        "W22,SPLICE 1,,WATER PUMP,1,RD,1.5,1,Pump feed",
        "W23,WATER PUMP,2,SPLICE 7,,BK,1.5,1,Pump ground",
    )
    design, result = checked(wires)
    told = propose(design, shipped_ruleset(), CHECKS, result)
    both = [f for f in told.findings if f.check == "ground.no_return"]
    assert {f.subject[1] for f in both} == {"FUEL PUMP", "WATER PUMP"}
    assert len({f.proposal.change for f in both if f.proposal}) == 1
    for finding in both:
        assert finding.proposal is not None
        assert set(finding.proposal.clears) == {f.thumbprint for f in both}


def test_before_and_after_are_what_the_rules_measure() -> None:
    design, result = checked(PLANTED["thin return"][0])
    told = propose(design, shipped_ruleset(), CHECKS, result)
    finding = next(f for f in told.findings if f.check == "ground.voltage_drop")
    assert finding.proposal is not None
    assert finding.proposal.before == finding.measured
    assert finding.proposal.unit == "mV"
    assert finding.limit is not None
    assert finding.proposal.after is not None
    change = changes_of(design, result)[finding.rule, finding.check, finding.subject].change
    after = with_change(design, [change])
    load = next(load for load in after.loads.all if load.device.subject == finding.subject)
    drop = after.drops.back(load)
    assert drop is not None
    assert finding.proposal.after == pytest.approx(drop.drop_v * 1000, abs=1e-3)
    assert 0 < finding.proposal.after < finding.limit < finding.proposal.before


# ---------------------------------------------------------------------- many causes
def _many(coils: int, *more: str) -> str:
    lines = [HEADINGS.strip(), "W1,ECU,A1,Head stud,,BK,1.5,0.7,Power ground"]
    for n in range(coils):
        lines.append(f"W{10 + 2 * n},COIL {n},3,Chassis stud,,BK,1,0.5,Coil ground")
        lines.append(f"W{11 + 2 * n},COIL {n},2,ECU,C{n},GN,0.5,0.9,Coil {n} input")
    return "\n".join([*lines, *more]) + "\n"


def test_many_causes_are_proved_together() -> None:
    design, result = checked(_many(18))
    told = propose(design, shipped_ruleset(), CHECKS, result)
    coils = [f for f in told.findings if f.check == "ground.one_point"]
    assert len(coils) == 18
    for finding in coils:
        assert finding.proposal is not None
        assert finding.proposal.together == 17
        own = {f.thumbprint for f in result.findings if f.subject == finding.subject}
        assert finding.thumbprint in finding.proposal.clears
        assert set(finding.proposal.clears) <= own
    found = changes_of(design, result)
    after = keys(with_change(design, unlike(found)))
    assert not [key for key in after if key[1] == "ground.one_point"]
    assert after < keys(design)


def test_of_many_the_one_that_does_harm_drops_out_and_the_others_stand(monkeypatch: pytest.MonkeyPatch) -> None:
    """The sensor's only change puts a second wire into a cavity."""
    wires = _many(
        15,
        "W90,CLT SENSOR,2,ECU,B9,BN,0.5,0.9,Sensor ground",
        "W91,CLT SENSOR,1,ECU,B1,YE,0.5,0.9,CLT signal",
        "W92,IAT SENSOR,2,Head stud,,BN,0.5,0.9,Sensor ground",
        "W93,IAT SENSOR,1,ECU,B2,YE,0.5,0.9,IAT signal",
    )
    monkeypatch.setattr(proposing, "_ALONE_WIRES", 0)  # as on a long list: no second try alone
    design, result = checked(wires)
    assert len({f.subject for f in result.findings if is_about_grounds(f.check)}) == 16
    found = changes_of(design, result)
    assert {key[2][1] for key in found} == {f"COIL {n}" for n in range(15)}
    assert {len(proved.others) for proved in found.values()} == {14}
    monkeypatch.undo()
    assert {key[2][1] for key in changes_of(design, result)} == {f"COIL {n}" for n in range(15)} | {"IAT SENSOR"}


# ---------------------------------------------------------------------- every list at hand
load_checks()
FOUND = [case for name in CHECKS if is_about_grounds(name) for case in cases_of(name) if case.expect == "finding"]


@pytest.mark.parametrize("case", FOUND, ids=lambda case: f"{case.check}-{case.name}")
def test_whatever_is_proposed_for_a_case_of_a_check_holds(case: Case) -> None:
    reading = read_rows(case.rows())
    design = design_of(reading, {**shipped_given(), **case.given}, shipped_states())
    result = run(design, shipped_ruleset(), CHECKS, reading)
    for finding in result.findings:
        if is_about_grounds(finding.check):
            assert len(candidates(Homes(design), finding)) <= MOST
    for key, proved in changes_of(design, result).items():
        holds(design, key, proved)


EXPECTED = {
    "hill_climb_single_seater": {
        ("ground.one_point", "COIL3"): "Move the end of wire W212 at STUD4 (battery negative) to STUD1 (head).",
        ("ground.two_paths", "ECU"): "Move the end of wire W302 at STUD3 (chassis) to STUD1 (head).",
        ("sensor.return_elsewhere", "IAT"): "Move the end of wire W414 at STUD2 (head) to splice SP5.",
        ("sensor.return_second_path", "sensor ground ECU-B 7"): "Take wire W439 away.",
        ("ignition.high_voltage_return", "COIL2"): "Move the end of wire W216 at STUD3 (chassis) to STUD2 (head).",
        ("ground.voltage_drop", "FAN"): "Make wire W138 0.75 mm² instead of 0.5 mm².",
        ("feed.voltage_drop", "PUMP"): "Make wire W133 1.25 mm² instead of 0.5 mm².",
        ("trigger.shield", "SH1"): "Cut wire W403 back at STUD1 (head) and insulate its end.",
        ("ground.no_return", "WB"): "Add a wire of 1.5 mm² from WB 2 to STUD1 (head); it is reckoned with a length of 1.2 m.",
    },
    "rescue_boat_v8": {
        ("ground.two_paths", "ECM"): "Move the ends of wires 67, 68 and 69 at G3 (hull) and G4 (battery negative) to G1 (head).",
        ("sensor.body_grounded", "OILT"): "Move the ends of wires 67, 68 and 69 at G3 (hull) and G4 (battery negative) to G1 (head).",
        ("sensor.return_elsewhere", "ECT"): "Move the end of wire 109 at G3 (hull) to splice S16.",
        ("ground.voltage_drop", "BLOWER"): "Make wire 85 20 AWG instead of 22 AWG.",
        ("feed.voltage_drop", "FPUMP"): "Make wire 72 14 AWG instead of 18 AWG.",
        ("trigger.shield", "SCR1"): "Cut wire 107 back at G2 (head) and insulate its end.",
    },
}


@pytest.mark.parametrize("name", EXPECTED)
def test_the_planted_ground_faults_of_a_sample_get_their_repair(name: str) -> None:
    _, reading = open_and_read([SAMPLES / f"{name}.xlsx"])
    design = design_of(reading, shipped_given(), shipped_states())
    result = run(design, shipped_ruleset(), CHECKS, reading)
    told = propose(design, shipped_ruleset(), CHECKS, result)
    offered = {(f.check, f.subject[1]): f.proposal.change for f in told.findings if f.proposal}
    assert {key: offered.get(key) for key in EXPECTED[name]} == EXPECTED[name]
    # All of them made at once: what they are for is gone, and nothing new is there.
    found = changes_of(design, result)
    before, after = keys(design), keys(with_change(design, unlike(found)))
    assert {key for key in after - before if not key[1].startswith("undecided ")} == set()
    assert not after & found.keys()


def test_roles_kept_from_the_old_design_are_those_of_the_new_one() -> None:
    design, result = checked(PLANTED["coil away from the star"][0])
    for proved in changes_of(design, result).values():
        made = edited(design, proved.change.edits)
        assert made.roles is design.roles
        assert with_change(design, [proved.change]).roles.of == made.roles.of


def test_the_checks_that_are_advised_on_are_those_with_candidates() -> None:
    assert {check for check in load_checks() if is_about_grounds(check)} == ADVISED_CHECKS
