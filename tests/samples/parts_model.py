"""Terminals, seals, plugs and connectors put on a sample build by rule, the way a builder picks them by size."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from build_model import Build

from harnessdrc.harness.names import natural_key

Row = dict[str, object]


@dataclass(frozen=True)
class Housing:
    """A connector of a build: the component that has its row, its part, and what holds its wires."""

    part: str
    family: str
    sex: str
    sealed: bool
    bore_m: float | None
    relief: str
    component: str = ""


@dataclass(frozen=True)
class Rules:
    """How a builder picks parts.

    `terminal` and `seal` give the name for an end (item, cavity, size); `plug` closes an unused cavity of a sealed
    connector of a family.
    """

    housings: Mapping[str, Housing]
    terminal: Callable[[str, str, str], str]
    seal: Callable[[str, str], str]
    plug: Callable[[str], str]
    table: Sequence[Row]


def fit_parts(build: Build, rules: Rules) -> None:
    """Name terminals, seals, plugs and connector parts in all lists of a build; may be done again after changes."""
    for index, row in enumerate(build.wires):
        build.wires[index] = replace(
            row,
            from_terminal=rules.terminal(row.from_item, row.from_cavity, row.size),
            to_terminal=rules.terminal(row.to_item, row.to_cavity, row.size),
        )
    sizes = {(row.from_item, row.from_cavity): row.size for row in build.wires}
    sizes |= {(row.to_item, row.to_cavity): row.size for row in build.wires}
    for index, pin in enumerate(build.pins):
        housing = rules.housings.get(pin.connector)
        if housing is None or not housing.sealed:
            continue
        size = sizes.get((pin.connector, pin.cavity))
        seal = rules.plug(housing.family) if size is None else rules.seal(housing.family, size)
        build.pins[index] = replace(pin, seal=seal)
    _name_connectors(build, rules)
    build.parts = [*(dict(row) for row in rules.table), *_connector_rows(build, rules)]


def _name_connectors(build: Build, rules: Rules) -> None:
    known = {str(row["component"]) for row in build.components}
    for connector, housing in rules.housings.items():
        if connector not in known:
            if not housing.component:
                continue  # a faulty list may lack the component
            # one of several connectors of a device: a row of its own, below the device's and those before it
            mine = {
                housing.component,
                *(name for name, each in rules.housings.items() if each.component == housing.component),
            }
            at = max(i for i, row in enumerate(build.components) if row["component"] in mine)
            build.components.insert(at + 1, {"component": connector, "kind": "connector"})
        build.component(connector).update(part=housing.part, strain_relief=housing.relief)


def _connector_rows(build: Build, rules: Rules) -> list[Row]:
    cavities: dict[str, int] = {}
    for connector, housing in rules.housings.items():
        cavities[housing.part] = sum(1 for pin in build.pins if pin.connector == connector)
    rows = {
        housing.part: {
            "part": housing.part, "kind": "connector", "family": housing.family, "sex": housing.sex,
            "bore_m": housing.bore_m, "cavities": cavities[housing.part], "sealed": "yes" if housing.sealed else "no",
        }
        for housing in rules.housings.values()
    }  # fmt: skip
    return [rows[name] for name in sorted(rows, key=natural_key)]
