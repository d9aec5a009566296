"""Encodings of text files: what is taken, what is said about it, what is refused."""

from __future__ import annotations

import codecs
import random

import pytest

from harnessdrc.errors import FileUnreadableError
from harnessdrc.intake.formats.delimited import read_delimited
from harnessdrc.intake.formats.encodings import decode, looks_binary
from harnessdrc.places import Place

TEXT = "wire,colour,size\nW1,grün,0.5 mm²\nW2,weiß,18 µ\n"


@pytest.mark.parametrize(
    ("data", "encoding", "noted"),
    [
        (TEXT.encode("utf-8"), "UTF-8", True),
        (TEXT.encode("utf-8-sig"), "UTF-8", False),
        (codecs.BOM_UTF16_LE + TEXT.encode("utf-16-le"), "UTF-16", False),
        (codecs.BOM_UTF16_BE + TEXT.encode("utf-16-be"), "UTF-16", False),
        (TEXT.encode("utf-16-le"), "UTF-16", True),
        (TEXT.encode("utf-16-be"), "UTF-16", True),
        (TEXT.encode("utf-32"), "UTF-32", False),
        (TEXT.encode("cp1252"), "Windows-1252", True),
    ],
)
def test_encodings(data: bytes, encoding: str, noted: bool) -> None:
    assert not looks_binary(data)
    decoded = decode(data, "loom.csv")
    assert (decoded.text, decoded.encoding, bool(decoded.because)) == (TEXT, encoding, noted)


def test_plain_ascii_needs_no_note() -> None:
    assert decode(b"wire,from\n", "loom.csv").because == ""


def test_the_note_counts_the_cells_and_names_the_first() -> None:
    _, _, notes = read_delimited(TEXT.encode("cp1252"), "loom.csv", "loom")
    (note,) = [note for note in notes if note.what == "encoding"]
    assert (note.value, note.count) == ("Windows-1252", 4)
    assert note.place == Place("loom.csv", "loom", "B2")


def test_typographic_signs_of_windows() -> None:
    decoded = decode("W1,18” – splice…,€".encode("cp1252"), "loom.csv")
    assert decoded.text == "W1,18” – splice…,€" and decoded.encoding == "Windows-1252"


def test_bytes_windows_does_not_know() -> None:
    decoded = decode(b"W1,\x81gr\xfcn\n", "loom.csv")
    assert decoded.encoding == "ISO 8859-1" and "grün" in decoded.text


def test_utf8_with_a_few_foreign_bytes_keeps_its_utf8() -> None:
    decoded = decode("grün weiß ".encode() + "für".encode("cp1252"), "loom.csv")
    assert decoded.text == "grün weiß für" and decoded.encoding == "UTF-8"
    assert "1 bytes" in decoded.because or "the 1 " in decoded.because


def test_lone_surrogates_never_come_out() -> None:
    data = b"W1,\xed\xa0\x80,x\n"
    assert not any(0xD800 <= ord(c) <= 0xDFFF for c in decode(data, "loom.csv").text)
    with pytest.raises(FileUnreadableError, match="line 2"):
        decode(codecs.BOM_UTF16_LE + "a,b\nc".encode("utf-16-le") + b"\x00\xd8" + "d".encode("utf-16-le"), "l.csv")


def test_a_byte_order_mark_that_lies_names_the_line() -> None:
    with pytest.raises(FileUnreadableError, match=r"says it is UTF-8, but line 3"):
        decode(codecs.BOM_UTF8 + b"a,b\nc,d\ne,\xff\n", "loom.csv")
    with pytest.raises(FileUnreadableError, match="says it is UTF-16"):
        decode(codecs.BOM_UTF16_LE + b"abc", "loom.csv")


@pytest.mark.parametrize(
    "data", [b"W1\0ECU\n", b"\0" * 100, bytes(range(256)), random.Random(1).randbytes(5000), b"ab\x01\x02\x03\x04"]
)
def test_binary_junk(data: bytes) -> None:
    assert looks_binary(data)


@pytest.mark.parametrize(
    "data", [b"", b"W1,ECU\r\n\x1a", b"a\tb\x0cc\n", "日本語,ワイヤ\n".encode(), b"\xfcber,\xe4\n"]
)
def test_text_is_no_binary_junk(data: bytes) -> None:
    assert not looks_binary(data)
