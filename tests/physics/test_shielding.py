"""Skin depths and thin tubes against worked figures, and what is counted on from the shields of a loom."""

from __future__ import annotations

import cmath
import csv
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.datafiles import rulesets_folder
from harnessdrc.errors import FileUnreadableError
from harnessdrc.physics import shipped_tables
from harnessdrc.physics.shielding import (
    ALUMINIUM,
    COPPER,
    MILD_STEEL,
    SHIELD_NAMES,
    Metal,
    ShieldMaterial,
    counted_db,
    magnetic_tube_db,
    quasi_static_below_hz,
    shield_cutoff_hz,
    shield_inductance_h_per_m,
    shield_material,
    shield_materials,
    shield_reduction_db,
    skin_depth_m,
    tube_reduction_db,
)

FREQUENCIES_HZ = (50.0, 1e3, 10e3, 100e3, 1e6)
BRAID = Metal(2.5e7)
"""A copper braid taken as a closed tube."""


@pytest.mark.parametrize(
    ("metal", "depths_mm"),
    [
        (COPPER, (9.35, 2.09, 0.661, 0.209, 0.066)),
        (ALUMINIUM, (12.0, 2.69, 0.851, 0.269, 0.085)),
        (MILD_STEEL, (2.05, 0.459, 0.145, 0.046, 0.015)),
    ],
    ids=["copper", "aluminium", "mild steel"],
)
def test_skin_depths(metal: Metal, depths_mm: tuple[float, ...]) -> None:
    """Worked figures, given to two or three places."""
    for f_hz, depth_mm in zip(FREQUENCIES_HZ, depths_mm, strict=True):
        places = len(f"{depth_mm:g}".partition(".")[2])
        assert skin_depth_m(f_hz, metal) * 1e3 == pytest.approx(depth_mm, abs=0.5000001 * 10.0**-places)


@pytest.mark.parametrize(
    ("f_hz", "db", "places"),
    [(50.0, 0.00, 2), (400.0, 0.00, 2), (1e3, 0.01, 2), (10e3, 0.95, 2), (100e3, 14.0, 1), (1e6, 33.9, 1)],
)
def test_a_braid_taken_as_a_closed_tube(f_hz: float, db: float, places: int) -> None:
    """Worked figures for 2.5 mm radius, 0.2 mm wall and 2.5e7 S/m."""
    assert tube_reduction_db(f_hz, BRAID, 2.5e-3, 0.2e-3) == pytest.approx(db, abs=0.5000001 * 10.0**-places)


def test_the_thin_tube_is_the_whole_one_where_the_wall_is_thin() -> None:
    """Against the closed tube of any wall in a field across it: ``cosh kt + (K + 1/K) / 2 sinh kt``, K = ka / μr."""

    def whole_db(f_hz: float, metal: Metal, radius_m: float, wall_m: float) -> float:
        k = (1.0 + 1.0j) / skin_depth_m(f_hz, metal)
        ratio = k * radius_m / metal.relative_permeability
        field = cmath.cosh(k * wall_m) + (ratio + 1.0 / ratio) / 2.0 * cmath.sinh(k * wall_m)
        return 20.0 * math.log10(abs(field))

    for f_hz in (1e3, 10e3, 50e3):  # skin depth at least 2 walls
        assert tube_reduction_db(f_hz, BRAID, 2.5e-3, 0.2e-3) == pytest.approx(
            whole_db(f_hz, BRAID, 2.5e-3, 0.2e-3), abs=0.8
        )
    # and beyond that it errs to the low side
    assert tube_reduction_db(3e6, BRAID, 2.5e-3, 0.2e-3) < whole_db(3e6, BRAID, 2.5e-3, 0.2e-3)
    assert magnetic_tube_db(MILD_STEEL, 2.5e-3, 0.2e-3) == pytest.approx(
        whole_db(1.0, MILD_STEEL, 2.5e-3, 0.2e-3), abs=0.01
    )


def test_a_magnetic_tube_in_a_steady_field() -> None:
    """19 dB for relative permeability 200: 20 log10 (1 + 200 × 0.2 / 5) = 20 log10 9."""
    assert magnetic_tube_db(MILD_STEEL, 2.5e-3, 0.2e-3) == pytest.approx(20.0 * math.log10(9.0), abs=1e-9)
    assert magnetic_tube_db(MILD_STEEL, 2.5e-3, 0.2e-3) == pytest.approx(19.0, abs=0.5)
    assert magnetic_tube_db(COPPER, 2.5e-3, 0.2e-3) == 0.0


def test_a_steel_conduit_of_one_inch_as_measured() -> None:
    """27 dB (22:1): Klipec 1967, from memory. Tube of 33.4 mm outside and 3.38 mm wall, from memory."""
    assert magnetic_tube_db(MILD_STEEL, (33.4 - 3.38) / 2e3, 3.38e-3) == pytest.approx(27.0, abs=1.0)


def test_a_shield_connected_at_both_ends() -> None:
    """15 mΩ/m and a shield 8 radii above metal: ``ln 16``, cut-off 4.3 kHz, five times that 21.5 kHz."""
    h_per_m = shield_inductance_h_per_m(2.5e-3, 20e-3)
    assert h_per_m == pytest.approx(2e-7 * math.log(16.0), rel=1e-12)
    assert shield_cutoff_hz(0.015, h_per_m) == pytest.approx(4.3e3, rel=0.005)
    assert 5.0 * shield_cutoff_hz(0.015, h_per_m) == pytest.approx(21.5e3, rel=0.005)
    # 4 radii above metal: 0.416 µH/m
    assert shield_inductance_h_per_m(2.5e-3, 10e-3) * 1e6 == pytest.approx(0.416, abs=5e-4)
    assert shield_cutoff_hz(0.015, 0.416e-6) == pytest.approx(5.739e3, rel=1e-3)


def test_half_a_metre_is_a_tenth_of_the_wavelength_at_60_mhz() -> None:
    assert quasi_static_below_hz(0.5) == pytest.approx(60e6, rel=0.001)


# Shields of looms


def test_copper_and_aluminium_do_little_against_magnetic_fields_and_steel_does() -> None:
    assert [counted_db(name) for name in ("copper braid", "aluminium foil")] == [0.0, 0.0]
    assert counted_db("steel braid") == pytest.approx(19.08, abs=0.01)
    # 12 mm by 1 mm: 20 log10 (1 + 200 / 11)
    assert counted_db("steel conduit") == pytest.approx(25.66, abs=0.01)
    for f_hz in (50.0, 1e3):
        assert max(shield_reduction_db("copper braid", f_hz), shield_reduction_db("aluminium foil", f_hz)) < 0.02
        assert shield_reduction_db("steel braid", f_hz) > 19.0


def test_no_more_than_holes_and_seams_let_it() -> None:
    for name, most_db in (
        ("copper braid", 20.0),
        ("aluminium foil", 20.0),
        ("steel braid", 20.0),
        ("steel conduit", 30.0),
    ):
        assert shield_reduction_db(name, 1e9) == most_db
    # below that the closed tube
    assert shield_reduction_db("copper braid", 100e3) == pytest.approx(14.0, abs=0.05)
    # steel: what it draws and what its currents do together, |9 + j 1.184| at 100 kHz
    assert shield_reduction_db("steel braid", 100e3) == pytest.approx(
        20.0 * math.log10(math.hypot(9.0, 1.1844)), abs=1e-3
    )


@given(name=st.sampled_from(SHIELD_NAMES), first=st.floats(0.0, 1e9), second=st.floats(0.0, 1e9))
def test_more_with_frequency_and_never_less_than_counted_on(name: str, first: float, second: float) -> None:
    low, high = shield_reduction_db(name, min(first, second)), shield_reduction_db(name, max(first, second))
    assert 0.0 <= counted_db(name) <= low <= high <= shield_material(name).most_db


def test_at_rest_only_steel_is_left() -> None:
    for name in SHIELD_NAMES:
        assert shield_reduction_db(name, 0.0) == counted_db(name)


@given(f_hz=st.floats(1.0, 1e8), conductivity=st.floats(1e5, 6e7))
def test_skin_depth_and_tube_agree(f_hz: float, conductivity: float) -> None:
    """ω μ₀ σ a t / 2 is ``a t / depth²``."""
    metal = Metal(conductivity)
    term = 2e-3 * 1e-4 / skin_depth_m(f_hz, metal) ** 2
    assert tube_reduction_db(f_hz, metal, 2e-3, 1e-4) == pytest.approx(
        10.0 * math.log10(1.0 + term**2), rel=1e-9, abs=1e-9
    )


def test_the_table_cites_its_sources() -> None:
    with (rulesets_folder() / "tables" / "shield_materials.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert tuple(row["material"] for row in rows) == SHIELD_NAMES == tuple(shield_materials())
    for row in rows:
        assert "from memory" in row["source"] and "no source" in row["source"]
        assert shield_material(row["material"]).source == row["source"]
    assert shield_material("copper braid").metal == BRAID
    assert shield_material("steel conduit").metal == shield_material("steel braid").metal == MILD_STEEL


@pytest.mark.parametrize(
    "call",
    [
        lambda: skin_depth_m(0.0, COPPER),
        lambda: skin_depth_m(math.inf, COPPER),
        lambda: Metal(0.0),
        lambda: Metal(math.nan),
        lambda: Metal(1e6, 0.5),
        lambda: Metal(1e6, math.inf),
        lambda: tube_reduction_db(-1.0, COPPER, 2e-3, 1e-4),
        lambda: tube_reduction_db(math.nan, COPPER, 2e-3, 1e-4),
        lambda: tube_reduction_db(1.0, COPPER, 2e-3, 0.0),
        lambda: tube_reduction_db(1.0, COPPER, 2e-3, 1.1e-3),
        lambda: tube_reduction_db(1.0, COPPER, -2e-3, 1e-4),
        lambda: magnetic_tube_db(COPPER, 2e-3, 3e-3),
        lambda: shield_reduction_db("copper braid", -1.0),
        lambda: shield_reduction_db("lead sheath", 1e3),
        lambda: counted_db("Steel braid"),
        lambda: ShieldMaterial("x", COPPER, 2e-3, 1e-4, 0.0, "s"),
        lambda: shield_inductance_h_per_m(2e-3, 1e-3),
        lambda: shield_cutoff_hz(0.0, 1e-7),
        lambda: shield_cutoff_hz(0.015, math.nan),
        lambda: quasi_static_below_hz(0.0),
    ],
)
def test_numbers_that_are_none_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"\w"):
        call()  # type: ignore[operator]


def test_an_unknown_material_is_told_with_those_known() -> None:
    with pytest.raises(
        ValueError, match="'lead sheath' is no material of a shield; known are copper braid, aluminium foil"
    ):
        counted_db("lead sheath")


HEAD = "material,conductivity_s_per_m,relative_permeability,radius_mm,wall_mm,most_db,source\n"


@pytest.mark.parametrize(
    "text", [None, "", HEAD + "copper braid,2.5e7,1,2.5,0.2,20,s\n", HEAD.replace("wall_mm", "wall"), "row",
             HEAD + "".join(f"{name},2.5e7,1,2.5,thick,20,s\n" for name in SHIELD_NAMES),
             HEAD + "".join(f"{name},2.5e7,1,2.5,0.2,20\n" for name in SHIELD_NAMES)]
)  # fmt: skip
def test_a_damaged_table_is_told_with_its_file(
    text: str | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shipped_tables, "rulesets_folder", lambda: tmp_path)
    (tmp_path / "tables").mkdir()
    if text is not None:
        (tmp_path / "tables" / "shield_materials.csv").write_text(text, encoding="utf-8")
    shield_materials.cache_clear()
    try:
        with pytest.raises(FileUnreadableError, match=r"shield_materials\.csv.*Install harnessdrc again\."):
            shield_materials()
    finally:
        shield_materials.cache_clear()
