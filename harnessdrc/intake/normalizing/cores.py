"""The number of cores in front of a cross-section: ``3x1.5`` is a cable of three, not a wire of 1.5 mm²."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from harnessdrc.intake.normalizing.colours import Colours
from harnessdrc.intake.normalizing.values import Columns
from harnessdrc.tables.model import Unreadable
from harnessdrc.units import ONE_CONDUCTOR, cores_in

__all__ = ["settle_cores"]


def settle_cores(
    columns: Columns, values: dict[str, list[Any]], colours: Colours, ends: Sequence[Sequence[str | None]] | None = None
) -> Colours:
    """Colours with the cores that the sizes name; a size whose cores nothing else bears out is taken out and listed.

    The count stands where the colour names as many cores, or where neither end names a cavity and no colour is given:
    then the row is a cable whose cores are not told apart. A row of one cavity or one colour is one conductor, so that
    nobody can say which of the two is meant.

    Parameters
    ----------
    columns : Columns
        The region.
    values : dict of str to list
        Columns of the wires; ``size`` is replaced where a cell is not understood.
    colours : Colours
        Colours of the data rows.
    ends : sequence of sequence of str or None, optional
        Cavities of both ends, one entry per data row; None where every row is a pin.
    """
    if "size" not in columns.region.columns:
        return colours
    texts = columns.texts("size", placeholders=True)
    counted = {text: count for text in set(texts) if text is not None and (count := cores_in(text)) > 1}
    if not counted:
        return colours
    sizes, cores = list(values["size"]), list(colours.cores)
    taken: dict[str, list[int]] = {}
    for i, text in enumerate(texts):
        if text not in counted or sizes[i] is None:
            continue
        codes = len(colours.codes[i])
        told = codes if codes > 1 else cores[i]
        if told == counted[text]:
            continue
        if told > 1 or codes == 1 or ends is None or any(cavities[i] is not None for cavities in ends):
            sizes[i] = None
            columns.unreadable.append(Unreadable(columns.place("size", i), "size", text, ONE_CONDUCTOR))
        else:
            cores[i] = counted[text]
            taken.setdefault(text, []).append(i)
    for text, where in taken.items():
        value, because = f"{counted[text]} cores, colours not told apart", "a number of cores before the size"
        columns.assume("size", text, value, because,
                       columns.place("size", where[0]), len(where))  # fmt: skip
    values["size"] = sizes
    return replace(colours, cores=cores)
