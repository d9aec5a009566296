"""The vocabulary of headings as data, and what single headings mean."""

from __future__ import annotations

import pytest

from harnessdrc.intake.recognition.context import in_context
from harnessdrc.intake.recognition.heading_rows import HeadCell
from harnessdrc.intake.recognition.headings import heading_key, match_heading, nearest_heading, vocabulary
from harnessdrc.tables.columns import FORMS, SELDOM


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
    within = vocabulary().within
    for form in FORMS.values():
        if form.name == "measurements":
            continue  # a test sheet is known by its own headings before any list is looked for
        for column in form.columns:
            heading = match_heading(column.heading)
            beside = within.get(form.name, {}).get(heading.key)
            assert heading.concepts or beside == column.name, (form.name, column.heading)


def in_a_row(*headings: str) -> list[tuple[str, ...]]:
    """Meanings of headings that stand in one row, side by side."""
    cells = [HeadCell(column, 1, match_heading(text)) for column, text in enumerate(headings)]
    return [cell.heading.concepts for cell in in_context(cells)]


@pytest.mark.parametrize("form", ["wires", "components", "splices", "branches", "points", "parts"])
def test_headings_known_beside_others_are_columns_of_the_form(form: str) -> None:
    columns = {column.name for column in FORMS[form].columns}
    assert set(vocabulary().within[form].values()) <= columns
    sided = {"from_seal", "to_seal"}  # known by the word for the end and the one for the seal
    if form not in ("points", "parts"):
        assert set(vocabulary().within[form].values()) == set(SELDOM[form]) - sided


def test_a_short_word_means_a_column_only_beside_the_others_of_its_list() -> None:
    for word in ("Gap", "Output", "Filter", "Teeth", "Lay", "Pitch", "X", "Threshold", "Boost", "Fires"):
        assert match_heading(word).concepts == (), word
    assert in_a_row("Component", "Kind", "Gap", "Output")[2:] == [("gap_m",), ("output_v",)]
    assert in_a_row("Wire", "From", "To", "Gap", "Output")[3:] == [(), ()]
    assert in_a_row("Wire", "From", "To", "Lay")[3] == ("lay_m",)
    assert in_a_row("Component", "Kind", "Lay")[2] == ()
    assert in_a_row("Pin", "Signal", "X", "Y")[2:] == [(), ()]


@pytest.mark.parametrize(
    "headings",
    [
        ("Point", "X", "Y", "Z"), ("Point", "X (mm)", "Y (mm)", "Z (mm)", "Note"), ("Name", "x", "y", "z"),
        ("Node", "X pos", "Y pos"), ("Knoten", "X-Koordinate", "Y-Koordinate", "Z-Koordinate"),
        ("Punto", "coordinata X", "coordinata Y", "coordinata Z"), ("Noeud", "coordonnée x", "coordonnée y"),
        ("Connector", "X mm", "Y mm", "Z mm"), ("No", "Point", "x_mm", "y_mm", "z_mm"), ("Location", "posX", "posY"),
        ("Nodo", "coordenada X", "coordenada Y"), ("Punkt", "X [mm]", "Y [mm]"), ("Knooppunt", "X coördinaat", "Y coördinaat"),
    ],
)  # fmt: skip
def test_points_by_their_headings(headings: tuple[str, ...]) -> None:
    found = [concepts[:1] for concepts in in_a_row(*headings)]
    assert [c for c in found if c in (("point",), ("x_m",), ("y_m",))] == [("point",), ("x_m",), ("y_m",)]


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("Fires plugs", "fires"), ("Zündet", "fires"), ("Bougies", "fires"), ("HT lead (mm)", "lead_m"),
        ("Plug wire length", "lead_m"), ("Zündkabel (mm)", "lead_m"), ("Type of lead", "lead_type"),
        ("Spark plug type", "plug_type"), ("Kerzentyp", "plug_type"), ("Elektrodenabstand (mm)", "gap_m"),
        ("Plug gap mm", "gap_m"), ("Ladedruck (bar)", "boost_bar"), ("Max. boost (kPa)", "boost_bar"),
        ("No. of teeth", "teeth"), ("Zähnezahl", "teeth"), ("Number of teeth", "teeth"), ("Trigger level (V)", "threshold_v"),
        ("Peak output V", "output_v"), ("Time constant (µs)", "filter_s"), ("Filter us", "filter_s"), ("Soglia", "threshold_v"),
    ],
)  # fmt: skip
def test_headings_of_sparks_and_triggers(heading: str, column: str) -> None:
    assert in_a_row("Component", "Kind", heading)[2] == (column,)


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("Lay length (mm)", "lay_m"), ("Twist pitch", "lay_m"), ("Schlaglänge", "lay_m"), ("Untwisted length (mm)", "untwisted_m"),
        ("Untwisted", "untwisted_m"), ("Screen material", "shield_material"), ("Schirmmaterial", "shield_material"),
    ],
)  # fmt: skip
def test_headings_of_twist_and_shield(heading: str, column: str) -> None:
    assert in_a_row("Wire", "From", "To", heading)[3] == (column,)


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("Sleeve (mm)", "sleeve_m"), ("Sleeve ID", "sleeve_m"), ("Conduit bore mm", "sleeve_m"), ("Innendurchmesser", "sleeve_m"),
        ("Bend radius (mm)", "bend_m"), ("Tightest bend", "bend_m"), ("Biegeradius", "bend_m"), ("Raggio di curvatura", "bend_m"),
    ],
)  # fmt: skip
def test_headings_of_bundles(heading: str, column: str) -> None:
    assert in_a_row("Branch", "From point", "To point", "Length", heading)[4] == (column,)
    assert in_a_row("Component", "Kind", heading)[2] != (column,)


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("Boot (mm)", "boot_m"), ("Boot ID", "boot_m"), ("Moulded boot (in)", "boot_m"), ("Schrumpfformteil", "boot_m"),
        ("Boot shrunk (mm)", "boot_shrunk_m"), ("Boot ID recovered", "boot_shrunk_m"),
    ],
)  # fmt: skip
def test_headings_of_boots(heading: str, column: str) -> None:
    assert in_a_row("Component", "Kind", heading)[2] == (column,)
    assert in_a_row("Wire", "From", "To", heading)[3] != (column,)


@pytest.mark.parametrize("heading", ["Sleeve shrunk (mm)", "Recovered ID", "Heat shrink recovered", "Gaine rétractée"])
def test_headings_of_sleeves_that_shrink(heading: str) -> None:
    assert in_a_row("Branch", "From point", "To point", "Length", heading)[4] == ("sleeve_shrunk_m",)


@pytest.mark.parametrize("heading", ["Contact rating (A)", "Relay rating", "Kontaktbelastbarkeit", "Switching current (A)"])
def test_headings_of_contacts(heading: str) -> None:
    assert in_a_row("Component", "Kind", "Current", heading)[3] == ("contact_a",)


@pytest.mark.parametrize(
    ("heading", "unit"),
    [("Filter (µs)", "us"), ("Filter ms", "ms"), ("Boost (psi)", "psi"), ("Boost kPa", "kPa"), ("X (in)", "in"), ("X m", "m"),
     ("Output (mV)", "mV"), ("Gap, mm", "mm"), ("Lay [cm]", "cm")],
)  # fmt: skip
def test_units_of_headings_known_beside_others(heading: str, unit: str) -> None:
    assert match_heading(heading).unit == unit


def test_an_end_with_a_letter_is_no_unit() -> None:
    assert match_heading("End A").side == "from"
    assert match_heading("Connector(s)").unit == ""
