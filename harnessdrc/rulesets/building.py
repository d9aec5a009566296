"""Builds a ruleset from its files, the first base first, and gathers every fault on the way."""

from __future__ import annotations

import importlib
import re
from collections.abc import Collection, Mapping
from typing import Any

from harnessdrc.findings import GRADES
from harnessdrc.rulesets import CheckInfo, Given, Rule, Ruleset, Scope, plain_unit
from harnessdrc.rulesets.faults import Faults, did_you_mean, dotted, found, nearest, quoted
from harnessdrc.rulesets.files import RulesetFile
from harnessdrc.rulesets.limits import LimitField, WrongValue, limit_fields, limit_value, number
from harnessdrc.rulesets.shape import Draft, Shape
from harnessdrc.rulesets.states import StateTables

__all__ = ["Building"]

_TOP_KEYS = ("name", "issue", "title", "based_on", "given", "state", "rule", "packages")
_GIVEN_KEYS = ("value", "unit", "reason", "source")
_RULE_KEYS = ("check", "grade", "reason", "source", "limits", "scope", "off")
_SCOPE_KEYS = ("only", "except")
_PACKAGE_KEYS = ("checks",)
_PACKAGE_NAME = re.compile(r"[^\W\d]\w*(\.[^\W\d]\w*)*")


class Building(Shape):
    """Takes ruleset files one by one.

    Parameters
    ----------
    checks, allowed_packages, known_given, known_kinds, known_components
        As for `harnessdrc.rulesets.load_ruleset`.
    faults : Faults
        Gets every sentence.
    """

    def __init__(
        self,
        checks: Mapping[str, CheckInfo],
        allowed_packages: Collection[str],
        known_given: Mapping[str, str] | None,
        known_kinds: Collection[str],
        known_components: Collection[str],
        faults: Faults,
    ) -> None:
        super().__init__(faults)
        self.checks, self.allowed, self.known_given = checks, allowed_packages, known_given
        self.known_kinds = {kind.casefold() for kind in known_kinds}
        self.packages: dict[str, bool] = {}
        self.given: dict[str, Draft] = {}
        self.rules: dict[str, Draft] = {}
        self.states = StateTables(known_components, faults)

    def take(self, ruleset_file: RulesetFile) -> None:
        """Add what one file says to what the files it is based on said."""
        self.file = ruleset_file.shown
        content = ruleset_file.content
        excused = self._unknown_keys(content, _TOP_KEYS, "")
        for key in ("name", "issue"):
            if key in content:
                self._text(content[key], key)
            elif key not in excused:
                self._fault("", f'{quoted(key)} is missing; write {key} = "..."')
        if "title" in content:
            self._text(content["title"], "title")
        self._take_packages(content.get("packages"))
        for name, table in self._tables(content, "given"):
            self._take_given(name, table)
        self.states.take(ruleset_file)
        for name, table in self._tables(content, "rule"):
            self._take_rule(name, table)

    def finish(self, chain: list[RulesetFile]) -> Ruleset | None:
        """The ruleset, or None when anything is at fault."""
        given = {name: each for name, draft in self.given.items() if (each := self._given(name, draft))}
        states, states_off = self.states.finish()
        rules: dict[str, Rule] = {}
        for name, draft in self.rules.items():
            rule = self._rule(name, draft)
            if rule is not None and draft.off is None:
                self._same_as_another(rule, rules, draft)
                rules[name] = rule
        if self.faults.sentences:
            return None
        top = chain[-1]
        return Ruleset(
            top.content["name"].strip(),
            top.content["issue"].strip(),
            top.content.get("title", "").strip(),
            top.path,
            given,
            tuple(rules.values()),
            tuple((name, draft.off) for name, draft in self.rules.items() if draft.off is not None),
            tuple(self.packages),
            tuple(each.shown for each in chain[-2::-1]),
            states,
            states_off,
        )

    # Packages

    def _take_packages(self, table: Any) -> None:
        if table is None:
            return
        if not isinstance(table, Mapping):
            self._fault("packages", f"expected a table with the key 'checks', found {found(table)}")
            return
        self._unknown_keys(table, _PACKAGE_KEYS, "packages")
        for package in self._text_list(table.get("checks", []), "packages.checks"):
            if package not in self.packages:
                self.packages[package] = self._import(package)

    def _import(self, package: str) -> bool:
        """Import one package of checks, if the caller allows it; whether it is there."""
        where = "packages.checks"
        if not _PACKAGE_NAME.fullmatch(package):
            self._fault(where, f"{quoted(package)} is no name of a Python package")
        elif package not in self.allowed:
            self._fault(
                where,
                f"the package {quoted(package)} is not allowed: a ruleset cannot run code on its own word; "
                f"if you trust the package, add --allow-checks {package} to the command",
            )
        else:
            try:
                importlib.import_module(package)
                return True
            except ImportError as error:
                self._fault(
                    where,
                    f"the package {quoted(package)} cannot be imported ({_one_line(error)}); install it "
                    "where harnessdrc is installed",
                )
            except (Exception, SystemExit) as error:
                told = f"{type(error).__name__}: {_one_line(error)}"
                self._fault(where, f"the package {quoted(package)} fails while it is imported ({told})")
        return False

    # Given values

    def _take_given(self, name: str, table: Mapping[str, Any]) -> None:
        where = dotted("given", name)
        inherited = name in self.given
        draft = self.given.setdefault(name, Draft(self.file))
        draft.file = self.file
        if self.known_given is not None and name not in self.known_given:
            known = did_you_mean(name, self.known_given, what="as a given value")
            self._fault(dotted("given"), known, draft)
        draft.excused |= self._unknown_keys(table, _GIVEN_KEYS, where, draft)
        expected_unit = None if self.known_given is None else self.known_given.get(name)
        for key in ("reason", "source"):
            if key in table:
                self._take_text(table[key], key, where, draft)
        if "unit" in table:
            unit = table["unit"]
            if not isinstance(unit, str):
                self._fault(f"{where}.unit", f"expected text, found {found(unit)}", draft)
            elif expected_unit is not None and plain_unit(unit) != plain_unit(expected_unit):
                wanted = quoted(expected_unit) if expected_unit else "an empty unit"
                self._fault(f"{where}.unit", f"expected {wanted}, found {found(unit)}", draft)
            draft.keys["unit"] = unit
        if "value" in table:
            value = table["value"]
            wants_text = expected_unit == "text" or (expected_unit is None and isinstance(value, str))
            if wants_text:
                self._text(value, f"{where}.value", draft)
                draft.keys["value"] = value
            else:
                in_unit = f" in {expected_unit}" if expected_unit else ""
                self._number(value, f"{where}.value", f"a number{in_unit}", draft)
            if inherited:
                self._own_source(["value"], table, draft)

    def _number(self, value: Any, where: str, expected: str, draft: Draft) -> None:
        draft.keys["value"] = value
        try:
            draft.keys["value"] = number(value, expected)
        except WrongValue as wrong:
            self._fault(where, str(wrong), draft)

    def _given(self, name: str, draft: Draft) -> Given | None:
        self.file = draft.file
        expected_unit = None if self.known_given is None else self.known_given.get(name)
        needed = [key for key in _GIVEN_KEYS if key != "unit" or expected_unit not in ("", "text")]
        self._missing(dotted("given", name), needed, draft, unit=expected_unit)
        if not draft.sound:
            return None
        unit = draft.keys.get("unit", "") if expected_unit is None else expected_unit
        if isinstance(draft.keys["value"], str):
            unit = ""
        return Given(draft.keys["value"], unit, draft.keys["reason"], draft.keys["source"])

    # Rules

    def _take_rule(self, name: str, table: Mapping[str, Any]) -> None:
        where = dotted("rule", name)
        if self._is_off(table, where):
            self._switch_off(name, table, where, "rule", _RULE_KEYS, self.rules)
            return
        inherited = self.rules.get(name)
        draft = self.rules.setdefault(name, Draft(self.file))
        draft.file = self.file
        if inherited is not None:
            self._switch_on(inherited, table, where)
        draft.excused |= self._unknown_keys(table, _RULE_KEYS, where, draft)
        for key in ("reason", "source"):
            if key in table:
                self._take_text(table[key], key, where, draft)
        self._take_check(table, where, draft, inherited is not None)
        if "grade" in table:
            self._take_grade(table["grade"], where, draft)
        if "limits" in table:
            self._take_limits(table["limits"], where, draft)
        if "scope" in table:
            self._take_scope(table["scope"], where, draft)
        if inherited is not None:
            self._own_source([key for key in ("grade", "limits", "scope") if key in table], table, draft)

    def _take_check(self, table: Mapping[str, Any], where: str, draft: Draft, inherited: bool) -> None:
        if "check" not in table:
            return
        check = table["check"]
        if not self._text(check, f"{where}.check", draft):
            draft.keys.setdefault("check", check)
        elif inherited and draft.keys.get("check", check) != check:
            self._fault(
                f"{where}.check",
                f"an inherited rule keeps its check {quoted(str(draft.keys['check']))}; give the new rule a "
                "name of its own",
                draft,
            )
        else:
            draft.keys["check"] = check
            if check not in self.checks:
                sentence = did_you_mean(check, self.checks, what="as a check")
                absent = [package for package, there in self.packages.items() if not there]
                if absent:
                    sentence += f" It may belong to {', '.join(absent)}, which is not loaded."
                self._fault(f"{where}.check", sentence, draft)

    def _take_grade(self, grade: Any, where: str, draft: Draft) -> None:
        draft.keys["grade"] = grade
        if isinstance(grade, str) and grade in GRADES:
            return
        close = nearest(grade, GRADES) if isinstance(grade, str) else None
        hint = f"; did you mean {quoted(close)}?" if close else ""
        listed = "'hold', 'query' or 'note'"
        self._fault(f"{where}.grade", f"expected {listed}, found {found(grade)}{hint}", draft)

    def _fields(self, where: str, draft: Draft) -> dict[str, LimitField] | None:
        """Limits that the rule's check takes, or None where the check is not known or not usable."""
        check = draft.keys.get("check")
        info = self.checks.get(check) if isinstance(check, str) else None
        if info is None:
            return None
        if info.limits is None:
            return {}
        try:
            return limit_fields(info.limits)
        except TypeError as error:
            self._fault(where, f"the check {quoted(info.name)} has a defect: {_one_line(error)}", draft)
            return None

    def _take_limits(self, limits: Any, where: str, draft: Draft) -> None:
        where = f"{where}.limits"
        if not isinstance(limits, Mapping):
            self._fault(where, f"expected a table of limits, found {found(limits)}", draft)
            return
        fields = self._fields(where, draft)
        if fields is None:
            return
        check = draft.keys["check"]
        if not fields and limits:
            self._fault(where, f"the check {quoted(check)} takes no limits", draft)
            return
        for name, value in limits.items():
            if name not in fields:
                self._fault(where, did_you_mean(name, fields), draft)
                continue
            try:
                draft.limits[name] = limit_value(fields[name], value)
            except WrongValue as wrong:
                self._fault(f"{where}.{name}", str(wrong), draft)
            except TypeError as error:
                self._fault(f"{where}.{name}", f"the check {quoted(check)} has a defect: {error}", draft)

    def _take_scope(self, scope: Any, where: str, draft: Draft) -> None:
        where = f"{where}.scope"
        if not isinstance(scope, Mapping):
            self._fault(where, f"expected a table with 'only' or 'except', found {found(scope)}", draft)
            return
        self._unknown_keys(scope, _SCOPE_KEYS, where, draft)
        for key in _SCOPE_KEYS:
            if key not in scope:
                continue
            patterns = self._text_list(scope[key], f"{where}.{key}", draft)
            for pattern in patterns:
                self._pattern(pattern, f"{where}.{key}", draft)
            draft.keys[key] = tuple(patterns)

    def _pattern(self, pattern: str, where: str, draft: Draft) -> None:
        kind, colon, name = pattern.partition(":")
        if not colon or not kind.strip() or not name.strip():
            expected = "'kind:name' such as 'component:coil*'"
            self._fault(where, f"expected {expected}, found {found(pattern)}", draft)
            return
        literal = not any(sign in kind for sign in "*?[")
        if literal and self.known_kinds and kind.strip().casefold() not in self.known_kinds:
            sentence = did_you_mean(kind.strip(), self.known_kinds, what="as a kind of subject")
            self._fault(where, sentence, draft)

    def _rule(self, name: str, draft: Draft) -> Rule | None:
        self.file = draft.file
        where = dotted("rule", name)
        self._missing(where, ("check", "grade", "reason", "source"), draft)
        keys = draft.keys
        both = sorted(set(keys.get("only", ())) & set(keys.get("except", ())))
        for pattern in both:
            sentence = f"{quoted(pattern)} stands under 'only' and under 'except'; leave one out"
            self._fault(f"{where}.scope", sentence, draft)
        fields = self._fields(where, draft) if draft.sound else None
        for limit in (fields or {}).values():
            if limit.required and limit.name not in draft.limits:
                unit = f" in {limit.unit}" if limit.unit else ""
                meaning = f" ({limit.meaning})" if limit.meaning else ""
                self._fault(f"{where}.limits", f"{quoted(limit.name)}{unit} is missing{meaning}", draft)
        if not draft.sound:
            return None
        scope = Scope(keys.get("only", ()), keys.get("except", ()))
        limits = self._limits(where, draft)
        if not draft.sound:
            return None
        return Rule(name, keys["check"], keys["grade"], limits, scope, keys["reason"], keys["source"])

    def _limits(self, where: str, draft: Draft) -> Any:
        """Instance of the check's limits; a check may refuse a combination with a ValueError."""
        limits = self.checks[draft.keys["check"]].limits
        if limits is None:
            return None
        try:
            return limits(**draft.limits)
        except ValueError as error:
            self._fault(f"{where}.limits", _one_line(error), draft)
        except Exception as error:
            told = f"{type(error).__name__}: {_one_line(error)}"
            check = quoted(draft.keys["check"])
            self._fault(f"{where}.limits", f"the check {check} has a defect: {told}", draft)
        return None

    def _same_as_another(self, rule: Rule, others: Mapping[str, Rule], draft: Draft) -> None:
        for other in others.values():
            if (other.check, other.scope, other.limits) == (rule.check, rule.scope, rule.limits):
                self._fault(
                    dotted("rule", rule.name),
                    f"means the same as {dotted('rule', other.name)}: same check, limits and scope; leave "
                    "one out, or tell them apart",
                    draft,
                )
                return


def _one_line(error: BaseException) -> str:
    text = " ".join(str(error).split())
    return text if len(text) <= 200 else text[:199] + "…"
