"""Loops of the coils: the spark current from plug to coil, and the primary current from battery to battery.

The spark current leaves the coil's tower through the plug lead, jumps the gap and is in the head; from there it goes
back to where the coil's secondary ends: a ground of its own, the ground shared with the primary, the case, the
primary's positive terminal (two terminals; a capacitor there lets its fast part go straight to the engine), or the
tower of the second plug (wasted spark).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.conductors import wire_ohm
from harnessdrc.design.devices import DRIVER_ROLES, Device
from harnessdrc.design.loops.coils import CoilSet, Spark, positive
from harnessdrc.design.loops.loop import Loop, Shape, Step, shape_of, spelled, turned
from harnessdrc.design.loops.ways import Ways
from harnessdrc.harness.elements import Contact, rigid_body
from harnessdrc.physics.suppression import resonance

__all__ = ["LoopMaker"]

Floats = NDArray[np.float64]

_H_PER_M = 1e-6
"""Inductance of a wire far from its return: about 1 µH for each metre (common practice, no source)."""


class _Return(NamedTuple):
    """Way of the spark current from the seat of a plug to the coil; None with what is lacking."""

    steps: list[Step] | None
    lacking: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    at_home: bool = True


class LoopMaker:
    """Makes loops of coils and injectors.

    Parameters
    ----------
    ways : Ways
        Ways through the design.
    given : mapping of str to float
        Values taken as given.
    """

    def __init__(self, ways: Ways, given: Mapping[str, float]) -> None:
        self.ways, self.given = ways, given
        self.harness, self.devices, self.net = ways.harness, ways.devices, ways.net
        across_m = given["engine_across_m"]
        self.across_m = {
            "head": across_m, "block": across_m, "engine": across_m, "head – block": across_m,
            "": given["chassis_across_m"],
        }  # fmt: skip

    # ------------------------------------------------------------------ high voltage
    def high_voltage(self, coil: CoilSet, spark: Spark) -> Loop:
        """Loop of one spark of a coil."""
        mark = self.devices.mark_device(coil.coil)
        leads = self._leads(coil, spark)
        seat = spark.plugs[-1] if spark.plugs else None
        lead_m = [step.length_m for step in leads]
        known = [each for each in lead_m if each is not None]
        best_m2 = math.fsum(known) * self.given["return_beside_lead_mm"] / 1000 if len(known) == len(lead_m) else None
        if coil.style == "wasted spark":
            back = _Return([self.ways.metal("head", seat, spark.plugs[0])])
        elif coil.style == "two terminals":
            back = self._through_the_feed(coil, seat)
        elif coil.style == "case":
            back = self._to_case(coil.coil, seat)
        elif coil.style == "no return known":
            back = _Return(None, (f"where the spark current of {coil.coil.name} returns (role of its pins)",))
        else:
            back = self._to_ground(coil, seat)
        if back.steps is None:
            return Loop(coil.coil.subject, "high-voltage return", (), (), Shape(None, None, None, False, back.lacking),
                        mark=mark, at_home=False)  # fmt: skip
        steps = (*leads, *back.steps)
        shape = shape_of(steps, self.ways.routes, self.across_m)
        if not spark.plugs and shape.bound:
            shape = shape._replace(lacking=tuple(dict.fromkeys((f"plugs that {coil.coil.name} fires", *shape.lacking))))
        lines = tuple(line for step in leads if (line := self._lead_line(step)) is not None)
        return Loop(
            coil.coil.subject, "high-voltage return", steps, spelled(steps, self.harness), shape, best_m2,
            lines if len(lines) == len(leads) else (), back.notes, mark, back.at_home,
        )  # fmt: skip

    def _lead_line(self, step: Step) -> Floats | None:
        """A plug lead as a polyline, where its ends are in place."""
        if step.wire is not None:
            points = self.ways.routes.line(step.wire).points_m
            if points is not None:
                return points
        places = [self.ways.routes.at(key) for key in (step.start, step.end) if key is not None]
        ends = [place for place in places if place is not None]
        return np.array(ends) if len(ends) == 2 else None

    def _leads(self, coil: CoilSet, spark: Spark) -> list[Step]:
        """Plug leads of a spark; the body of a coil that sits on its plug counts as one."""
        on_plug = coil.style in ("separate ground", "shared ground", "case")
        if not spark.legs:
            length_m = coil.coil.item.details.lead_m
            if not length_m:
                length_m = self.given["coil_on_plug_mm"] / 1000 if on_plug else None
            return [Step("lead", "plug", coil.coil.key, None, length_m, f"plugs that {coil.coil.name} fires")]
        steps = []
        for leg in spark.legs:
            # no length is none: of a coil drawn where its plug is
            length_m = leg.length_m or self.ways.metal("", leg.start, leg.end).length_m or None
            if length_m is None and on_plug and len(spark.legs) == 1:
                length_m = self.given["coil_on_plug_mm"] / 1000
            items = self.harness.items
            names = " – ".join(items[key].name for key in (leg.start, leg.end) if key in items)
            name = f"wire {leg.wire.name}" if leg.wire is not None else "plug lead"
            steps.append(Step("lead", name, leg.start, leg.end, length_m, f"length of the plug lead {names}", leg.wire))
        if not spark.plugs:
            far = spark.legs[-1].end
            name = self.harness.items[far].name if far in self.harness.items else far
            steps.append(Step("lead", "plug lead", far, None, None, f"plugs that {name} fires"))
        return steps

    def _to_ground(self, coil: CoilSet, seat: str | None) -> _Return:
        earths = self.ways.to_earths(coil.returns)
        if not earths:
            label = self.harness.label(coil.returns[0])
            return _Return(None, (f"an earth point that {label} reaches",), at_home=False)
        earth, steps = earths[0]
        return self._from_seat(seat, earth, turned(steps))

    def _from_seat(self, seat: str | None, earth: Contact, rest: Sequence[Step]) -> _Return:
        """Way from the plug's seat to an earth point and on."""
        body = self.devices.body(earth)
        rigid = rigid_body(body)
        if rigid is None or body is None:
            return _Return(None, (f"body of earth point {self.harness.label(earth)}",), at_home=False)
        if rigid == "engine":
            through = body if body in ("head", "engine") else f"head – {body}"
            metal = self.ways.metal(through, seat, earth.item)
            return _Return([metal, *rest])
        far = self.ways.across(("head", seat), (body, earth.item))
        if far is None:
            return _Return(None, (f"straps from the engine to the {rigid}",), at_home=False)
        return _Return([*far, *rest], at_home=False)

    def _to_case(self, coil: Device, seat: str | None) -> _Return:
        rigid = rigid_body(coil.body)
        if rigid == "engine" and coil.body is not None:
            return _Return([self.ways.metal("head" if coil.body == "head" else f"head – {coil.body}", seat, coil.key)])
        if rigid is None or coil.body is None:
            return _Return(None, (f"place of {coil.name}",), at_home=False)
        far = self.ways.across(("head", seat), (coil.body, coil.key))
        if far is None:
            return _Return(None, (f"straps from the engine to the {rigid}",), at_home=False)
        return _Return(far, at_home=False)

    def _through_the_feed(self, coil: CoilSet, seat: str | None) -> _Return:
        """Back to the positive terminal: through a capacitor on the engine, else all the way round the battery."""
        plus = coil.returns[0]
        long = self._long_way(plus, seat)
        for device, here, others in self.ways.capacitors_on(plus):
            found = self._through_capacitor(coil, seat, device, here, others)
            if found is not None and found.steps is not None and found.at_home:
                return found._replace(notes=(*found.notes, *self._ringing(device, found.steps, long.steps)))
        if long.steps is None:
            return long
        return long._replace(notes=("no capacitor from the coil's positive to the engine closes it",))

    def _through_capacitor(
        self, coil: CoilSet, seat: str | None, device: Device, here: Contact, others: list[Contact]
    ) -> _Return | None:
        inside = Step("inside", device.name, device.key, device.key, 0.0)
        rest = [inside, *self.ways.between(here, coil.returns[0])]
        for earth, steps in self.ways.to_earths(others):
            found = self._from_seat(seat, earth, [*turned(steps), *rest])
            if found.at_home:
                return found
        if rigid_body(device.body) == "engine" and (device.item.case_earthed or not others):
            return _Return([self.ways.metal("head", seat, device.key), *rest])
        return None

    def _ringing(self, device: Device, short: Sequence[Step], long: Sequence[Step] | None) -> Iterator[str]:
        """What the capacitor closes, and where it rings with the long way round."""
        yield f"{device.name} closes it for the breakdown; the arc still goes round through the feed and the battery"
        farad = device.item.capacitance_f
        lengths = [[step.length_m for step in way] for way in (short, long or ())]
        if not farad or farad < 0.0 or long is None:
            return
        short_m, long_m = (math.fsum(each for each in way if each is not None) for way in lengths)
        ohm = [
            wire_ohm(step.wire.size, step.length_m, self.given["conductor_degc"])
            for step in (*short, *long)
            if step.wire is not None and step.kind == "wire"
        ]
        if not long_m or any(each is None for each in ohm) or not ohm:
            return
        whole_ohm = math.fsum(each for each in ohm if each is not None)
        rings = resonance(farad, short_m * _H_PER_M, long_m * _H_PER_M, 0.0, whole_ohm)
        yield (
            f"with {farad * 1e6:g} µF it rings with that way at about {_figure(rings.f_hz / 1000)} kHz, "
            f"Q {_figure(rings.q)} "
            "(1 µH for each metre)"
        )

    def _long_way(self, plus: Contact, seat: str | None) -> _Return:
        feed = self.ways.feed(plus)
        far = self.ways.across(("head", seat), ("battery negative", None))
        if feed is None:
            return _Return(None, (f"a feed of {self.harness.label(plus)} from the battery",), at_home=False)
        if far is None:
            return _Return(None, ("straps from the engine to the battery negative",), at_home=False)
        return _Return([*far, *feed], at_home=False)

    # ------------------------------------------------------------------ primary and injectors
    def primary(self, coil: Device) -> Loop | None:
        """Loop of a coil's primary current; None for a coil of which no positive is known."""
        plus = positive(self.devices, coil)
        return None if plus is None else self._from_battery(coil, plus, "primary", ("coil ground", "power ground"))

    def injector(self, injector: Device) -> Loop | None:
        """Loop of an injector's current; None where its feed is not known."""
        plus = positive(self.devices, injector)
        return None if plus is None else self._from_battery(injector, plus, "injector", ("load return",))

    def _from_battery(self, device: Device, plus: Contact, what: str, grounds: tuple[str, ...]) -> Loop:
        """Loop from the battery's positive through a device and home."""
        mark = self.devices.mark(plus) or self.devices.mark_device(device)
        feed = self.ways.feed(plus)
        own = self.devices.with_role(device, *grounds)
        inside = Step("inside", device.name, device.key, device.key, 0.0)
        lacking = [] if feed is not None else [f"a feed of {self.harness.label(plus)} from the battery"]
        rest: list[Step] | None
        if own:
            rest = self.ways.home(own)
        elif self.devices.on_case(device):
            rest = self.ways.case_home(device)
        else:
            rest = self._through_driver(device)
        if rest is None:
            lacking.append(f"a way home from {device.name}")
        if feed is None or rest is None:
            return Loop(device.subject, what, (), (), Shape(None, None, None, False, tuple(lacking)), mark=mark)
        steps = (*feed, inside, *rest)
        return Loop(
            device.subject, what, steps, spelled(steps, self.harness), shape_of(steps, self.ways.routes, self.across_m),
            notes=tuple(self._closed_by(plus)), mark=mark,
        )  # fmt: skip

    def _closed_by(self, plus: Contact) -> Iterator[str]:
        """Capacitors to ground on the feed, which close the loop for fast changes."""
        for device, _, others in self.ways.capacitors_on(plus):
            if self.ways.to_earths(others) or device.item.case_earthed:
                yield f"{device.name} closes it for fast changes"

    def _through_driver(self, device: Device) -> list[Step] | None:
        """Way from the switched side of a device through what switches it, and home."""
        for contact in self.devices.with_role(device, *sorted(DRIVER_ROLES), "coil input"):
            net = self.net.net(contact)
            for member in net.contacts if net else ():
                driver = self.devices.owner(member)
                if driver is None or driver.kind not in ("controller", "igniter", "power distribution"):
                    continue
                home = self.ways.home(self.devices.with_role(driver, "power ground", "load return"))
                if home is None and self.devices.on_case(driver):
                    home = self.ways.case_home(driver)
                if home is not None:
                    inside = Step("inside", driver.name, driver.key, driver.key, 0.0)
                    return [*self.ways.between(contact, member), inside, *home]
        return None


def _figure(value: float) -> str:
    """Two figures, without an exponent."""
    return f"{value:.0f}" if value >= 10.0 else f"{value:.2g}"
