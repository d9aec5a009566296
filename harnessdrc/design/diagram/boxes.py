"""Nodes of the circuit gathered into boxes: a device with all its pins is one, so is a fuse, a splice, a body."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from harnessdrc.design import Design, Device
from harnessdrc.design.circuit.parts import Node
from harnessdrc.harness.elements import Contact
from harnessdrc.harness.names import natural_key
from harnessdrc.physics.zero_ohm import merge

__all__ = ["Box", "Boxes", "boxes_of"]

BoxRole = Literal["device", "battery", "body", "earth point", "through"]
"""``through`` is what current only passes: splices, fuses, relays, switches, connectors."""

_THROUGH = frozenset({"fuse", "relay", "switch", "isolator", "connector", "splice", "post", "diode", "resistor",
                      "power distribution"})  # fmt: skip

_Key = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Box:
    """A box.

    Parameters
    ----------
    key : tuple of str
        What tells it from every other, whatever the order of rows.
    label, kind : str
        As people call it.
    role : str
        What current does in it.
    device : Device or None
        The device it is.
    contact : Contact or None
        One of its contacts, the first by name: where its cell is.
    body : str or None
        What it is bolted to.
    """

    key: _Key
    label: str
    kind: str
    role: BoxRole
    device: Device | None
    contact: Contact | None
    body: str | None

    @property
    def sorting(self) -> tuple[object, ...]:
        """Order that does not hang on that of rows."""
        return (natural_key(self.label), self.kind, self.key)


@dataclass(frozen=True, slots=True)
class Boxes:
    """All boxes, in the order of their names, and the box of each node of the circuit and of each port.

    `of_port` is -1 for a port whose device is no box of its own.
    """

    all: tuple[Box, ...]
    of_node: tuple[int, ...]
    of_port: tuple[int, ...]


def boxes_of(design: Design) -> Boxes:
    """Boxes of a solved circuit."""
    circuit = design.circuit
    mated = _mated(design)
    keys = [_key_of(design, node, mated) for node in circuit.nodes]
    ports = [("device", port.device.key) if port.device else ("given", port.kind) for port in circuit.ports]
    members: dict[_Key, list[Node]] = {}
    for key, node in zip(keys, circuit.nodes, strict=True):
        members.setdefault(key, []).append(node)
    found = {key: _box(design, key, nodes) for key, nodes in members.items()}
    for key in ports:
        if key not in found:
            found[key] = _box(design, key, [])
    boxes = tuple(sorted(found.values(), key=lambda box: box.sorting))
    number = {box.key: n for n, box in enumerate(boxes)}
    return Boxes(boxes, tuple(number[key] for key in keys), tuple(number[key] for key in ports))


def _mated(design: Design) -> dict[Node, Node]:
    """For each contact of a mated pair the first of the two by name."""
    circuit = design.circuit
    pairs = circuit.ends[[number for number, part in enumerate(circuit.parts) if part.kind == "mate"]]
    group = merge(len(circuit.nodes), pairs[:, 0], pairs[:, 1]).tolist()
    members: dict[int, list[Node]] = {}
    for number in set(pairs.ravel().tolist()):
        members.setdefault(group[number], []).append(circuit.nodes[number])
    return {node: min(nodes) for nodes in members.values() for node in nodes}


def _key_of(design: Design, node: Node, mated: dict[Node, Node]) -> _Key:
    if not isinstance(node, Contact):
        kind, name, _ = node
        if kind == "body":
            return ("body", name)
        return ("battery +", name) if kind == "post +" else ("device", name)
    if node in mated:
        return ("contact", *mated[node])
    item = design.harness.items[node.item]
    device = design.devices.owner(node)
    if device is not None and device.kind == "battery":
        positive = design.role(node) == "battery feed"
        return ("battery +", device.key) if positive else ("contact", *node)
    if device is not None:
        return ("device", device.key)
    return ("item", node.item) if item.kind == "fuse" else ("contact", *node)


def _box(design: Design, key: _Key, nodes: list[Node]) -> Box:
    contact = min((node for node in nodes if isinstance(node, Contact)), default=None)
    kind, name = key[0], key[1]
    if kind == "body":
        return Box(key, name, "battery -" if name == "battery negative" else "body", "body", None, None, None)
    if kind == "given":
        return Box(key, f"{name} (given)", name, "device", None, None, None)
    items = design.harness.items
    if kind == "battery +":
        label = f"{items[name].name} +" if name in items else "battery + (given)"
        return Box(key, label, "battery +", "battery", design.devices.by_key.get(name), contact, None)
    if kind == "device":
        device = design.devices.by_key[name]
        role: BoxRole = "through" if device.kind in _THROUGH else "device"
        return Box(key, device.name, device.kind or "device", role, device, contact, device.body)
    item = items[contact.item if contact else name]
    if contact in design.net.earths and contact is not None:
        body = design.devices.body(contact)
        return Box(key, design.label(contact), "earth point", "earth point", None, contact, body)
    if kind == "item" or contact is None:
        return Box(key, item.name, item.kind or "fuse", "through", None, contact, item.body)
    label = " / ".join(design.label(node) for node in sorted(nodes) if isinstance(node, Contact))
    word = "splice" if item.kind in ("splice", "post") else "connector"
    return Box(key, label, word, "through", None, contact, item.body)
