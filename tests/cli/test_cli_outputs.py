"""Outputs that cannot be written: a clear sentence, exit 2, and the folder as it was."""

from __future__ import annotations

import errno
import io
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from cli_helpers import FAULTY, assert_refused, contents, csv_list, process, ran, workbook


@pytest.fixture
def tiny_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk with 32 KiB of room."""
    folder = tmp_path / "disk"
    folder.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=32k", "tmpfs", str(folder)], capture_output=True, check=False
    )
    if made.returncode:
        pytest.skip("this user cannot mount a small disk")
    try:
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def big_list(path: Path) -> Path:
    rows = [(f"W{n}", "ECU", str(n), "Dash plug", str(n), "BU", "0.5") for n in range(1, 1500)]
    return workbook(path, rows)


def test_a_disk_that_is_really_full(tiny_disk: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = big_list(tmp_path / "loom.xlsx")
    result = ran(capsys, "check", source, "--out", tiny_disk / "new", "--json", tmp_path / "o.json")
    assert_refused(result, "loom.redline.xlsx", "the disk is full", "Free some space")
    assert list(tiny_disk.iterdir()) == []
    assert sorted(path.name for path in tmp_path.iterdir()) == ["disk", "loom.xlsx"]


def test_a_disk_too_full_for_the_json(tiny_disk: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = big_list(tmp_path / "loom.xlsx")
    (tiny_disk / "photos").write_bytes(bytes(32 * 1024))
    result = ran(capsys, "check", source, "--json", tiny_disk / "o.json")
    assert_refused(result, "o.json", "the disk is full")
    assert [path.name for path in tiny_disk.iterdir()] == ["photos"]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["disk", "loom.xlsx"]


class _Full(io.RawIOBase):
    """A file on a disk that takes `room` bytes and no more."""

    def __init__(self, handle: int, room: int) -> None:
        self.handle, self.room = handle, room

    def writable(self) -> bool:
        return True

    def fileno(self) -> int:
        return self.handle

    def write(self, data: Any) -> int:
        size = len(memoryview(data).cast("B"))
        if size > self.room:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        self.room -= size
        return os.write(self.handle, data)

    def close(self) -> None:
        if not self.closed:
            os.close(self.handle)
        super().close()


@pytest.mark.parametrize("room", [0, 900, 4000])
def test_a_disk_that_fills_while_the_redline_is_written(
    room: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import harnessdrc.render.outfile as outfile

    class Opened:
        def __getattr__(self, name: str) -> Any:
            return getattr(os, name)

        def fdopen(self, handle: int, *_: object, **__: object) -> io.BufferedWriter:
            return io.BufferedWriter(_Full(handle, room), 512)

    monkeypatch.setattr(outfile, "os", Opened())
    source = workbook(tmp_path / "loom.xlsx", FAULTY)
    before = contents(tmp_path)
    assert_refused(ran(capsys, "check", source), "loom.redline.xlsx", "the disk is full")
    assert contents(tmp_path) == before


def test_an_earlier_redline_survives_a_run_that_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    source = csv_list(tmp_path / "loom.csv")
    assert ran(capsys, "check", source).code == 0
    before = contents(tmp_path)

    def refused(*_: object) -> None:
        raise OSError(errno.EBUSY, "Device or resource busy")

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", refused)
        result = ran(capsys, "check", source, "--json", tmp_path / "o.json")
    assert_refused(result, "loom.redline.xlsx", "open in another program")
    assert contents(tmp_path) == before
    assert ran(capsys, "check", source).code == 0


def test_an_output_folder_that_can_only_be_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    source = csv_list(tmp_path / "loom.csv")
    out = tmp_path / "out"
    out.mkdir()
    out.chmod(0o555)
    if os.access(out, os.W_OK):  # this user writes everywhere: let the system say no in its place
        real = os.open

        def refused(path: Any, flags: int, *arguments: Any, **named: Any) -> int:
            if flags & os.O_CREAT and Path(path).parent == out:
                raise PermissionError(errno.EACCES, "Permission denied", str(path))
            return real(path, flags, *arguments, **named)

        monkeypatch.setattr(os, "open", refused)
    result = ran(capsys, "check", source, "--out", out)
    assert_refused(result, "loom.redline.xlsx", "not permitted", "choose another folder")
    assert sorted(contents(tmp_path)) == ["loom.csv", "out"]


@pytest.mark.parametrize("below", ["", "deeper"])
def test_an_output_folder_that_is_a_file(below: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = csv_list(tmp_path / "loom.csv")
    (tmp_path / "out").write_text("taken", encoding="utf-8")
    before = contents(tmp_path)
    assert_refused(ran(capsys, "check", source, "--out", tmp_path / "out" / below), "out", "choose another with --out")
    assert contents(tmp_path) == before


def test_folders_made_for_nothing_are_taken_away(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = csv_list(tmp_path / "loom.csv")
    (tmp_path / "o.json").mkdir()
    result = ran(capsys, "check", source, "--out", tmp_path / "a" / "b", "--json", tmp_path / "no" / "o.json")
    assert_refused(result, "o.json", "its folder does not exist", "Make the folder")
    assert sorted(contents(tmp_path)) == ["loom.csv", "o.json"]


def test_a_folder_where_the_redline_goes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = csv_list(tmp_path / "loom.csv")
    (tmp_path / "loom.redline.xlsx").mkdir()
    result = ran(capsys, "check", source, "--json", tmp_path / "o.json")
    assert_refused(result, "loom.redline.xlsx", "a folder has this name", "rename the folder")
    assert sorted(contents(tmp_path)) == ["loom.csv", "loom.redline.xlsx"]


@pytest.mark.parametrize(
    ("target", "words"),
    [
        ("loom.csv", "this is one of the lists"),
        ("./sub/../loom.csv", "this is one of the lists"),
        ("alias.csv", "this is one of the lists"),
        ("sub", "this is a folder"),
        ("", "expected the name of a file"),
        ("loom.papers.xlsx", "this is the name of build papers"),
        ("Loom.Papers.HTML", "this is the name of build papers"),
        ("/dev/null", "this is a device or a pipe"),
        ("pipe", "this is a device or a pipe"),
    ],
)
@pytest.mark.parametrize("verb", [("check", "--json"), ("read", "--write-mapping")], ids=["check", "read"])
def test_a_target_that_would_destroy_something(
    verb: tuple[str, str], target: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    """The lists are never written to, under whichever name, and a device is not replaced by a file."""
    if os.name == "nt":
        pytest.skip("this system has other devices")
    monkeypatch.chdir(tmp_path)
    source = csv_list(tmp_path / "loom.csv")
    (tmp_path / "sub").mkdir()
    (tmp_path / "alias.csv").symlink_to(source)
    os.mkfifo(tmp_path / "pipe")
    before = contents(tmp_path)
    assert_refused(ran(capsys, verb[0], source, verb[1], target), verb[1], words)
    assert contents(tmp_path) == before
    assert Path("/dev/null").is_char_device()


def test_a_mapping_is_never_written_over_by_the_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source, mapping = csv_list(tmp_path / "loom.csv"), tmp_path / "map.toml"
    assert ran(capsys, "read", source, "--write-mapping", mapping).code == 0
    before = contents(tmp_path)
    result = ran(capsys, "check", source, "--mapping", mapping, "--json", mapping)
    assert_refused(result, "--json", "this is one of the lists")
    assert contents(tmp_path) == before


def test_a_mapping_can_be_written_again_over_itself(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source, mapping = csv_list(tmp_path / "loom.csv"), tmp_path / "map.toml"
    assert ran(capsys, "read", source, "--write-mapping", mapping).code == 0
    text = mapping.read_text("utf-8")
    assert ran(capsys, "read", source, "--mapping", mapping, "--write-mapping", mapping).code == 0
    assert mapping.read_text("utf-8") == text


def test_a_redline_never_takes_the_place_of_a_list(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """``loom.csv`` and a list that is called as its redline would be, checked together."""
    one = csv_list(tmp_path / "loom.csv")
    two = workbook(tmp_path / "loom.redline.xlsx", [("P1", "Pump", "1", "Fuse box", "1", "RD", "1.5")])
    before = contents(tmp_path)
    result = ran(capsys, "check", one, two)
    assert result.code == 0, result
    after = contents(tmp_path)
    assert {name: after[name] for name in before} == before
    assert len(after) == 4


def test_the_json_cannot_be_the_redline(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = csv_list(tmp_path / "loom.csv")
    result = ran(capsys, "check", source, "--json", tmp_path / "loom.redline.xlsx")
    assert_refused(result, "loom.redline.xlsx", "redline")
    assert sorted(contents(tmp_path)) == ["loom.csv"]


@pytest.mark.parametrize(("options", "code"), [((), 1), (("--json", "-"), 2)], ids=["summary", "json"])
def test_a_reader_that_goes_away(options: tuple[str, ...], code: int, tmp_path: Path) -> None:
    """``check LIST | head -1``: the verdict stands once all is written; half a JSON is none."""
    source = csv_list(tmp_path / "loom.csv", FAULTY)
    read, write = os.pipe()
    os.close(read)
    done = subprocess.run(
        [sys.executable, "-m", "harnessdrc", "check", str(source), *options],
        stdout=write, stderr=subprocess.PIPE, timeout=60, check=False,
    )  # fmt: skip
    os.close(write)
    assert done.stderr == b""
    assert done.returncode == code
    assert (tmp_path / "loom.redline.xlsx").is_file()


def test_outputs_are_readable_by_the_workshop(tmp_path: Path) -> None:
    """Made with the rights that any new file gets, not those of a private temporary file."""
    source = csv_list(tmp_path / "loom.csv")
    old = os.umask(0o022)
    try:
        assert process("check", source, "--json", tmp_path / "o.json").returncode == 0
    finally:
        os.umask(old)
    for name in ("loom.redline.xlsx", "o.json"):
        assert (tmp_path / name).stat().st_mode & 0o777 == 0o644


STOPPED = """
import signal, sys, time
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background jobs ignore it
from harnessdrc.render.redline.package import RedlinePackage
def slow(self, out, *_):
    out.write(b"PK" * 4000)
    out.flush()
    print("writing", file=sys.stderr, flush=True)
    time.sleep(60)
RedlinePackage.write = slow
from harnessdrc.cli import main
sys.exit(main(sys.argv[1:]))
"""


@pytest.mark.skipif(os.name == "nt", reason="this system has no such signals")
@pytest.mark.parametrize(("order", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
def test_stopping_while_the_redline_is_written(order: signal.Signals, code: int, tmp_path: Path) -> None:
    """Ctrl-C, or a time limit of the system: the half-written file is taken away."""
    source = csv_list(tmp_path / "loom.csv", FAULTY)
    command = ["check", str(source), "--out", str(tmp_path / "out"), "--json", str(tmp_path / "o.json")]
    process = subprocess.Popen(
        [sys.executable, "-c", STOPPED, *command], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )  # fmt: skip
    assert process.stderr is not None
    assert process.stderr.readline() == b"writing\n"
    assert [path.suffix for path in (tmp_path / "out").iterdir()] == [".part"]
    process.send_signal(order)
    out, err = process.communicate(timeout=30)
    assert process.returncode == code
    assert out == b""
    assert err == b"harnessdrc: stopped; nothing was half written.\n"
    assert sorted(contents(tmp_path)) == ["loom.csv"]


@pytest.mark.parametrize("target", ["-", "o.json"])
def test_no_json_is_half_written(
    target: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The disk fills in the middle of it: neither a piece of it on standard output, nor a file, nor a redline."""
    source = csv_list(tmp_path / "loom.csv")
    before = contents(tmp_path)

    def fills(_: object, out: io.BytesIO) -> None:
        out.write(b'{"harnessdrc": "0')
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("harnessdrc.cli.check.write_json", fills)
    result = ran(capsys, "check", source, "--json", target if target == "-" else tmp_path / target)
    assert_refused(result, "--json -" if target == "-" else "o.json")
    assert contents(tmp_path) == before


def test_json_too_large_for_memory_leaves_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Kept aside in a file of no name, it is the same to the byte."""
    source = csv_list(tmp_path / "loom.csv", FAULTY)
    small = ran(capsys, "check", source, "--json", "-")
    monkeypatch.setattr("harnessdrc.cli.check._KEPT_IN_MEMORY_BYTES", 64)
    large = ran(capsys, "check", source, "--json", "-")
    assert large.code == small.code == 1
    assert large.out == small.out


def test_a_set_of_texts_is_named_after_its_wire_list(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    parts = csv_list(tmp_path / "a parts.csv", [("FAN", "fan", "bay")], ("Component", "Kind", "Place"))
    wires = csv_list(tmp_path / "loom.csv")
    assert ran(capsys, "check", parts, wires).code == 0
    assert sorted(contents(tmp_path)) == ["a parts.csv", "loom.csv", "loom.redline.xlsx"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
@pytest.mark.parametrize("arguments", [("check",), ("check", "--json", "-"), ("read",)], ids=["check", "json", "read"])
def test_standard_output_on_a_full_disk(arguments: tuple[str, ...], tmp_path: Path) -> None:
    """``harnessdrc check LIST > report.txt`` never looks like a verdict when the report is cut short."""
    source = csv_list(tmp_path / "loom.csv")
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "harnessdrc", arguments[0], str(source), *arguments[1:]],
            stdout=full, stderr=subprocess.PIPE, timeout=60, check=False,
        )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr == b"harnessdrc: standard output cannot be written (no space left on device).\n"


@pytest.mark.skipif(os.name == "nt", reason="this system has another shell")
@pytest.mark.parametrize("closed", [">&-", "2>&-", ">&- 2>&-", "<&-"])
def test_streams_that_are_closed(closed: str, tmp_path: Path) -> None:
    source = csv_list(tmp_path / "loom.csv", FAULTY)
    command = f'"{sys.executable}" -m harnessdrc check "{source}" {closed}'
    done = subprocess.run(["sh", "-c", command], capture_output=True, timeout=60, check=False)
    assert done.returncode == 1
    assert b"Traceback" not in done.stderr
    assert (tmp_path / "loom.redline.xlsx").is_file()
