"""On a terminal: colour, its width, a bar on long runs; none of them with NO_COLOR or on a dumb one."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest
from cli_helpers import FAULTY, csv_list

pty = pytest.importorskip("pty", reason="this system has no pseudo-terminals")
fcntl = pytest.importorskip("fcntl")
termios = pytest.importorskip("termios")

ESCAPE = "\x1b"
SLOW = """
import sys, time
import harnessdrc.cli.check as verb
real = verb.open_and_read
def slow(*arguments):
    time.sleep(2)
    return real(*arguments)
verb.open_and_read = slow
from harnessdrc.cli import main
sys.exit(main(sys.argv[1:]))
"""


def on_terminal(
    arguments: list[str | Path], env: dict[str, str] | None = None, columns: int = 100, script: str = "",
    stdout: Path | None = None,
) -> tuple[int, str]:  # fmt: skip
    """Exit code and everything that a terminal of this width gets."""
    parent, child = pty.openpty()
    fcntl.ioctl(child, termios.TIOCSWINSZ, __import__("struct").pack("HHHH", 50, columns, 0, 0))
    clean = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "COLUMNS", "LINES", "FORCE_COLOR", "CI")}
    runner = ["-c", script] if script else ["-m", "harnessdrc"]
    target = stdout.open("wb") if stdout else child
    process = subprocess.Popen(
        [sys.executable, *runner, *map(str, arguments)],
        stdin=child, stdout=target, stderr=child, env={**clean, "TERM": "xterm-256color", **(env or {})},
    )  # fmt: skip
    os.close(child)
    pieces: list[bytes] = []
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline:
        try:
            piece = os.read(parent, 65536)
        except OSError:  # the other end is closed
            break
        if not piece:
            break
        pieces.append(piece)
    os.close(parent)
    return process.wait(timeout=30), b"".join(pieces).decode("utf-8").replace("\r\n", "\n")


def plain(text: str) -> str:
    return re.sub(r"\x1b\[[0-9;?]*[A-Za-z]|\x1b\][^\x07]*\x07", "", text)


def test_colour_and_width(tmp_path: Path) -> None:
    source = csv_list(tmp_path / "loom.csv", FAULTY)
    code, text = on_terminal(["check", source])
    assert code == 1
    assert f"{ESCAPE}[1;31mON HOLD: 1" in text
    lines = plain(text).splitlines()
    assert max(map(len, lines)) <= 100
    assert any(line.startswith("      → Join them in a splice") for line in lines)
    wrapped = lines.index(next(line for line in lines if line.startswith("      → Join")))
    assert lines[wrapped + 1].startswith("      ") and not lines[wrapped + 1].startswith("       ")
    assert "━" not in text, "a short run shows no bar"


@pytest.mark.parametrize("columns", [40, 72, 200])
def test_any_width(columns: int, tmp_path: Path) -> None:
    source = csv_list(tmp_path / "loom.csv", FAULTY)
    _, text = on_terminal(["check", source, "--out", tmp_path], columns=columns)
    assert max(map(len, plain(text).splitlines())) <= columns
    together = " ".join(plain(text).split())
    assert "Join them in a splice and take one wire to the cavity" in together
    assert re.search(r"1 on hold, 0 to query, 0 to note, \d not decided$", together)


@pytest.mark.parametrize("env", [{"NO_COLOR": "1"}, {"TERM": "dumb"}], ids=["NO_COLOR", "dumb"])
@pytest.mark.parametrize("script", ["", SLOW], ids=["short", "long"])
def test_plain_text_where_it_is_asked_for(env: dict[str, str], script: str, tmp_path: Path) -> None:
    """Not one escape sequence; a long run says in words what it does."""
    source = csv_list(tmp_path / "loom.csv", FAULTY)
    code, text = on_terminal(["check", source], env=env, script=script)
    assert code == 1
    assert ESCAPE not in text
    assert "ON HOLD: 1" in text
    assert text.startswith("Reading the list …\n") == bool(script)


def test_an_empty_no_color_is_none(tmp_path: Path) -> None:
    _, text = on_terminal(["check", csv_list(tmp_path / "loom.csv", FAULTY)], env={"NO_COLOR": ""})
    assert ESCAPE in text


@pytest.mark.parametrize("verb", ["read", "explain"])
def test_the_other_verbs(verb: str, tmp_path: Path) -> None:
    source: str | Path = csv_list(tmp_path / "loom.csv", FAULTY) if verb == "read" else "ground.one_point"
    code, text = on_terminal([verb, source])
    assert code == 0
    assert ESCAPE in text
    assert max(map(len, plain(text).splitlines())) <= 100
    _, text = on_terminal([verb, source], env={"NO_COLOR": "1"})
    assert ESCAPE not in text


def test_a_long_run_shows_a_bar_and_takes_it_away(tmp_path: Path) -> None:
    source = csv_list(tmp_path / "loom.csv", FAULTY)
    code, text = on_terminal(["check", source], script=SLOW)
    assert code == 1
    assert "Reading the list" in text
    assert "━" in text
    assert text.rindex("━") < text.index("ON HOLD"), "the bar is gone before the summary"
    assert f"{ESCAPE}[?25h" in text, "the cursor is given back"


def test_the_bar_goes_to_the_terminal_and_never_into_the_pipe(tmp_path: Path) -> None:
    source = csv_list(tmp_path / "loom.csv", FAULTY)
    code, text = on_terminal(["check", source, "--json", "-"], script=SLOW, stdout=tmp_path / "o.json")
    assert code == 1
    assert "━" in text
    piped = (tmp_path / "o.json").read_text("utf-8")
    assert piped.startswith("{") and piped.endswith("}\n")
    assert ESCAPE not in piped


def test_a_long_run_that_fails_gives_the_terminal_back(tmp_path: Path) -> None:
    code, text = on_terminal(["check", tmp_path / "missing.csv"], script=SLOW)
    assert code == 2
    assert f"{ESCAPE}[?25h" in text
    assert plain(text).rstrip().splitlines()[-1].startswith("harnessdrc: ")


def test_a_long_run_in_a_pipe_has_no_bar(tmp_path: Path) -> None:
    source = csv_list(tmp_path / "loom.csv", FAULTY)
    done = subprocess.run(
        [sys.executable, "-c", SLOW, "check", str(source)], capture_output=True, timeout=60, check=False
    )
    assert done.returncode == 1
    assert done.stderr == b""
    assert b"Reading" not in done.stdout and b"\x1b" not in done.stdout
