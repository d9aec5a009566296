"""Make every file of ``sample_wirelists/`` anew: ``python tests/samples/make_samples.py [FOLDER]``.

The same bytes come out every time with the same openpyxl: no clock is in them.
"""

from __future__ import annotations

import csv
import io
import re
import sys
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import asdict
from pathlib import Path

import hill_climb
import hill_climb_faults
import rescue_boat
import rescue_boat_faults
from boat_workbook import boat_workbook
from build_model import Build
from csv_set import csv_files
from openpyxl import Workbook
from recommended_workbook import recommended_workbook

Locate = Callable[[str, str, str], tuple[str, str]]

REPOSITORY = Path(__file__).parents[2]
_EXPECTED_COLUMNS = ("check", "subject_kind", "subject", "sheet", "cell", "why")


def workbook_bytes(book: Workbook) -> bytes:
    """Bytes of a workbook with every date in it fixed, so that they are the same every time."""
    raw = io.BytesIO()
    book.save(raw)
    fixed = io.BytesIO()
    with zipfile.ZipFile(raw) as source, zipfile.ZipFile(fixed, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            data = source.read(name)
            if name == "docProps/core.xml":
                data = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"2024-01-01T00:00:00Z", data)
            entry = zipfile.ZipInfo(name, date_time=(2024, 1, 1, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            target.writestr(entry, data)
    return fixed.getvalue()


def expected_bytes(build: Build, locate: Locate) -> bytes:
    """The findings expected of a faulty build, with the cells they should mark."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(_EXPECTED_COLUMNS)
    for expected in build.expected:
        row = asdict(expected)
        sheet, cell = locate(expected.form, expected.key, expected.column)
        writer.writerow([*(row[name] for name in _EXPECTED_COLUMNS[:3]), sheet, cell, expected.why])
    return text.getvalue().encode()


def sample_files() -> Mapping[str, bytes]:
    """Every generated file by its path below ``sample_wirelists/``."""
    files: dict[str, bytes] = {}
    for scenario, faults, make in (
        (hill_climb, hill_climb_faults, recommended_workbook),
        (rescue_boat, rescue_boat_faults, boat_workbook),
    ):
        for kind, build in (("clean", scenario.clean()), ("faulty", faults.faulty())):
            book, locate = make(build)
            files[f"{kind}/{build.name}.xlsx"] = workbook_bytes(book)
            if build.expected:
                files[f"{kind}/{build.name}.expected.csv"] = expected_bytes(build, locate)
    for name, data in csv_files(hill_climb.clean()).items():
        files[f"clean/hill_climb_csv/{name}"] = data
    return files


def main() -> None:
    """Write all files below the folder given, or below ``sample_wirelists/``."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else REPOSITORY / "sample_wirelists"
    for name, data in sample_files().items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
        print(path)


if __name__ == "__main__":
    main()
