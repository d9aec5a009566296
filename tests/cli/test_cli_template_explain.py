"""``template`` writes a workbook that checks clear; ``explain`` has a page for every check."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from cli_helpers import assert_refused, contents, ran

from harnessdrc.checks.registry import HEADINGS, load_checks

NAMES = sorted(name for name in load_checks() if not name.startswith("workshop."))


def test_the_template_checks_clear(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "my loom.xlsx"
    written = ran(capsys, "template", target)
    assert written.code == 0
    assert written.out.splitlines()[0] == f"Written: {target}"
    result = ran(capsys, "check", target, "--json", tmp_path / "o.json")
    outcome = json.loads((tmp_path / "o.json").read_text("utf-8"))
    assert result.code == 0, outcome["findings"]
    assert outcome["findings"] == []
    assert outcome["undecided"] == []
    assert outcome["read"]["wires"] > 10
    looked_at = {rule["rule"] for rule in outcome["rules"] if rule["looked_at"]}
    assert {"one-earth-point", "sensor-return-home", "trigger-pair", "feed-drop", "lists-agree"} <= looked_at
    assert ran(capsys, "read", target).code == 0


def test_the_template_never_takes_the_place_of_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "loom.xlsx"
    target.write_bytes(b"my loom")
    assert_refused(ran(capsys, "template", target), "loom.xlsx")
    assert target.read_bytes() == b"my loom"
    assert sorted(contents(tmp_path)) == ["loom.xlsx"]


@pytest.mark.parametrize("name", ["loom.csv", "loom", "loom.xls", "no/loom.xlsx", "folder", "folder.xlsx", ""])
def test_a_template_that_cannot_be_written(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "folder").mkdir()
    (tmp_path / "folder.xlsx").mkdir()
    before = contents(tmp_path)
    result = ran(capsys, "template", name)
    assert_refused(result, name)
    assert contents(tmp_path) == before


def test_a_template_on_a_full_disk(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    import errno
    import os

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    assert_refused(ran(capsys, "template", tmp_path / "loom.xlsx"), "loom.xlsx", "disk is full")
    assert contents(tmp_path) == {}


@pytest.mark.parametrize("name", NAMES)
def test_every_check_has_its_page(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    result = ran(capsys, "explain", name)
    assert result.code == 0
    lines = result.out.splitlines()
    assert lines[0] == name
    for heading in HEADINGS:
        at = lines.index(heading)
        assert lines[at + 1].strip(), f"nothing under {heading}"
    found = next(n for n, line in enumerate(lines) if line.startswith("An example that is found: "))
    clear = next(n for n, line in enumerate(lines) if line.startswith("One that is not: "))
    assert lines[found + 2].startswith("    ") and lines[clear + 2].startswith("    ")
    assert "In the ruleset engine-loom" in lines
    assert "no rule uses this check" not in result.out


def test_without_a_name_all_checks_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    lines = ran(capsys, "explain").out.splitlines()
    assert [line.split()[0] for line in lines if not line.startswith("workshop.")] == NAMES
    starts = {len(line) - len(line.split(maxsplit=1)[1]) for line in lines}
    assert len(starts) == 1, "the texts stand in one column"
    assert min(starts) >= max(map(len, NAMES)) + 2


@pytest.mark.parametrize(
    ("typo", "meant"),
    [("ground.two_path", "ground.two_paths"), ("two_paths", "ground.two_paths"), ("Wire.One_End", "wire.one_end"),
     ("trigger.twistedpair", "trigger.twisted_pair"), ("one-earth-point", "ground.one_point")],
)  # fmt: skip
def test_an_unknown_check_suggests_the_nearest(typo: str, meant: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert_refused(ran(capsys, "explain", typo), f"'{typo}'", meant, "'harnessdrc explain' without a name")


def test_a_check_that_is_like_none(capsys: pytest.CaptureFixture[str]) -> None:
    assert_refused(ran(capsys, "explain", "qqqqqqq"), "'qqqqqqq'", "lists them all")
