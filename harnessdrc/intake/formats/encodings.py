"""Bytes of a text file to text, with the reason for the encoding taken.

Tried in this order: a byte order mark; UTF-16 without one (a zero byte beside nearly every letter);
UTF-8, which text in another encoding practically never is by chance; Windows-1252. A file in UTF-8 with a
few foreign bytes (two lists pasted together) keeps its UTF-8 and has those bytes read as Windows-1252.
"""

from __future__ import annotations

import codecs
from dataclasses import dataclass

from harnessdrc.errors import FileUnreadableError

__all__ = ["Decoded", "decode", "looks_binary"]

_MARKS = (
    (codecs.BOM_UTF32_LE, "utf-32-le", "UTF-32"),
    (codecs.BOM_UTF32_BE, "utf-32-be", "UTF-32"),
    (codecs.BOM_UTF8, "utf-8", "UTF-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16-be", "UTF-16"),
)
_SAMPLE_BYTES = 1 << 16
_CONTROLS = bytes(b for b in range(32) if b not in b"\t\n\v\f\r\x1a\x1b\x1c\x1d\x1e\x1f") + b"\x7f"
_CONTROLS_SHARE = 0.003
_ZEROS_SHARE = 0.35


@dataclass(frozen=True, slots=True)
class Decoded:
    """Text of a file.

    Parameters
    ----------
    text : str
        Without a byte order mark.
    encoding : str
        Name for the user: ``UTF-8``.
    because : str
        What decided it; empty where nothing had to be assumed.
    """

    text: str
    encoding: str
    because: str


def looks_binary(data: bytes) -> bool:
    """True if the bytes are no text in any encoding that `decode` reads."""
    if data.startswith(tuple(mark for mark, _, _ in _MARKS)) or _utf16_without_mark(data):
        return False
    if b"\0" in data:
        return True
    sample = data[:_SAMPLE_BYTES]
    controls = len(sample) - len(sample.translate(None, _CONTROLS))
    return controls > max(2, _CONTROLS_SHARE * len(sample))


def decode(data: bytes, file: str) -> Decoded:
    """Text of a file that `looks_binary` let pass.

    Raises
    ------
    FileUnreadableError
        If the byte order mark and the bytes contradict each other.
    """
    for mark, codec, name in _MARKS:
        if data.startswith(mark):
            return Decoded(_strictly(data, len(mark), codec, name, file), name, "")
    codec_utf16 = _utf16_without_mark(data)
    if codec_utf16:
        text = _strictly(data, 0, codec_utf16, "UTF-16", file)
        return Decoded(text, "UTF-16", "every other byte is zero and there is no byte order mark")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return _mixed_or_windows(data)
    return Decoded(text, "UTF-8", "" if text.isascii() else "all its bytes fit UTF-8")


def _strictly(data: bytes, start: int, codec: str, name: str, file: str) -> str:
    try:
        return data[start:].decode(codec)
    except UnicodeDecodeError as fault:
        before = data[start : start + fault.start].decode(codec, "replace")
        line = before.count("\n") + 1
        raise FileUnreadableError(
            f"the file says it is {name}, but line {line} holds bytes that are not.",
            file=file,
            remedy="Open it in a spreadsheet program or an editor, check that line, and save it as UTF-8.",
        ) from fault


def _utf16_without_mark(data: bytes) -> str:
    sample = data[:_SAMPLE_BYTES]
    if len(data) % 2 or len(sample) < 8 or b"\0" not in sample:
        return ""
    half = len(sample) // 2
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    if odd > _ZEROS_SHARE * 2 * half and even == 0:
        return "utf-16-le"
    if even > _ZEROS_SHARE * 2 * half and odd == 0:
        return "utf-16-be"
    return ""


def _mixed_or_windows(data: bytes) -> Decoded:
    as_utf8 = data.decode("utf-8", "surrogateescape")
    foreign = sum("\udc80" <= c <= "\udcff" for c in as_utf8 if c > "\ud7ff")
    kept = sum(c > "\x7f" for c in as_utf8) - foreign
    if kept > foreign:
        text = "".join(
            bytes([ord(c) - 0xDC00]).decode("cp1252", "replace") if "\udc80" <= c <= "\udcff" else c for c in as_utf8
        )
        return Decoded(
            text,
            "UTF-8",
            f"{kept} characters fit UTF-8; the {foreign} bytes that do not were read as Windows-1252",
        )
    try:
        return Decoded(data.decode("cp1252"), "Windows-1252", "its bytes do not fit UTF-8")
    except UnicodeDecodeError:
        return Decoded(data.decode("latin-1"), "ISO 8859-1", "its bytes fit neither UTF-8 nor Windows-1252")
