"""What plugs, leads, gaps and boost of each coil make of the current at its spark's breakdown."""

from __future__ import annotations

from harnessdrc.design import Design, Device
from harnessdrc.design.loops.influences import SparkInfluences, is_described, spark_influences
from harnessdrc.harness.names import natural_key

__all__ = ["SparkNoise"]


class SparkNoise:
    """Sparks of a design's coils, held against usual ones.

    Parameters
    ----------
    design : Design
        Where the coils are from; its given value ``plug_gap_mm`` is the usual gap.
    """

    def __init__(self, design: Design) -> None:
        self.harness, self._usual_gap_m = design.harness, design.given["plug_gap_mm"] / 1000
        self._sets = {each.coil.key: each for each in design.loops.coils if is_described(design.harness, each)}
        self.coils: list[Device] = [each.coil for each in self._sets.values()]
        """Coils of which the lists tell the type of plugs or leads, their gap or the boost."""

    def worst(self, coil: Device) -> SparkInfluences:
        """The spark of a coil that makes the most noise; of equal ones that of the first plug by name."""
        own = self._sets[coil.key]
        sparks = (
            each
            for spark in own.sparks
            for each in spark_influences(self.harness, own, spark, self._usual_gap_m)
        )
        return min(sparks, key=lambda spark: (-spark.factor, natural_key(spark.plug)))
