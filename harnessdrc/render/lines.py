"""Lines of text on a console: wrapped under their indent on a terminal, whole in a pipe."""

from __future__ import annotations

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

__all__ = ["say"]


def say(console: Console, text: Text | str = "", indent: int = 0, style: str = "") -> None:
    """Print one line of text.

    Parameters
    ----------
    console : rich.console.Console
        Where to.
    text : rich.text.Text or str
        What; never read as markup.
    indent : int
        Columns to the right; on a terminal the wrapped lines keep it.
    style : str
        Style of a plain text.
    """
    line = Text(text, style=style) if isinstance(text, str) else text
    if console.is_terminal and indent:
        console.print(Padding(line, (0, 0, 0, indent), expand=False))
    elif console.is_terminal:
        console.print(line)
    else:
        console.print(Text(" " * indent) + line, soft_wrap=True)
