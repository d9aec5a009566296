"""The vocabulary of headings as data, and what single headings mean."""

from __future__ import annotations

import pytest

from harnessdrc.intake.recognition.headings import heading_key, match_heading, nearest_heading, vocabulary
from harnessdrc.tables.columns import FORMS


@pytest.mark.parametrize(
    ("text", "concept", "side", "unit"),
    [
        ("Wire #", "wire", "", ""),
        ("Wire No.", "wire", "", ""),
        ("N° fil", "wire", "", ""),
        ("Leitungsnummer", "wire", "", ""),
        ("From", "item", "from", ""),
        ("SRC", "item", "from", ""),
        ("End 1", "item", "from", ""),
        ("Destination", "item", "to", ""),
        ("TERMINATION", "item", "to", ""),
        ("nach", "item", "to", ""),
        ("From conn", "connector", "from", ""),
        ("Connector 2", "connector", "to", ""),
        ("Pin A", "cavity", "from", ""),
        ("From-Pin", "cavity", "from", ""),
        ("Destination pin", "cavity", "to", ""),
        ("Conn1", "connector", "from", ""),
        ("Connector 1 Type", "terminal", "from", ""),
        ("Size [mm²]", "size", "", "mm2"),
        ("Qmm", "size", "", "mm2"),
        ("AWG", "size", "", "awg"),
        ("Länge (cm)", "length", "", "cm"),
        ("Length mm", "length", "", "mm"),
        ("Length, m", "length", "", "m"),
        ("Length in inches", "length", "", "in"),
        ("Wire\ncolour ", "colour", "", ""),
        ("COLORS", "colour", "", ""),
        ("FXN", "signal", "", ""),
        ("Pair", "twist", "", ""),
        ("Connector Color", "none", "", ""),
        ("Rating (A)", "rating", "", "A"),
        ("Resistance (mΩ)", "resistance", "", "mohm"),
    ],
)
def test_meaning(text: str, concept: str, side: str, unit: str) -> None:
    heading = match_heading(text)
    assert heading.concepts[0] == concept
    assert (heading.side, heading.unit) == (side, unit)


def test_a_hint_is_no_unit() -> None:
    assert match_heading("Gauge").soft
    assert not match_heading("AWG").soft


@pytest.mark.parametrize("text", ["A00", "12", "", "Mega", "W123", "x" * 80, "Ring"])
def test_unknown(text: str) -> None:
    assert match_heading(text).concepts == ()


@pytest.mark.parametrize(
    ("text", "key"), [("Colur", "colour"), ("Lenght", "length"), ("Conector", "conector"), ("Singal", "signal")]
)
def test_misspelt(text: str, key: str) -> None:
    near = nearest_heading(text)
    assert near is not None
    assert near.key == key


@pytest.mark.parametrize("text", ["Ex wire", "Mega", "Torque", "Invoice", "a1"])
def test_too_far_from_any(text: str) -> None:
    assert nearest_heading(text) is None


def test_every_spelling_in_the_file_is_its_own_key() -> None:
    for key in vocabulary().concepts:
        assert heading_key(key)[0] in vocabulary().concepts or heading_key(key)[1], key


def test_every_recommended_heading_is_known() -> None:
    for form in FORMS.values():
        for column in form.columns:
            assert match_heading(column.heading).concepts, (form.name, column.heading)
