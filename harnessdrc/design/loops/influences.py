"""What plug, lead, gap and boost make of the current at a spark's breakdown, with the cells that tell of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from harnessdrc.design.loops.coils import CoilSet, Spark
from harnessdrc.harness.elements import Harness, Item
from harnessdrc.physics.discharge import Influence, breakdown_factor, stronger
from harnessdrc.places import Place

__all__ = ["SparkInfluences", "is_described", "spark_influences"]

_COLUMNS = {"solid lead": "lead_type", "plain plug": "plug_type", "gap": "gap_m", "boost": "boost_bar"}


class SparkInfluences(NamedTuple):
    """One spark of a coil, held against a usual one.

    Parameters
    ----------
    plug : str
        The plug by name; empty where the list does not name the plugs of the coil.
    influences : tuple of (Influence, Place or None)
        Each with the cell that tells of it, the strongest first.
    """

    plug: str
    influences: tuple[tuple[Influence, Place | None], ...]

    @property
    def factor(self) -> float:
        """How many times as fast the current at breakdown rises, boost included."""
        return breakdown_factor(each for each, _ in self.influences)

    @property
    def unboosted(self) -> float:
        """The same without boost, which acts only where there is one."""
        return breakdown_factor(each for each, _ in self.influences if each.what != "boost")

    @property
    def boost_bar(self) -> float:
        """Boost at full load, bar."""
        return next((each.found_si or 0.0 for each, _ in self.influences if each.what == "boost"), 0.0)


def _tellers(harness: Harness, coil: CoilSet, spark: Spark) -> Iterator[tuple[str, tuple[Item, ...]]]:
    """Every plug of a spark: its name and the items that tell of it, that nearest to the plug first."""
    items = harness.items
    ends = dict.fromkeys(end for leg in spark.legs for end in (leg.end, leg.start))
    between = [item for end in ends if (item := items.get(end)) is not None and item.kind == "distributor"]
    for plug in spark.plugs or ("",):
        own = items.get(plug)
        yield (own.name if own else plug), (*((own,) if own else ()), *between, coil.coil.item)


def is_described(harness: Harness, coil: CoilSet) -> bool:
    """Whether the lists tell the type of plugs or leads of a coil, their gap or the boost."""
    return any(
        getattr(item.details, column) is not None
        for spark in coil.sparks
        for _, items in _tellers(harness, coil, spark)
        for item in items
        for column in _COLUMNS.values()
    )


def spark_influences(harness: Harness, coil: CoilSet, spark: Spark, usual_gap_m: float) -> tuple[SparkInfluences, ...]:
    """Influences on every plug of a spark, as its row has them, else that of the distributor, else that of the coil."""
    return tuple(_of(plug, items, usual_gap_m) for plug, items in _tellers(harness, coil, spark))


def _of(plug: str, items: tuple[Item, ...], usual_gap_m: float) -> SparkInfluences:
    tells = {
        column: next((item for item in items if getattr(item.details, column) is not None), None)
        for column in _COLUMNS.values()
    }
    plug_item, lead_item, gap_item, boost_item = (
        tells[column] for column in ("plug_type", "lead_type", "gap_m", "boost_bar")
    )
    found = stronger(
        plain_plug=plug_item is not None and plug_item.details.plug_type == "plain",
        solid_lead=lead_item is not None and lead_item.details.lead_type == "solid",
        gap_m=(gap_item.details.gap_m or None) if gap_item is not None else None,
        boost_bar=max(0.0, boost_item.details.boost_bar or 0.0) if boost_item is not None else None,
        usual_gap_m=usual_gap_m,
    )

    def cell(influence: Influence) -> Place | None:
        column = _COLUMNS[influence.what]
        item = tells[column]
        return item.cell(column) if item is not None else None

    told = sorted(((each, cell(each)) for each in found), key=lambda each: -each[0].factor)
    return SparkInfluences(plug, tuple(told))
