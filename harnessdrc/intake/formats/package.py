"""The zip package of an .xlsx, .xlsm or .ods: checked before anything in it is unpacked.

Sizes are read from the zip's directory first; what is then really unpacked is bounded again, because a
directory can lie. Parts are streamed, so that checking a large sheet takes little memory.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from collections.abc import Iterator
from typing import IO, Final

from harnessdrc.errors import FileUnreadableError
from harnessdrc.intake.formats import limits

__all__ = [
    "DAMAGED_REMEDY",
    "PASSWORD_REMEDY",
    "Package",
    "damaged",
    "password_protected",
    "printable",
    "too_large",
]

DAMAGED_REMEDY: Final = (
    "Open it in a spreadsheet program, let that repair it, save it under a new name and give that file;"
    " or fetch the file afresh."
)
PASSWORD_REMEDY: Final = "Open it in a spreadsheet program, save a copy without a password and give that."
_CHUNK_BYTES = 1 << 20
_LONGEST_TAG_BYTES = 1 << 24
_BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, OSError, ValueError, RuntimeError)


def printable(text: str) -> str:
    """A name out of a file or folder, made fit for a sentence on one line."""
    return text if text.isprintable() else "".join(c if c.isprintable() else "?" for c in text)


def damaged(file: str, detail: str, *, sheet: str = "", cell: str = "") -> FileUnreadableError:
    """Error for a file that contradicts its own format."""
    return FileUnreadableError(
        f"the workbook is damaged and cannot be read: {detail}.",
        file=file,
        sheet=printable(sheet),
        cell=cell,
        remedy=DAMAGED_REMEDY,
    )


def password_protected(file: str) -> FileUnreadableError:
    """Error for a file that only its password opens."""
    return FileUnreadableError("the workbook is protected by a password.", file=file, remedy=PASSWORD_REMEDY)


def too_large(file: str, detail: str, *, sheet: str = "", cell: str = "", remedy: str = "") -> FileUnreadableError:
    """Error for a file that would take more memory than any wire list needs."""
    return FileUnreadableError(
        f"the file is too large to be a wire list: {detail}.",
        file=file,
        sheet=printable(sheet),
        cell=cell,
        remedy=remedy or "Give a file that holds only the wire list.",
    )


class Package:
    """Directory of a zip package whose declared sizes are within bounds.

    Parameters
    ----------
    data : bytes
        The whole file.
    file : str
        Name shown to the user.

    Raises
    ------
    FileUnreadableError
        If the zip is damaged, encrypted, names a part twice, or would unpack to more than is allowed.
    """

    def __init__(self, data: bytes, file: str) -> None:
        self.file = file
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(data))
            infos = self._zip.infolist()
        except _BROKEN as fault:
            raise damaged(file, "its zip directory is missing or cut short") from fault
        self._left_bytes = limits.MAX_UNPACKED_BYTES
        self._parts: dict[str, zipfile.ZipInfo] = {}
        for info in infos:
            name = _folded(info.filename)
            if name in self._parts:
                raise damaged(file, f"it holds the part '{_shown(info.filename)}' twice")
            self._parts[name] = info
        self._check_sizes(infos)
        if any(info.flag_bits & 1 for info in infos):
            raise password_protected(file)

    def _check_sizes(self, infos: list[zipfile.ZipInfo]) -> None:
        if len(infos) > limits.MAX_ZIP_PARTS:
            raise too_large(self.file, f"it has {len(infos):,} parts, {limits.MAX_ZIP_PARTS:,} are allowed")
        total = sum(info.file_size for info in infos)
        if total > limits.MAX_UNPACKED_BYTES:
            raise too_large(
                self.file,
                f"it unpacks to {total / 1024**2:,.0f} MiB, over {limits.MAX_UNPACKED_BYTES // 1024**2:,}",
            )
        for info in infos:
            if (
                info.file_size > limits.MAX_PART_BYTES_UNCHECKED_RATIO
                and info.file_size > limits.MAX_RATIO * info.compress_size
            ):
                raise too_large(
                    self.file,
                    f"its part '{_shown(info.filename)}' unpacks to {info.file_size / 1024**2:,.0f} MiB,"
                    f" more than {limits.MAX_RATIO} times its packed size, as a zip bomb does",
                )

    @property
    def names(self) -> frozenset[str]:
        """Names of all parts, with forward slashes, in lower case: programs do not agree on the case."""
        return frozenset(self._parts)

    def __contains__(self, name: object) -> bool:
        return isinstance(name, str) and _folded(name) in self._parts

    def chunks(self, name: str) -> Iterator[bytes]:
        """Unpacked bytes of a part in pieces of about 1 MiB; its check sum is verified at the end."""
        try:
            with self._zip.open(self._parts[_folded(name)]) as part:
                yield from self._bounded(part)
        except KeyError as fault:
            raise damaged(self.file, f"its part '{_shown(name)}' is missing") from fault
        except _BROKEN as fault:
            raise damaged(self.file, f"its part '{_shown(name)}' cannot be unpacked") from fault

    def _bounded(self, part: IO[bytes]) -> Iterator[bytes]:
        while chunk := part.read(_CHUNK_BYTES):
            self._left_bytes -= len(chunk)
            if self._left_bytes < 0:
                raise too_large(self.file, f"it unpacks to more than {limits.MAX_UNPACKED_BYTES // 1024**2:,} MiB")
            yield chunk

    def read(self, name: str, limit_bytes: int = 16 * 1024**2) -> bytes:
        """A whole part; for parts that are small by nature."""
        pieces: list[bytes] = []
        for piece in self.chunks(name):
            pieces.append(piece)
            limit_bytes -= len(piece)
            if limit_bytes < 0:
                raise too_large(self.file, f"its part '{_shown(name)}' is far larger than usual")
        return b"".join(pieces)

    def pieces(self, name: str, cut: bytes) -> Iterator[bytes]:
        """A part in pieces that each but the first begin with `cut`, so that no cell is split between two."""
        rest = b""
        for chunk in self.chunks(name):
            whole = rest + chunk
            at = whole.rfind(cut)
            if at <= 0:
                rest = whole
                if len(rest) > _LONGEST_TAG_BYTES:
                    yield rest
                    rest = b""
                continue
            yield whole[:at]
            rest = whole[at:]
        if rest:
            yield rest

    def refuse_declarations(self, name: str, piece: bytes, *, doctype: bool) -> None:
        """Refuse a part that declares entities (they swell to gigabytes) or, if `doctype`, any DTD."""
        if b"<!ENTITY" in piece or (doctype and b"<!DOCTYPE" in piece):
            raise FileUnreadableError(
                f"its part '{_shown(name)}' declares XML entities, which no spreadsheet program writes and"
                " which serve to make a small file swell.",
                file=self.file,
                remedy="Copy the cells into a new workbook and give that.",
            )

    def verified(self, name: str, *, doctype: bool = True) -> Iterator[bytes]:
        """Pieces of a part, cut between tags, whose check sum and declarations are looked at on the way."""
        for piece in self.pieces(name, b"<"):
            self.refuse_declarations(name, piece, doctype=doctype)
            yield piece


def _folded(name: str) -> str:
    return name.replace("\\", "/").lower()


def _shown(name: str) -> str:
    text = printable(name)
    return text if len(text) <= 80 else text[:77] + "..."
