"""Twist groups and shields, from columns that name them, tick them off, or name the other wire."""

from __future__ import annotations

from harnessdrc.intake.normalizing.values import Columns, Texts
from harnessdrc.intake.recognition.headings import vocabulary

__all__ = ["read_groups"]


def read_groups(columns: Columns, role: str, wires: Texts) -> Texts:
    """Group of every data row for the twist or the shield column.

    A column of names is taken as it is. Where it names the other wire ("twisted with W13"), the wires that
    name each other are one group. Where it only ticks wires off ("yes", "TP", "x"), wires on neighbouring
    rows are one group: two by two for a twist, all of them for a shield; this is listed as an assumption.

    Parameters
    ----------
    columns : Columns
        The region.
    role : {"twist", "shield"}
        Which column.
    wires : list of str or None
        Names of the wires.
    """
    texts = columns.texts(role, placeholders=True)
    if role not in columns.region.columns:
        return texts
    words = vocabulary().values
    no = words["no"]
    texts = [None if t is None or t.casefold() in no else t for t in texts]
    ticks = {t for t in set(texts) if t is not None and t.casefold() in words["ticked"]}
    if ticks and {t for t in texts if t is not None} == ticks:
        return _neighbours(columns, role, texts)
    names = {w for w in wires if w is not None}
    said = {t for t in texts if t is not None}
    naming = {t for t in said if t in names}
    if said and len(naming) * 10 >= len(said) * 6:
        return _named(columns, role, texts, wires)
    return texts


def _neighbours(columns: Columns, role: str, texts: Texts) -> Texts:
    """Groups of the ticked wires on neighbouring rows."""
    out: Texts = [None] * len(texts)
    runs: list[list[int]] = []
    for i, text in enumerate(texts):
        if text is None:
            continue
        if runs and runs[-1][-1] == i - 1:
            runs[-1].append(i)
        else:
            runs.append([i])
    heading = columns.heading(role)
    groups = [
        run[k : k + 2] if role == "twist" and len(run) % 2 == 0 else run
        for run in runs
        for k in (range(0, len(run), 2) if role == "twist" and len(run) % 2 == 0 else (0,))
    ]
    for number, group in enumerate(groups, 1):
        for i in group:
            out[i] = f"{heading} {number}"
    if groups:
        what = "pairs of neighbouring rows" if role == "twist" else "groups of neighbouring rows"
        count = sum(map(len, groups))
        columns.assume(role, heading, what, "the column only ticks wires off", columns.place(role, groups[0][0]), count)
    return out


def _named(columns: Columns, role: str, texts: Texts, wires: Texts) -> Texts:
    """Groups of the wires that name each other."""
    parent: dict[str, str] = {}

    def root(name: str) -> str:
        while parent.setdefault(name, name) != name:
            parent[name] = parent[parent[name]]
            name = parent[name]
        return name

    for wire, other in zip(wires, texts, strict=True):
        if wire is not None and other is not None:
            parent[max(root(wire), root(other))] = min(root(wire), root(other))
    members: dict[str, list[str]] = {}
    for name in parent:
        members.setdefault(root(name), []).append(name)
    groups = {name: "+".join(sorted(group)) for group in members.values() if len(group) > 1 for name in group}
    out: Texts = [groups.get(wire) if wire is not None else None for wire in wires]
    joined = [i for i, group in enumerate(out) if group]
    if joined:
        columns.assume(role, columns.heading(role), "wires that name each other", "the column names the other wire",
                       columns.place(role, joined[0]), len(joined))  # fmt: skip
    return out
