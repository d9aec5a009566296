"""The mark that tells one issue of a list from every other."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

__all__ = ["ISSUE_WORDS", "issue_mark"]

ISSUE_WORDS = "Issue of the list"
"""What stands before the mark on a paper: ``Issue of the list: 3f9a01bc22ee``."""

_DIGITS = 12


def issue_mark(sha256s: Iterable[str]) -> str:
    """Mark of a list.

    Parameters
    ----------
    sha256s : iterable of str
        Hashes of its files, in any order.

    Returns
    -------
    str
        Twelve hexadecimal digits; empty without a file.
    """
    hashes = sorted(sha256s)
    return hashlib.sha256("\n".join(hashes).encode()).hexdigest()[:_DIGITS] if hashes else ""
