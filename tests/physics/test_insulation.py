"""Insulation from the words of lists: what decides, what does not, and what contradicts itself."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.datafiles import rulesets_folder
from harnessdrc.errors import FileUnreadableError
from harnessdrc.physics import insulation, shipped_tables
from harnessdrc.physics.insulation import InsulationReading, insulation_names, read_insulation
from harnessdrc.physics.trade_words import WordBook


@pytest.mark.parametrize(
    ("text", "rated", "short"),
    [
        ("thin wall, class B", 100.0, 150.0), ("ISO 6722 class C", 125.0, 175.0), ("Class H", 250.0, 300.0),
        ("thin wall PVC class B", 100.0, 160.0), ("XLPE class C", 125.0, 250.0),
        ("TXL", 125.0, 250.0), ("gxl 16 AWG", 125.0, 250.0), ("TXL/GXL", 125.0, 250.0), ("GPT", 80.0, 160.0), ("GPT 85 °C", 85.0, 160.0),
        ("FLRY-B", 100.0, 160.0), ("FLRY-A 0.35", 100.0, 160.0), ("FLRYB", 100.0, 160.0), ("FLRY-B 105°C", 105.0, 160.0), ("FLR2X-B", 125.0, 250.0),
        ("PVC 105", 105.0, 160.0), ("105 °C PVC", 105.0, 160.0), ("PVC -40..105C", 105.0, 160.0), ("XLPE 125 deg C", 125.0, 250.0),
        ("M22759/16", 150.0, 250.0), ("MIL-W-22759/16-20-9", 150.0, 250.0), ("AS22759/32", 150.0, 250.0), ("M22759/43-22", 200.0, 250.0), ("M22759/1", 200.0, None),
        ("silicone", 180.0, 350.0), ("Silicone 200 °C", 200.0, 350.0), ("UL1015", 105.0, 160.0), ("H07V-K", 70.0, 160.0), ("125 °C", 125.0, None),
        ("FLR9Y class C", 125.0, None),
    ],
)  # fmt: skip
def test_words_that_decide(text: str, rated: float, short: float | None) -> None:
    found = read_insulation(text).insulation
    assert found is not None, read_insulation(text)
    assert (found.rated_degc, found.short_time_degc) == (rated, short)


@pytest.mark.parametrize(
    ("text", "some"),
    [
        ("PVC", ("PVC 70", "PVC 105", "FLRY")), ("thin wall", ("class A", "class B", "TXL")), ("XLPE", ("XLPE 90", "XLPE 125", "TXL")),
        ("M22759", ("M22759/16", "M22759/43")), ("Tefzel", ("ETFE 150", "ETFE 200")), ("thin wall PVC", ("FLRY", "TWP")),
        ("class B or class C", ("class B", "class C")), ("TXL class B", ("TXL", "class B")), ("FLRY class A", ("FLRY", "class A")),
        ("PVC class F", ("class F", "PVC")), ("TXL 150 °C", ("TXL", "150 °C")), ("PVC 145 °C", ("PVC 70", "PVC 105")),
    ],
)  # fmt: skip
def test_words_that_leave_it_open_give_what_they_may_mean(text: str, some: tuple[str, ...]) -> None:
    found = read_insulation(text)
    assert found.insulation is None
    assert set(some) <= set(found.candidates)


@pytest.mark.parametrize(
    "text", ["", "green", "class 5", "class B stranded", "123 °C", "M22759/99x", "AWG 16", "classy", "PVC-free", "20 °C", "16 AWG 2c"]
)
def test_words_that_say_nothing_of_a_temperature(text: str) -> None:
    assert read_insulation(text).insulation is None
    if text != "M22759/99x":  # an unknown sheet of a known family has that family's candidates
        assert read_insulation(text) == InsulationReading(None)


def test_candidates_of_a_material_are_of_that_material_only() -> None:
    assert not {"TXL", "silicone", "class B"} & set(read_insulation("PVC").candidates)


def test_a_range_says_its_doubt_until_the_list_says_the_temperature() -> None:
    open_, stated = read_insulation("FLRY-B").insulation, read_insulation("FLRY-B 105 °C").insulation
    assert open_ is not None and "105 °C" in open_.doubt
    assert stated is not None and stated.doubt == ""


def test_each_name_is_read_as_itself() -> None:
    """A name of the table, as a report prints it, means its own row when it comes back in a list."""
    for name in insulation_names():
        found = read_insulation(name)
        if name not in ("AV", "M16878 PVC", "M16878 PTFE"):
            assert found.insulation is not None and found.insulation.name == name, name


def test_every_row_is_in_order_and_says_read_or_from_memory() -> None:
    with (rulesets_folder() / "tables" / "insulation_classes.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    names = {row["name"] for row in rows}
    assert len(names) == len(rows)
    for row in rows:
        assert "read" in row["source"] or "from memory" in row["source"]
        assert {each for each in row["groups"].split(";") if each} <= names | {"FEP", "silicone"}, row["name"]
        if row["short_time_degc"] and row["rated_degc"]:
            assert float(row["short_time_degc"]) > float(row["highest_degc"] or row["rated_degc"])
            assert row["short_time_basis"] in ("material", "overload")


@given(text=st.text(max_size=60), more=st.sampled_from(["TXL", "class D", "PVC 70", "", "M22759/16"]))
def test_any_text_is_read_without_a_fault(text: str, more: str) -> None:
    found = read_insulation(f"{text} {more}")
    assert found.insulation is None or not found.candidates
    if found.insulation is not None and found.insulation.short_time_degc is not None:
        assert found.insulation.short_time_degc > found.insulation.rated_degc


def test_the_longest_words_decide_and_pieces_are_whole() -> None:
    book = WordBook({"long": ["thin wall cable"], "short": ["thin", "cable 2.5"]})
    assert [each.meaning for each in book.find("THIN-WALL cable, thin; thinner cable 2.5")] == ["long", "short", "short"]
    assert book.find("") == book.find("cable 2") == ()
    with pytest.raises(ValueError, match="two things"):
        WordBook({"a": ["same words"], "b": ["same-words"]})
    with pytest.raises(ValueError, match="empty"):
        WordBook({"a": ["- /"]})


@pytest.mark.parametrize(
    "row", ["", "x,class,x,,,,,,,s\n", "x,sort,x,,70,,,,,s\n", "x,class,x,,70,60,,,,s\n", "x,class,x,,70,,,,,\n"]
)
def test_a_damaged_table_is_told_with_its_file(row: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shipped_tables, "rulesets_folder", lambda: tmp_path)
    (tmp_path / "tables").mkdir()
    head = "name,kind,words,groups,rated_degc,highest_degc,short_time_degc,short_time_basis,doubt,source\n"
    (tmp_path / "tables" / "insulation_classes.csv").write_text(head + row, encoding="utf-8")
    insulation._rows.cache_clear()
    try:
        with pytest.raises(FileUnreadableError, match=r"insulation_classes\.csv.*Install harnessdrc again\."):
            insulation_names()
    finally:
        insulation._rows.cache_clear()
