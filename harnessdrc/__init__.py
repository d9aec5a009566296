"""harnessdrc: design-rule checks over the wire lists of engine-management looms.

The usual way in is the command line (``harnessdrc check LIST``). From Python::

    from pathlib import Path
    import harnessdrc

    result = harnessdrc.check_lists([Path("wires.xlsx")])
    for finding in result.findings:
        print(finding.grade, finding.message)

Names are loaded on first use, so that importing the package costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from harnessdrc.api import check_lists
    from harnessdrc.checks.registry import check, limit
    from harnessdrc.errors import HarnessdrcError, InputError, OutputError, RulesetError
    from harnessdrc.findings import Finding, Mark, Undecided
    from harnessdrc.results import Result

__version__ = "0.1.0"

__all__ = [
    "Finding",
    "HarnessdrcError",
    "InputError",
    "Mark",
    "OutputError",
    "Result",
    "RulesetError",
    "Undecided",
    "__version__",
    "check",
    "check_lists",
    "limit",
]

_HOMES = {
    "check_lists": "api",
    "check": "checks.registry",
    "limit": "checks.registry",
    "HarnessdrcError": "errors",
    "InputError": "errors",
    "OutputError": "errors",
    "RulesetError": "errors",
    "Finding": "findings",
    "Mark": "findings",
    "Undecided": "findings",
    "Result": "results",
}


def __getattr__(name: str) -> Any:
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module 'harnessdrc' has no attribute {name!r}")
    value = getattr(import_module(f"harnessdrc.{home}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
