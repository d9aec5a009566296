"""Where the shipped data stands: in the wheel beside the code, in a checkout at its top."""

from __future__ import annotations

from pathlib import Path

__all__ = ["rulesets_folder"]


def rulesets_folder() -> Path:
    """Folder with the shipped rulesets, ``components.toml`` and ``tables/``."""
    inside = Path(__file__).parent / "_rulesets"
    return inside if inside.is_dir() else Path(__file__).parent.parent / "rulesets"
