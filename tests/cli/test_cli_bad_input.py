"""Input that cannot be used: one clear sentence, exit 2, and nothing left behind."""

from __future__ import annotations

import errno
import os
import socket
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from bad_lists import BAD
from cli_helpers import assert_refused, contents, csv_list, ran, workbook


@pytest.mark.parametrize("what", BAD)
@pytest.mark.filterwarnings("ignore")
def test_a_list_that_cannot_be_used(what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    name, make, words = BAD[what]
    make(tmp_path / name)
    before = contents(tmp_path)
    result = ran(capsys, "check", tmp_path / name, "--out", tmp_path / "out", "--json", tmp_path / "o.json")
    assert_refused(result, name, *words)
    assert contents(tmp_path) == before


@pytest.mark.parametrize("what", ["headings only", "zip bomb", "binary", "cut short"])
def test_read_refuses_in_the_same_words(what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    name, make, _ = BAD[what]
    make(tmp_path / name)
    before = contents(tmp_path)
    checked = ran(capsys, "check", tmp_path / name)
    read = ran(capsys, "read", tmp_path / name, "--write-mapping", tmp_path / "map.toml")
    assert read == checked
    assert contents(tmp_path) == before


_MEASURED = """
import resource, subprocess, sys
done = subprocess.run(sys.argv[1:], capture_output=True)
print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
sys.stderr.buffer.write(done.stderr)
sys.exit(done.returncode)
"""
"""Runs a command and prints its peak memory, KiB; a child starts with its parent's, so a small parent is needed."""


def test_a_zip_bomb_as_a_process(tmp_path: Path) -> None:
    """Refused at once: no unpacking, so little memory."""
    pytest.importorskip("resource", reason="this system cannot limit a process")
    name, make, words = BAD["zip bomb"]
    make(tmp_path / name)
    started = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-c", _MEASURED, sys.executable, "-m", "harnessdrc", "check", str(tmp_path / name)],
        capture_output=True,
        timeout=120,
        check=False,
    )
    assert time.monotonic() - started < 20
    assert done.returncode == 2
    assert all(word.encode() in done.stderr for word in words)
    assert 0 < int(done.stdout) < 300 * 1024


def test_components_alone_can_still_be_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    BAD["components only"][1](tmp_path / "loom.xlsx")
    result = ran(capsys, "read", tmp_path / "loom.xlsx")
    assert result.code == 0
    assert "Component list" in result.out


def test_a_missing_file_names_the_nearest(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    csv_list(tmp_path / "wiring.csv")
    assert_refused(ran(capsys, "check", tmp_path / "wirign.csv"), "wirign.csv", "no such file", "wiring.csv")


def test_a_missing_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert_refused(ran(capsys, "check", tmp_path / "no" / "loom.csv"), "loom.csv", "no folder", "Check the path")


def test_a_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    csv_list(tmp_path / "wiring.csv")
    assert_refused(ran(capsys, "check", tmp_path), str(tmp_path), "a folder", "wiring.csv")


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="this system has no /dev/zero")
def test_a_device_without_end(capsys: pytest.CaptureFixture[str]) -> None:
    assert_refused(ran(capsys, "check", "/dev/zero"), "/dev/zero", "a device", "Save the list as a file")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_that_nobody_writes_to(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    os.mkfifo(tmp_path / "loom.csv")
    assert_refused(ran(capsys, "check", tmp_path / "loom.csv"), "loom.csv", "a pipe", "Save the list as a file")


@pytest.mark.skipif(not hasattr(socket, "AF_UNIX") or sys.platform == "win32", reason="this system has no such sockets")
def test_a_socket(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.chdir(tmp_path)
    with socket.socket(socket.AF_UNIX) as server:
        server.bind("loom.csv")
        assert_refused(ran(capsys, "check", "loom.csv"), "loom.csv", "a socket")


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="this system has no such permissions")
def test_no_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    source = csv_list(tmp_path / "loom.csv")
    source.chmod(0)
    if os.access(source, os.R_OK):  # this user reads everything: let the system say no in its place
        real = os.open

        def refused(path: Any, *arguments: Any, **named: Any) -> int:
            if Path(path) == source:
                raise PermissionError(errno.EACCES, "Permission denied", str(path))
            return real(path, *arguments, **named)

        monkeypatch.setattr(os, "open", refused)
    assert_refused(ran(capsys, "check", source), "loom.csv", "no permission", "ask its owner")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["loom.csv"]


@pytest.mark.parametrize("ending", ["xls", "csv", "ods", "dat"])
def test_a_wrong_ending_is_read_by_what_it_is(ending: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = workbook(tmp_path / "loom.xlsx").rename(tmp_path / f"loom.{ending}")
    result = ran(capsys, "check", source)
    assert result.code == 0, result
    assert "3 wires" in result.out
    read = ran(capsys, "read", source).out
    assert "an .xlsx workbook" in read
    assert f"ends in '.{ending}'" in read


def test_some_formulas_without_results_are_counted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = [["W1", "ECU", 1, "X1", 1, "BU", "=Data!A1"], ["W2", "ECU", 2, "X1", 2, "GN", 0.5]]
    source = workbook(tmp_path / "loom.xlsx", rows)
    result = ran(capsys, "check", source)
    assert "1 cell not understood" in result.out
    read = ran(capsys, "read", source).out
    assert "Wire list G2: 'a formula without a stored result'" in read
    assert "recalculate and save it" in read


@pytest.mark.parametrize(
    "name", ["no.toml", "folder", "binary.toml", "broken.toml"], ids=["missing", "folder", "binary", "broken"]
)
@pytest.mark.parametrize("option", ["--ruleset", "--mapping"])
def test_a_ruleset_or_mapping_that_cannot_be_read(
    option: str, name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "binary.toml").write_bytes(b"\xff\xfe\x00junk")
    (tmp_path / "broken.toml").write_text("name = \n", encoding="utf-8")
    source = csv_list(tmp_path / "loom.csv")
    before = contents(tmp_path)
    result = ran(capsys, "check", source, option, tmp_path / name)
    assert result.code == 2
    assert result.out == ""
    assert name in result.err
    assert "Traceback" not in result.err
    assert len(result.err.splitlines()) <= 2
    assert contents(tmp_path) == before


def test_a_fault_of_the_program_is_no_verdict(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whatever goes wrong inside, the exit is not 0 and nothing is half written."""
    import harnessdrc.cli.check as verb

    def fall(*_: object) -> None:
        raise ZeroDivisionError("division by zero")

    monkeypatch.delenv("HARNESSDRC_TRACEBACK", raising=False)
    monkeypatch.setattr(verb, "judge", fall)
    result = ran(capsys, "check", csv_list(tmp_path / "loom.csv"), "--out", tmp_path / "out")
    assert result.code == 3
    assert result.out == ""
    assert "a fault of the program itself (ZeroDivisionError" in result.err
    assert "Traceback" not in result.err
    assert sorted(contents(tmp_path)) == ["loom.csv"]


def test_memory_that_runs_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import harnessdrc.cli.check as verb

    def fall(*_: object) -> None:
        raise MemoryError

    monkeypatch.setattr(verb, "judge", fall)
    assert_refused(ran(capsys, "check", csv_list(tmp_path / "loom.csv")), "not enough memory")


@pytest.mark.parametrize("option", ["--out", "--mapping", "--ruleset", "--json"])
def test_an_option_with_nothing_after_it(
    option: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A script's unset variable must not turn into the folder it happens to run in."""
    monkeypatch.chdir(tmp_path)
    source = csv_list(tmp_path / "loom.csv")
    assert_refused(ran(capsys, "check", source, option, ""), option, "found nothing")
    assert sorted(contents(tmp_path)) == ["loom.csv"]
