"""What fuses carry for hours, and the wires behind them that bear least of what they let through."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.sizing.fuse_items import Fuse
from harnessdrc.design.sizing.loads import charging_a
from harnessdrc.harness.elements import Wire
from harnessdrc.harness.names import natural_key

if TYPE_CHECKING:
    from harnessdrc.design.sizing.protection import Protection

__all__ = ["FuseDuty", "FuseLoad", "ThinnestWire"]


class FuseLoad(NamedTuple):
    """What a fuse carries for hours.

    Parameters
    ----------
    current_a : float or None
        Greatest average over the states that last, A; None where the circuit was not solved.
    state : str
        That state.
    unknown : tuple of str
        Loads behind it whose current is not known and was taken as nothing.
    """

    current_a: float | None
    state: str
    unknown: tuple[str, ...]


class ThinnestWire(NamedTuple):
    """The wire behind a fuse that bears least of what its fuses let it carry.

    Parameters
    ----------
    wire : Wire
        The wire.
    held_a : float
        Rating that holds its current, A: of the fuse ahead, or of a smaller one that it alone leads to.
    low_a, allowed_a, high_a : float
        What it may carry, A: with all that is lacking at its worst, as usual, and at its best.
    """

    wire: Wire
    held_a: float
    low_a: float
    allowed_a: float
    high_a: float


class FuseDuty:
    """Loads of fuses and what their wires bear.

    Parameters
    ----------
    protection : Protection
        Where the fuses stand.
    """

    def __init__(self, protection: Protection) -> None:
        self.protection, self.design = protection, protection.design

    @cached_property
    def _parts(self) -> dict[str, int]:
        """Item of a fuse → number of its part in the circuit."""
        return {part.name: number for number, part in enumerate(self.design.circuit.parts) if part.kind == "fuse"}

    @cached_property
    def _unknown(self) -> dict[str, list[str]]:
        """Key of a fuse → loads behind it, however many further fuses lie between, whose current is not known."""
        found: dict[str, list[str]] = {}
        for load in self.design.loads.all:
            if load.current_a is not None:
                continue
            keys: set[str] = set()
            for contact in load.feeds:
                net = self.design.net.net_of.get(contact)
                while net is not None:
                    key = self.protection.ahead.get(net)
                    if key is None or key in keys:
                        break
                    keys.add(key)
                    net = self.protection.by_key[key].ahead if key in self.protection.by_key else None
            for key in keys:
                found.setdefault(key, []).append(load.device.name)
        for key, name in self._passed_on():
            found.setdefault(key, []).append(name)
        return {key: sorted(dict.fromkeys(names), key=natural_key) for key, names in found.items()}

    def _passed_on(self) -> Iterator[tuple[str, str]]:
        """Fuses with what takes current from them in a way the circuit does not know: boxes with outputs, cables."""
        for key, cables in self.protection.cables_behind.items():
            yield from ((key, f"cable {name}") for name in cables)
        level, net_of, ahead = self.design.feeds.level, self.design.net.net_of, self.protection.ahead
        boxes = self.design.devices.of_kind("power distribution")
        if not boxes:
            return
        fed = {net_of.get(contact) for load in self.design.loads.all for contact in load.feeds}
        for box in boxes:
            nets = [net for contact in box.contacts if (net := net_of.get(contact)) is not None]
            if box.item.current_a or not any(net in fed and net not in level for net in nets):
                continue
            for start in dict.fromkeys(net for net in nets if net in level):
                here: int | None = start
                while here is not None:
                    fuse = ahead.get(here)
                    yield from ((each, box.name) for each in self._with(fuse))
                    here = self.protection.by_key[fuse].ahead if fuse in self.protection.by_key else None

    def _with(self, key: str | None) -> tuple[str, ...]:
        """A fuse and those that copper joins to it."""
        fuse = self.protection.by_key.get(key) if key is not None else None
        if fuse is None or key is None or fuse.output:
            return () if key is None else (key,)
        return self.protection.joined.get(fuse.behind, (key,))

    @cached_property
    def _charging(self) -> tuple[NDArray[np.float64], int]:
        return charging_a(self.design)

    def load(self, fuse: Fuse) -> FuseLoad:
        """What a fuse carries for hours: the greatest average over the states in which the starter does not turn."""
        analysis = self.design.analysis
        number = self._parts.get(fuse.item.key) if analysis.solved else None
        unknown = tuple(self._unknown.get(fuse.item.key, ()))
        if number is None:
            return FuseLoad(None, "", unknown)
        every = range(len(analysis.states))
        lasting = [n for n in every if not analysis.states[n].starter] or list(every)
        amps = np.abs(analysis.part_currents.average[number, lasting])
        if np.isnan(amps).all():
            return FuseLoad(None, "", unknown)
        greatest_a = float(np.nanmax(amps))
        # of states that are alike the first stands, whatever the last digits say
        charged_a, charging = self._charging
        if charging >= 0 and charged_a[number] > greatest_a:
            return FuseLoad(float(charged_a[number]), analysis.states[charging].name, unknown)
        worst = lasting[int(np.flatnonzero(amps >= greatest_a * (1 - 1e-9))[0])]
        return FuseLoad(greatest_a, analysis.states[worst].name, unknown)

    def thinnest(self, fuse: Fuse) -> tuple[ThinnestWire, ThinnestWire] | None:
        """Wires that bear least of what their fuses let them carry: with all that is lacking at its best, at its worst.

        Returns
        -------
        tuple of ThinnestWire or None
            Both the same wire where nothing is lacking; None where no wire behind it can be judged.
        """
        if fuse.item.key not in self._thinnest:
            self._thinnest[fuse.item.key] = self._find_thinnest(fuse)
        return self._thinnest[fuse.item.key]

    @cached_property
    def _thinnest(self) -> dict[str, tuple[ThinnestWire, ThinnestWire] | None]:
        return {}

    def _find_thinnest(self, fuse: Fuse) -> tuple[ThinnestWire, ThinnestWire] | None:
        numbers = self.protection.wires_behind.get(fuse.item.key)
        if not numbers or fuse.rating_a is None:
            return None
        sizing, wires = self.design.sizing, self.design.harness.wires
        held = np.array([self.protection.held_a(wires[n], fuse) for n in numbers])
        low, usual, high = (
            values[numbers].astype(float) for values in (sizing.allowed_low_a, sizing.allowed_a, sizing.allowed_high_a)
        )
        if np.isnan(high).all():
            return None
        found = []
        for values in (high, low):
            share = np.nan_to_num(held / np.maximum(values, 1e-9), nan=0.0)
            alike = np.flatnonzero(share >= share.max() * (1 - 1e-6)).tolist()
            at = min(alike, key=lambda n: natural_key(wires[numbers[n]].name))
            found.append(
                ThinnestWire(wires[numbers[at]], float(held[at]), float(low[at]), float(usual[at]), float(high[at]))
            )
        return found[0], found[1]
