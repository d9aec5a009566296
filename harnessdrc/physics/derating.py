"""What a wire may carry in a bundle and at height, over what it may carry alone at sea level.

What the figures rest on (``rulesets/tables``, a source in every row): ``bundle_derating.csv``: 1 to 19 wires, read;
35 wires at 20 %, from memory; the rest as `bundle_factor` says. ``altitude_derating.csv``: 20,000 ft read, the others
from memory.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from harnessdrc.physics.number_arrays import Floats, numbers, plain, table_numbers
from harnessdrc.physics.shipped_tables import shipped_rows

__all__ = ["altitude_factor", "bundle_factor"]

_STEEPEST = -0.5  # of a bundle over its wires: heat that has to pass through the bundle to get out
_RULE_FROM = 12  # wires, from which the curves are straight in logarithms


def bundle_factor(wires: ArrayLike, loading: ArrayLike) -> Floats:
    """What a wire in a bundle may carry over what it may carry alone; 1 at most.

    Straight in logarithms between the digitised counts and loadings. Below 20 % the curve of 20 % holds. Beyond 19
    wires the 20 % curve runs through 0.52 at 35 wires (from memory) and on with that slope, -0.30; the others go on
    with their slope from 12 to 19 wires, -0.36 (40 %) to -0.49 (100 %). These are ours; they lie between the -1/4 of
    a bundle whose surface is in the way of the heat and the -1/2 of one whose inside is. Beyond 35 wires no more is
    allowed than to fewer wires with the same currents: the least over the higher loadings L of n x / L wires at L.

    Parameters
    ----------
    wires : array_like
        Wires in the bundle, loaded or not; 1 is a wire alone.
    loading : array_like
        Share of the bundle's capacity in use, 0 to 1: current of all wires over what they could carry together, or
        with like wires the share that is loaded (7 of 35 are 0.2).

    Raises
    ------
    ValueError
        For fewer wires than 1 or a loading outside 0 to 1.
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    log_wires, log_loading, _ = _bundles()
    x = np.log(numbers(wires, "number of wires in a bundle", least=1.0))
    y = np.log(np.maximum(numbers(loading, "loading of a bundle", least=0.0, most=1.0), np.exp(log_loading[0])))
    x, y = np.broadcast_arrays(x, y)
    found = _read_off(x, y)
    full = x > log_wires[-1] + 1e-12  # beyond the last row
    if full.any():
        most = found[full]
        for level in log_loading:
            # the loaded ones alone, at this loading: those that carry nothing beside them never allow more
            fewer = np.maximum(x[full] + y[full] - level, 0.0)
            most = np.where(level > y[full], np.minimum(most, _read_off(fewer, np.full(fewer.shape, level))), most)
        found[full] = most
    return plain(found)


def _read_off(x: Floats, y: Floats) -> Floats:
    """Factor by the curves at the logarithms of a number of wires and of a loading."""
    log_wires, log_loading, log_factor = _bundles()
    row, along = _between(x, log_wires)
    column, across = _between(y, log_loading)
    fewer = log_factor[row, column] * (1.0 - across) + log_factor[row, column + 1] * across
    more = log_factor[row + 1, column] * (1.0 - across) + log_factor[row + 1, column + 1] * across
    return np.asarray(np.minimum(np.exp(fewer + (more - fewer) * along), 1.0))


def altitude_factor(height_m: ArrayLike) -> Floats:
    """What a wire may carry at a height over what it may carry at sea level, straight between the rows; 1 below it.

    Raises
    ------
    ValueError
        Above 30,480 m, where the table ends.
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    rows_m, factors = _altitudes()
    return plain(np.interp(numbers(height_m, "height in m", most=rows_m[-1]), rows_m, factors))


def _between(at: Floats, grid: Floats) -> tuple[NDArray[np.intp], Floats]:
    """Row before, and how far on to the next in parts of the step; above 1 beyond the last."""
    row = np.clip(np.searchsorted(grid, at, side="right") - 1, 0, len(grid) - 2)
    return row, (at - grid[row]) / (grid[row + 1] - grid[row])


@lru_cache(maxsize=1)
def _bundles() -> tuple[Floats, Floats, Floats]:
    """Logarithms of the counts, of the loadings and of the factors, those of the last row that are missing filled."""
    columns = tuple(f"loading_{percent}" for percent in (20, 40, 60, 80, 100))
    with shipped_rows("bundle_derating.csv", "bundle deratings") as rows:
        cells = table_numbers(rows, ("wires", *columns))
        wires, factors = np.log(cells[:, 0]), np.log(cells[:, 1:])
        fitted = (cells[:-1, 0] >= _RULE_FROM).nonzero()[0]
        steps, falls = wires[fitted] - wires[-2], factors[fitted] - factors[-2]
        slopes = np.maximum(steps @ falls / (steps @ steps), _STEEPEST)
        filled = np.where(np.isnan(factors[-1]), factors[-2] + slopes * (wires[-1] - wires[-2]), factors[-1])
        factors = np.vstack((factors[:-1], filled))
        falling = (np.diff(factors, axis=0) < 0.0).all() and (np.diff(factors[1:], axis=1) < 0.0).all()
        if not ((np.diff(wires) > 0.0).all() and wires[0] == 0.0 and (factors[0] == 0.0).all() and falling):
            raise ValueError("expected 1 for one wire, then factors that fall with wires and with loading")
        return wires, np.log(np.array([0.2, 0.4, 0.6, 0.8, 1.0])), factors


@lru_cache(maxsize=1)
def _altitudes() -> tuple[Floats, Floats]:
    with shipped_rows("altitude_derating.csv", "altitude deratings") as rows:
        height_m, factor = table_numbers(rows, ("height_m", "factor")).T
        ordered = (np.diff(height_m) > 0.0).all() and (np.diff(factor) < 0.0).all()
        if not (ordered and factor[0] == 1.0 and factor[-1] > 0.0):
            raise ValueError("expected rising heights and factors that fall from 1")
        return height_m, factor
