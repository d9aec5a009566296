"""What to take care of at the bench and in the car: the head of the test sheet."""

from __future__ import annotations

__all__ = ["CAUTIONS"]

CAUTIONS: tuple[str, ...] = (
    "A passed test is not proof that a loom is safe: it says what was measured, in the state it was measured in.",
    "Battery off, every device unplugged and every fuse out before continuity and isolation are measured: a meter's "
    "test voltage destroys electronics. For isolation all rings are joined, on their studs or by a clip.",
    "Keep off airbag and belt-tensioner circuits.",
    "Put a fuse at the source of every feed before the battery is connected; a battery short burns.",
    "Coils and ignition leads carry tens of kilovolts, enough to injure and to kill: engine off, ignition off, before "
    "they are touched. Spark tests and fuel vapour do not go together: ventilate, and keep sparks away.",
    "Cranking and charging currents melt thin wires and meter leads in seconds: fused leads, and no ammeter in the "
    "starter's circuit.",
    "Gear out, wheels chocked, hands and leads away from belts and fans while the engine cranks or runs.",
    "Local codes, the makers' instructions and licensed practice come first.",
)
"""One sentence each; the cautions of the README in short."""
