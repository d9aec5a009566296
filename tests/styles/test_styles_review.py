"""A whole engine loom: what a reviewer wants to be told, and nothing else."""

from __future__ import annotations

from pathlib import Path

import lists_review as lists
from styles_helpers import CLOSE_TO_BATTERY, tried


def test_a_right_loom_is_left_alone(tmp_path: Path) -> None:
    seen = tried(lists.engine_loom(tmp_path))
    assert len(seen.wires) == 33
    assert "reserved" in seen.aside()[7], "87a of the relay is not connected"
    assert seen.found() == ["one-wire-per-cavity: Cavity Fuse 2 2 holds 2 wires: 24, 31."]
    looked_at = {r.rule: r.looked_at for r in seen.result.rules}
    for rule in ("one-earth-point", "sensor-return-home", "trigger-pair", "one-supply", "numbers-once", "two-ends"):
        assert looked_at[rule], f"{rule} looked at nothing: its silence would prove nothing"
    # Nothing feeds fuse 2 in the list: what hangs on it is not decided, and not passed over.
    asked = {u.subject[1] for u in seen.result.undecided if u.rule == "feed-drop"}
    assert asked == {"Coil 1", "Coil 2", "Injector 1", "Injector 2"}


def test_the_faults_of_a_wrong_one_are_found(tmp_path: Path) -> None:
    seen = tried(lists.engine_loom(tmp_path, faulty=True))
    (loop,) = seen.found("no-earth-loop")
    assert "ECU is earthed at Block stud (block) and at Chassis (chassis)" in loop
    (home,) = seen.found("sensor-return-home")
    assert "CLT" in home
    assert "Chassis" in home
    (pair,) = seen.found("trigger-pair")
    assert "Crank sensor" in pair
    assert "one-wire-per-cavity: Cavity ECU B1 holds 2 wires: 10, 12." in seen.found()
    causes = {finding.rule for finding in seen.result.findings if finding.follows_from is None} - {CLOSE_TO_BATTERY}
    assert causes == {"no-earth-loop", "sensor-return-home", "trigger-pair", "one-wire-per-cavity", "joint-reserve"}
