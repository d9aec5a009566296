"""Paper of switching on for the first time: what to do, what must be seen, and what to do if it is not.

The order is that of the trade (common practice, no source): copper alone first, then the battery through a small fuse,
then one fuse after the other with its consumers still unplugged, then the controller alone, then one consumer after
the other, and only then the starter with coils and injectors still dead, and the engine last.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property, partial

from harnessdrc.design import Design, Device
from harnessdrc.design.loads import FEED_ROLES
from harnessdrc.design.testing.places import place_name
from harnessdrc.harness.connectivity import Element
from harnessdrc.harness.elements import Contact
from harnessdrc.harness.names import natural_key
from harnessdrc.papers import PowerStep
from harnessdrc.results import Result

__all__ = ["power_steps"]

_LAST = {"coil": 3, "igniter": 3, "injector": 2, "fuel pump": 1}
"""Kinds whose fuses come last."""
_NO_CONSUMERS = ("controller", "starter", "alternator")
_ENGINE = ("starter", "alternator", "coil", "igniter", "injector", "fuel pump", "spark plug")
"""Kinds without which a list is no engine's, and nothing is cranked or started."""
_LEAD_A = 5.0
"""Fuse of the lead that the battery is first connected through, A."""
_LEAST_A = 0.02
_TOLD = 8


@dataclass(frozen=True, slots=True)
class _Fuse:
    """A fuse with what it feeds: the devices behind it up to the next fuse, and its current with the key on."""

    name: str
    rating_a: float | None
    live: bool
    devices: tuple[Device, ...]
    places: tuple[str, ...]
    next_fuses: tuple[str, ...]
    key_on_a: float | None
    level: int

    @property
    def stage(self) -> int:
        """Its turn: controllers first, coils last."""
        if any(device.kind == "controller" for device in self.devices):
            return -1
        return max((_LAST.get(device.kind or "", 0) for device in self.devices), default=0)


def power_steps(design: Design, result: Result | None = None) -> tuple[PowerStep, ...]:
    """The steps of switching on this loom for the first time; none for a list without a wire.

    Parameters
    ----------
    design : Design
        The loom.
    result : Result, optional
        Outcome of the rules; the steps hang on the design alone.
    """
    if not design.harness.wires:
        return ()
    return tuple(PowerStep(number, *step) for number, step in enumerate(_Steps(design).all(), 1))


def _names(names: Iterable[str], most: int = _TOLD) -> str:
    """Names in a sentence: ``F1, F2 and F3``."""
    told = list(dict.fromkeys(names))
    if len(told) > most:
        told = [*told[: most - 1], f"{len(told) - most + 1} more"]
    return " and ".join(filter(None, (", ".join(told[:-1]), told[-1]))) if told else ""


class _Steps:
    def __init__(self, design: Design) -> None:
        self.design = design
        self.label = partial(place_name, design.harness)
        self.fuses = sorted(self._fuses(), key=lambda f: (max(f.stage, 0), f.level, f.stage, natural_key(f.name)))

    def all(self) -> Iterator[tuple[str, str, str]]:
        yield from self._cold()
        yield from self._battery()
        for fuse in self.fuses:
            yield self._fuse(fuse)
        yield from self._controllers()
        yield from self._consumers()
        yield from self._engine()

    # ------------------------------------------------------------------ what there is
    def _fuses(self) -> Iterator[_Fuse]:
        design = self.design
        amps = self._key_on_a()
        for element in design.net.elements:
            if element.kind != "fuse":
                continue
            item = design.harness.items[element.item]
            devices, places, next_fuses = self._behind(element)
            supply = self._supply(element)
            yield _Fuse(
                item.name, item.rating_a, supply is not None and self._always_live(supply), devices, places,
                next_fuses, amps.get(element.item), (self._level(supply) or 0) if supply is not None else 0,
            )  # fmt: skip

    def _key_on_a(self) -> dict[str, float]:
        """Current of every fuse with the key on and the engine at rest, A; empty where that is not solved."""
        analysis = self.design.analysis
        state = next((n for n, s in enumerate(analysis.states) if not s.rpm and not s.starter), None)
        if state is None or not analysis.solved:
            return {}
        amps = analysis.new.settled.amps[:, state].tolist()
        return {
            part.name: abs(amps[number]) for number, part in enumerate(analysis.circuit.parts) if part.kind == "fuse"
        }

    def _level(self, contact: Contact) -> int | None:
        number = self.design.net.net_of.get(contact)
        return None if number is None else self.design.feeds.level.get(number)

    def _supply(self, element: Element) -> Contact | None:
        """Contact of a fuse that the battery feeds."""
        levels = [(level, end) for end in (element.a, element.b) if (level := self._level(end)) is not None]
        return min(levels)[1] if levels else None

    def _always_live(self, contact: Contact) -> bool:
        """Whether only fuses and isolators stand between the battery and a contact."""
        design = self.design
        start = design.net.net_of.get(contact)
        front, seen = [start], {start}
        sources = {design.net.net_of.get(source) for source in design.feeds.sources}
        beside: dict[int | None, list[int | None]] = {}
        for element in design.net.elements:
            if "isolator" in (element.kind, design.harness.items[element.item].kind) or element.kind == "fuse":
                a, b = design.net.net_of.get(element.a), design.net.net_of.get(element.b)
                beside.setdefault(a, []).append(b)
                beside.setdefault(b, []).append(a)
        level = design.feeds.level
        while front:
            number = front.pop()
            if number in sources:
                return True
            for near in beside.get(number, ()):
                nearer = near is not None and number is not None and level.get(near, 99) < level.get(number, 99)
                if near not in seen and nearer:
                    seen.add(near)
                    front.append(near)
        return False

    def _behind(self, element: Element) -> tuple[tuple[Device, ...], tuple[str, ...], tuple[str, ...]]:
        """Devices fed through a fuse up to the next ones, with the places where they are, and these fuses."""
        design, supply = self.design, self._supply(element)
        level = design.feeds.level
        # Where the list does not say what feeds the fuse, both its sides are looked at.
        outs = [end for end in (element.a, element.b) if end != supply]
        front = [number for end in outs if (number := design.net.net_of.get(end)) is not None]
        seen = set(front)
        found: dict[str, tuple[Device, Contact]] = {}
        fuses: set[str] = set()
        while front:
            number = front.pop()
            for contact in design.net.nets[number].contacts:
                device = design.devices.owner(contact)
                if device is None or device.kind in ("battery", "relay", "switch", "isolator"):
                    continue
                if design.role(contact) in FEED_ROLES and contact <= found.get(device.key, (device, contact))[1]:
                    found[device.key] = (device, contact)
            for beside, other in self._conducting.get(number, ()):
                further = level.get(other, -1) > level.get(number, 0)
                if beside.kind == "fuse" and beside.item != element.item and further:
                    fuses.add(design.harness.items[beside.item].name)
                if beside.kind != "fuse" and other not in seen and further:
                    seen.add(other)
                    front.append(other)
        ordered = sorted(found.values(), key=lambda each: (natural_key(self.label(each[1])), each[1]))
        return (
            tuple(device for device, _ in ordered), tuple(self.label(contact) for _, contact in ordered),
            tuple(sorted(fuses, key=natural_key)),
        )  # fmt: skip

    @cached_property
    def _conducting(self) -> dict[int, list[tuple[Element, int]]]:
        """Nets beside each net, through what conducts between them."""
        beside: dict[int, list[tuple[Element, int]]] = {}
        for element in self.design.net.elements:
            if element.kind in ("diode", "resistor"):
                continue
            a, b = self.design.net.net_of.get(element.a), self.design.net.net_of.get(element.b)
            if a is not None and b is not None:
                beside.setdefault(a, []).append((element, b))
                beside.setdefault(b, []).append((element, a))
        return beside

    def _ground(self) -> str:
        home = self.design.grounds.home
        return self.label(home[0].earth) if home else "the engine block"

    def _lead(self) -> str:
        return next((f"the lead of {self.label(source)}" for source in self.design.feeds.sources), self._positive())

    def _relays(self) -> str:
        relays = any(item.kind == "relay" for item in self.design.harness.items.values())
        return "Relays back in their sockets. " if relays else ""

    def _positive(self) -> str:
        return next((self.label(source) for source in self.design.feeds.sources), "the positive battery lead")

    def _controllers_named(self) -> list[Device]:
        return sorted(self.design.devices.of_kind("controller"), key=lambda d: natural_key(d.name))

    def _worked(self) -> list[tuple[str, str, bool]]:
        """Relays that a controller works: name, cavity of the controller, and whether it feeds the coil."""
        design, found = self.design, []
        for key, item in design.harness.items.items():
            if item.kind != "relay":
                continue
            coil = sorted(c for c in design.net.wires_at if c.item == key and design.role(c) == "relay coil")
            for contact in coil:
                number = design.net.net_of.get(contact)
                near = design.net.nets[number].contacts if number is not None else ()
                drivers = sorted(
                    c for c in near if (device := design.devices.owner(c)) is not None and device.kind == "controller"
                )
                if drivers:
                    others = [other for other in coil if other != contact]
                    fed = any(self._level(other) is not None for other in others)
                    found.append((item.name, self.label(drivers[0]), bool(others) and not fed))
                    break
        return sorted(found, key=lambda each: natural_key(each[0]))

    # ------------------------------------------------------------------ steps
    def _cold(self) -> Iterator[tuple[str, str, str]]:
        fuses = _names(sorted((fuse.name for fuse in self.fuses), key=natural_key))
        items = self.design.harness.items.values()
        rated = (item.name for item in items if item.kind == "power distribution" and item.rating_a)
        boards = _names(sorted(rated, key=natural_key))
        pull = f"Pull every fuse ({fuses})." if fuses else "There is no fuse in the list: put one at the battery first."
        if boards:
            pull = f"Pull every fuse{f' ({fuses})' if fuses else ''}, those of {boards} too."
        controllers = _names(device.name for device in self._controllers_named())
        first = f", {controllers} first" if controllers else ""
        yield (
            f"Take both leads off the battery. {pull} Unplug every device{first}. {self._relays()}Isolator off, "
            "key off.",
            "Continuity and isolation on this sheet have passed.",
            "Stop: put right what failed and measure it again before any battery is connected.",
        )  # fmt: skip
        yield (
            f"Isolator on, battery still off. Measure from {self._lead()} to {self._ground()}.",
            f"An overload (OL), or at least {self.design.given['isolation_least_ohm'] / 1e6:g} MΩ.",
            "Do not connect the battery: there is a short ahead of every fuse, or a machine still joined. Part the "
            "loom there until it is found.",
        )

    def _battery(self) -> Iterator[tuple[str, str, str]]:
        yield (
            f"Isolator off. Connect the negative lead, then {self._positive()} through a fused lead of {_LEAD_A:g} A "
            "with an ammeter in it. Isolator on.",
            "No spark, and 0 mA (a few mA where an alternator's regulator stays connected).",
            "Take the lead off: something draws current ahead of the fuses. Do not put in a larger fuse to try.",
        )
        live = [fuse.name for fuse in self.fuses if fuse.live]
        if live:
            yield (
                f"Key off. Measure at the supply side of {_names(sorted(live, key=natural_key))}, against "
                f"{self._ground()}.",
                "The voltage of the battery at each of them, and none on the side of the loom.",
                "No voltage: look for the break towards the battery. Voltage on the loom's side: a feed gets in past "
                "its fuse; find it before going on.",
            )
        others = ""
        if len(live) < len(self.fuses):
            others = f" Measure at the supply side of {'the other' if live else 'all'} fuses."
        yield (
            f"Key on, every fuse still out.{others} Key off again.",
            "Fuses behind the main relay or the switch may stay dead until its own fuse is in; nothing else is live.",
            "Something is fed past its fuse: find it before going on.",
        )  # fmt: skip
        worked = self._worked()
        if worked:
            low = _names(f"{cavity} for {relay}" for relay, cavity, feeds in worked if not feeds)
            high = _names(f"{cavity} for {relay}" for relay, cavity, feeds in worked if feeds)
            join = f"join {low} to {self._ground()}" if low else ""
            join += (" and " if low and high else "") + (f"join {high} to {self._positive()}" if high else "")
            yield (
                f"For the steps that follow the controller that works {_names(relay for relay, *_ in worked)} is "
                f"unplugged. Where a feed comes through one of them, {join} at its plug with a fused lead of 1 A while "
                "measuring, and take the lead off again.",
                "The relay clicks as soon as its coil is fed.",
                "No click: the coil's feed or its wire is open, or in the wrong cavity.",
            )

    def _fuse(self, fuse: _Fuse) -> tuple[str, str, str]:
        rating = f" ({fuse.rating_a:g} A)" if fuse.rating_a else ""
        fuses = f"the supply side of {_names(fuse.next_fuses)}" if fuse.next_fuses else "the plug that it feeds"
        at = f" at {_names(fuse.places) or fuses}"
        last = " Take it out again: it goes in for good when the engine is to start." if fuse.stage > 0 else ""
        key = "" if fuse.live and (fuse.places or not fuse.next_fuses) else " with the key on"
        return (
            f"Key off, fuse {fuse.name}{rating} in, its consumers still unplugged. Measure{at}{key}.{last}",
            "The voltage of the battery there, behind relays and switches once they are closed; 0 A in the ammeter.",
            f"Take {fuse.name} out. Current without a consumer: a short behind it. No voltage: a break on the way, or "
            "the wrong cavity. Voltage at another plug: wires crossed.",
        )

    def _controllers(self) -> Iterator[tuple[str, str, str]]:
        design = self.design
        for device in self._controllers_named():
            feeds = sorted((self.label(c) for c in design.devices.with_role(device, *FEED_ROLES)), key=natural_key)
            grounds = sorted((self.label(c) for c in design.devices.with_role(device, "power ground")), key=natural_key)
            if not feeds and not grounds:
                continue
            yield (
                f"{device.name} still unplugged, key on. Load each feed{f' ({_names(feeds)})' if feeds else ''} with a "
                f"lamp of 5 W{f' against {_names(grounds)}' if grounds else ''}.",
                "The lamp is bright, and the voltage at the plug stays within 0.2 V of the battery's.",
                "A dim lamp is a bad crimp or a strand: the meter alone does not show it. Find it before the "
                "controller is plugged in.",
            )
            supplies = design.devices.with_role(device, "sensor supply")
            named = _names(sorted((self.label(c) for c in supplies), key=natural_key))
            yield (
                f"Key off, plug in {device.name} with every sensor and output still unplugged. Key on.",
                (f"{named}: its regulated voltage, usually 5 V, against sensor ground. " if named else "It answers. ")
                + "The current is that of the controller alone.",
                "Key off at once, unplug it, and check its feeds, grounds and supplies against the connector sheet.",
            )
            if named:
                yield (
                    f"Plug in the sensors of {device.name} one after the other, key on after each.",
                    f"{named} stays where it was; each reading is plausible: temperatures as the air, pressures as "
                    "outside.",
                    "The last one plugged in pulls it down: unplug it and look at its wires and its pins.",
                )

    def _consumers(self) -> Iterator[tuple[str, str, str]]:
        for fuse in self.fuses:
            loads = [device.name for device in fuse.devices if device.kind not in _NO_CONSUMERS]
            if fuse.stage > 0 or not loads:
                continue
            amps = fuse.key_on_a or 0.0
            usual = f"About {amps:.2g} A in {fuse.name} with the key on"
            see = usual if amps >= _LEAST_A else f"No more than {fuse.name} is rated for"
            more = fuse.rating_a is None or fuse.rating_a > _LEAD_A
            lead = f", a lead fused as {fuse.name} in place of the one of {_LEAD_A:g} A" if more else ""
            yield (
                f"Key off, plug in {_names(loads)} ({fuse.name}){lead}. Key on, work each of them.",
                f"{see}; each works, and nothing else does.",
                "Key off, unplug what was plugged in last. A fuse that blows twice is never replaced by a larger one.",
            )

    def _states(self, but: tuple[str, ...]) -> list[str]:
        """Operating states of the voltages on this sheet, in their order, but for some."""
        return [s for s in dict.fromkeys(test.state for test in self.design.testing.voltages) if s not in but]

    def _take(self, but: tuple[str, ...]) -> str:
        states = self._states(but)
        return f"; take the voltages for {_names(states)} on this sheet" if states else ""

    def _engine(self) -> Iterator[tuple[str, str, str]]:
        if not any(device.kind in _ENGINE for device in self.design.devices.all):
            yield (
                "The battery's own lead in place of the fused one, every fuse in, every device plugged in. Switch on, "
                f"work each of them for 10 minutes{self._take(())}, feel every connector, fuse and stud.",
                "Each works, and nothing else does; nothing is warmer than its surroundings, nothing chafes or moves.",
                "Stop: what is warm has a bad joint or too thin a wire.",
            )
            return
        late = sorted((fuse.name for fuse in self.fuses if fuse.stage > 0), key=natural_key)
        dead = f"Fuse{'s' if len(late) > 1 else ''} {_names(late)} out" if late else "Coils and injectors unplugged"
        standing = [s for s in self._states(("cranking", "idle")) if s == "key on"]
        if standing:
            yield (
                f"The battery's own lead in place of the fused one. {dead}, the rest in and plugged in. Key on, engine "
                "at rest: take the voltages for key on on this sheet. Key off.",
                "The voltages for key on pass.",
                "Key off: look for the joint with the largest drop.",
            )
        machines = self.design.devices.of_kind("starter")
        if machines:
            yield (
                f"The battery's own lead in place of the fused one. {dead}, coils and injectors dead, gear out. Crank "
                "for no more than 10 s and take the voltages for cranking on this sheet.",
                "The voltages for cranking pass; the controller stays alive and sees the trigger without errors.",
                "Stop cranking: look for the joint with the largest drop, and for crossed trigger wires.",
            )
        if any(device.kind == "coil" for device in self.design.devices.all):
            yield (
                "Injectors still dead, fuel closed, no vapour about, plugs earthed in a spark tester: coils alive, "
                "crank.",
                "A spark at each plug in its order, and none with the key on and the engine at rest.",
                "Key off. A spark at rest: a coil's input floats or its ground stands off; see the ground offsets.",
            )
        yield (
            "Every fuse in, fuel on, an extinguisher at hand. Check for leaks with the pump running, then start.",
            "It starts; the oil pressure comes; the battery reaches its charging voltage.",
            "Key off. No charging voltage: look at the alternator's feed and fuse before running on.",
        )
        yield (
            f"Idle for 10 minutes with fans and pumps working{self._take(('key on', 'cranking'))}, feel every "
            "connector, fuse and stud.",
            "The voltages pass; nothing is warmer than its surroundings, nothing chafes or moves.",
            "Stop: what is warm has a bad joint or too thin a wire.",
        )
