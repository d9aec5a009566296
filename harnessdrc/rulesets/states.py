"""Operating states of a ruleset: ``[state.idle]`` and the like, merged over its bases like rules."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from harnessdrc.physics.operation import STANDARD_STATES, STATE_VALUES, OperatingState, StateValue
from harnessdrc.rulesets.faults import Faults, did_you_mean, dotted, found, nearest, quoted
from harnessdrc.rulesets.files import RulesetFile
from harnessdrc.rulesets.limits import WrongValue, number
from harnessdrc.rulesets.shape import Draft, Shape

__all__ = ["StateTables"]

_SWITCHES = ("starter", "alternator")
_VALUES = (*STATE_VALUES, *_SWITCHES)
_KEYS = ("like", "meaning", *_VALUES, "current_a", "source", "off", "reason")
_NOT_DRAWING = ("alternator", "battery")


class StateTables(Shape):
    """Takes the states of ruleset files one by one.

    Parameters
    ----------
    known_components : collection of str
        Kinds of component that a state may give a current. Without them any kind passes.
    faults : Faults
        Gets every sentence.
    """

    def __init__(self, known_components: Collection[str], faults: Faults) -> None:
        super().__init__(faults)
        self.known_components = known_components
        self.states: dict[str, Draft] = {}
        self._solved: dict[str, OperatingState | None] = {}

    def take(self, ruleset_file: RulesetFile) -> None:
        """Add what one file says to what the files it is based on said."""
        self.file = ruleset_file.shown
        for name, table in self._tables(ruleset_file.content, "state"):
            self._take_state(name, table)

    def finish(self) -> tuple[tuple[OperatingState, ...], tuple[tuple[str, str], ...]]:
        """States that are on, in the order of the files, and those switched off with the reason."""
        states = tuple(
            state
            for name, draft in self.states.items()
            if (state := self._state(name, ())) is not None and draft.off is None
        )
        off = tuple((name, draft.off) for name, draft in self.states.items() if draft.off is not None)
        return states, off

    def _take_state(self, name: str, table: Mapping[str, Any]) -> None:
        where = dotted("state", name)
        if self._is_off(table, where):
            self._switch_off(name, table, where, "state", _KEYS, self.states)
            return
        inherited = self.states.get(name)
        draft = self.states.setdefault(name, Draft(self.file))
        draft.file = self.file
        if inherited is not None:
            self._switch_on(inherited, table, where)
        if "reason" in table:
            sentence = "'reason' is for a state that is switched off; say under 'meaning' what the state is"
            self._fault(where, sentence, draft)
        draft.excused |= self._unknown_keys(table, _KEYS, where, draft)
        for key in ("like", "meaning", "source"):
            if key in table:
                self._take_text(table[key], key, where, draft)
        for key, form in STATE_VALUES.items():
            if key in table:
                draft.keys[key] = self._number(table[key], f"{where}.{key}", form, draft)
        for key in _SWITCHES:
            if key in table:
                draft.keys[key] = table[key]
                if not isinstance(table[key], bool):
                    self._fault(f"{where}.{key}", f"expected true or false, found {found(table[key])}", draft)
        if "current_a" in table:
            self._take_currents(table["current_a"], f"{where}.current_a", draft)
        if inherited is not None:
            changed = [key for key in ("like", *_VALUES, "current_a") if key in table]
            self._own_source(changed, table, draft)

    def _number(self, value: Any, where: str, form: StateValue, draft: Draft) -> Any:
        upto = "not below 0" if math.isinf(form.high) else f"from {form.low:g} to {form.high:g}"
        expected = f"a number in {form.unit} {upto}"
        try:
            converted = number(value, expected)
            if not form.low <= converted <= form.high:
                raise WrongValue(f"expected {expected}, found {found(value)}")
        except WrongValue as wrong:
            self._fault(where, str(wrong), draft)
            return value
        return converted

    def _take_currents(self, table: Any, where: str, draft: Draft) -> None:
        if not isinstance(table, Mapping):
            sentence = f"expected a table of currents such as {{ fan = 20 }}, found {found(table)}"
            self._fault(where, sentence, draft)
            return
        for kind, value in table.items():
            if kind in _NOT_DRAWING:
                remedy = "give the current into the battery as charge_a"
                self._fault(where, f"{quoted(kind)} is no load; {remedy}", draft)
            elif self.known_components and kind not in self.known_components:
                self._fault(where, did_you_mean(kind, self.known_components, what="as a kind of component"), draft)
            else:
                form = StateValue("A", "current", 0.0, math.inf)
                draft.limits[kind] = self._number(value, dotted_onto(where, kind), form, draft)

    # The finished state

    def _state(self, name: str, way: tuple[str, ...]) -> OperatingState | None:
        """The state of this name, with what it has from the state it is like; None after a fault."""
        if name not in self._solved:
            self._solved[name] = self._worked_out(name, way)
        return self._solved[name]

    def _worked_out(self, name: str, way: tuple[str, ...]) -> OperatingState | None:
        draft = self.states[name]
        self.file = draft.file
        where = dotted("state", name)
        like: str | None = draft.keys.get("like")
        model: OperatingState | None = None
        if like is not None:
            if like not in self.states:
                self._fault(f"{where}.like", did_you_mean(like, self.states, what="as a state of this ruleset"), draft)
                return None
            if like == name or like in way:
                round_trip = " → ".join((*way[way.index(like) :], name, like) if like in way else (name, like))
                self._fault(f"{where}.like", f"goes round in a loop: {round_trip}", draft)
                return None
            model = self._state(like, (*way, name))
            self.file = draft.file
            if model is None:  # told at the state it is like
                return None
        elif name not in STANDARD_STATES:
            if "like" not in draft.excused:
                close = nearest(name, STANDARD_STATES)
                hint = f"; did you mean {dotted('state', close)}?" if close else ""
                self._fault(
                    where,
                    f"'like' is missing: a state of your own says which one of {', '.join(STANDARD_STATES)} it is "
                    f'like, so that each component knows what it draws; write like = "..."{hint}',
                    draft,
                )
            return None
        else:
            self._missing_values(where, draft)
        return self._built(name, draft, model) if draft.sound else None

    def _missing_values(self, where: str, draft: Draft) -> None:
        self._missing(where, ("meaning", "source"), draft)
        for key in _VALUES:
            if key not in draft.keys and key not in draft.excused:
                example = f"a number in {STATE_VALUES[key].unit}" if key in STATE_VALUES else "true or false"
                self._fault(where, f"{quoted(key)} is missing; give {example}", draft)

    def _built(self, name: str, draft: Draft, model: OperatingState | None) -> OperatingState | None:
        own = draft.keys
        values = {key: own[key] if key in own else getattr(model, key) for key in _VALUES}
        currents = {**(model.current_a if model else {}), **draft.limits}
        changed = [key for key in _VALUES if key in own] + (["current_a"] if draft.limits else [])
        meaning, source = own.get("meaning"), own.get("source")
        if model is not None:
            meaning = meaning or (f"as {model.name}, but for {_listed(changed)}" if changed else f"as {model.name}")
            here = f"{_listed(changed)} set in {Path(draft.file).name}; " if changed else ""
            source = source or f"{here}as {model.name}: {model.source}"
        if values["charge_a"] > 0.0 and not values["alternator"]:
            where = dotted("state", name)
            self._fault(where, "only the alternator charges the battery; set charge_a = 0 or alternator = true", draft)
            return None
        return OperatingState(
            name=name,
            meaning=str(meaning),
            like=model.names if model else (),
            current_a=MappingProxyType(currents),
            source=str(source),
            **values,
        )


def dotted_onto(where: str, key: str) -> str:
    """The dotted key `where` with one more key."""
    return f"{where}.{dotted(key)}"


def _listed(names: list[str]) -> str:
    return " and ".join(names) if len(names) < 3 else f"{', '.join(names[:-1])} and {names[-1]}"
