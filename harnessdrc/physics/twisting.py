"""How far twisting a pair reduces what a magnetic field induces in it.

A twisted pair is a row of small loops of alternate sense: the field that passes through one is taken back by the
next, and what is left goes with the area of about one of them, that is with the lay. The lay is the length of one
full turn of the pair.

Sources: measured reductions of Klipec 1967, repeated by Ott, from memory: ``rulesets/tables/twist_reduction.csv``.
The limits of 40 and 30 dB are our own: a true helix in the field of a real loop, integrated, leaves -36 dB when the
run holds an odd half turn, -44 dB a tenth of a turn beside that, -73 dB when it holds whole turns. No loom holds whole
turns to that accuracy, so better than 30 to 40 dB is not to be counted on. What is left untwisted at a connector is
not part of these figures: it is a loop of its own and as a rule the larger one.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass
from functools import lru_cache

from harnessdrc.physics.shipped_tables import shipped_rows

__all__ = ["LOW_MOST_DB", "USUAL_MOST_DB", "TwistReduction", "TwistTable", "twist_reduction", "twist_table"]

USUAL_MOST_DB = 40.0
"""Most that the usual figure counts on, dB: pitches that do not divide the run, see the top of this module."""
LOW_MOST_DB = 30.0
"""Most that the lower figure counts on, dB: an odd half turn, with pitch and spacing as hands make them."""


@dataclass(frozen=True, slots=True)
class TwistReduction:
    """By how much a twisted pair takes up less than the same two wires laid parallel.

    Parameters
    ----------
    db : float
        Usual figure, dB; never above `USUAL_MOST_DB`.
    low_db : float
        What may be counted on in a loom made by hand, dB; never above `LOW_MOST_DB`.
    high_db : float
        As published for this lay, dB.
    """

    db: float
    low_db: float
    high_db: float


@dataclass(frozen=True, slots=True)
class TwistTable:
    """Measured reductions over the lay.

    Parameters
    ----------
    lay_m : tuple of float
        Length of one full turn, rising, m; two at least.
    db : tuple of float
        Reduction at each, falling, above zero, dB.

    Raises
    ------
    ValueError
        When the rows are not in this order.
    """

    lay_m: tuple[float, ...]
    db: tuple[float, ...]

    def __post_init__(self) -> None:
        rising = all(a < b for a, b in zip(self.lay_m, self.lay_m[1:], strict=False))
        falling = all(a > b for a, b in zip(self.db, self.db[1:], strict=False))
        numbers = all(math.isfinite(each) and each > 0.0 for each in (*self.lay_m, *self.db))
        if not (numbers and rising and falling and len(self.lay_m) == len(self.db) >= 2):
            raise ValueError("expected two rows or more, with rising lay and falling reduction, all above zero")

    @property
    def longest_m(self) -> float:
        """Lay from which a pair is as good as parallel, m: where the residue, which goes as the lay, is the whole."""
        return float(self.lay_m[-1] * 10.0 ** (self.db[-1] / 20.0))

    def db_at(self, lay_m: float) -> float:
        """Reduction at a lay above zero, dB.

        Between two rows the figure in dB runs straight over the logarithm of the lay. A lay shorter than the first
        row has that row's figure: nothing better was measured. Beyond the last row the residue grows in proportion
        to the lay, for it is the area of one half turn, ``db = last - 20 log10(lay / last lay)``, down to 0 dB.
        """
        if lay_m <= self.lay_m[0]:
            return self.db[0]
        if lay_m >= self.lay_m[-1]:
            return max(0.0, self.db[-1] - 20.0 * math.log10(lay_m / self.lay_m[-1]))
        row = bisect_left(self.lay_m, lay_m)
        part = math.log(lay_m / self.lay_m[row - 1]) / math.log(self.lay_m[row] / self.lay_m[row - 1])
        return self.db[row - 1] + part * (self.db[row] - self.db[row - 1])


@lru_cache(maxsize=1)
def twist_table() -> TwistTable:
    """The shipped table.

    Raises
    ------
    FileUnreadableError
        When it is missing or damaged.
    """
    with shipped_rows("twist_reduction.csv", "twisted pairs") as rows:
        return TwistTable(
            tuple(float(row["lay_mm"]) / 1000.0 for row in rows), tuple(float(row["reduction_db"]) for row in rows)
        )


@lru_cache(maxsize=1024)
def twist_reduction(lay_m: float) -> TwistReduction:
    """Reduction of induced voltage by twisting, against the same wires parallel, dB.

    For the twisted part of a pair that runs for several turns; its untwisted ends are counted apart.

    Parameters
    ----------
    lay_m : float
        Length of one full turn of the pair, m; inf for wires that are not twisted.

    Raises
    ------
    ValueError
        For a lay that is not above zero.
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    if not lay_m > 0.0:
        raise ValueError(f"{lay_m:g} m is no lay: give a length above zero")
    db = twist_table().db_at(lay_m)
    return TwistReduction(min(db, USUAL_MOST_DB), min(db, LOW_MOST_DB), db)
