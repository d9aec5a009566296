"""Papers made by hand, with every kind of line and with texts that would do harm if they were taken for orders."""

from __future__ import annotations

from harnessdrc.papers import (
    CableLine,
    CavityLine,
    ConnectorSheet,
    ContinuityLine,
    CutLine,
    EndLine,
    IsolationLine,
    LabelLine,
    Papers,
    PartLine,
    PowerStep,
    SpliceSheet,
    SpliceWire,
    Totals,
    VoltageLine,
)
from harnessdrc.results import SourceFile

__all__ = ["HARMFUL", "papers_by_hand"]

HARMFUL = (
    "<script>alert(1)</script>",
    '=HYPERLINK("http://example.org","x")',
    "@SUM(A1:A9)",
    '"><img src=http://example.org/x.png>',
    "a\x07b\x1b[31mc\u202ed",
    "\ud800 half",
    "{{ 7*7 }} {% raw %}",
    "x" * 40_000,
)
"""Texts that a list may hold and that must stay texts."""

_WHITE_GREEN = ("#f7f7f4", "#1f8f3a")


def papers_by_hand(texts: tuple[str, ...] = ("W1", "W2", "W3"), name: str = "generator set") -> Papers:
    """Papers whose wires, signals, terminals and notes are these texts."""
    cut = tuple(
        CutLine(
            number, text, "0.5 mm²", "WH/GN", _WHITE_GREEN, "thin wall", 1300.0 - number, 52.0, 1352.0 - number,
            EndLine(f"ECU {number}", text, text, 4.5), EndLine(text, "", "", None), (f"twist {text}",), text, text, text,
            ("length",) if number == 2 else (), None,
        )
        for number, text in enumerate(texts, 1)
    )  # fmt: skip
    cavities = tuple(
        CavityLine(str(number), (text,), "0.5", "WH/GN", (_WHITE_GREEN,), text, text, text, text, "wired", None)
        for number, text in enumerate(texts, 1)
    )
    plug = CavityLine(str(len(texts) + 1), (), "", "", (), "", "", "CP-1", "", "plug", None)
    return Papers(
        name=name, issue_mark="3f9a01bc22ee", version="1.2.3", ruleset=f"engine-loom {texts[0]}",
        sources=(SourceFile(texts[0], "a" * 64),), test_degc=20.0, incomplete=(f"Length of {texts[0]} is missing.",),
        on_hold=1, queries=2, undecided=3, cautions=("Disconnect the battery.",), cut=cut,
        connectors=(ConnectorSheet("ECU", texts[0], texts[0], texts[0], texts[0], "controller", (*cavities, plug), True, ()),),
        splices=(SpliceSheet(
            "SP1", texts[0], texts[0], 120.0, texts[0],
            tuple(SpliceWire(text, "0.5", 0.5, "WH/GN", _WHITE_GREEN, text, text) for text in texts), 1.5, (), None,
        ),),
        labels=tuple(LabelLine(("wire", text), "ECU 1", (text, text), f"{text[:30]}/3F9A") for text in texts),
        parts=(PartLine(texts[0], "terminal", texts[0], 12, 1, (texts[0],), False),),
        cables=(CableLine("0.5 mm²", "WH/GN", texts[0], _WHITE_GREEN, 3, 4.05, 1, 1, 18.0, 27.0),),
        totals=Totals(3, 1, 4.05, 0.018, 0.027, 1, 1),
        continuity=tuple(
            ContinuityLine(f"C{number}", text, text, text, text, 1300.0, 48.23, 40.0, 60.0, True, ())
            for number, text in enumerate(texts, 1)
        ),
        isolation=(IsolationLine("I1", texts[0], texts[0], texts[0], texts[0], texts[0], 1e6),),
        power_on=(PowerStep(1, texts[0], texts[0], texts[0]),),
        voltages=(VoltageLine("V1", "ground offset", "cranking", texts[0], texts[0], 12.34, None, 350.0, texts[0]),),
    )  # fmt: skip
