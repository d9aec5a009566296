"""Direct-current network of resistances: node voltages and branch currents.

Nodal analysis. A branch from node i to node j with resistance R and a source of E volts in it carries
``(v_i - v_j + E) / R`` from i to j; its source drives E/R out of i into j. Reference nodes are held at 0 V.
With every node led to a reference the equations have one solution, so what could make them singular is found
beforehand and told by name. `harnessdrc.physics.elimination` solves them.

Accuracy. A strap of 0.1 mΩ at 12 V drops millivolts, and at a micro-ohm the difference of two node voltages
has lost half its figures. So the current, and with it the drop, of each branch is kept as an unknown of its
own: the current balance left over is solved again and its currents are added to the currents, until the
balance at every node closes. The balance at every node and the balance of power are tested in every solution
that is given out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from harnessdrc.physics.elimination import Elimination, factorize
from harnessdrc.physics.network_input import (
    Branch,
    called,
    checked_branches,
    checked_injections,
    checked_pairs,
    floating,
    of_state,
    without_resistance,
)
from harnessdrc.physics.reduction import add_rows
from harnessdrc.physics.settling import BALANCE_TOLERANCE, POWER_TOLERANCE, settle
from harnessdrc.physics.solutions import Solution, Solutions, UnitCurrents, Unsolvable
from harnessdrc.physics.unit_paths import unit_amps
from harnessdrc.physics.zero_ohm import JoinTree, join_tree, merge

__all__ = [
    "BALANCE_TOLERANCE",
    "POWER_TOLERANCE",
    "Branch",
    "Network",
    "Solution",
    "Solutions",
    "UnitCurrents",
    "Unsolvable",
    "prepare",
    "solve",
]

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Network:
    """A network made ready for any number of solutions; made by `prepare`.

    Every state that has the same resistances shares the factors of one matrix.
    """

    node_names: tuple[str, ...]
    branch_names: tuple[str, ...] | None
    references: tuple[int, ...]
    ends: Numbers
    """Nodes of each branch, shape (branches, 2)."""
    ohm: Floats
    emf_v: Floats
    _group: Numbers
    """Unknown of each node; the last, `_unknowns`, is the reference."""
    _unknowns: int
    _live: Numbers
    """Branches with a resistance that is neither zero nor infinite."""
    _joins: Numbers
    """Branches of 0 Ω."""
    _elimination: Elimination | None
    """``None`` where no factors could be made; the balance test then tells what is wrong."""
    _join_trees: list[JoinTree] = field(default_factory=list)
    """Filled with one when first asked for."""
    _beside_ohm: list[Floats] = field(default_factory=list)
    """Filled with one when first asked for."""

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
        injected_a = checked_injections(injections_a, len(self.node_names))[:, None]
        found = self._solved(injected_a, self.emf_v[:, None])
        if isinstance(found, Unsolvable):
            return found
        unknown = np.flatnonzero(np.isnan(found.amps[:, 0])).tolist()
        branch_amps: list[float | None] = found.amps[:, 0].tolist()
        for branch in unknown:
            branch_amps[branch] = None
        return Solution(
            found.volts[:, 0],
            tuple(branch_amps),
            {
                node: None if np.isnan(current_a) else current_a
                for node, current_a in zip(self.references, found.reference_amps[:, 0].tolist(), strict=True)
            },
            tuple(unknown),
            tuple(called(branch, self.branch_names, self.ends, self.node_names) for branch in unknown),
        )

    def solve_many(
        self,
        injections_a: ArrayLike,
        *,
        emf_scale: ArrayLike | None = None,
        emf_v_many: ArrayLike | None = None,
    ) -> Solutions | Unsolvable:
        """Voltages and currents of several states on the same resistances at once.

        Parameters
        ----------
        injections_a : array of shape (nodes, states)
            Current brought into each node from outside, A.
        emf_scale : array of shape (states,), optional
            The source of every branch is multiplied by it; 1 if not given, 0 turns the sources off.
        emf_v_many : array of shape (branches, states), optional
            Sources that stand in place of those of the network, V.

        Returns
        -------
        Solutions or Unsolvable
            `Unsolvable` names the states in which currents or power do not balance, and sources without
            resistance.

        Raises
        ------
        ValueError
            For an array of another shape, or with what is not a number; when both `emf_scale` and
            `emf_v_many` are given.
        """
        count, branches = len(self.node_names), len(self.ohm)
        injected_a = np.asarray(injections_a, dtype=np.float64)
        if injected_a.ndim != 2 or len(injected_a) != count or not np.isfinite(injected_a).all():
            raise ValueError(f"give injected currents for {count} nodes in a column for each state, as numbers")
        states = injected_a.shape[1]
        if emf_v_many is None:
            scale = np.ones(states) if emf_scale is None else np.asarray(emf_scale, dtype=np.float64)
            if scale.shape != (states,) or not np.isfinite(scale).all():
                raise ValueError(f"give one factor of the sources for each of the {states} states, as a number")
            return self._solved(injected_a, self.emf_v[:, None] * scale)
        if emf_scale is not None:
            raise ValueError("give either factors of the sources or the sources themselves")
        emf_v = np.asarray(emf_v_many, dtype=np.float64)
        if emf_v.shape != (branches, states) or not np.isfinite(emf_v).all():
            raise ValueError(f"give a source voltage for each of {branches} branches and {states} states, as a number")
        stiff = np.flatnonzero((self.ohm == 0.0) & emf_v.any(axis=1)).tolist()
        if stiff:
            highest = emf_v[np.arange(branches), np.abs(emf_v).argmax(axis=1)]
            return without_resistance(stiff, highest, self.branch_names, self.ends, self.node_names)
        return self._solved(injected_a, emf_v)

    def unit_currents(self, first: ArrayLike, second: ArrayLike) -> UnitCurrents:
        """Branch currents when 1 A is brought in at one node and taken out at another, every source off.

        By reciprocity this is the slope of an offset: when the resistance of branch j, carrying i_j, rises,
        ``d(v_first - v_second) / dR_j = i_j x amps_j``.

        Parameters
        ----------
        first, second : array of int, shape (pairs,)
            Nodes at which the ampere comes in and goes out; references are allowed.

        Returns
        -------
        UnitCurrents
            Only branches that carry something: below 1e-13 A is left out, and so are joins of 0 Ω.

        Raises
        ------
        ValueError
            For a node that is not there.
        ArithmeticError
            Where the resistances lie too far apart for the currents to balance.
        """
        into, out_of = self._pairs(first, second)
        elimination = self._ready()
        try:
            number, pair, amps = unit_amps(elimination, into, out_of)
        except ArithmeticError:
            raise self._too_far_apart() from None
        return UnitCurrents(pair, self._live[number], amps)

    def unit_volts(self, first: ArrayLike, second: ArrayLike) -> Floats:
        """Potentials when 1 A is brought in at one node and taken out at another, every source off.

        By reciprocity the part that a source of I amperes, out of its feed node and into its return node, has
        in the offset ``v_first - v_second`` is ``I x (volts[return] - volts[feed])``.

        Parameters
        ----------
        first, second : array of int, shape (pairs,)
            Nodes at which the ampere comes in and goes out; references are allowed.

        Returns
        -------
        ndarray, shape (nodes, pairs)
            Potential against the references for 1 A, Ω.

        Raises
        ------
        ValueError
            For a node that is not there.
        ArithmeticError
            Where the resistances lie too far apart for the currents to balance.
        """
        into, out_of = self._pairs(first, second)
        elimination = self._ready()
        try:
            volts = elimination.unit_volts(into, out_of)
        except ArithmeticError:
            raise self._too_far_apart() from None
        return volts.take(self._group, 0)

    def beside_ohm(self) -> Floats:
        """Resistance that the rest of the network shows between the ends of each branch, Ω.

        The branch itself is taken away, every source is dead and the references are held. With the branch's
        own resistance it is that of the loop in which the branch lies. Worked out once.

        Returns
        -------
        ndarray, shape (branches,)
            ``inf`` for a bridge, which alone joins two parts; 0 where the ends are joined without
            resistance; nan for a branch of 0 Ω itself.

        Raises
        ------
        ArithmeticError
            Where the resistances lie too far apart for the currents to balance.
        """
        if not self._beside_ohm:
            elimination = self._ready()
            ohm = np.full(len(self.ohm), np.nan)
            try:
                with np.errstate(divide="ignore"):
                    ohm[self._live] = 1.0 / elimination.beside_siemens()
                gaps = np.flatnonzero(np.isinf(self.ohm))
                if len(gaps):
                    ohm[gaps] = self._between_ohm(elimination, self._group[self.ends[gaps]])
            except ArithmeticError:
                raise self._too_far_apart() from None
            ohm.flags.writeable = False
            self._beside_ohm.append(ohm)
        return self._beside_ohm[0]

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
        injected_a = checked_injections({i: 1.0}, count) + checked_injections({j: -1.0}, count)
        a, b = self._group[[i, j]]
        group_v, _, unbalanced = self._settle(injected_a[:, None], np.zeros((len(self._live), 1)))
        if unbalanced is not None:
            raise ArithmeticError(unbalanced.reasons[0])
        return float(group_v[a, 0] - group_v[b, 0])

    @staticmethod
    def _between_ohm(elimination: Elimination, pairs: Numbers, block: int = 64) -> Floats:
        """Resistance between the two unknowns of each pair, Ω."""
        found = np.empty(len(pairs))
        for begin in range(0, len(pairs), block):
            a, b = pairs[begin : begin + block].T
            volts = elimination.unit_volts(a, b)
            column = np.arange(len(a))
            found[begin : begin + block] = volts[a, column] - volts[b, column]
        return found

    def _pairs(self, first: ArrayLike, second: ArrayLike) -> tuple[Numbers, Numbers]:
        into, out_of = checked_pairs(first, second, len(self.node_names))
        return self._group[into], self._group[out_of]

    def _ready(self) -> Elimination:
        if self._elimination is None:
            raise self._too_far_apart()
        return self._elimination

    def _too_far_apart(self) -> ArithmeticError:
        return ArithmeticError(f"the currents do not balance: {self._spread_of_ohm()}")

    def _spread_of_ohm(self) -> str:
        ohm = self.ohm[self._live]
        return (
            f"resistances from {ohm.min(initial=np.inf):g} to {ohm.max(initial=0.0):g} Ω lie too far apart to be "
            "solved together; give 0 for a solid join and leave out what insulates"
        )

    def _solved(self, injected_a: Floats, emf_v: Floats) -> Solutions | Unsolvable:
        group_v, amps, unbalanced = self._settle(injected_a, emf_v[self._live])
        return self._spread(group_v, amps, injected_a) if unbalanced is None else unbalanced

    def _settle(self, injected_a: Floats, emf_v: Floats) -> tuple[Floats, Floats, Unsolvable | None]:
        """Voltages of the merged nodes and currents of the live branches, and what does not balance."""
        live, states = self._live, injected_a.shape[1]
        found = settle(
            self._elimination,
            (self._group[self.ends[live, 0]], self._group[self.ends[live, 1]]),
            self.ohm[live],
            emf_v,
            self._merged(injected_a),
            self._merged(np.abs(injected_a)),
        )
        reasons = [
            f"{of_state(state, states)}the currents at {self.node_names[int(np.argmax(self._group == group))]} "
            f"do not balance: {self._spread_of_ohm()}"
            for state, group in found.unbalanced
        ]
        reasons += [
            f"{of_state(state, states)}the sources give {given_w:g} W and the resistances take {taken_w:g} W: "
            f"{self._spread_of_ohm()}"
            for state, given_w, taken_w in found.powerless
        ]
        return found.volts, found.amps, Unsolvable(tuple(reasons)) if reasons else None

    def _merged(self, by_node: Floats) -> Floats:
        """Sums over the nodes that joins make one."""
        if len(self._group) > self._unknowns + 1:
            return add_rows(self._group, by_node, self._unknowns + 1)
        moved = np.empty_like(by_node)
        moved[self._group] = by_node
        return moved

    def _spread(self, group_v: Floats, live_amps: Floats, injected_a: Floats) -> Solutions:
        """From the merged nodes back to every node and branch."""
        amps = np.zeros((len(self.ohm), injected_a.shape[1]))
        amps[self._live] = live_amps
        ends, count, known = self.ends, len(self.node_names), len(self.references)
        # an earth behind the references, lowest in its set, takes what they take
        if not self._join_trees:
            joins = [(0, node + 1) for node in self.references]
            joins += (ends[self._joins] + 1).tolist()
            self._join_trees.append(join_tree(count + 1, joins))
        inflow_a = np.zeros((count + 1, injected_a.shape[1]))
        inflow_a[1:] = injected_a
        # only what meets at a join or a reference is asked for
        joined = np.zeros(count, dtype=np.bool_)
        joined[ends[self._joins].ravel()] = True
        joined[list(self.references)] = True
        first, second = ends[self._live].T
        near = np.flatnonzero(joined[first] | joined[second])
        near_a = live_amps[near]
        at = np.concatenate((first[near], second[near]))
        inflow_a[1:] -= add_rows(at, np.concatenate((near_a, -near_a)), count)
        found = self._join_trees[0].currents(inflow_a)
        amps[self._joins] = found[known:]
        return Solutions(group_v.take(self._group, 0), amps, -found[:known])


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
    ends, ohm = checked_branches(branches, names)
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
        return without_resistance(stiff, sources_v, labels, ends, names)
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
        return floating(np.flatnonzero(loose), part[group], names)
    elimination: Elimination | None
    try:
        elimination = factorize(size, first, second, 1.0 / ohm[live])
    except (np.linalg.LinAlgError, RuntimeError):
        elimination = None
    return Network(names, labels, held, ends, ohm, sources_v, group, size, live, np.flatnonzero(solid), elimination)


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
