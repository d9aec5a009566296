"""What was measured, on the terminal, in a few lines."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from harnessdrc.findings import figures
from harnessdrc.render.lines import counted, say
from harnessdrc.results import MeasuredLine, MeasuredOutcome

__all__ = ["print_measured"]

_FAILED = 6
_SLIPS = 3


def print_measured(console: Console, measured: MeasuredOutcome) -> None:
    """Print how many tests were filled in, which failed and what was not used; nothing without a test sheet.

    Parameters
    ----------
    console : rich.console.Console
        Where to.
    measured : MeasuredOutcome
        What was measured.
    """
    if not measured.sheets:
        return
    rows, filled = sum(s.rows for s in measured.sheets), sum(s.filled for s in measured.sheets)
    title = Text("MEASURED", style="bold blue")
    title.append(
        f": {filled:,} of {counted(rows, 'test')} filled in ({measured.count('pass'):,} passed, "
        f"{measured.count('fail'):,} failed)"
    )
    say(console, title)
    failed = [line for line in measured.lines if line.verdict == "fail"]
    for line in failed[:_FAILED]:
        say(console, Text(_told(line)), 1)
    if len(failed) > _FAILED:
        say(console, Text(f"… and {len(failed) - _FAILED:,} more among the findings", style="dim"), 1)
    for line in [line for line in measured.lines if line.verdict == "unit"][:_SLIPS]:
        say(console, Text(f"{_told(line)}: a slip of the unit, not used", style="dim"), 1)
    for sheet in measured.sheets:
        if sheet.fits is False:
            text = f"Sheet '{sheet.sheet}' was printed for another issue of the list ({sheet.issue_mark})."
            say(console, Text(text, style="dim"), 1)
    refused = sum(sheet.refused for sheet in measured.sheets)
    if measured.unfit or refused:
        parts = []
        if measured.unfit:
            parts.append(f"{counted(measured.unfit, 'row')} that fit{'s' if measured.unfit == 1 else ''} no test")
        if refused:
            parts.append(f"{counted(refused, 'cell')} with no reading")
        say(console, Text(f"Not used: {' and '.join(parts)}; see the findings.", style="dim"), 1)
    if measured.used:
        text = f"The network is solved with {counted(measured.used, 'measured resistance')} in place of the expected."
        say(console, Text(text, style="dim"), 1)
    for sentence in measured.not_compared:
        say(console, Text(sentence, style="dim"), 1)
    say(console)


def _number(value: float) -> str:
    return f"{value:,.0f}" if abs(value) >= 100 else figures(value)


def _told(line: MeasuredLine) -> str:
    what = f"{line.subject}, {line.state}" if line.state else line.subject
    shown = "an overload" if line.measured is None else f"{_number(line.measured)} {line.unit}"
    if line.low is not None and line.high is not None:
        passes = f"passes from {_number(line.low)} to {_number(line.high)}"
    elif line.low is not None:
        passes = f"passes from {_number(line.low)}"
    else:
        passes = f"passes up to {_number(line.high)}" if line.high is not None else "nothing is expected"
    expected = f", expected {_number(line.expected)}" if line.expected is not None else ""
    return f"{line.test} {what}: {shown}{expected}, {passes}"
