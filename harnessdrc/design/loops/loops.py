"""All loops of a design, each worked out once, on first use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import NamedTuple

from harnessdrc.design.devices import Device, Devices
from harnessdrc.design.loops.coils import CoilSet, Spark, coil_sets
from harnessdrc.design.loops.ignition import LoopMaker
from harnessdrc.design.loops.loop import Loop
from harnessdrc.design.loops.pairs import PairRun, pair_runs
from harnessdrc.design.loops.ways import Ways
from harnessdrc.design.triggers import TriggerPair
from harnessdrc.harness.elements import Contact, Wire
from harnessdrc.harness.groups import Shield

__all__ = ["HighVoltage", "Loops", "SharedReturn"]

_NOT_FOREIGN = ("coil", "igniter", "capacitor", "spark plug", "distributor")


class HighVoltage(NamedTuple):
    """Loop of one spark with the coil it belongs to."""

    coil: CoilSet
    spark: Spark
    loop: Loop


class SharedReturn(NamedTuple):
    """Wire of a coil's spark return that carries currents of others too, and whose."""

    wire: Wire
    earth: Contact
    devices: tuple[Device, ...]


class Loops:
    """Loops of ignition, injectors and triggers.

    Parameters
    ----------
    ways : Ways
        Ways through the design.
    given : mapping of str to float
        Values taken as given.
    pairs, shields
        Trigger pairs and shields of the design.
    """

    def __init__(
        self, ways: Ways, given: Mapping[str, float], pairs: Sequence[TriggerPair], shields: Sequence[Shield]
    ) -> None:
        self.ways, self.given = ways, given
        self._pairs, self._shields = pairs, shields
        self._maker = LoopMaker(ways, given)

    @property
    def devices(self) -> Devices:
        """Devices of the design."""
        return self.ways.devices

    @cached_property
    def coils(self) -> tuple[CoilSet, ...]:
        """Every coil with what it fires."""
        return coil_sets(self.ways.harness, self.devices, self.ways.net)

    @cached_property
    def high_voltage(self) -> tuple[HighVoltage, ...]:
        """Loop of every spark."""
        return tuple(
            HighVoltage(coil, spark, self._maker.high_voltage(coil, spark))
            for coil in self.coils
            for spark in coil.sparks
        )

    @cached_property
    def worst_high_voltage(self) -> tuple[HighVoltage, ...]:
        """Of every coil the spark with the largest loop; one that is not known before all others."""
        worst: dict[str, HighVoltage] = {}
        for each in self.high_voltage:
            kept = worst.get(each.coil.coil.key)
            if kept is None or _size(each.loop) > _size(kept.loop):
                worst[each.coil.coil.key] = each
        return tuple(worst.values())

    @cached_property
    def primary(self) -> tuple[Loop, ...]:
        """Loop of every coil's primary current."""
        made = (self._maker.primary(coil.coil) for coil in self.coils)
        return tuple(loop for loop in made if loop is not None)

    @cached_property
    def injectors(self) -> tuple[Loop, ...]:
        """Loop of every injector."""
        made = (self._maker.injector(device) for device in self.devices.of_kind("injector"))
        return tuple(loop for loop in made if loop is not None)

    @cached_property
    def pairs(self) -> tuple[PairRun, ...]:
        """Every trigger pair that a controller reads, as it runs."""
        return pair_runs(self._pairs, self._shields, self.ways)

    @cached_property
    def pair_loops(self) -> tuple[Loop, ...]:
        """The same as loops."""
        return tuple(run.loop(self.ways, self.given) for run in self.pairs)

    # ------------------------------------------------------------------ shared returns
    def shared_return(self, coil: CoilSet) -> SharedReturn | None:
        """The wire by which a coil's return reaches its earth point, where others than coils use it too.

        Whatever hangs on the coil's side of that wire sends its current through it.
        """
        if coil.style not in ("separate ground", "shared ground"):
            return None
        for earth, steps in self.ways.to_earths(coil.returns):
            wire = steps[-1].wire if steps else None
            if wire is None:
                continue
            foreign = self._behind(wire, earth)
            if foreign:
                return SharedReturn(wire, earth, foreign)
        return None

    @cached_property
    def _kept_behind(self) -> dict[tuple[str, Contact], tuple[Device, ...]]:
        return {}

    def _behind(self, wire: Wire, earth: Contact) -> tuple[Device, ...]:
        """Devices other than coils whose copper leads to an earth point through a wire."""
        key = wire.name, earth
        if key in self._kept_behind:
            return self._kept_behind[key]
        net = self.ways.net
        start = wire.other(earth)
        seen = {start} if start is not None else set()
        front = list(seen)
        devices: dict[str, Device] = {}
        while front:
            here = front.pop()
            device = self.devices.owner(here)
            if device is not None and device.kind not in _NOT_FOREIGN:
                devices[device.key] = device
            for near, kind, via in net.neighbours(here):
                through = kind == "wire" and via.name == wire.name
                if kind in ("wire", "mate") and not through and near not in seen and near not in net.earths:
                    seen.add(near)
                    front.append(near)
        found = tuple(sorted(devices.values(), key=lambda device: device.name))
        self._kept_behind[key] = found
        return found


def _size(loop: Loop) -> tuple[bool, float, float]:
    return loop.shape.area_m2 is None, loop.shape.area_m2 or 0.0, loop.shape.length_m or 0.0
