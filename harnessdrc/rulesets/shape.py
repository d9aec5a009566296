"""Shape of a ruleset's tables: keys that are known, text where text is due, and lists of it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from harnessdrc.rulesets.faults import Faults, did_you_mean, dotted, found, nearest, quoted

__all__ = ["Draft", "Shape"]

_MOST_UNKNOWN = 50


@dataclass(slots=True)
class Draft:
    """A rule, a state or a given value while the files add to it; `sound` is False after a fault in it."""

    file: str
    keys: dict[str, Any] = field(default_factory=dict)
    limits: dict[str, Any] = field(default_factory=dict)
    off: str | None = None
    excused: set[str] = field(default_factory=set)
    """Keys that are not asked for again, since a mistyped key told of them."""
    sound: bool = True


class Shape:
    """Looks at tables of one file after the other and gathers what is wrong with them.

    Parameters
    ----------
    faults : Faults
        Gets every sentence.
    """

    def __init__(self, faults: Faults) -> None:
        self.faults = faults
        self.file = faults.main

    def _fault(self, where: str, sentence: str, draft: Draft | None = None) -> None:
        if draft is not None:
            draft.sound = False
        self.faults.add(self.file, where, sentence)

    def _unknown_keys(
        self, table: Mapping[str, Any], known: Collection[str], where: str, draft: Draft | None = None
    ) -> set[str]:
        """Tell of keys that are not known; the keys they were most likely meant to be."""
        meant = set()
        unknown = [key for key in table if key not in known]
        for key in unknown[:_MOST_UNKNOWN]:
            self._fault(where, did_you_mean(key, known), draft)
            close = nearest(key, known)
            if close is not None:
                meant.add(close)
        if len(unknown) > _MOST_UNKNOWN:
            self._fault(where, f"{len(unknown) - _MOST_UNKNOWN} further keys are not known here", draft)
        return meant

    def _tables(self, content: Mapping[str, Any], key: str) -> list[tuple[str, Mapping[str, Any]]]:
        tables = content.get(key, {})
        if not isinstance(tables, Mapping):
            self._fault(key, f"expected tables such as [{key}.name], found {found(tables)}")
            return []
        sound = []
        for name, table in tables.items():
            if not isinstance(table, Mapping):
                sentence = f"expected a table [{dotted(key, name)}], found {found(table)}"
                self._fault(dotted(key, name), sentence)
            elif not name.strip() or not name.isprintable():
                self._fault(dotted(key, name), "expected a name that can be read on one line")
            else:
                sound.append((name, table))
        return sound

    def _text(self, value: Any, where: str, draft: Draft | None = None) -> bool:
        if isinstance(value, str) and value.strip():
            return True
        self._fault(where, f"expected text, found {found(value)}", draft)
        return False

    def _text_list(self, value: Any, where: str, draft: Draft | None = None) -> list[str]:
        if not isinstance(value, list):
            self._fault(where, f"expected a list of text, found {found(value)}", draft)
            return []
        texts: list[str] = []
        for place, each in enumerate(value, 1):
            if not isinstance(each, str) or not each.strip():
                self._fault(where, f"entry {place} of the list: expected text, found {found(each)}", draft)
            elif each in texts:
                self._fault(where, f"{quoted(each)} stands twice in the list", draft)
            else:
                texts.append(each)
        return texts

    def _missing(self, where: str, needed: Collection[str], draft: Draft, *, unit: str | None = None) -> None:
        """Tell of keys that no file states, and that no mistyped or faulty key stands for."""
        for key in needed:
            if key not in draft.keys and key not in draft.excused:
                example = f'"{unit}"' if key == "unit" and unit else "..."
                self._fault(where, f"{quoted(key)} is missing; write {key} = {example}", draft)

    def _take_text(self, value: Any, key: str, where: str, draft: Draft) -> None:
        if self._text(value, f"{where}.{key}", draft):
            draft.keys[key] = value.strip()
        else:
            draft.excused.add(key)

    def _own_source(self, changed: list[str], table: Mapping[str, Any], draft: Draft) -> None:
        """Say whose figure it is: a base's source must not be cited for what the base does not say."""
        if changed and "source" not in table and "source" in draft.keys:
            here = Path(self.file).name
            draft.keys["source"] = f"{' and '.join(changed)} set in {here}; its base: {draft.keys['source']}"

    # Switching off what a base says

    def _is_off(self, table: Mapping[str, Any], where: str) -> bool:
        """Whether a table says ``off = true``; an ``off`` that cannot be understood is told and counts as true."""
        off = table.get("off", False)
        if isinstance(off, bool):
            return off
        self._fault(f"{where}.off", f"expected true or false, found {found(off)}")
        return True

    def _switch_off(
        self,
        name: str,
        table: Mapping[str, Any],
        where: str,
        what: str,
        known: Collection[str],
        drafts: Mapping[str, Draft],
    ) -> None:
        """Switch off the rule or state (`what`) that `table` names; it takes the reason."""
        self._unknown_keys(table, known, where)
        spare = [key for key in known if key in table and key not in ("off", "reason")]
        if spare:
            listed = ", ".join(quoted(key) for key in spare)
            self._fault(where, f"a {what} that is switched off takes a reason alone; leave out {listed}")
        reason = table.get("reason")
        if reason is None:
            self._fault(where, f"'reason' is missing: switching a {what} off takes the reason")
        elif not self._text(reason, f"{where}.reason"):
            reason = None
        if name not in drafts:
            others = [other for other, draft in drafts.items() if draft.file != self.file]
            nearby = did_you_mean(name, others, what=f"among the {what}s this ruleset is based on")
            self._fault(where, f"nothing can be switched off here: {nearby}")
            return
        drafts[name].off = reason.strip() if isinstance(reason, str) else ""

    def _switch_on(self, draft: Draft, table: Mapping[str, Any], where: str) -> None:
        """Take up again what a base switched off, which has to be said."""
        if draft.off is None:
            return
        if "off" not in table:
            sentence = "is switched off in the ruleset this one is based on; add off = false to switch it on"
            self._fault(where, sentence, draft)
        draft.off = None
