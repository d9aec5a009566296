"""``harnessdrc template``: write the recommended workbook."""

from __future__ import annotations

import argparse
from pathlib import Path

from harnessdrc.render.template import write_template

__all__ = ["run"]


def run(options: argparse.Namespace) -> int:
    """Carry out the verb; returns the exit code."""
    path = Path(options.file)
    write_template(path)
    print(f"Written: {path}")
    return 0
