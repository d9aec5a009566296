"""``approve``: refused while anything on hold is open or undecided; every change of what was approved is told."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import openpyxl
import pytest
from cli_helpers import CLEAN, FAULTY, SAMPLES, assert_refused, contents, ran
from cli_helpers import csv_list as list_of
from test_cli_concessions import CONCESSIONS, HELD, accepted, with_sheet

CLEAN_SAMPLE = SAMPLES / "clean" / "hill_climb_single_seater.xlsx"
PLAIN = tuple(tuple(text.replace("ECU", "Engine plug") for text in row) for row in CLEAN)
"""Plugs alone, so that nothing on hold is undecided."""
BY = ("--by", "M. Lindqvist", "--on", "2026-11-25")


def csv_list(path: Path, rows: Sequence[Sequence[str]] = PLAIN) -> Path:
    """A list that can be approved, unless other rows are given."""
    return list_of(path, rows)


def keys(folder: Path, name: str = "key", password: bytes | None = None) -> tuple[Path, Path]:
    """A pair of keys as PEM files: private, public."""
    pytest.importorskip("cryptography")
    from cryptography.hazmat.primitives import serialization as form
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    key = Ed25519PrivateKey.generate()
    closed = form.BestAvailableEncryption(password) if password else form.NoEncryption()
    private, public = folder / f"{name}.pem", folder / f"{name}.pub.pem"
    private.write_bytes(key.private_bytes(form.Encoding.PEM, form.PrivateFormat.PKCS8, closed))
    public.write_bytes(key.public_key().public_bytes(form.Encoding.PEM, form.PublicFormat.SubjectPublicKeyInfo))
    return private, public


def test_refused_while_a_hold_is_open(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    loom = csv_list(tmp_path / "loom.csv", HELD)
    before = contents(tmp_path)
    run = ran(capsys, "approve", loom, *BY)
    assert run.code == 1
    assert "ON HOLD: 1" in run.out
    assert "one-wire-per-cavity" in run.out
    assert run.out.splitlines()[-1] == "NOT APPROVED: 1 on hold"
    assert contents(tmp_path) == before


def test_refused_while_a_rule_on_hold_cannot_decide(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run = ran(capsys, "approve", csv_list(tmp_path / "loom.csv", FAULTY), *BY, "--concessions", accepted(tmp_path))
    assert run.code == 1
    assert "one-earth-point" in run.out
    assert "ECU needs" in run.out
    assert run.out.splitlines()[-1] == "NOT APPROVED: 1 not decided, of rules on hold"
    assert not (tmp_path / "loom.approval.json").exists()


def test_refused_says_which_subject_is_undecided_and_which_check_crashed() -> None:
    sys.path.insert(0, str(Path(__file__).parents[1] / "concessions"))
    from accepted_results import finding, outcome, result, undecided

    from harnessdrc.approval import refusals

    checked = result(
        finding("ends", ("wire", "W1")), finding("colour", ("wire", "W1"), grade="note"), rules=(outcome("drop", crashed="it broke"),),
        undecided=(undecided("drop", ("wire", "W2")), undecided("query", ("wire", "W3"), "query")),
    )  # fmt: skip
    assert [(each.why, each.rule) for each in refusals(checked)] == [("hold", "ends"), ("undecided", "drop"), ("crashed", "drop")]
    texts = [each.text for each in refusals(checked)]
    assert texts[1] == "wire W2 needs length of wire W2."
    assert "it broke" in texts[2]


def test_approved_writes_a_sheet_and_a_file_that_say_what(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run = ran(capsys, "approve", CLEAN_SAMPLE, *BY, "--note", "for the season opener", "--out", tmp_path)
    assert run.code == 0, run
    assert run.out.splitlines()[-1] == "APPROVED by M. Lindqvist on 2026-11-25"
    assert "safe" not in run.out.replace("not proof that the loom is safe", "")
    stem = CLEAN_SAMPLE.stem
    made = json.loads((tmp_path / f"{stem}.approval.json").read_text("utf-8"))
    assert made["approved"] == {"by": "M. Lindqvist", "on": "2026-11-25", "note": "for the season opener", "key": ""}
    assert made["inputs"][0]["sha256"] == contents(CLEAN_SAMPLE.parent)[CLEAN_SAMPLE.name]
    assert made["counts"]["hold"] == 0
    assert len(made["assumptions"]) > 0
    assert len(made["rules"]) > 50
    book = openpyxl.load_workbook(tmp_path / f"{stem}.redline.xlsx")
    cells = [str(cell.value) for row in book["Approval"].iter_rows() for cell in row if cell.value is not None]
    for text in (made["digest"], made["inputs"][0]["sha256"], made["ruleset"]["sha256"], "for the season opener"):
        assert text in cells
    assert any("Approved by M. Lindqvist on 2026-11-25" in text for text in cells)
    for line in made["assumptions"]:
        assert line["subject"] in cells


def test_an_accepted_hold_is_no_hindrance_and_stands_in_the_approval(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    loom, file = csv_list(tmp_path / "loom.csv", HELD), accepted(tmp_path, CONCESSIONS.replace("ECU", "Engine plug"))
    run = ran(capsys, "approve", loom, *BY, "--concessions", file)
    assert run.code == 0, run
    made = json.loads((tmp_path / "loom.approval.json").read_text("utf-8"))
    [line] = made["concessions"]["lines"]
    assert (line["by"], line["state"]) == ("K. Ostrander", "in force")
    assert made["concessions"]["files"][0]["file"] == "accepted.toml"
    verified = ran(capsys, "approve", loom, "--verify", tmp_path / "loom.approval.json", "--on", "2027-04-01")
    assert verified.code == 0
    assert "have run out since: Engine plug 3 under one-wire-per-cavity (2027-03-31)" in verified.out
    assert "give --concessions to look at that too" in verified.out
    file.write_text(file.read_text("utf-8").replace("double", "twin"), encoding="utf-8")
    verified = ran(capsys, "approve", loom, "--verify", tmp_path / "loom.approval.json", "--concessions", file)
    assert verified.code == 1
    assert "accepted.toml: this is not the file of concessions that it was approved with" in verified.out


def test_concessions_in_the_list_count_only_when_told_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    loom = with_sheet(tmp_path, rows=HELD)
    assert ran(capsys, "approve", loom, *BY).code == 1
    assert ran(capsys, "approve", loom, *BY, "--concessions-in-list").code == 0
    assert json.loads((tmp_path / "loom.approval.json").read_text("utf-8"))["concessions"]["in_list"] is True


def test_the_same_input_gives_the_same_approval(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    private, _ = keys(tmp_path)
    for folder in ("a", "b"):
        assert ran(capsys, "approve", CLEAN_SAMPLE, *BY, "--key", private, "--out", tmp_path / folder).code == 0
    assert contents(tmp_path / "a") == contents(tmp_path / "b")


def test_verify_tells_file_by_file_what_changed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one, two = csv_list(tmp_path / "one.csv"), csv_list(tmp_path / "two.csv", [("W9", "Dash", "1", "Lamp", "1", "BU", "0.5")])
    out = tmp_path / "out"
    assert ran(capsys, "approve", one, two, *BY, "--out", out).code == 0
    file = out / "one.approval.json"
    assert ran(capsys, "approve", two, one, "--verify", file).code == 0
    renamed = tmp_path / "three.csv"
    renamed.write_bytes(two.read_bytes())
    run = ran(capsys, "approve", one, renamed, "--verify", file)
    assert run.code == 0
    assert "three.csv was called two.csv when it was approved; its content is the same." in run.out
    run = ran(capsys, "approve", one, "--verify", file)
    assert run.code == 1
    assert "two.csv: it was approved and is not in hand." in run.out
    extra = csv_list(tmp_path / "extra.csv", PLAIN[:1])
    run = ran(capsys, "approve", one, two, extra, "--verify", file)
    assert run.code == 1
    assert "extra.csv: it is in hand and was not approved." in run.out
    two.write_text(two.read_text("utf-8").replace("BU", "GN"), encoding="utf-8")
    run = ran(capsys, "approve", one, two, "--verify", file)
    assert run.code == 1
    assert "two.csv: its content has changed" in run.out
    assert "one.csv:" not in run.out
    assert "harnessdrc compare" in run.out
    assert run.out.splitlines()[-1] == "NOT THE SAME: 1 difference"


def test_verify_holds_rules_and_given_values_against_it_where_asked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    loom = csv_list(tmp_path / "loom.csv")
    assert ran(capsys, "approve", loom, *BY).code == 0
    file = tmp_path / "loom.approval.json"
    assert ran(capsys, "approve", loom, "--verify", file, "--ruleset", "engine-loom").code == 0
    run = ran(capsys, "approve", loom, "--verify", file, "--given", "contact_mohm=3")
    assert run.code == 1
    assert "The given value contact_mohm is 3.0 mohm; it was approved with 2.0 mohm." in run.out
    rules = tmp_path / "rules.toml"
    rules.write_text(
        'name = "shop"\nissue = "7"\nbased_on = "engine-loom"\n[rule.one-wire-per-cavity]\noff = true\nreason = "not here"\n'
    )
    run = ran(capsys, "approve", loom, "--verify", file, "--ruleset", rules)
    assert run.code == 1
    assert "does not say what the one approved with says (engine-loom, issue 1)" in run.out


def test_verify_of_a_mapping(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    loom, mapping = csv_list(tmp_path / "loom.csv"), tmp_path / "map.toml"
    assert ran(capsys, "read", loom, "--write-mapping", mapping).code == 0
    assert ran(capsys, "approve", loom, *BY, "--mapping", mapping).code == 0
    file = tmp_path / "loom.approval.json"
    run = ran(capsys, "approve", loom, "--verify", file)
    assert run.code == 0
    assert "It was approved with the mapping map.toml" in run.out
    assert ran(capsys, "approve", loom, "--verify", file, "--mapping", mapping).code == 0
    mapping.write_text(mapping.read_text("utf-8") + "\n# more\n", encoding="utf-8")
    assert ran(capsys, "approve", loom, "--verify", file, "--mapping", mapping).code == 1


def test_a_signature_names_its_key_and_another_key_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    private, public = keys(tmp_path)
    _, other = keys(tmp_path, "other")
    loom = csv_list(tmp_path / "loom.csv")
    run = ran(capsys, "approve", loom, *BY, "--key", private)
    assert run.code == 0
    assert "Signed with the key" in run.out
    file = tmp_path / "loom.approval.json"
    assert ran(capsys, "approve", loom, "--verify", file, "--public-key", public).code == 0
    run = ran(capsys, "approve", loom, "--verify", file)
    assert (run.code, "whose key that is was not looked at" in run.out) == (0, True)
    run = ran(capsys, "approve", loom, "--verify", file, "--public-key", other)
    assert run.code == 1
    assert "signed with another key" in run.out
    assert run.out.splitlines()[-1] == "NOT VERIFIED: this approval is not to be relied on"
    ran(capsys, "approve", loom, *BY)
    run = ran(capsys, "approve", loom, "--verify", file, "--public-key", public)
    assert (run.code, "is not signed" in run.out) == (1, True)


def test_a_key_with_a_password_is_asked_for_on_a_terminal_only(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    private, public = keys(tmp_path, password=b"loom")
    loom = csv_list(tmp_path / "loom.csv")
    monkeypatch.setattr("sys.stdin", open("/dev/null"))  # noqa: SIM115, PTH123
    assert_refused(ran(capsys, "approve", loom, *BY, "--key", private), "has a password", "terminal")
    monkeypatch.setattr("harnessdrc.cli.approve._at_terminal", lambda: True)
    monkeypatch.setattr("getpass.getpass", lambda *_: "loom")
    assert ran(capsys, "approve", loom, *BY, "--key", private).code == 0
    assert ran(capsys, "approve", loom, "--verify", tmp_path / "loom.approval.json", "--public-key", public).code == 0
    monkeypatch.setattr("getpass.getpass", lambda *_: "room")
    assert_refused(ran(capsys, "approve", loom, *BY, "--key", private), "does not open with this password")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), ("--by",)),
        (("--by", " "), ("--by: expected",)),
        (("--by", "me", "--on", "soon"), ("--on soon", "expected a date")),
        (("--by", "me", "--public-key", "x.pem"), ("--verify",)),
        (("--verify", "none.approval.json"), ("none.approval.json", "cannot be read")),
        (("--verify", "loom.csv"), ("loom.csv", "no approval")),
        (("--verify", "loom.csv", "--by", "me"), ("--by", "leave it out")),
        (("--by", "me", "--key", "loom.csv"), ("--key loom.csv", "Ed25519 private key")),
        (("--by", "me", "--key", "none.pem"), ("--key none.pem", "cannot be read")),
        (("--by", "me", "--mapping", "none.toml"), ("none.toml",)),
    ],
)
def test_what_cannot_be_used_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...], words: tuple[str, ...]
) -> None:
    monkeypatch.chdir(tmp_path)
    csv_list(Path("loom.csv"))
    assert_refused(ran(capsys, "approve", "loom.csv", *arguments), *words)


def test_a_missing_list_is_told_when_verifying(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    loom = csv_list(tmp_path / "loom.csv")
    ran(capsys, "approve", loom, *BY)
    run = ran(capsys, "approve", tmp_path / "gone.csv", "--verify", tmp_path / "loom.approval.json")
    assert_refused(run, "gone.csv", "no such file")


def test_without_the_package_for_signatures_that_is_said(tmp_path: Path) -> None:
    loom = csv_list(tmp_path / "loom.csv")
    private, _ = keys(tmp_path)
    code = (
        "import sys; sys.modules['cryptography'] = None\n"
        "from harnessdrc.cli import main\n"
        f"sys.exit(main(['approve', {str(loom)!r}, '--by', 'me', '--key', {str(private)!r}]))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 2
    assert "pip install 'harnessdrc[sign]'" in done.stderr
