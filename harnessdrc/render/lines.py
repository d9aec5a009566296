"""Lines of text on a console: wrapped under their indent on a terminal, whole in a pipe."""

from __future__ import annotations

import re

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

__all__ = ["counted", "say", "say_beside", "visible"]

# Control characters, the marks that turn the direction of text, line separators, halves of characters.
_UNSEEN = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
_BREAKS = frozenset("\t\n\r\v\f\x85\u2028\u2029")


def visible(text: str) -> str:
    """A text as one line that a terminal cannot take for an order.

    Line breaks and tabs become blanks, other control characters their pictures (``␛``), marks that turn the
    direction of the text and halves of characters ``�``.
    """
    return _UNSEEN.sub(_picture, text) if _UNSEEN.search(text) else text


def _picture(match: re.Match[str]) -> str:
    character = match[0]
    if character in _BREAKS:
        return " "
    code = ord(character)
    if code < 0x20:
        return chr(0x2400 + code)
    return "␡" if code == 0x7F else "�"


def counted(number: int, one: str, many: str = "") -> str:
    """A number with its noun: ``1 row``, ``1,204 rows``; `many` where it is not `one` with an s."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def say(console: Console, text: Text | str = "", indent: int = 0, style: str = "") -> None:
    """Print one line of text.

    Parameters
    ----------
    console : rich.console.Console
        Where to.
    text : rich.text.Text or str
        What; never read as markup, and shown by `visible` where it comes from a list.
    indent : int
        Columns to the right; on a terminal the wrapped lines keep it.
    style : str
        Style of a plain text.
    """
    line = Text(visible(text), style=style) if isinstance(text, str) else _visible_text(text)
    if console.is_terminal and indent:
        console.print(Padding(line, (0, 0, 0, indent), expand=False))
    elif console.is_terminal:
        console.print(line)
    else:
        console.print(Text(" " * indent) + line, soft_wrap=True)


def say_beside(console: Console, head: str, text: str, width: int) -> None:
    """Print a name in a column of `width` and a text beside it, wrapped within its own column on a terminal."""
    name, body = Text(visible(head), style="bold"), Text(visible(text))
    if console.is_terminal:
        from rich.table import Table

        row = Table.grid(padding=(0, 2))
        row.add_column(min_width=width, no_wrap=True)
        row.add_column()
        row.add_row(name, body)
        console.print(row)
    else:
        name.pad_right(width + 2 - len(name))
        console.print(name + body, soft_wrap=True)


def _visible_text(text: Text) -> Text:
    """The same with its styles; every replacement is one character for one, so the spans still fit."""
    plain = visible(text.plain)
    return text if plain == text.plain else Text(plain, style=text.style, spans=list(text.spans), end=text.end)
