"""Names of alike things in few words."""

from __future__ import annotations

import re
from collections.abc import Sequence

__all__ = ["names_text"]

_NUMBERED = re.compile(r"(.*?)([0-9]+)")


def names_text(names: Sequence[str]) -> str:
    """Names in few words: ``COIL1 … COIL4`` for a run, else the first ones and how many more."""
    if len(names) > 2:
        matches = [_NUMBERED.fullmatch(name) for name in names]
        stems = {match[1] if match else None for match in matches}
        numbers = sorted(int(match[2]) for match in matches if match)
        if len(stems) == 1 and len(numbers) == len(names) and numbers == list(range(numbers[0], numbers[-1] + 1)):
            order = sorted(range(len(names)), key=lambda at: int(names[at][len(next(iter(stems)) or "") :]))
            return f"{names[order[0]]} … {names[order[-1]]}"
    if len(names) > 4:
        return f"{', '.join(names[:3])} and {len(names) - 3:,} more"
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else "".join(names)
