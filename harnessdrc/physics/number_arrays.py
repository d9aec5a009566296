"""Numbers and arrays that broadcast, as the physics of wires takes them: checked on the way in, plain on the way out.

What is not known is NaN and is let through; what cannot be is a ValueError that names the first such value.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from harnessdrc.physics.conductor import COPPER_PER_K

__all__ = ["Floats", "degrees", "log", "numbers", "plain", "table_numbers"]

Floats = NDArray[np.float64]

_COLDEST_DEGC = 20.0 - 1.0 / COPPER_PER_K


def numbers(
    values: ArrayLike,
    what: str,
    least: float = -np.inf,
    most: float = np.inf,
    *,
    above: bool = False,
    finite: bool = True,
) -> Floats:
    """Values as an array; a ValueError names the first that is out of bounds. NaN is let through."""
    array = np.asarray(values, dtype=np.float64)
    wrong = (array <= least) & (array > -np.inf) if above else array < least
    wrong = wrong | (array > most) | (np.isinf(array) if finite else array == -np.inf)
    if wrong.any():
        bounds = [f"{'above' if above else 'of at least'} {least:.4g}"] if least > -np.inf else []
        bounds += [f"of at most {most:.6g}"] if most < np.inf else []
        raise ValueError(
            f"{array[wrong].flat[0]:g} is no {what}: give a number {' and '.join(bounds) or 'that is finite'}"
        )
    return array


def degrees(values: ArrayLike) -> Floats:
    return numbers(values, "temperature in °C", least=_COLDEST_DEGC, above=True)


def log(values: Floats) -> Floats:
    """Logarithm, -inf at 0 without a word."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(values))


def plain(values: Floats) -> Floats:
    """A number for numbers, an array for arrays."""
    plain: Floats = np.asarray(values)[()]
    return plain


def table_numbers(rows: Sequence[Mapping[str, str]], columns: tuple[str, ...]) -> Floats:
    """Numbers of the named columns, NaN for an empty cell."""
    if len(rows) < 3:
        raise ValueError("expected three rows or more, each with its source")
    return np.array([[float(row[column] or "nan") for column in columns] for row in rows])
