"""A build as a set of csv files with semicolons and decimal commas, as many spreadsheets save them."""

from __future__ import annotations

import csv
import io

from build_model import Build
from recommended_workbook import rows_of

from harnessdrc.render.template import heading_of
from harnessdrc.tables.columns import FORMS

_NAMES = {
    "wires": "wires.csv", "pins": "pins.csv", "components": "components.csv", "earth_points": "earths.csv",
    "fuses": "fuses.csv", "splices": "splices.csv", "branches": "branches.csv", "points": "points.csv",
    "straps": "straps.csv", "joints": "joints.csv", "parts": "parts.csv",
}  # fmt: skip
_NUMBERS = ("size", "size_min", "size_max", "_m", "_a", "_ohm", "_f", "_v")


def csv_files(build: Build) -> dict[str, bytes]:
    """Bytes of every file by its name; UTF-8 with its mark, lines ended as on Windows."""
    files = {}
    for form_name, file_name in _NAMES.items():
        form, rows = FORMS[form_name], rows_of(build, form_name)
        if not rows:
            continue
        columns = [c for c in form.columns if c.needed or any(row.get(c.name) not in (None, "") for row in rows)]
        text = io.StringIO(newline="")
        writer = csv.writer(text, delimiter=";", lineterminator="\r\n")
        writer.writerow([heading_of(form, column) for column in columns])
        for row in rows:
            values = ["" if row.get(c.name) is None else str(row[c.name]) for c in columns]
            writer.writerow(
                [
                    v.replace(".", ",") if c.name.endswith(_NUMBERS) else v
                    for c, v in zip(columns, values, strict=True)
                ]
            )
        files[file_name] = b"\xef\xbb\xbf" + text.getvalue().encode()
    return files
