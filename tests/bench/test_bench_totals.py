"""Totals against pandas over the lists themselves; every wire once and every cavity once."""

from __future__ import annotations

import math
import re
from collections import Counter
from pathlib import Path

import pandas as pd
import pytest
from bench_lists import REAL, SAMPLE_FILES, SAMPLES

from harnessdrc.api import shop_papers
from harnessdrc.papers import Papers

# What the papers do not tell pandas here: 10 mm at each end, copper 8.89 g/cm³ (read, NBS Handbook 100), strands 2 %
# longer than their conductor (ASTM B8, from memory), gauges by ASTM B258.
ENDS_MM = 20.0
INCH_MM = 25.4


def papers_of(*paths: Path) -> Papers:
    return shop_papers(list(paths))[0]


FORMS = {
    # sheet, heading row, size, length, mm of its unit, twist group
    "hill_climb_single_seater": ("Wire list", 1, "Size (mm²)", "Length (mm)", 1.0, "Twist group"),
    "rescue_boat_v8": ("Harness", 4, "AWG", "Len (ft)", 304.8, "Pair"),
}


def raw_wires(path: Path) -> pd.DataFrame:
    """The wire list of a sample as it stands in its cells; its first five columns are the wire and its ends."""
    sheet, head_row, size, length, unit_mm, twist = FORMS[path.stem]
    frame = pd.read_excel(path, sheet_name=sheet, header=head_row - 1, dtype=object, engine="calamine")
    named = frame[[size, length, twist]].copy()
    named.columns = pd.Index(["size", "length", "twist"])
    ends = frame.iloc[:, :5].copy()
    ends.columns = pd.Index(["wire", "from", "from_cavity", "to", "to_cavity"])
    found = pd.concat([ends, named], axis=1)
    found = found[found["from"].notna() & (found["wire"].notna() | found["to"].notna())]
    found["mm"] = pd.to_numeric(found["length"], errors="coerce") * unit_mm
    found["mm2"] = found["size"].map(lambda cell: metal_mm2(cell, size))
    return found.reset_index(drop=True)


def metal_mm2(label: object, heading: str) -> float:
    """Copper of a size label, mm²; nan for none."""
    text = str(label).strip().lower()
    awg = re.search(r"^(\d+)(/0)?", text) if "awg" in f"{text}{heading}".lower() else None
    if awg:
        number = 1 - int(awg[1]) if awg[2] else int(awg[1])
        return math.pi / 4 * (0.127 * 92 ** ((36 - number) / 39)) ** 2
    plain = re.search(r"^(\d+(?:[.,]\d+)?)", text)
    return float(plain[1].replace(",", ".")) if plain else math.nan


@pytest.mark.parametrize("path", SAMPLE_FILES, ids=lambda path: f"{path.parent.name} {path.stem}")
def test_totals_of_a_sample_add_up_with_its_list(path: Path) -> None:
    papers = papers_of(path)
    frame = raw_wires(path)
    known = frame["mm"].notna() & frame["mm2"].notna()
    assert papers.totals.wires == len(frame)
    assert papers.totals.unknown == int((~known).sum())
    # Each wire is rounded up to the millimetre; only twisted ones take more than their ends.
    cut_mm = (frame["mm"] + ENDS_MM)[known].map(lambda mm: math.ceil(mm - 1e-6))
    told_mm = pd.Series({line.wire: line.cut_mm for line in papers.cut}, dtype=float)
    names = pd.Series(numbered(frame), index=frame.index)[known]
    more_mm = told_mm[names].to_numpy() - cut_mm.to_numpy()
    twisted = frame["twist"][known].notna().to_numpy()
    assert (more_mm[~twisted] == 0).all()
    assert (more_mm[twisted] >= 0).all() and (more_mm[twisted] < 0.08 * cut_mm[twisted]).all() and more_mm.any()
    assert papers.totals.length_m == pytest.approx((cut_mm.sum() + more_mm.sum()) / 1000)
    copper_kg = ((cut_mm + more_mm) * frame["mm2"][known]).sum() * 8.89e-6 * 1.02
    assert papers.totals.copper_kg == pytest.approx(copper_kg, rel=1e-6)


@pytest.mark.parametrize("path", SAMPLE_FILES, ids=lambda path: f"{path.parent.name} {path.stem}")
def test_cables_add_up_with_the_cut_list_and_the_totals(path: Path) -> None:
    papers = papers_of(path)
    frame = pd.DataFrame([line._asdict() for line in papers.cut])
    sums = frame.groupby(["size", "insulation", "colour"])["cut_mm"].agg(["sum", "size", "count"])
    assert len(sums) == len(papers.cables)
    for line in papers.cables:
        row = sums.loc[(line.size, line.insulation, line.colour)]
        assert line.length_m == pytest.approx(row["sum"] / 1000)
        assert (line.wires, line.unknown) == (row["size"], row["size"] - row["count"])
    sized = [line for line in papers.cables if line.copper_g is not None]
    assert papers.totals.length_m == pytest.approx(sum(line.length_m for line in sized))
    assert papers.totals.copper_kg == pytest.approx(sum(line.copper_g or 0 for line in sized) / 1000)
    assert papers.totals.cable_kg == pytest.approx(sum(line.cable_g or 0 for line in sized) / 1000)


def numbered(frame: pd.DataFrame) -> list[str]:
    """Names of the wires: their numbers, with (2) behind one that stands there a second time."""
    again = frame.groupby("wire").cumcount()
    return [f"{name} ({n + 1})" if n else str(name) for name, n in zip(frame["wire"], again, strict=True)]


def every_wire_and_cavity_once(papers: Papers, wires: set[str], cavities: set[tuple[str, str]]) -> None:
    """Wires by their names, cavities as connector and cavity, folded for case."""
    cut = Counter(line.wire for line in papers.cut)
    assert set(cut) == wires and set(cut.values()) <= {1}
    assert [line.order for line in papers.cut] == list(range(1, len(papers.cut) + 1))
    lines = [(sheet.name.casefold(), line.cavity) for sheet in papers.connectors for line in sheet.cavities]
    told = Counter(line for line in lines if line[1])
    assert set(told.values()) <= {1}
    assert cavities - set(told) == set()
    assert set(Counter(sheet.name.casefold() for sheet in papers.connectors).values()) <= {1}
    labels = Counter(label.subject for label in papers.labels if label.subject[0] == "wire")
    assert labels == {("wire", name): 2 for name in wires}


@pytest.mark.parametrize("path", SAMPLE_FILES, ids=lambda path: f"{path.parent.name} {path.stem}")
def test_every_wire_and_cavity_of_a_sample_stands_once(path: Path) -> None:
    papers = papers_of(path)
    frame = raw_wires(path)
    splices = {sheet.name.casefold() for sheet in papers.splices}
    cavities = {
        (str(item).strip().casefold(), str(cavity).strip())
        for side in ("from", "to")
        for item, cavity in zip(frame[side], frame[f"{side}_cavity"], strict=True)
        if pd.notna(cavity) and pd.notna(item) and str(item).strip().casefold() not in splices
    }
    assert len(cavities) > 100
    every_wire_and_cavity_once(papers, set(numbered(frame)), cavities)


needs_real = pytest.mark.skipif(not REAL.is_dir(), reason="the real wiring lists are not beside this checkout")


@needs_real
def test_totals_of_a_real_cut_list_add_up_with_it() -> None:
    frame = pd.read_excel(REAL / "robot_cut_list" / "wiring.xlsx", engine="calamine")
    papers = papers_of(REAL / "robot_cut_list" / "wiring.xlsx")
    text = frame["Length"].astype(str).str.replace("”", '"').str.replace("’", "'")
    mm = text.map(lambda cell: float(cell.rstrip("\"' ")) * (304.8 if cell.strip().endswith("'") else INCH_MM))
    awg = frame["Gauge"].astype(str).str.extract(r"(\d+)\s*ga")[0].astype(float)
    cores = frame["Type"].map(lambda kind: 2 if kind == "R+B" else 3 if kind == "PWM" else 1)
    cut_m = mm.map(lambda each: math.ceil(each + ENDS_MM - 1e-6)) / 1000
    assert papers.totals.length_m == pytest.approx(cut_m[awg.notna()].sum())
    area_mm2 = awg.map(lambda n: math.pi / 4 * (0.127 * 92 ** ((36 - n) / 39)) ** 2)
    copper_kg = (cut_m * area_mm2 * cores).sum() * 8.89e-3 * 1.02
    assert papers.totals.copper_kg == pytest.approx(copper_kg, rel=1e-6)
    names = {
        name
        for number, kind in zip(frame["ID"], frame["Type"], strict=True)
        for name in ([f"{number} RD", f"{number} BK"] if kind == "R+B" else [str(number)])
    }
    every_wire_and_cavity_once(papers, names, set())
    assert papers.totals.unknown == sum(awg.isna() * 1)


@needs_real
@pytest.mark.parametrize("name", ["Wiring_C2Mega.xls", "Wiring_C2PCB.xls"])
def test_a_real_list_without_lengths_says_so_and_loses_nothing(name: str) -> None:
    papers, result = shop_papers([REAL / "trike_wiring" / name])
    assert len(papers.cut) == len({line.wire for line in papers.cut}) == result.read.wires
    assert papers.totals.unknown == result.read.wires and papers.totals.length_m == 0
    count = f"{result.read.wires:,} wires without length, not to be cut yet and in no total"
    assert any(sentence.startswith(count) for sentence in papers.incomplete)
    ends = Counter(name for sheet in papers.connectors for line in sheet.cavities for name in line.wires)
    ends.update(wire.wire for sheet in papers.splices for wire in sheet.wires)
    for line in papers.cut:
        given = sum(bool(end.where) and end.where != "open" for end in (line.a, line.b))
        assert ends[line.wire] == given


def test_texts_that_belong_together_make_one_set_of_papers() -> None:
    folder = SAMPLES / "clean" / "hill_climb_csv"
    as_text = papers_of(*sorted(folder.iterdir()))
    as_book = papers_of(SAMPLES / "clean" / "hill_climb_single_seater.xlsx")
    assert as_text.totals == as_book.totals
    assert [line.wire for line in as_text.cut] == [line.wire for line in as_book.cut]
    assert as_text.issue_mark != as_book.issue_mark
