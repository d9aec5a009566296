"""Checks on the contacts of relays and switches."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from harnessdrc.checks.contactloads import Carried, ContactLoads, rated
from harnessdrc.checks.offsets import lacking_words
from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.design import Design
from harnessdrc.design.devices import Device
from harnessdrc.findings import Finding, Mark, Undecided, beyond, figures
from harnessdrc.harness.connectivity import Element

__all__ = ["rating"]

_TOLD_LOADS = 3


@dataclass(frozen=True, slots=True)
class RatingLimits:
    """How many times the current through it a contact has to be rated for, by what the current goes to."""

    lamp_times: float = limit(5.0, "times", "rating over the current of lamps, whose cold filaments draw much more")
    motor_times: float = limit(2.0, "times", "rating over the current of fans, pumps and other motors")
    inductive_times: float = limit(2.0, "times", "rating over the current of solenoids, injectors and coils")
    resistive_times: float = limit(1.0, "times", "rating over the current of heaters and electronics")


class _Asked(NamedTuple):
    """One contact in the state that asks most of it, with what is asked at the least and at the most."""

    element: Element
    carried: Carried
    low_times: float
    high_times: float

    @property
    def low_a(self) -> float:
        """Rating that it needs at the least, A."""
        return self.carried.current_a * self.low_times

    @property
    def high_a(self) -> float:
        """Rating that it needs at the most, A."""
        return self.carried.current_a * self.high_times


@check(
    "contact.rating",
    counts="relays and switches with a rated contact",
    subjects=lambda design, limits: [device.subject for device in rated(design)],
    reads=("contact_a", "current_a", "kind"),
    limits=RatingLimits,
    says={
        "": "The contact of {subject} to {output} carries {current_a} A{when}, to {loads}; it is rated {rating_a} A, "
        "{measured} that (limit {limit} for {kinds}: {needed_a} A).",
    },
    remedy={"": "Fit a contact rated {needed_a} A or more, or part the loads over two."},
)
def rating(design: Design, limits: RatingLimits) -> Iterator[Outcome]:
    """A relay or switch contact is rated too low for what it switches.

    Why it matters: A lamp draws eight to ten times its current for the first moment, a motor several times; a coil
    draws an arc as it is switched off. A contact that carries the steady current for years welds or burns on them.
    Reads: Contact rating, Kind and Current of the component list; Current of the wire list where it is higher.
    Decides: The rating of the contact, a resistive one, over the average current through it in A, in the operating
    state that asks most; at least lamp_times for lamps, motor_times, inductive_times, resistive_times. For several
    loads behind it, each limit counts by its part of the current. The coils of further relays behind it are left out. A
    load that may be anything is carried as a range from resistive to lamp.
    Stays silent when: the rating is high enough, or none is given: the column is for those who want it looked at, so
    a relay or switch without a rating is neither found nor counted as not decided.
    Source: AC 43.13-1B, derating of switches, nominal over continuous at 12 V: lamp 5, inductive 2, resistive 1,
    motor 2 (from memory); at 28 V it has 8, 4, 2 and 3.
    """
    devices = rated(design)
    if not devices:
        return
    contacts = ContactLoads(design)
    for device in devices:
        mark = _mark(design, device)
        elements = contacts.elements(device)
        if words := lacking_words(design):
            yield Undecided(device.subject, words, mark)
            continue
        if not any(contacts.reached(element) for element in elements):
            missing = f"a way from both ends of the contact of {device.name} to the battery"
            if any(contacts.shorted(element) for element in elements):
                missing = f"a feed through {device.name} that is not shorted to ground"
            yield Undecided(device.subject, (missing,), mark)
            continue
        asked = [_asked(contacts, element, limits) for element in elements if contacts.reached(element)]
        yield from _judged(design, contacts, device, asked, limits, mark)


def _mark(design: Design, device: Device) -> tuple[Mark, ...]:
    place = device.item.cell("contact_a")
    return (Mark(place, f"contact of {device.name}"),) if place else design.devices.mark_device(device)


def _times(shares: Mapping[str, float], limits: RatingLimits) -> tuple[float, float]:
    """Rating over current that a mixture of loads asks for, at the least and at the most."""
    by_class = {
        "lamp": limits.lamp_times, "motor": limits.motor_times, "inductive": limits.inductive_times,
        "resistive": limits.resistive_times,
    }  # fmt: skip
    known = sum(share * by_class[name] for name, share in shares.items() if name)
    unknown = shares.get("", 0.0)
    return known + unknown * min(by_class.values()), known + unknown * max(by_class.values())


def _asked(contacts: ContactLoads, element: Element, limits: RatingLimits) -> _Asked:
    found = [_Asked(element, carried, *_times(carried.shares, limits)) for carried in contacts.carried(element)]
    # Of states that ask as much the first stands, whatever the last digits say.
    return max(found, key=lambda asked: round(asked.high_a, 9))


def _judged(
    design: Design, contacts: ContactLoads, device: Device, asked: list[_Asked], limits: RatingLimits,
    mark: tuple[Mark, ...],
) -> Iterator[Outcome]:  # fmt: skip
    rating_a = device.item.details.contact_a or 0.0
    worst = max(asked, key=lambda each: round(each.low_a, 9))
    if worst.carried.current_a > 0.0 and beyond(worst.low_a, rating_a):
        carried = worst.carried
        yield Finding(
            device.subject,
            mark,
            {
                "output": design.label(contacts.output(worst.element)), "current_a": figures(carried.current_a),
                "when": f" in {carried.state}" if carried.state else " by the list",
                "loads": _loads(carried), "kinds": _kinds(carried), "rating_a": figures(rating_a),
                "needed_a": figures(worst.low_a),
                "shares": {name or "not known": round(share, 4) for name, share in sorted(carried.shares.items())},
            },
            measured=round(rating_a / carried.current_a, 6), limit=round(worst.low_times, 6), unit="times",
        )  # fmt: skip
        return
    missing: dict[str, None] = {}
    for each in asked:
        if contacts.listed_a(each.element) is None:
            missing |= dict.fromkeys((*contacts.unknown(each.element), *contacts.uncounted(each.element)))
        if beyond(each.high_a, rating_a):
            missing |= dict.fromkeys(contacts.unknown_kinds(each.element))
    if missing:
        yield Undecided(device.subject, tuple(missing), mark)


def _loads(carried: Carried) -> str:
    names = [f"{name} ({figures(current_a)} A)" for name, current_a in carried.loads[:_TOLD_LOADS]]
    if len(carried.loads) > _TOLD_LOADS:
        names.append(f"{len(carried.loads) - _TOLD_LOADS} more")
    return ", ".join(names) if names else "what hangs on it"


_WORDS = {
    "lamp": "lamps", "motor": "motors", "inductive": "inductive loads", "resistive": "resistive loads",
    "": "loads of unknown kind",
}  # fmt: skip


def _kinds(carried: Carried) -> str:
    order = sorted(carried.shares, key=lambda name: (-round(carried.shares[name], 6), name))
    words = [_WORDS[name] for name in order if carried.shares[name] > 0.0]
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + f" and {words[-1]}"
