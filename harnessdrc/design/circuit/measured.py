"""A part of the circuit with the resistance that was measured for it.

A meter shows copper and joints together, at the temperature of the bench. What it shows above what the list lets
expect is laid to the joints: copper that was cut and crimped does not get thinner, a bad crimp adds milliohms that do
not grow with heat. What it shows below is laid to the copper, since tables hold the most a cable may have. Then the
copper is taken from the bench's temperature to that of the circuit. A joint that ages keeps at least what was measured.
"""

from __future__ import annotations

from collections.abc import Mapping

from harnessdrc.design.circuit.parts import Part
from harnessdrc.harness.elements import Harness
from harnessdrc.physics.conductor import temperature_factor

__all__ = ["as_measured"]


def as_measured(
    part: Part, measured: Mapping[tuple[str, str], float], harness: Harness, given: Mapping[str, float]
) -> Part:
    """The part with its measured resistance; itself where none was measured.

    Parameters
    ----------
    part : Part
        A wire or a strap as the list has it.
    measured : mapping of (str, str) to float
        By kind and name, Ω at ``test_degc``.
    harness : Harness
        Whose straps may be listed by their resistance, which is not taken to another temperature.
    given : mapping of str to float
        ``test_degc`` and ``conductor_degc``.
    """
    ohm = measured.get((part.kind, part.name))
    if ohm is None or part.kind not in ("wire", "strap"):
        return part
    warmer = temperature_factor(given["conductor_degc"]) / temperature_factor(given["test_degc"])
    if part.kind == "strap" and any(s.name == part.name and s.resistance_ohm is not None for s in harness.straps):
        warmer = 1.0
    on_the_bench_ohm = ohm if part.uncertain else part.ohm / warmer
    more_ohm = ohm - on_the_bench_ohm - part.joint_ohm
    if more_ohm >= 0.0:
        copper_ohm, joint_ohm = on_the_bench_ohm, part.joint_ohm + more_ohm
    else:
        joint_ohm = min(part.joint_ohm, ohm)
        copper_ohm = ohm - joint_ohm
    copper_ohm *= warmer
    return part._replace(
        ohm=copper_ohm, joint_ohm=joint_ohm, aged_joint_ohm=max(part.aged_joint_ohm, joint_ohm),
        low_ohm=copper_ohm, high_ohm=copper_ohm, lacking=(),
    )  # fmt: skip
