"""Laws that hold for any list: what is worse never allows more or needs less, and rows may stand in any order."""

from __future__ import annotations

import random
from typing import NamedTuple

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sized_lists import awg_of, fuse_of, loom, mm2_of, size_of

from harnessdrc.results import Result, SizeLine

few = settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
SIZES = ("0.5 mm2", "0.75 mm2", "1.5 mm2", "4 mm2", "22 AWG", "18 AWG", "14 AWG", "8 AWG")
ZONES = ("chassis", "cabin", "engine bay", "cylinder head")
"""From the coolest to the hottest as given by the ruleset."""
INSULATIONS = ("PVC 105", "TXL", "ETFE 150", "PTFE 200", "PTFE 260")
NEVER = 1e9


class Loom(NamedTuple):
    """A lamp behind a fuse, in a branch with other wires."""

    size: str = "1.5 mm2"
    length_m: float = 2.0
    load_a: float = 5.0
    fuse_a: float = 10.0
    crowd: int = 3
    crowd_a: float = 0.0
    zone: str = "engine bay"
    insulation: str = "TXL"
    height_m: float = 0.0

    @property
    def rows(self) -> list[str]:
        """Rows of its wire list."""
        extra = [
            f"S{n},BOX,{n},PANEL,{n},1,1,Something {n},{self.insulation},B,{self.crowd_a}\n" for n in range(self.crowd)
        ]
        return [
            "W1,BATTERY,+,F1,in,16,0.2,Battery feed,TXL,CABIN,\n",
            f"W2,F1,out,LAMP,1,{self.size},{self.length_m},Lamp feed,{self.insulation},B,\n",
            "W3,LAMP,2,STUD,,4,1,Ground,TXL,CABIN,\n",
            *extra,
        ]

    def solved(self, order: int | None = None) -> Result:
        """Its result, the rows in their order or in another one."""
        rows = self.rows
        if order is not None:
            random.Random(order).shuffle(rows)
        return loom(
            "".join(rows),
            f"LAMP,lamp,{self.load_a}\n",
            f"F1,{self.fuse_a},regular blade\n",
            branches=f"Branch,From point,To point,Zone\nB,P1,P2,{self.zone}\nCABIN,P2,P3,cabin\n",
            given={"height_m": self.height_m},
        )


looms = st.builds(
    Loom,
    size=st.sampled_from(SIZES),
    length_m=st.floats(0.1, 12.0).map(lambda v: round(v, 3)),
    # no figure half way between two of three digits, which the last bit of a sum would decide on
    load_a=st.floats(0.1, 12.0).map(lambda v: round(v, 2) + 0.003),
    fuse_a=st.sampled_from((3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 30.0)),
    crowd=st.integers(0, 12),
    crowd_a=st.sampled_from((0.0, 2.0, 6.0)),
    zone=st.sampled_from(ZONES[:3]),
    insulation=st.sampled_from(INSULATIONS),
    height_m=st.sampled_from((0.0, 2000.0)),
)


def needs(line: SizeLine) -> tuple[float, float]:
    """Size needed as numbers that rise with copper, in both systems; more than any where none is enough."""
    return (
        -float(awg_of(line.needed_awg)) if line.needed_awg else NEVER,
        mm2_of(line.needed_mm2) if line.needed_mm2 else NEVER,
    )


def assert_no_better(milder: Loom, harder: Loom) -> None:
    """The harder place allows no more and needs no less."""
    first, second = (size_of(each.solved(), "W2") for each in (milder, harder))
    assert first.allowed_a is not None and second.allowed_a is not None
    assert second.allowed_a <= first.allowed_a * (1 + 1e-6)
    assert all(late >= early for early, late in zip(needs(first), needs(second), strict=True))
    assert first.conductor_degc is not None and second.conductor_degc is not None
    assert second.conductor_degc >= first.conductor_degc - 1e-3


@few
@given(looms, st.integers(1, 40))
def test_more_wires_in_the_bundle(case: Loom, more: int) -> None:
    # of wires that carry nothing, and of wires that carry as much as those that lie there
    for before in (case._replace(crowd_a=0.0), case):
        assert_no_better(before, before._replace(crowd=before.crowd + more))


@few
@given(looms.filter(lambda case: case.crowd > 0), st.floats(0.5, 8.0))
def test_wires_that_carry_more(case: Loom, more_a: float) -> None:
    assert_no_better(case, case._replace(crowd_a=round(case.crowd_a + more_a, 3)))


@few
@given(looms, st.integers(1, 3))
def test_a_hotter_place(case: Loom, steps: int) -> None:
    hotter = min(ZONES.index(case.zone) + steps, len(ZONES) - 1)
    # chassis is given as 50 °C, cabin 60, bay 85, head 110
    assert_no_better(case._replace(insulation="ETFE 150"), case._replace(insulation="ETFE 150", zone=ZONES[hotter]))


@few
@given(looms, st.floats(100.0, 12_000.0))
def test_a_greater_height(case: Loom, more_m: float) -> None:
    assert_no_better(case, case._replace(height_m=case.height_m + more_m))


@few
@given(looms, st.floats(0.1, 20.0))
def test_a_longer_wire(case: Loom, more_m: float) -> None:
    longer = case._replace(length_m=round(case.length_m + more_m, 3))
    first, second = case.solved(), longer.solved()
    early, late = size_of(first, "W2"), size_of(second, "W2")
    assert late.allowed_a == pytest.approx(early.allowed_a, rel=1e-6)
    assert all(b >= a for a, b in zip(needs(early), needs(late), strict=True))
    one, other = fuse_of(first, "F1"), fuse_of(second, "F1")
    assert one.fault_a is not None and other.fault_a is not None
    assert one.fault_a >= other.fault_a
    assert one.clears_s is not None and other.clears_s is not None
    assert one.clears_s <= other.clears_s


@few
@given(looms, st.sampled_from((1.5, 2.0, 4.0)))
def test_a_larger_fuse_never_protects_more(case: Loom, times: float) -> None:
    larger = case._replace(fuse_a=case.fuse_a * times)
    small, large = case.solved(), larger.solved()
    line = size_of(small, "W2")
    if line.governs != "drop":  # a small fuse drops more itself
        assert all(b >= a for a, b in zip(needs(line), needs(size_of(large, "W2")), strict=True))
    one, other = fuse_of(small, "F1"), fuse_of(large, "F1")
    assert one.clears_s is not None and other.clears_s is not None
    assert one.clears_s <= other.clears_s * (1 + 1e-9)
    assert one.thinnest_allowed_a == pytest.approx(other.thinnest_allowed_a or 0.0, rel=1e-6)

    def held(result: Result) -> set[str]:
        return {f.check for f in result.findings if f.check in ("fuse.protects_wire", "fuse.blows")}

    assert held(small) <= held(large)


@few
@given(looms, st.integers(0, len(INSULATIONS) - 2))
def test_better_insulation_never_allows_less(case: Loom, number: int) -> None:
    worse, better = (size_of(case._replace(insulation=INSULATIONS[n]).solved(), "W2") for n in (number, number + 1))
    assert worse.allowed_a is not None and better.allowed_a is not None
    assert better.allowed_a > worse.allowed_a


@few
@given(looms, st.floats(0.1, 10.0))
def test_a_load_that_draws_more(case: Loom, more_a: float) -> None:
    first, second = (
        size_of(each.solved(), "W2") for each in (case, case._replace(load_a=round(case.load_a + more_a, 3)))
    )
    assert all(b >= a for a, b in zip(needs(first), needs(second), strict=True))


def _plain(value: object) -> object:
    return float(f"{value:.5g}") if isinstance(value, float) else value


@few
@given(looms, st.integers(0, 1000))
def test_the_order_of_the_rows_changes_nothing(case: Loom, order: int) -> None:
    def told(result: Result) -> tuple[object, ...]:
        wires = sorted(tuple(_plain(v) for v in line._replace(mark=None)) for line in result.sizing.wires)
        fuses = sorted(tuple(_plain(v) for v in line._replace(mark=None)) for line in result.sizing.fuses)
        bundles = sorted(tuple(_plain(v) for v in line._replace(mark=None)) for line in result.sizing.bundles)
        said = sorted((f.check, f.subject, f.message, f.thumbprint) for f in result.findings)
        lacks = sorted((u.check, u.subject, u.missing) for u in result.undecided)
        return wires, fuses, bundles, said, lacks

    assert told(case.solved()) == told(case.solved(order))


@few
@given(st.one_of(looms, looms.map(lambda case: case._replace(crowd=0))), st.sampled_from(SIZES[:4]))
def test_the_needed_size_is_enough_when_it_is_fitted(case: Loom, listed: str) -> None:
    """With the size that the result asks for, the wire is neither too hot nor above its fuse, and asks for no more."""
    line = size_of(case._replace(size=listed).solved(), "W2")
    if not line.needed_mm2:
        return
    fitted = case._replace(size=line.needed_mm2.replace("mm²", "mm2")).solved()
    again = size_of(fitted, "W2")
    assert again.allowed_a is not None and again.current_a is not None
    # beside others the new size changes how loaded the bundle is, which the result says it does not count
    if not case.crowd:
        told = {f.check for f in fitted.findings if f.subject in (("wire", "W2"), ("fuse", "F1"))}
        assert not told & {"wire.current", "fuse.protects_wire"}
        assert needs(again)[1] <= mm2_of(line.needed_mm2)
