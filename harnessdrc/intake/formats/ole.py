"""Compound documents (the container of .xls, of encrypted .xlsx and of much else): names and one stream.

Layout after the published format [MS-CFB]: 512-byte header, sector allocation table, directory of
128-byte entries, and a mini stream for streams below 4096 bytes. Every chain is bounded by the number
of sectors the file can hold, so a chain that bites its own tail ends as an error.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

__all__ = ["MAGIC", "CompoundDocument", "DamagedContainerError", "single_stream_document"]

MAGIC = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_END_OF_CHAIN = 0xFFFFFFFE
_LAST_REAL_SECTOR = 0xFFFFFFFA
_FREE, _FAT_SECTOR = 0xFFFFFFFF, 0xFFFFFFFD
_STREAM, _ROOT = 2, 5
_HEADER_TABLE_LENGTH = 109
_SMALLEST_PLAIN_STREAM_BYTES = 4096


class DamagedContainerError(Exception):
    """The container contradicts itself or ends too early."""


@dataclass(frozen=True, slots=True)
class _Entry:
    kind: int
    start: int
    size: int


class CompoundDocument:
    """Directory of a compound document, and the bytes of its streams.

    Parameters
    ----------
    data : bytes
        The whole file.

    Raises
    ------
    DamagedContainerError
        If the header, an allocation table or the directory cannot be followed.
    """

    def __init__(self, data: bytes) -> None:
        if not data.startswith(MAGIC) or len(data) < 512:
            raise DamagedContainerError("no header")
        self._data = data
        shift, mini_shift = struct.unpack_from("<HH", data, 30)
        if shift not in (9, 12) or mini_shift != 6:
            raise DamagedContainerError("sector size")
        self._sector_bytes = 1 << shift
        (_, _, directory_start, _, self._mini_cutoff, mini_fat_start, _, difat_start, _) = struct.unpack_from(
            "<9I", data, 40
        )
        self._sectors = max(0, (len(data) - 1) // self._sector_bytes)
        self._fat = self._allocation_table(difat_start)
        self._entries = self._directory(self._chain(directory_start))
        root = next((entry for entry in self._entries.values() if entry.kind == _ROOT), None)
        self._mini_fat = _words(self._chain(mini_fat_start)) if mini_fat_start <= _LAST_REAL_SECTOR else ()
        self._mini_stream = self._chain(root.start) if root and root.start <= _LAST_REAL_SECTOR else b""

    @property
    def names(self) -> frozenset[str]:
        """Names of all storages and streams, at any depth."""
        return frozenset(self._entries)

    def stream(self, name: str) -> bytes:
        """Bytes of a stream by its name; raises `DamagedContainerError` if it is not whole."""
        entry = self._entries.get(name)
        if entry is None or entry.kind != _STREAM:
            raise DamagedContainerError(f"no stream {name}")
        if entry.size >= self._mini_cutoff:
            raw = self._chain(entry.start, entry.size)
        else:
            raw = self._mini_chain(entry.start, entry.size)
        if len(raw) < entry.size:
            raise DamagedContainerError(f"stream {name} ends early")
        return raw[: entry.size]

    def _sector(self, number: int) -> bytes:
        if number >= self._sectors:
            raise DamagedContainerError("sector outside the file")
        start = (number + 1) * self._sector_bytes
        return self._data[start : start + self._sector_bytes]

    def _allocation_table(self, difat_start: int) -> tuple[int, ...]:
        listed = [n for n in struct.unpack_from("<109I", self._data, 76) if n <= _LAST_REAL_SECTOR]
        sector, seen = difat_start, 0
        while sector <= _LAST_REAL_SECTOR:
            seen += 1
            if seen > self._sectors:
                raise DamagedContainerError("allocation table runs in a circle")
            words = _words(self._sector(sector))
            if not words:
                raise DamagedContainerError("allocation table ends early")
            listed += [n for n in words[:-1] if n <= _LAST_REAL_SECTOR]
            sector = words[-1]
        if len(listed) > self._sectors:
            raise DamagedContainerError("allocation table larger than the file")
        return _words(b"".join(self._sector(n) for n in listed))

    def _chain(self, start: int, size: int | None = None) -> bytes:
        pieces: list[bytes] = []
        sector = start
        wanted = self._sectors if size is None else -(-size // self._sector_bytes)
        while sector <= _LAST_REAL_SECTOR and len(pieces) < wanted:
            pieces.append(self._sector(sector))
            if sector >= len(self._fat):
                raise DamagedContainerError("chain leaves the allocation table")
            sector = self._fat[sector]
        if size is None and sector <= _LAST_REAL_SECTOR:
            raise DamagedContainerError("chain runs in a circle")
        return b"".join(pieces)

    def _mini_chain(self, start: int, size: int) -> bytes:
        pieces: list[bytes] = []
        sector = start
        while sector <= _LAST_REAL_SECTOR and len(pieces) * 64 < size:
            pieces.append(self._mini_stream[sector * 64 : sector * 64 + 64])
            if sector >= len(self._mini_fat):
                raise DamagedContainerError("mini chain leaves its table")
            sector = self._mini_fat[sector]
        return b"".join(pieces)

    @staticmethod
    def _directory(raw: bytes) -> dict[str, _Entry]:
        entries: dict[str, _Entry] = {}
        for at in range(0, len(raw) - 127, 128):
            name_bytes, kind = struct.unpack_from("<HB", raw, at + 64)
            if kind == 0:
                continue
            name = raw[at : at + max(0, min(name_bytes, 64) - 2)].decode("utf-16-le", "replace")
            start, size = struct.unpack_from("<II", raw, at + 116)
            entries.setdefault(name, _Entry(kind, start, size))
        return entries


def single_stream_document(name: str, stream: bytes | bytearray) -> bytes:
    """A well-formed compound document with one stream, for a reader that trusts what containers say.

    Sectors are of 4096 bytes. A stream below that is filled up with zero bytes, so that the mini stream,
    which some readers want to exist, stays empty. Up to 450 MiB the header alone lists the allocation table.
    """
    sector_bytes = 4096
    size = max(len(stream), _SMALLEST_PLAIN_STREAM_BYTES)
    data_sectors = -(-size // sector_bytes)
    per_table = sector_bytes // 4
    tables = 1
    while tables * per_table < data_sectors + 2 + tables:
        tables += 1
    if tables > _HEADER_TABLE_LENGTH:
        raise DamagedContainerError("stream larger than one header can list")
    directory = tables + data_sectors
    fat = [_FAT_SECTOR] * tables
    fat += [*range(tables + 1, tables + data_sectors), _END_OF_CHAIN, _END_OF_CHAIN, _END_OF_CHAIN]
    fat += [_FREE] * (tables * per_table - len(fat))
    header = MAGIC + bytes(16) + struct.pack("<HHHHH", 0x3E, 4, 0xFFFE, 12, 6) + bytes(6)
    header += struct.pack(
        "<9I", 1, tables, directory, 0, _SMALLEST_PLAIN_STREAM_BYTES, _END_OF_CHAIN, 0, _END_OF_CHAIN, 0
    )
    header += struct.pack("<109I", *range(tables), *[_FREE] * (_HEADER_TABLE_LENGTH - tables))
    entries = _directory_entry("Root Entry", _ROOT, 1, directory + 1, 0)
    entries += _directory_entry(name, _STREAM, _FREE, tables, size)
    entries += _directory_entry("", 0, _FREE, 0, 0) * (sector_bytes // 128 - 2)
    return b"".join(
        (
            header.ljust(sector_bytes, b"\0"),
            struct.pack(f"<{len(fat)}I", *fat),
            bytes(stream).ljust(data_sectors * sector_bytes, b"\0"),
            entries,
            bytes(sector_bytes),
        )
    )


def _directory_entry(name: str, kind: int, child: int, start: int, size: int) -> bytes:
    text = name.encode("utf-16-le")
    length = len(text) + 2 if text else 0
    return (
        text.ljust(64, b"\0")
        + struct.pack("<HBBIII", length, kind, 1, _FREE, _FREE, child)
        + bytes(36)
        + struct.pack("<IQ", start, size)
    )


def _words(raw: bytes) -> tuple[int, ...]:
    return struct.unpack(f"<{len(raw) // 4}I", raw[: len(raw) // 4 * 4])
