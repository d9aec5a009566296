"""What checks receive: the harness, its connectivity and the analyses, each computed once, on first use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING

from harnessdrc.design.analysis import Analysis
from harnessdrc.design.buses import Bus, buses_of
from harnessdrc.design.circuit import Circuit
from harnessdrc.design.coil_wires import CoilWire, coil_wires
from harnessdrc.design.conductors import conductor_source, wire_ohm
from harnessdrc.design.devices import Device, Devices
from harnessdrc.design.drops import Drops, LoadDrop, WireDrop
from harnessdrc.design.feeds import Feeds
from harnessdrc.design.fitting import Fitting
from harnessdrc.design.given import GIVEN, GivenForm
from harnessdrc.design.grounds import Grounds, Reached
from harnessdrc.design.loads import Load, Loads
from harnessdrc.design.loops import Coupling, Loops, Margins
from harnessdrc.design.loops.ways import Ways
from harnessdrc.design.routes import Routes
from harnessdrc.design.sizing import Sizing, sizing_of
from harnessdrc.design.sizing.protection import protection_of
from harnessdrc.design.testing.allowed import Allowed
from harnessdrc.design.triggers import TriggerPair, trigger_pairs
from harnessdrc.design.wirelengths import WireLengths
from harnessdrc.harness.build import build_harness
from harnessdrc.harness.connectivity import Connectivity, Net, connect
from harnessdrc.harness.elements import Contact, Harness, Wire
from harnessdrc.harness.groups import Shield, shields, twist_groups
from harnessdrc.harness.roles import Roles, find_roles
from harnessdrc.physics.operation import OperatingState
from harnessdrc.tables.model import Assumption, Reading

if TYPE_CHECKING:
    from harnessdrc.design.testing.testing import Testing

__all__ = [
    "GIVEN",
    "CoilWire",
    "Contact",
    "Design",
    "Device",
    "GivenForm",
    "Load",
    "LoadDrop",
    "Net",
    "Reached",
    "Shield",
    "TriggerPair",
    "WireDrop",
    "conductor_source",
    "design_of",
    "wire_ohm",
]


class Design:
    """A harness with everything computed from it.

    Parameters
    ----------
    harness : Harness
        The objects of the lists.
    given : mapping of str to float
        Values taken as given, by the names and in the units of `harnessdrc.design.given.GIVEN`.
    states : sequence of OperatingState
        Operating states that the circuit is solved in; without one it is not.
    """

    def __init__(self, harness: Harness, given: Mapping[str, float], states: Sequence[OperatingState] = ()) -> None:
        self.harness = harness
        self.given = given
        self.states = tuple(states)
        self.allowed = Allowed()
        """What measured voltages are held against; a run of rules puts its own limits here."""

    @cached_property
    def roles(self) -> Roles:
        """Role of every contact."""
        return find_roles(self.harness)

    @cached_property
    def listed_net(self) -> Connectivity:
        """Graph and nets as the list has them."""
        return connect(self.harness, self.roles)

    @cached_property
    def net(self) -> Connectivity:
        """Graph and nets, without the wires that are open by the meter."""
        measured = bool(self.harness.measurements and self.given)  # without given values a list is only read
        broken = {name for kind, name in self.testing.broken if kind == "wire"} if measured else ()
        return connect(self.harness, self.roles, broken) if broken else self.listed_net

    @cached_property
    def devices(self) -> Devices:
        """Components with their contacts."""
        return Devices(self.harness, self.roles, self.net)

    @cached_property
    def feeds(self) -> Feeds:
        """Live nets and what feeds them."""
        return Feeds(self.net, self.roles, self.devices)

    @cached_property
    def grounds(self) -> Grounds:
        """Earth points reached, the star point, loops."""
        return Grounds(self.harness, self.net, self.devices)

    @cached_property
    def loads(self) -> Loads:
        """Devices that draw current, and how much."""
        return Loads(self.net, self.devices)

    @cached_property
    def drops(self) -> Drops:
        """Voltage drops with all loads on."""
        return Drops(self.harness, self.loads, self.circuit, self.given)

    @cached_property
    def circuit(self) -> Circuit:
        """Everything with a resistance, and where currents enter and leave."""
        measured = self.testing.circuit_ohms if self.harness.measurements else {}
        return Circuit(
            self.harness, self.net, self.devices, self.feeds, self.loads, self.grounds, self.given, measured
        )

    @cached_property
    def testing(self) -> Testing:
        """What is measured on the finished loom, and what was."""
        from harnessdrc.design.testing.testing import Testing  # few runs have anything to do with it

        return Testing(self)

    @cached_property
    def analysis(self) -> Analysis:
        """The circuit solved in every operating state."""
        return Analysis(self.circuit, self.devices, self.net, self.roles, self.states, self.given)

    @cached_property
    def twist_groups(self) -> dict[str, tuple[Wire, ...]]:
        """Wires by the folded word of their twist group."""
        return twist_groups(self.harness)

    @cached_property
    def shields(self) -> tuple[Shield, ...]:
        """Shields with the wires inside and their drains."""
        return shields(self.harness, self.roles)

    @cached_property
    def trigger_pairs(self) -> Sequence[TriggerPair]:
        """Every trigger sensor with the wires of its signal and of its return."""
        return trigger_pairs(self.devices, self.net)

    @cached_property
    def coil_wires(self) -> tuple[CoilWire, ...]:
        """Wires that carry the primary current or the spark of a coil."""
        return coil_wires(self.harness, self.devices, self.net)

    @cached_property
    def routes(self) -> Routes:
        """Where things are and which way wires run."""
        return Routes(self.harness)

    @cached_property
    def wire_lengths(self) -> WireLengths:
        """How far wires run along the branches that they name."""
        return WireLengths(self.harness, self.routes)

    @cached_property
    def splices(self) -> dict[str, tuple[Wire, ...]]:
        """Wires of every splice by its key, W2 before W10."""
        items = self.harness.items
        return {c.item: tuple(wires) for c, wires in self.net.wires_at.items() if items[c.item].kind == "splice"}

    @cached_property
    def buses(self) -> tuple[Bus, ...]:
        """CAN buses with their two wires and what stands on them."""
        return buses_of(self.harness, self.roles, self.net, self.devices)

    @cached_property
    def fitting(self) -> Fitting:
        """What is crimped where, with its rows in the parts table."""
        return Fitting(self.harness)

    @cached_property
    def loops(self) -> Loops:
        """Loops of ignition, injectors and triggers."""
        ways = Ways(self.harness, self.net, self.devices, self.feeds, self.grounds, self.routes)
        return Loops(ways, self.given, self.trigger_pairs, self.shields)

    @cached_property
    def coupling(self) -> Coupling:
        """What the loops induce in the trigger pairs."""
        return Coupling(self.loops, self.states, self.given)

    @cached_property
    def margins(self) -> Margins:
        """Noise margins of the trigger sensors."""
        return Margins(self.coupling, self.analysis, self.states, self.given)

    @cached_property
    def sizing(self) -> Sizing:
        """How hot every wire gets where it lies, and what it may carry there."""
        return sizing_of(self)

    def let_go(self) -> None:
        """Forget what the solved circuit does not need; it is worked out again if it is asked for."""
        for name in (
            "margins", "coupling", "loops", "wire_lengths", "routes", "coil_wires", "trigger_pairs", "sizing", "drops",
            "splices", "buses", "fitting",
        ):  # fmt: skip
            self.__dict__.pop(name, None)
        if "analysis" in self.__dict__:
            self.analysis.kept.clear()

    def role(self, contact: Contact) -> str | None:
        """Role of a contact."""
        return self.roles.of.get(contact)

    def label(self, contact: Contact) -> str:
        """Contact as people write it."""
        return self.harness.label(contact)

    @property
    def assumptions(self) -> tuple[Assumption, ...]:
        """Everything inferred so far: kinds, owners, roles, currents."""
        return (
            *self.harness.assumptions, *self.roles.assumptions, *self.loads.assumptions, *self.circuit.assumptions,
            *protection_of(self).assumptions,
        )  # fmt: skip


def design_of(reading: Reading, given: Mapping[str, float], states: Sequence[OperatingState] = ()) -> Design:
    """Design of a reading."""
    return Design(build_harness(reading), given, states)
