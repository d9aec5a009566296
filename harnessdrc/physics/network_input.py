"""What is given to the solver of a network: checked, and named in messages."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from harnessdrc.physics.solutions import Unsolvable

__all__ = [
    "Branch",
    "called",
    "checked_branches",
    "checked_injections",
    "checked_pairs",
    "floating",
    "of_state",
    "without_resistance",
]

Branch = tuple[int, int, float]
"""Two nodes and the resistance between them in Ω: 0 joins them, ``inf`` is open."""

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]

_NAMES_SHOWN = 8


def checked_branches(branches: Sequence[Branch] | ArrayLike, names: tuple[str, ...]) -> tuple[Numbers, Floats]:
    """Ends and resistances of the branches, or a `ValueError` that tells the first that cannot be."""
    table = np.asarray(branches, dtype=np.float64)
    if table.size == 0:
        table = table.reshape(0, 3)
    if table.ndim != 2 or table.shape[1] != 3:
        raise ValueError("give each branch as two node numbers and a resistance")
    numbers, ohm = table[:, :2], table[:, 2].copy()
    wrong = ~((numbers >= 0) & (numbers < len(names)) & (numbers == np.floor(numbers))).all(axis=1)
    if wrong.any():
        branch = int(np.argmax(wrong))
        i, j = numbers[branch]
        last = len(names) - 1
        raise ValueError(f"branch {branch} joins nodes {i:g} and {j:g}, but there are nodes 0 to {last}")
    ends = numbers.astype(np.intp)
    with np.errstate(divide="ignore", over="ignore"):
        wrong = ~(ohm >= 0.0) | ((ohm > 0.0) & ~np.isfinite(1.0 / ohm))
    if wrong.any():
        branch = int(np.argmax(wrong))
        raise ValueError(
            f"the branch from {names[ends[branch, 0]]} to {names[ends[branch, 1]]} has {ohm[branch]:g} Ω: "
            "give a positive resistance, 0 for a solid join or inf for an open one"
        )
    return ends, ohm


def called(branch: int, given: tuple[str, ...] | None, ends: Numbers, names: tuple[str, ...]) -> str:
    """Name of a branch: as given, else by its ends."""
    return given[branch] if given is not None else f"{names[ends[branch, 0]]} to {names[ends[branch, 1]]}"


def without_resistance(
    branches: list[int],
    emf_v: Floats,
    given: tuple[str, ...] | None,
    ends: Numbers,
    names: tuple[str, ...],
) -> Unsolvable:
    """Tell of sources in branches of 0 Ω."""
    without = "without inner resistance"
    return Unsolvable(
        tuple(
            f"{called(branch, given, ends, names)} is a source of {emf_v[branch]:g} V {without}" for branch in branches
        )
    )


def of_state(state: int, states: int) -> str:
    """Which state a sentence is about; nothing where there is but one."""
    return f"state {state + 1} of {states}: " if states > 1 else ""


def checked_injections(injections_a: Mapping[int, float] | ArrayLike, count: int) -> Floats:
    """Injected current at each node, A, or a `ValueError`."""
    if isinstance(injections_a, Mapping):
        injected_a = np.zeros(count)
        for node, current_a in injections_a.items():
            if not 0 <= node < count:
                raise ValueError(f"a current goes in at node {node}, but there are nodes 0 to {count - 1}")
            injected_a[node] = current_a
    else:
        injected_a = np.asarray(injections_a, dtype=np.float64)
    if injected_a.shape != (count,) or not np.isfinite(injected_a).all():
        raise ValueError(f"give one injected current for each of the {count} nodes, as a number")
    return injected_a


def floating(loose: Numbers, part: Numbers, names: tuple[str, ...]) -> Unsolvable:
    """Name the loose nodes, part by part."""
    by_part: dict[int, list[int]] = {}
    for node in loose.tolist():
        by_part.setdefault(int(part[node]), []).append(node)
    reasons = []
    for nodes in by_part.values():
        shown = ", ".join(names[node] for node in nodes[:_NAMES_SHOWN])
        more = f" and {len(nodes) - _NAMES_SHOWN} more" if len(nodes) > _NAMES_SHOWN else ""
        verb = "has" if len(nodes) == 1 else "have"
        reasons.append(f"{shown}{more} {verb} no way to the reference")
    return Unsolvable(tuple(reasons), tuple(tuple(nodes) for nodes in by_part.values()))


def checked_pairs(first: ArrayLike, second: ArrayLike, count: int) -> tuple[Numbers, Numbers]:
    """Nodes of pairs between which a current flows, or a `ValueError`."""
    into, out_of = np.asarray(first), np.asarray(second)
    if into.ndim != 1 or into.shape != out_of.shape:
        raise ValueError("give as many nodes where a current comes in as where it goes out")
    for nodes in (into, out_of):
        wrong = ~((nodes >= 0) & (nodes < count) & (nodes == np.floor(nodes)))
        if wrong.any():
            node = nodes[int(np.argmax(wrong))]
            raise ValueError(f"a current goes in or out at node {node:g}, but there are nodes 0 to {count - 1}")
    return into.astype(np.intp), out_of.astype(np.intp)
