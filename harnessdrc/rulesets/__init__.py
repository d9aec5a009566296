"""Rulesets: which checks run, on what, in which operating states, with which limits, how grave, why, on whose word.

A ruleset is a TOML file; README shows the form. Loading one either gives a `Ruleset` that the engine can
run as it stands, or raises one `RulesetError` that lists every fault at once. A ruleset can be based on
another, shipped or beside it, and then states only what differs: keys of the same rule are merged one by one.

A ruleset never runs code on its own word. Packages with further checks are imported only when the caller
allows them by name.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fnmatch import translate
from functools import lru_cache
from pathlib import Path
from typing import Any, Protocol

from harnessdrc.errors import CommandError, RulesetError
from harnessdrc.findings import Grade, Subject
from harnessdrc.physics.operation import OperatingState
from harnessdrc.rulesets.faults import Faults, did_you_mean, quoted
from harnessdrc.rulesets.files import read_chain, shipped_rulesets

__all__ = [
    "CheckInfo",
    "Given",
    "Rule",
    "Ruleset",
    "Scope",
    "given_overrides",
    "load_ruleset",
    "shipped_rulesets",
]


class CheckInfo(Protocol):
    """What a ruleset must know of a check."""

    @property
    def name(self) -> str:
        """``module.function``."""

    @property
    def limits(self) -> type | None:
        """Frozen dataclass of its limits; the metadata of each field has ``unit`` and ``meaning``."""


@dataclass(frozen=True, slots=True)
class Given:
    """A value that stands in where the lists say nothing.

    Parameters
    ----------
    value : float or str
        In `unit`.
    unit : str
        As the project writes it: ``degC``, ``ohm``; empty for a bare number and for a text.
    reason, source : str
        Why this value, and whose word it is: a publication, or ``common practice``.
    """

    value: float | str
    unit: str
    reason: str
    source: str


@dataclass(frozen=True, slots=True)
class Scope:
    """Which subjects a rule looks at, by patterns of ``kind:name``.

    ``*`` stands for any run of characters, ``?`` for one and ``[ab]`` for one of those within; capitals and
    small letters are the same.

    Parameters
    ----------
    only : tuple of str
        When not empty, a subject must fit one of these.
    except_ : tuple of str
        A subject that fits one of these is left out.
    """

    only: tuple[str, ...] = ()
    except_: tuple[str, ...] = ()

    def takes(self, subject: Subject) -> bool:
        """Whether the rule looks at this subject."""
        if not self.only and not self.except_:
            return True
        kind, name = subject[0].casefold(), subject[1].casefold()
        if self.only and not any(_fits(pattern, kind, name) for pattern in self.only):
            return False
        return not any(_fits(pattern, kind, name) for pattern in self.except_)


@dataclass(frozen=True, slots=True)
class Rule:
    """A check bound to its limits, scope and grade, with the reason and the source.

    Parameters
    ----------
    name : str
        Its key in the ruleset.
    check : str
        Name of the check.
    grade : {"hold", "query", "note"}
        What a finding means for the build.
    limits : object or None
        Instance of the check's limits, defaults filled in; None for a check without limits.
    scope : Scope
        Subjects looked at.
    reason, source : str
        Why the rule stands, and whose word it is.
    """

    name: str
    check: str
    grade: Grade
    limits: Any
    scope: Scope
    reason: str
    source: str


@dataclass(frozen=True, slots=True)
class Ruleset:
    """Rules ready to be run.

    Parameters
    ----------
    name, issue, title : str
        As stated in the file.
    file : Path
        The file that was asked for.
    given : mapping of str to Given
        Values that stand in where the lists say nothing.
    rules : tuple of Rule
        Those of the first base first.
    rules_off : tuple of (str, str)
        Name of each rule that is switched off, and why.
    packages : tuple of str
        Packages with further checks, imported.
    based_on : tuple of str
        Rulesets it builds on, the nearest first.
    states : tuple of OperatingState
        States the loom is looked at in, in the order of the files.
    states_off : tuple of (str, str)
        Name of each state that is switched off, and why.
    """

    name: str
    issue: str
    title: str
    file: Path
    given: Mapping[str, Given]
    rules: tuple[Rule, ...]
    rules_off: tuple[tuple[str, str], ...] = ()
    packages: tuple[str, ...] = ()
    based_on: tuple[str, ...] = field(default=())
    states: tuple[OperatingState, ...] = field(default=())
    states_off: tuple[tuple[str, str], ...] = field(default=())


def load_ruleset(
    name_or_path: str,
    *,
    checks: Mapping[str, CheckInfo],
    allowed_packages: Collection[str] = (),
    known_given: Mapping[str, str] | None = None,
    known_kinds: Collection[str] = (),
    known_components: Collection[str] = (),
) -> Ruleset:
    """Load a ruleset by the name of a shipped one or the path of a file.

    Parameters
    ----------
    name_or_path : str
        ``engine-loom`` or ``rules/workshop.toml``.
    checks : mapping of str to CheckInfo
        Checks by name. Packages register theirs while they are imported, so this is to be the live mapping.
    allowed_packages : collection of str
        Packages that the command line allows to be imported.
    known_given : mapping of str to str, optional
        Unit of each value that may be given; ``text`` for a text. Without it any name and unit passes.
    known_kinds : collection of str
        Kinds of subject, to catch a mistyped one in a scope. Without it any kind passes.
    known_components : collection of str
        Kinds of component, to catch a mistyped one in the currents of a state. Without it any kind passes.

    Returns
    -------
    Ruleset

    Raises
    ------
    RulesetError
        With every fault at once.
    """
    from harnessdrc.rulesets.building import Building

    faults = Faults(name_or_path)
    chain = read_chain(name_or_path, faults)
    allowed, kinds = frozenset(allowed_packages), frozenset(known_kinds)
    building = Building(checks, allowed, known_given, kinds, known_components, faults)
    for ruleset_file in chain:
        building.take(ruleset_file)
    ruleset = building.finish(chain)
    if faults.sentences or ruleset is None:
        raise RulesetError(name_or_path, faults.sentences)
    return ruleset


_ASSIGNMENT = re.compile(r"\s*(?P<name>[^=]*?)\s*=\s*(?P<value>.*?)\s*", re.DOTALL)
_QUANTITY = re.compile(
    r"(?P<number>[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)\s*(?P<unit>[^\d\s.,+-].*)?"
)


def given_overrides(
    texts: Sequence[str], ruleset: Ruleset, *, known_given: Mapping[str, str] | None = None
) -> Ruleset:
    """The ruleset with values given on the command line in place of its own.

    Parameters
    ----------
    texts : sequence of str
        ``key=value`` each; the value may carry its unit: ``ambient_degc=95`` or ``ambient_degc=95 degC``.
    ruleset : Ruleset
        Its given values may be overridden.
    known_given : mapping of str to str, optional
        Unit of further values that may be given although the ruleset does not.

    Raises
    ------
    CommandError
        For names that are not known, values that are none and units that differ, all at once.
    """
    units = {**(known_given or {}), **{name: each.unit for name, each in ruleset.given.items()}}
    for name, each in ruleset.given.items():
        if isinstance(each.value, str):
            units[name] = "text"
    given, seen, sentences = dict(ruleset.given), set[str](), []
    for text in texts:
        assignment = _ASSIGNMENT.fullmatch(text)
        where = f"--given {quoted(text)}"
        if assignment is None or not assignment["name"]:
            sentences.append(f"{where}: expected key=value, for example ambient_degc=85.")
            continue
        name, written = assignment["name"], assignment["value"]
        if name not in units:
            sentences.append(f"{where}: {did_you_mean(name, units, what='as a given value')}")
            continue
        if name in seen:
            sentences.append(f"{where}: {quoted(name)} is given twice; give it once.")
            continue
        seen.add(name)
        try:
            value = _given_value(written, units[name])
        except ValueError as error:
            sentences.append(f"{where}: {error}")
            continue
        unit = "" if isinstance(value, str) else units[name]
        given[name] = Given(value, unit, "given on the command line", "--given")
    if sentences:
        raise CommandError("\n".join(sentences))
    return replace(ruleset, given=given) if seen else ruleset


def plain_unit(unit: str) -> str:
    """A unit as the project writes it: ``°C`` is ``degC``, ``mΩ`` is ``mohm``, ``mm²`` is ``mm2``."""
    for sign, word in _SIGNS:
        unit = unit.replace(sign, word)
    return unit.strip()


_SIGNS = (
    ("°", "deg"),
    ("℃", "degC"),
    ("Ω", "ohm"),
    ("Ω", "ohm"),
    ("µ", "u"),
    ("μ", "u"),
    ("²", "2"),
    ("³", "3"),
    ("·", "."),
)


def _given_value(written: str, unit: str) -> float | str:
    if unit == "text":
        if not written:
            raise ValueError("expected a text after the equals sign.")
        return written
    in_unit = f" in {unit}" if unit else ""
    quantity = _QUANTITY.fullmatch(written)
    if quantity is None:
        hint = ""
        if re.fullmatch(r"[+-]?\d+,\d+.*", written):
            hint = f"; write the decimal point as {quoted(written.replace(',', '.', 1))}"
        raise ValueError(f"expected a number{in_unit}, found {quoted(written)}{hint}.")
    stated = quantity["unit"]
    if stated is not None and plain_unit(stated) != plain_unit(unit):
        wanted = quoted(unit) if unit else "a bare number"
        raise ValueError(f"the unit {quoted(stated)} does not fit; expected {wanted}.")
    value = float(quantity["number"])
    if value in (float("inf"), float("-inf")):
        raise ValueError(f"expected a number{in_unit} that is finite, found {quoted(written)}.")
    return value


def _fits(pattern: str, kind: str, name: str) -> bool:
    kinds, names = _matchers(pattern)
    return kinds.match(kind) is not None and names.match(name) is not None


@lru_cache(maxsize=4096)
def _matchers(pattern: str) -> tuple[re.Pattern[str], re.Pattern[str]]:
    kind, _, name = pattern.casefold().partition(":")
    return re.compile(translate(kind.strip())), re.compile(translate(name.strip()))
