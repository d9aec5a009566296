"""Zip packages: reading parts, and writing a package in which untouched parts keep their compressed bytes."""

from __future__ import annotations

import struct
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import BinaryIO

from .xmlbytes import MalformedPartError

__all__ = ["LARGEST_PART_BYTES", "MemoryParts", "PackageWriter", "ZipParts", "part_key"]

LARGEST_PART_BYTES = 1 << 30
"""Parts that would unpack to more than this are not opened: no wire list is that large."""

_BLOCK = 1 << 20
_FIXED_TIME = 0
_FIXED_DATE = (0 << 9) | (1 << 5) | 1  # 1980-01-01, the zero of the format: the clock is not in the output
_LOCAL = struct.Struct("<4s5H3L2H")
_CENTRAL = struct.Struct("<4s4B4HL2L5H2L")
_END = struct.Struct("<4s4H2LH")
_ZIP64_FIELD = 1
_ZIP_MOST = 0xFFFFFFFF
_COMPRESSION_LEVEL = 5


def part_key(name: str) -> str:
    """Name by which a part is found: part names do not tell upper from lower case."""
    return name.replace("\\", "/").lstrip("/").lower()


class PackageWriter:
    """Writes a zip package; every part either raw, as it was compressed, or compressed here.

    Parts written here carry a fixed time, so that the same input gives the same bytes.
    """

    def __init__(self, out: BinaryIO) -> None:
        self._out = out
        self._central: list[bytes] = []
        self._at = 0

    def _write(self, data: bytes | memoryview) -> None:
        self._out.write(data)
        self._at += len(data)

    def add(self, name: str, pieces: Iterable[bytes | memoryview]) -> None:
        """Compress `pieces` into one part; the part is never held as a whole uncompressed."""
        pack = zlib.compressobj(_COMPRESSION_LEVEL, zlib.DEFLATED, -15)
        crc = size = 0
        packed: list[bytes] = []
        waiting: list[bytes | memoryview] = []
        waiting_bytes = 0
        for piece in pieces:
            waiting.append(piece)
            waiting_bytes += len(piece)
            if waiting_bytes >= _BLOCK:
                block = waiting[0] if len(waiting) == 1 else b"".join(waiting)
                crc, size = zlib.crc32(block, crc), size + waiting_bytes
                packed.append(pack.compress(block))
                waiting, waiting_bytes = [], 0
        block = b"".join(waiting)
        crc, size = zlib.crc32(block, crc), size + len(block)
        packed.append(pack.compress(block))
        packed.append(pack.flush())
        info = zipfile.ZipInfo(name)
        info.CRC, info.file_size, info.compress_size = crc, size, sum(map(len, packed))
        info.compress_type = zipfile.ZIP_DEFLATED
        raw_name = name.encode("utf-8")
        info.flag_bits = 0 if raw_name.isascii() else 0x800
        self._entry(info, raw_name, b"", b"", _FIXED_TIME, _FIXED_DATE, packed)

    def add_raw(self, info: zipfile.ZipInfo, raw_name: bytes, local_extra: bytes, pieces: Iterable[bytes]) -> None:
        """Copy a compressed part with its time, attributes and extra fields."""
        year, month, day, hour, minute, second = info.date_time
        self._entry(
            info,
            raw_name,
            local_extra,
            _without_zip64(info.extra),
            hour << 11 | minute << 5 | second // 2,
            (year - 1980) << 9 | month << 5 | day,
            pieces,
        )

    def _entry(
        self,
        info: zipfile.ZipInfo,
        name: bytes,
        local_extra: bytes,
        central_extra: bytes,
        time: int,
        date: int,
        pieces: Iterable[bytes],
    ) -> None:
        if max(self._at, info.file_size, info.compress_size) >= _ZIP_MOST:
            raise MalformedPartError("the package would be larger than 4 GiB")
        flags = info.flag_bits & ~0x8  # sizes stand in the header, so no descriptor follows the data
        offset = self._at
        sizes = (info.CRC, info.compress_size, info.file_size)
        self._write(
            _LOCAL.pack(b"PK\x03\x04", 20, flags, info.compress_type, time, date, *sizes, len(name), len(local_extra))
        )
        self._write(name + local_extra)
        before = self._at
        for piece in pieces:
            self._write(piece)
        if self._at - before != info.compress_size:
            raise MalformedPartError("a part is shorter than its directory says")
        self._central.append(
            _CENTRAL.pack(
                b"PK\x01\x02",
                info.create_version or 20,
                info.create_system,
                20,
                0,
                flags,
                info.compress_type,
                time,
                date,
                *sizes,
                len(name),
                len(central_extra),
                len(info.comment),
                0,
                info.internal_attr,
                info.external_attr & _ZIP_MOST,
                offset,
            )
            + name
            + central_extra
            + info.comment
        )

    def close(self) -> None:
        """Write the directory; the file itself stays open."""
        start = self._at
        for entry in self._central:
            self._write(entry)
        count = len(self._central)
        if count > 0xFFFE or self._at >= _ZIP_MOST:
            raise MalformedPartError("the package has more parts than the format allows")
        self._write(_END.pack(b"PK\x05\x06", 0, 0, count, count, self._at - start, start, 0))


def _without_zip64(extra: bytes) -> bytes:
    kept, at = b"", 0
    while at + 4 <= len(extra):
        kind, length = struct.unpack_from("<HH", extra, at)
        if kind != _ZIP64_FIELD:
            kept += extra[at : at + 4 + length]
        at += 4 + length
    return kept


class ZipParts:
    """Parts of a package on disk."""

    def __init__(self, path: Path) -> None:
        self._file = path.open("rb")
        try:
            self._zip = zipfile.ZipFile(self._file)
        except BaseException:
            self._file.close()
            raise
        self._info: dict[str, zipfile.ZipInfo] = {}
        for info in self._zip.infolist():  # of two parts with one name the last counts, as for readers
            if not info.orig_filename.endswith("/"):
                self._info[part_key(info.orig_filename)] = info

    def close(self) -> None:
        """Close the file."""
        self._zip.close()
        self._file.close()

    def names(self) -> list[str]:
        """Names of all parts, in the order of the package."""
        return [info.orig_filename for info in self._info.values()]

    def has(self, name: str) -> bool:
        """Whether there is such a part."""
        return part_key(name) in self._info

    def _find(self, name: str) -> zipfile.ZipInfo:
        try:
            info = self._info[part_key(name)]
        except KeyError:
            raise MalformedPartError(f"the part {name} is missing") from None
        if info.file_size > LARGEST_PART_BYTES:
            raise MalformedPartError(f"the part {name} unpacks to more than 1 GiB")
        if info.flag_bits & 1:
            raise MalformedPartError(f"the part {name} is locked by a password")
        return info

    def read(self, name: str) -> bytes:
        """Bytes of one part."""
        return self._zip.read(self._find(name))

    def read_head(self, name: str, stop: bytes) -> bytes:
        """Bytes of one part until `stop` has come by, or all of it."""
        with self._zip.open(self._find(name)) as part:
            data = part.read(1 << 14)
            while stop not in data:
                more = part.read(1 << 16)
                if not more:
                    break
                data += more
        return data

    def copy(self, name: str, writer: PackageWriter) -> None:
        """Copy one part with its compressed bytes."""
        info = self._info[part_key(name)]
        self._file.seek(info.header_offset)
        header = self._file.read(30)
        if header[:4] != b"PK\x03\x04":
            raise MalformedPartError(f"the part {name} is not where its directory says")
        name_length, extra_length = struct.unpack_from("<HH", header, 26)
        raw_name = self._file.read(name_length)
        extra = _without_zip64(self._file.read(extra_length))
        writer.add_raw(info, raw_name, extra, self._raw(info.compress_size))

    def _raw(self, size: int) -> Iterator[bytes]:
        while size:
            block = self._file.read(min(size, _BLOCK))
            if not block:
                return
            size -= len(block)
            yield block


class MemoryParts:
    """Parts made here, of a workbook that has no package of its own."""

    def __init__(self, parts: dict[str, list[bytes]]) -> None:
        self._names = {part_key(name): name for name in parts}
        self._parts = {part_key(name): pieces for name, pieces in parts.items()}

    def close(self) -> None:
        """Let go of the parts."""
        self._parts.clear()

    def names(self) -> list[str]:
        """Names of all parts, in order."""
        return list(self._names.values())

    def has(self, name: str) -> bool:
        """Whether there is such a part."""
        return part_key(name) in self._parts

    def read(self, name: str) -> bytes:
        """Bytes of one part."""
        try:
            pieces = self._parts[part_key(name)]
        except KeyError:
            raise MalformedPartError(f"the part {name} is missing") from None
        if len(pieces) > 1:
            pieces[:] = [b"".join(pieces)]
        return pieces[0] if pieces else b""

    def read_head(self, name: str, stop: bytes) -> bytes:
        """Bytes of one part (they are at hand in any case)."""
        del stop
        return self.read(name)

    def copy(self, name: str, writer: PackageWriter) -> None:
        """Compress one part into the package."""
        writer.add(self._names[part_key(name)], self._parts[part_key(name)])
