"""Continuity: the resistance of every wire from end to end, as expected at room temperature and as it may be.

Expected is what the circuit of the list has for the wire: the maximum of ISO 6722 for its size (of a gauge, ASTM B258
with the lay of its strands), and its joints as new. It passes between

    (1.7241e-8 ohm m x length / nominal area, joints without any resistance) - tolerances
    (table maximum x length + joints of `test_joint_times` their new value) + tolerances

where the tolerances are those of the cut length, of the bench's temperature, and of the meter. A gauge may have less
copper than ASTM B258 gives it (`test_gauge_percent`). Copper of the nominal area without any lay is the least that a
cable of that size can have; the table's maximum is the most.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from harnessdrc.design.circuit.joints import JointBook
from harnessdrc.design.conductors import conductor_mm2, wire_ohm
from harnessdrc.findings import Mark
from harnessdrc.harness.connectivity import Connectivity
from harnessdrc.harness.elements import Contact, Harness, Strap, Wire
from harnessdrc.harness.roles import GROUND_ROLES, RETURN_ROLES, Roles
from harnessdrc.physics.conductor import copper_ohm_per_m, temperature_factor
from harnessdrc.units import Size

__all__ = ["Continuity", "ContinuityTest"]

_GROUNDS = frozenset({*GROUND_ROLES, *RETURN_ROLES, "shield drain"})


@dataclass(frozen=True, slots=True)
class ContinuityTest:
    """One wire or strap to be measured from end to end.

    Parameters
    ----------
    test : str
        ``C1`` onward, in the order of the list.
    name : str
        Name of the wire; ``strap G1`` of a strap.
    a, b : str
        Where the probes go.
    size : Size or None
        As listed.
    length_m : float or None
        As listed, m.
    copper_ohm, joint_ohm : float or None
        Copper by the tables, and all joints as new, at the temperature of the test, Ω; None while it is not known.
    low_ohm, high_ohm : float or None
        What passes, Ω.
    four_wire : bool
        A ground, a strap, or another one of so few milliohm that two leads would measure themselves.
    lacking : tuple of str
        Data without which nothing is expected.
    wire : Wire or None
        The wire.
    strap : Strap or None
        The strap.
    mark : Mark or None
        Its cell.
    """

    test: str
    name: str
    a: str
    b: str
    size: Size | None
    length_m: float | None
    copper_ohm: float | None
    joint_ohm: float
    low_ohm: float | None
    high_ohm: float | None
    four_wire: bool
    lacking: tuple[str, ...]
    wire: Wire | None = None
    strap: Strap | None = None
    mark: Mark | None = None

    @property
    def expected_ohm(self) -> float | None:
        """Copper and joints together, Ω."""
        return None if self.copper_ohm is None else self.copper_ohm + self.joint_ohm


@dataclass
class Continuity:
    """Tests of continuity of a design.

    Parameters
    ----------
    harness, net, roles
        Of the design.
    given : mapping of str to float
        Values taken as given.
    """

    harness: Harness
    net: Connectivity
    roles: Roles
    given: Mapping[str, float]

    @cached_property
    def _joints(self) -> JointBook:
        return JointBook(self.harness, self.given)

    @cached_property
    def tests(self) -> tuple[ContinuityTest, ...]:
        """One for every wire, then one for every listed strap."""
        found: list[ContinuityTest] = []
        for wire in self.harness.wires:
            found.append(self._of_wire(f"C{len(found) + 1}", wire))
        for strap in self.harness.straps:
            found.append(self._of_strap(f"C{len(found) + 1}", strap))
        return tuple(found)

    @cached_property
    def by_name(self) -> dict[str, ContinuityTest]:
        """Tests by the name of their wire or strap."""
        return {test.name: test for test in self.tests}

    # ------------------------------------------------------------------ one test
    def _of_wire(self, test: str, wire: Wire) -> ContinuityTest:
        mark = Mark(wire.place.of("wire", "from_item"), f"wire {wire.name}")
        data = (("size", wire.size), ("length", wire.length_m))
        lacking = [f"{what} of wire {wire.name}" for what, value in data if value is None]
        if wire.size is not None and wire.length_m is not None and wire_ohm(wire.size, 1.0, 20.0) is None:
            lacking.append(f"size of wire {wire.name} that a table or formula covers")
        if wire.cores != 1:
            lacking.append(f"cores of cable {wire.name}")
        if wire.a is None or wire.b is None:
            cut_back = wire.a_open or wire.b_open
            lacking.append("an end that is not cut back" if cut_back else f"second end of wire {wire.name}")
        joint_ohm = self._joints_of(wire)
        return self._made(
            test, wire.name, self._end(wire.a, wire.a_open), self._end(wire.b, wire.b_open), wire.size, wire.length_m,
            None if lacking else wire_ohm(wire.size, wire.length_m, self.given["test_degc"]), joint_ohm,
            self._is_ground(wire), tuple(lacking), wire=wire, mark=mark,
        )  # fmt: skip

    def _of_strap(self, test: str, strap: Strap) -> ContinuityTest:
        mark = Mark(strap.place, f"strap {strap.name}") if strap.place else None
        copper_ohm = strap.resistance_ohm
        if copper_ohm is None:
            copper_ohm = wire_ohm(strap.size, strap.length_m, self.given["test_degc"])
        lacking = () if copper_ohm is not None else (f"resistance, or size and length, of strap {strap.name}",)
        return self._made(
            test, f"strap {strap.name}", strap.a, strap.b, strap.size, strap.length_m, copper_ohm,
            self._joints.strap_aged(strap)[0], True, lacking, strap=strap, mark=mark,
        )  # fmt: skip

    def _end(self, contact: Contact | None, is_open: bool) -> str:
        return self.harness.label(contact) if contact is not None else "open" if is_open else ""

    def _joints_of(self, wire: Wire) -> float:
        bolted = conductor_mm2(wire.size) >= self.given["bolted_from_mm2"]
        ohms = [self._joints.wire_end(wire, end, bolted)[0] for end in (wire.a, wire.b) if end is not None]
        return sum(ohms)

    def _is_ground(self, wire: Wire) -> bool:
        ends = [end for end in (wire.a, wire.b) if end is not None]
        return any(end in self.net.earths or self.roles.of.get(end) in _GROUNDS for end in ends)

    # ------------------------------------------------------------------ what passes
    def _made(
        self, test: str, name: str, a: str, b: str, size: Size | None, length_m: float | None, copper_ohm: float | None,
        joint_ohm: float, ground: bool, lacking: tuple[str, ...], wire: Wire | None = None, strap: Strap | None = None,
        mark: Mark | None = None,
    ) -> ContinuityTest:  # fmt: skip
        low_ohm = high_ohm = None
        four_wire = ground
        if copper_ohm is not None:
            four_wire = ground or copper_ohm + joint_ohm < self.given["four_wire_mohm"] / 1000
            listed = strap is not None and strap.resistance_ohm is not None
            low_ohm, high_ohm = self._range(size, length_m, copper_ohm, joint_ohm, four_wire, listed)
        return ContinuityTest(
            test, name, a, b, size, length_m, copper_ohm, joint_ohm, low_ohm, high_ohm, four_wire, lacking, wire, strap,
            mark,
        )  # fmt: skip

    def _range(
        self, size: Size | None, length_m: float | None, copper_ohm: float, joint_ohm: float, four_wire: bool,
        listed: bool,
    ) -> tuple[float, float]:  # fmt: skip
        given = self.given
        meter = given["meter_percent"] / 100
        rest_ohm = (given["meter_mohm"] if four_wire else given["leads_mohm"]) / 1000
        if listed:  # measured once before: its own joints are in it
            low_ohm = high_ohm = copper_ohm
        else:
            length = given["test_length_percent"] / 100
            low_ohm = self._least_copper(size, length_m, copper_ohm) * (1 - length) * self._warmth(-1)
            high_ohm = copper_ohm * self._shortage(size) * (1 + length) * self._warmth(1)
        high_ohm += joint_ohm * given["test_joint_times"]
        return max(0.0, low_ohm * (1 - meter) - rest_ohm), high_ohm * (1 + meter) + rest_ohm

    def _warmth(self, side: int) -> float:
        """Resistance on a colder (-1) or warmer (1) bench over that at the temperature of the test."""
        t_degc, spread_k = self.given["test_degc"], self.given["test_spread_k"]
        return temperature_factor(t_degc + side * spread_k) / temperature_factor(t_degc)

    def _least_copper(self, size: Size | None, length_m: float | None, copper_ohm: float) -> float:
        """Resistance of as much solid copper as the label says, Ω."""
        area_mm2 = conductor_mm2(size)
        if not area_mm2 or length_m is None:
            return copper_ohm
        return copper_ohm_per_m(area_mm2, t_degc=self.given["test_degc"]) * length_m

    def _shortage(self, size: Size | None) -> float:
        """How much more a cable of this size may have than the formula of its gauge gives."""
        if size is None or size.awg is None:
            return 1.0
        return 1.0 / (1.0 - self.given["test_gauge_percent"] / 100)
