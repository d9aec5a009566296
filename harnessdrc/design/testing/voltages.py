"""Voltages to measure in the car: ground offsets and drops, at places that a meter's leads reach.

The solved network gives what to expect on average, which is what a meter shows; the rules give what passes. Insides of
devices cannot be reached: the lead goes to the pin of the plug (probed from the back), to the post or to the body
beside it. Only states are asked for in which the car stands still (`test_rpm`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.analysis import Analysis
from harnessdrc.design.circuit import BATTERY_NEGATIVE, Circuit, Node, Port
from harnessdrc.design.devices import Device, Devices
from harnessdrc.design.loads import Load, Loads
from harnessdrc.design.testing.allowed import Allowed
from harnessdrc.design.testing.places import place_name
from harnessdrc.findings import Mark
from harnessdrc.harness.elements import Contact, Harness
from harnessdrc.harness.names import natural_key

__all__ = ["VoltageKind", "VoltageTest", "voltage_tests", "voltages_again"]

VoltageKind = Literal["ground offset", "feed drop", "return drop", "cranking drop"]

_LEAST_V = 1e-3
"""A drop that is smaller in every state is not worth a meter's reading."""
_GROUNDS: dict[str, tuple[str, ...]] = {
    "ground of": ("power ground", "coil ground", "load return", "battery negative"),
    "sensor ground of": ("sensor ground", "shield drain"),
}


@dataclass(frozen=True, slots=True)
class VoltageTest:
    """A voltage to measure.

    Parameters
    ----------
    test : str
        ``V1`` onward.
    what : str
        ``ground offset``, ``feed drop``, ``return drop``, ``cranking drop``.
    subject : str
        Whose it is: ``CLT SENSOR``.
    state : str
        Operating state.
    red, black : str
        Where the leads go.
    expected_v : float
        Average by the network, joints as new or as measured, V.
    low_v, high_v : float or None
        What passes, V; None for a side without limit.
    limit_from : str
        Where the limit comes from.
    mark : Mark or None
        Cell of what is measured.
    """

    test: str
    what: VoltageKind
    subject: str
    state: str
    red: str
    black: str
    expected_v: float
    low_v: float | None
    high_v: float | None
    limit_from: str
    mark: Mark | None


class _Drop(NamedTuple):
    what: VoltageKind
    device: Device
    red: Node
    black: Node
    limit_v: float
    limit_from: str


def voltage_tests(
    analysis: Analysis, harness: Harness, devices: Devices, loads: Loads, allowed: Allowed
) -> tuple[VoltageTest, ...]:
    """Every test: offsets of the victims first, then the starter's drops, then those of the loads.

    Parameters
    ----------
    analysis : Analysis
        The circuit solved in every state; nothing is asked for where it is not.
    harness, devices, loads
        Of the design.
    allowed : Allowed
        What passes.
    """
    if not analysis.solved:
        return ()
    return _Voltages(analysis, harness, devices, loads, allowed).tests()


def voltages_again(
    printed: Iterable[VoltageTest], analysis: Analysis, harness: Harness, devices: Devices, loads: Loads,
    allowed: Allowed,
) -> tuple[VoltageTest, ...]:  # fmt: skip
    """Tests as they were printed, with what another solution of the same loom lets expect of them.

    A measured joint may make another state the worst one, or a drop too small to be asked for: the sheet that was
    printed before it was measured keeps its rows and numbers all the same.

    Parameters
    ----------
    printed : iterable of VoltageTest
        The tests by the network with joints as new.
    analysis : Analysis
        The network with measured joints.
    harness, devices, loads, allowed
        As in `voltage_tests`.
    """
    printed = tuple(printed)
    if not printed or not analysis.solved:
        return printed
    every = _Voltages(analysis, harness, devices, loads, allowed, every_state=True).tests()
    expected_v = {(test.red, test.black, test.state): test.expected_v for test in every}
    return tuple(
        replace(test, expected_v=expected_v.get((test.red, test.black, test.state), test.expected_v))
        for test in printed
    )


class _Voltages:
    def __init__(
        self, analysis: Analysis, harness: Harness, devices: Devices, loads: Loads, allowed: Allowed,
        every_state: bool = False,
    ) -> None:  # fmt: skip
        self.analysis, self.harness, self.devices, self.loads, self.allowed = analysis, harness, devices, loads, allowed
        self.every_state = every_state
        self.circuit: Circuit = analysis.circuit
        most_rpm = analysis.given["test_rpm"]
        self.states = [n for n, state in enumerate(analysis.states) if state.rpm <= most_rpm]
        self.volts: NDArray[np.float64] = analysis.new.settled.volts

    def tests(self) -> tuple[VoltageTest, ...]:
        if not self.states:
            return ()
        found: dict[tuple[str, str, str], VoltageTest] = {}
        for test in (*self._offsets(), *self._drops()):
            found.setdefault((test.red, test.black, test.state), test)
        return tuple(replace(test, test=f"V{number}") for number, test in enumerate(found.values(), 1))

    def _name(self, contact: Contact) -> str:
        return place_name(self.harness, contact)

    def _between_v(self, red: Node, black: Node) -> NDArray[np.float64]:
        """Potential of one node against another in the states that can be measured, V."""
        number = self.circuit.node_number
        return np.asarray(self.volts[number[red], self.states] - self.volts[number[black], self.states])

    # ------------------------------------------------------------------ places
    def _place(self, node: Node) -> tuple[Node, str] | None:
        """A place that a lead reaches for a node, with its name; None where there is none."""
        if isinstance(node, Contact):
            return (node, self._name(node)) if node in self.circuit.node_number else None
        kind, key, _ = node
        if kind == "body":
            return (node, self._body_name(key)) if node in self.circuit.node_number else None
        device = self.devices.by_key.get(key)
        if kind == "post +":
            return self._positive(node, device)
        if device is None:
            return None
        for role in _GROUNDS.get(kind, ()):
            at = self._first(self.devices.with_role(device, role))
            if at is not None:
                return at, self._name(at)
        if kind == "ground of" and self.devices.on_case(device) and device.body:
            body: Node = ("body", device.body, "")
            return (body, f"case of {device.name}") if body in self.circuit.node_number else None
        return None

    def _body_name(self, key: str) -> str:
        return self._negative_name() if key == "battery negative" else f"bare metal of the {key}"

    def _first(self, contacts: Sequence[Contact]) -> Contact | None:
        reached = [contact for contact in contacts if contact in self.circuit.node_number]
        return min(reached, key=lambda c: (natural_key(self._name(c)), c), default=None)

    def _negative_name(self) -> str:
        """The battery's negative post as people call it."""
        for battery in self.devices.of_kind("battery"):
            for contact in self.devices.with_role(battery, "battery negative"):
                return self._name(contact)
        return "battery negative post"

    def _positive(self, node: Node, battery: Device | None) -> tuple[Node, str] | None:
        if battery is None:
            return node, "battery positive post"
        at = self._first(self.devices.with_role(battery, "battery feed"))
        return (at, self._name(at)) if at is not None else (node, f"positive post of {battery.name}")

    # ------------------------------------------------------------------ offsets
    def _offsets(self) -> Iterator[VoltageTest]:
        merged: dict[tuple[str, str, int], VoltageTest] = {}
        for victim in self.analysis.victims:
            red, black = self._place(victim.ground), self._place(victim.reference)
            if red is None or black is None or red[0] == black[0]:
                continue
            values = self._between_v(red[0], black[0])
            low_v, high_v = self.allowed.offsets.of(victim.kind, self.analysis.given)
            for at in self._worth(values):
                key = (red[1], black[1], at)
                made = VoltageTest(
                    "", "ground offset", victim.device.name, self.analysis.states[self.states[at]].name, red[1],
                    black[1], float(values[at]), low_v, high_v, f"harmless for {_article(victim.kind)}",
                    victim.mark[0] if victim.mark else None,
                )  # fmt: skip
                merged[key] = _narrower(merged[key], made) if key in merged else made
        yield from merged.values()

    def _worth(self, values: NDArray[np.float64]) -> list[int]:
        """Of the states those with the starter turning, and of the others the one with the largest offset."""
        if self.every_state:
            return list(range(len(self.states)))
        cranking = [at for at, number in enumerate(self.states) if self.analysis.states[number].starter]
        others = [at for at in range(len(self.states)) if at not in cranking]
        if others:
            # Of states that are alike the first stands, whatever the last digits say.
            sizes = np.abs(values[others])
            cranking.append(others[int(np.flatnonzero(sizes >= sizes.max() - 1e-9)[0])])
        return sorted(cranking)

    # ------------------------------------------------------------------ drops
    def _drops(self) -> Iterator[VoltageTest]:
        post = next((part.b for part in self.circuit.parts if part.kind == "battery"), None)
        positive = self._place(post) if post is not None else None
        ports = {port.device.key: port for port in self.circuit.ports if port.device is not None}
        for port in self.circuit.ports:
            if port.kind == "starter" and positive is not None:
                yield from self._starter(port, positive[0])
        for load in self.loads.all:
            if load.device.key not in ports:
                continue
            feed = self._first(load.feeds)
            if feed is not None and positive is not None:
                limit_v, words = self.allowed.feed_mv / 1000, "drop allowed in a feed"
                yield from self._made(_Drop("feed drop", load.device, positive[0], feed, limit_v, words))
            back = self._return(load)
            if back is not None:
                limit_v = self.allowed.return_mv / 1000
                yield from self._made(
                    _Drop("return drop", load.device, back, BATTERY_NEGATIVE, limit_v, "drop allowed in a return")
                )

    def _return(self, load: Load) -> Node | None:
        """Where a load's current leaves it; None behind a driver, whose own drop nobody knows."""
        if load.driven:
            return None
        if load.returns:
            return self._first(load.returns)
        body: Node | None = ("body", load.body, "") if load.body else None
        return body if body in self.circuit.node_number else None

    def _starter(self, port: Port, positive: Node) -> Iterator[VoltageTest]:
        if port.device is None:
            return
        limit_v, words = self.allowed.cranking_mv / 1000, "drop allowed to the starter, feed and return together"
        if isinstance(port.feed, Contact):
            yield from self._made(_Drop("cranking drop", port.device, positive, port.feed, limit_v, words))
        yield from self._made(_Drop("cranking drop", port.device, port.back, BATTERY_NEGATIVE, limit_v, words))

    def _made(self, drop: _Drop) -> Iterator[VoltageTest]:
        red, black = self._place(drop.red), self._place(drop.black)
        if red is None or black is None or red[0] == black[0]:
            return
        values = self._between_v(red[0], black[0])
        among = [
            at for at, number in enumerate(self.states)
            if drop.what != "cranking drop" or self.analysis.states[number].starter
        ]  # fmt: skip
        if not among:
            return
        if not self.every_state:
            if abs(values[among]).max() < _LEAST_V:
                return
            greatest = float(values[among].max())
            among = [next(at for at in among if values[at] >= greatest - 1e-9)]
        mark = self.devices.mark_device(drop.device)
        for at in among:
            yield VoltageTest(
                "", drop.what, drop.device.name, self.analysis.states[self.states[at]].name, red[1], black[1],
                float(values[at]), None, drop.limit_v, drop.limit_from, mark[0] if mark else None,
            )  # fmt: skip


def _article(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"


def _narrower(one: VoltageTest, other: VoltageTest) -> VoltageTest:
    """One test in place of two at the same places: the narrower limit on each side."""
    low = max((v for v in (one.low_v, other.low_v) if v is not None), default=None)
    high = min((v for v in (one.high_v, other.high_v) if v is not None), default=None)
    words = one.limit_from if one.limit_from == other.limit_from else f"{one.limit_from}; {other.limit_from}"
    return replace(one, low_v=low, high_v=high, limit_from=words)
