"""Direct-current network of resistances: node voltages and branch currents.

Nodal analysis with element stamps. A branch from node i to node j with resistance R and a source of E volts
in it carries ``(v_i - v_j + E) / R`` from i to j; it adds 1/R to the conductance matrix at (i, i) and (j, j),
takes 1/R away at (i, j) and (j, i), and drives E/R out of i into j. Reference nodes are held at 0 V. With
every node led to a reference the matrix is symmetric and positive definite, so what could make it singular
is found beforehand and told by name. `harnessdrc.physics.elimination` solves it.

Accuracy. A strap of 0.1 mΩ at 12 V drops millivolts, and at a micro-ohm the difference of two node voltages
has lost half its figures. So the drop over each branch is kept as an unknown of its own: the current
balance left over is solved again and its drops are added to the drops, not to the voltages, until the balance
at every node closes. The balance is tested at every node of every solution that is given out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from harnessdrc.physics.elimination import factorize
from harnessdrc.physics.zero_ohm import join_currents, merge

__all__ = ["BALANCE_TOLERANCE", "Branch", "Network", "Solution", "Unsolvable", "prepare", "solve"]

Branch = tuple[int, int, float]
"""Two nodes and the resistance between them in Ω: 0 joins them, ``inf`` is open."""

Floats = NDArray[np.float64]

BALANCE_TOLERANCE = 1e-9
"""Current left over at a node, over the currents that meet there."""

_DEAD_SHARE = 1e-12  # where nothing flows, what is left over is measured against the largest current
_PASSES = 40
_ROUNDING = 1e-15
_NAMES_SHOWN = 8


@dataclass(frozen=True, slots=True)
class Unsolvable:
    """Why a network has no single solution, in words and by name.

    Parameters
    ----------
    reasons : tuple of str
        One sentence each.
    floating : tuple of tuple of int
        Nodes of each part that no branch leads from to a reference.
    """

    reasons: tuple[str, ...]
    floating: tuple[tuple[int, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Solution:
    """Voltages and currents of one state.

    Parameters
    ----------
    volts : ndarray, shape (nodes,)
        Potential of each node against the references, V.
    branch_amps : tuple of float or None
        Current from the first to the second node of each branch, A; ``None`` where the branch lies in a loop
        of joins without resistance, whose split is not determined.
    reference_amps : mapping of int to (float or None)
        Current that leaves the network into each reference node, A; ``None`` where references are joined
        without resistance, so that only their sum is determined.
    undetermined : tuple of int
        Branches whose current is ``None``.
    undetermined_names : tuple of str
        The same branches, by name.
    """

    volts: Floats
    branch_amps: tuple[float | None, ...]
    reference_amps: Mapping[int, float | None]
    undetermined: tuple[int, ...] = ()
    undetermined_names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Network:
    """A network made ready for any number of solutions; made by `prepare`.

    Every state that has the same resistances shares the factors of one matrix.
    """

    node_names: tuple[str, ...]
    branch_names: tuple[str, ...] | None
    references: tuple[int, ...]
    ends: NDArray[np.intp]
    """Nodes of each branch, shape (branches, 2)."""
    ohm: Floats
    emf_v: Floats
    _group: NDArray[np.intp]
    """Unknown of each node; the last, `_unknowns`, is the reference."""
    _unknowns: int
    _live: NDArray[np.intp]
    """Branches with a resistance that is neither zero nor infinite."""
    _joins: NDArray[np.intp]
    """Branches of 0 Ω."""
    _solver: Callable[[Floats], Floats]

    def solve(self, injections_a: Mapping[int, float] | ArrayLike) -> Solution | Unsolvable:
        """Voltages and currents for one set of injected currents.

        Parameters
        ----------
        injections_a : mapping of int to float, or array of shape (nodes,)
            Current brought into each node from outside, A; a load takes it out of its feed node (negative)
            and brings it into its return node (positive).

        Returns
        -------
        Solution or Unsolvable
            `Unsolvable` only where the resistances lie too far apart for the currents to balance.

        Raises
        ------
        ValueError
            For an injection at a node that is not there, or that is not a number.
        """
        injected_a = _injections(injections_a, len(self.node_names))
        group_v, amps, unbalanced = self._settle(injected_a, self.emf_v[self._live])
        return self._spread(group_v[self._group], amps, injected_a) if unbalanced is None else unbalanced

    def resistance_between_ohm(self, i: int, j: int) -> float:
        """Resistance seen between two nodes, every source dead and the references held at 0 V, Ω.

        Raises
        ------
        ValueError
            For a node that is not there.
        ArithmeticError
            Where the resistances lie too far apart for the currents to balance.
        """
        count = len(self.node_names)
        injected_a = _injections({i: 1.0}, count) + _injections({j: -1.0}, count)
        a, b = self._group[[i, j]]
        group_v, _, unbalanced = self._settle(injected_a, np.zeros(len(self._live)))
        if unbalanced is not None:
            raise ArithmeticError(unbalanced.reasons[0])
        return float(group_v[a] - group_v[b])

    def _settle(self, injected_a: Floats, emf_v: Floats) -> tuple[Floats, Floats, Unsolvable | None]:
        """Voltages of the merged nodes and currents of the live branches, refined until they balance."""
        live, size = self._live, self._unknowns
        first, second, ohm = self._group[self.ends[live, 0]], self._group[self.ends[live, 1]], self.ohm[live]
        source_a = np.bincount(self._group, injected_a, size + 1)
        fixed_a = np.bincount(self._group, np.abs(injected_a), size + 1)
        group_v, drop_v, amps = np.zeros(size + 1), emf_v, emf_v / ohm
        rest_a = source_a - _out_of_nodes(first, second, amps, size + 1)
        before, worst, off = np.inf, np.inf, rest_a
        for _ in range(_PASSES):
            change_v = np.append(self._solver(rest_a[:size]), 0.0)
            group_v = group_v + change_v
            drop_v = drop_v + (change_v[first] - change_v[second])
            amps = drop_v / ohm
            rest_a = source_a - _out_of_nodes(first, second, amps, size + 1)
            meeting_a = fixed_a + np.bincount(first, np.abs(amps), size + 1)
            meeting_a += np.bincount(second, np.abs(amps), size + 1)
            least_a = _DEAD_SHARE / BALANCE_TOLERANCE * meeting_a.max(initial=0.0)
            off = np.abs(rest_a[:size]) / np.maximum(meeting_a[:size], max(least_a, np.finfo(float).tiny))
            before, worst = worst, float(off.max(initial=0.0))
            settled = worst <= BALANCE_TOLERANCE and worst > before / 4
            if settled or worst <= _ROUNDING or not worst < before:
                break
        return group_v, amps, None if worst <= BALANCE_TOLERANCE else self._unbalanced(int(np.argmax(off)))

    def _spread(self, volts: Floats, live_amps: Floats, injected_a: Floats) -> Solution:
        """From the merged nodes back to every node and branch."""
        amps = np.zeros(len(self.ohm))
        amps[self._live] = live_amps
        ends, count = self.ends, len(self.node_names)
        # an earth behind the references, lowest in its set, takes what they take
        inflow_a = np.zeros(count + 1)
        inflow_a[1:] = injected_a - _out_of_nodes(ends[:, 0], ends[:, 1], amps, count)
        joins = [(0, node + 1) for node in self.references]
        joins += (ends[self._joins] + 1).tolist()
        found = join_currents(count + 1, joins, inflow_a)
        branch_amps: list[float | None] = [*amps.tolist()]
        known = len(self.references)
        for branch, current_a in zip(self._joins.tolist(), found[known:], strict=True):
            branch_amps[branch] = current_a
        undetermined = tuple(branch for branch in self._joins.tolist() if branch_amps[branch] is None)
        return Solution(
            volts,
            tuple(branch_amps),
            {
                node: None if current_a is None else -current_a
                for node, current_a in zip(self.references, found[:known], strict=True)
            },
            undetermined,
            tuple(_called(branch, self.branch_names, self.ends, self.node_names) for branch in undetermined),
        )

    def _unbalanced(self, group: int) -> Unsolvable:
        node = int(np.flatnonzero(self._group == group)[0])
        ohm = self.ohm[self._live]
        return Unsolvable(
            (
                f"the currents at {self.node_names[node]} do not balance: resistances from {ohm.min():g} to "
                f"{ohm.max():g} Ω lie too far apart to be solved together; give 0 for a solid join and leave "
                "out what insulates",
            )
        )


def prepare(
    nodes: int | Sequence[str],
    branches: Sequence[Branch] | ArrayLike,
    references: Sequence[int] = (0,),
    *,
    emf_v: ArrayLike | None = None,
    branch_names: Sequence[str] | None = None,
) -> Network | Unsolvable:
    """Make a network ready to be solved, or say what floats.

    Parameters
    ----------
    nodes : int or sequence of str
        How many nodes, or their names.
    branches : sequence of (int, int, float), or array of shape (branches, 3)
        Two node numbers and a resistance in Ω: 0 joins the nodes, ``inf`` is an open branch. Parallel
        branches and a branch from a node to itself are allowed.
    references : sequence of int
        Nodes held at 0 V.
    emf_v : array of shape (branches,), optional
        Source in each branch, V, positive when it drives current from the first node to the second.
    branch_names : sequence of str, optional
        Names for messages; else the names of the ends.

    Returns
    -------
    Network or Unsolvable
        `Unsolvable` names every part that no branch leads from to a reference, and every source without
        resistance.

    Raises
    ------
    ValueError
        For a node number that is not there, or a resistance that is negative, not a number, or so small that
        it should be 0.
    """
    names = tuple(f"node {number}" for number in range(nodes)) if isinstance(nodes, int) else tuple(nodes)
    ends, ohm = _branches(branches, names)
    labels = None if branch_names is None else tuple(branch_names)
    if labels is not None and len(labels) != len(ohm):
        raise ValueError(f"{len(labels)} branch names are given for {len(ohm)} branches")
    sources_v = np.zeros(len(ohm)) if emf_v is None else np.asarray(emf_v, dtype=np.float64)
    if sources_v.shape != ohm.shape or not np.isfinite(sources_v).all():
        raise ValueError(f"give one source voltage for each of the {len(ohm)} branches, as a number")
    held = tuple(dict.fromkeys(int(node) for node in references))
    for node in held:
        if not 0 <= node < len(names):
            raise ValueError(f"reference node {node} is not one of the {len(names)} nodes")
    if not held:
        return Unsolvable(("no node is given as the reference at 0 V",), (tuple(range(len(names))),))

    solid = ohm == 0.0
    stiff = np.flatnonzero(solid & (sources_v != 0.0)).tolist()
    if stiff:
        without = "without inner resistance"
        return Unsolvable(
            tuple(
                f"{_called(branch, labels, ends, names)} is a source of {sources_v[branch]:g} V {without}"
                for branch in stiff
            )
        )
    others = np.array(held[1:], dtype=np.intp)
    merged = merge(
        len(names),
        np.concatenate((ends[solid, 0], others)),
        np.concatenate((ends[solid, 1], np.full(len(others), held[0]))),
    )
    # the group of the references is moved to the end, where its row is left out
    total = int(merged.max()) + 1
    place = np.arange(total, dtype=np.intp)
    reference = int(merged[held[0]])
    place[reference + 1 :] -= 1
    place[reference] = total - 1
    group, size = place[merged], total - 1

    live = np.flatnonzero(~solid & np.isfinite(ohm))
    first, second = group[ends[live, 0]], group[ends[live, 1]]
    part = merge(size + 1, first, second)
    loose = part[group] != part[size]
    if loose.any():
        return _floating(np.flatnonzero(loose), part[group], names)
    try:
        solver = factorize(size, first, second, 1.0 / ohm[live])
    except (np.linalg.LinAlgError, RuntimeError):
        solver = _no_factors
    return Network(
        names, labels, held, ends, ohm, sources_v, group, size, live, np.flatnonzero(solid), solver
    )


def solve(
    nodes: int | Sequence[str],
    branches: Sequence[Branch] | ArrayLike,
    injections_a: Mapping[int, float] | ArrayLike,
    references: Sequence[int] = (0,),
    *,
    emf_v: ArrayLike | None = None,
    branch_names: Sequence[str] | None = None,
) -> Solution | Unsolvable:
    """Solve a network once: `prepare`, then `Network.solve`; parameters and errors as there."""
    network = prepare(nodes, branches, references, emf_v=emf_v, branch_names=branch_names)
    return network if isinstance(network, Unsolvable) else network.solve(injections_a)


def _branches(
    branches: Sequence[Branch] | ArrayLike, names: tuple[str, ...]
) -> tuple[NDArray[np.intp], Floats]:
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


def _called(
    branch: int, given: tuple[str, ...] | None, ends: NDArray[np.intp], names: tuple[str, ...]
) -> str:
    """Name of a branch: as given, else by its ends."""
    return given[branch] if given is not None else f"{names[ends[branch, 0]]} to {names[ends[branch, 1]]}"


def _injections(injections_a: Mapping[int, float] | ArrayLike, count: int) -> Floats:
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


def _out_of_nodes(first: NDArray[np.intp], second: NDArray[np.intp], amps: Floats, count: int) -> Floats:
    """Sum of the branch currents that leave each node."""
    return np.asarray(np.bincount(first, amps, count) - np.bincount(second, amps, count), dtype=np.float64)


def _floating(loose: NDArray[np.intp], part: NDArray[np.intp], names: tuple[str, ...]) -> Unsolvable:
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


def _no_factors(rest_a: Floats) -> Floats:
    """Stands in for factors that could not be made, so that the balance test tells what is wrong."""
    return np.zeros_like(rest_a)
