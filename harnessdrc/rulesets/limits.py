"""Limits of a check, as a ruleset writes them, held to the types that the check declares."""

from __future__ import annotations

import dataclasses
import math
import types
import typing
from functools import lru_cache
from typing import Any

from harnessdrc.rulesets.faults import found, quoted

__all__ = ["LimitField", "WrongValue", "limit_fields", "limit_value", "number"]


class WrongValue(ValueError):  # noqa: N818 - a word of the trade, not an error shown as such
    """A value that does not fit; its text says what was expected and what stands there."""


@dataclasses.dataclass(frozen=True, slots=True)
class LimitField:
    """One limit that a check takes.

    Parameters
    ----------
    name : str
        Its key in the ruleset.
    annotation : object
        Type: ``float``, ``int``, ``bool``, ``str``, a ``tuple`` of one of these, a ``Literal``, or one of
        these ``| None``.
    unit, meaning : str
        From the metadata of the field.
    required : bool
        The check has no default for it.
    """

    name: str
    annotation: Any
    unit: str
    meaning: str
    required: bool


@lru_cache(maxsize=512)
def limit_fields(limits: type) -> dict[str, LimitField]:
    """Fields of a check's limits by name.

    Raises
    ------
    TypeError
        When `limits` is not a dataclass or its types cannot be worked out: a defect of the check.
    """
    if not dataclasses.is_dataclass(limits):
        raise TypeError(f"the limits {limits.__name__} are no dataclass")
    try:
        hints = typing.get_type_hints(limits)
    except Exception as error:
        told = f"the types of the limits {limits.__name__} cannot be worked out ({error})"
        raise TypeError(told) from error
    return {
        field.name: LimitField(
            field.name,
            hints.get(field.name, Any),
            str(field.metadata.get("unit", "")),
            str(field.metadata.get("meaning", "")),
            field.default is dataclasses.MISSING and field.default_factory is dataclasses.MISSING,
        )
        for field in dataclasses.fields(limits)
        if field.init
    }


def number(value: Any, expected: str) -> float:
    """`value` as a finite float; true and false are no numbers.

    Raises
    ------
    WrongValue
        For anything else.
    """
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise WrongValue(f"expected {expected}, found {found(value)}")
    try:
        converted = float(value)
    except OverflowError:
        converted = math.inf
    if not math.isfinite(converted):
        raise WrongValue(f"expected {expected} that is finite, found {found(value)}")
    return converted


def limit_value(field: LimitField, value: Any) -> Any:
    """A value of the ruleset as the type of its limit.

    Raises
    ------
    WrongValue
        When it does not fit.
    TypeError
        When the check declares a type that no ruleset can give.
    """
    in_unit = f" in {field.unit}" if field.unit else ""
    return _converted(field.annotation, value, in_unit)


def _converted(annotation: Any, value: Any, in_unit: str) -> Any:
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if origin in (typing.Union, types.UnionType):
        return _one_of_types([each for each in arguments if each is not type(None)], value, in_unit)
    if annotation is bool:
        if not isinstance(value, bool):
            raise WrongValue(f"expected true or false, found {found(value)}")
        return value
    if annotation is float:
        return number(value, f"a number{in_unit}")
    if annotation is int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise WrongValue(f"expected a whole number{in_unit}, found {found(value)}")
        return value
    if annotation is str:
        if not isinstance(value, str):
            raise WrongValue(f"expected text, found {found(value)}")
        return value
    if origin is typing.Literal:
        for choice in arguments:
            if type(choice) is type(value) and choice == value:
                return choice
        choices = ", ".join(quoted(each) if isinstance(each, str) else str(each) for each in arguments)
        raise WrongValue(f"expected one of {choices}, found {found(value)}")
    if origin is tuple and len(arguments) == 2 and arguments[1] is Ellipsis:
        if not isinstance(value, list):
            raise WrongValue(f"expected a list, found {found(value)}")
        return tuple(_element(arguments[0], each, place, in_unit) for place, each in enumerate(value, 1))
    raise TypeError(f"a limit cannot be of the type {annotation}")


def _element(annotation: Any, value: Any, place: int, in_unit: str) -> Any:
    try:
        return _converted(annotation, value, in_unit)
    except WrongValue as wrong:
        raise WrongValue(f"entry {place} of the list: {wrong}") from None


def _one_of_types(annotations: list[Any], value: Any, in_unit: str) -> Any:
    sentences = []
    for annotation in annotations:
        try:
            return _converted(annotation, value, in_unit)
        except WrongValue as wrong:
            sentences.append(str(wrong))
    raise WrongValue(", or ".join(dict.fromkeys(sentences)))
