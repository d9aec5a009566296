"""How much may be read before a file is refused: generous for any wire list, tight for a hostile file."""

from __future__ import annotations

__all__ = [
    "MAX_BOX_CELLS",
    "MAX_CELLS",
    "MAX_COLUMNS",
    "MAX_FIELD_CHARACTERS",
    "MAX_FILE_BYTES",
    "MAX_PART_BYTES_UNCHECKED_RATIO",
    "MAX_RATIO",
    "MAX_ROWS",
    "MAX_SHEETS",
    "MAX_TEXT_BYTES",
    "MAX_UNPACKED_BYTES",
    "MAX_ZIP_PARTS",
]

MAX_FILE_BYTES = 512 * 1024**2
"""Size of a file as it stands on disk."""

MAX_TEXT_BYTES = 256 * 1024**2
"""Size of a delimited text, which takes several times that while read."""

MAX_UNPACKED_BYTES = 1024**3
"""All parts of a workbook together, unpacked."""

MAX_RATIO = 200
"""Unpacked over packed size of parts above `MAX_PART_BYTES_UNCHECKED_RATIO`;
honest sheets reach about 60."""

MAX_PART_BYTES_UNCHECKED_RATIO = 50 * 1024**2
"""Below this, a part may shrink by any ratio: rows all alike do so honestly."""

MAX_ZIP_PARTS = 20_000
"""Parts in one workbook."""

MAX_SHEETS = 2_000
"""Sheets in one workbook."""

MAX_ROWS = 1_048_576
"""Rows of a sheet: the bound of the .xlsx and .ods formats, held for delimited text too."""

MAX_COLUMNS = 16_384
"""Columns of a sheet: the bound of the .xlsx format."""

MAX_CELLS = 20_000_000
"""Cells with something in them, over one file."""

MAX_BOX_CELLS = 20_000_000
"""Cells, filled or not, of the smallest area from column A on that holds all filled cells; each takes 32
bytes while read."""

MAX_FIELD_CHARACTERS = 131_072
"""Characters in one field of delimited text (four times what a spreadsheet's cell holds)."""
