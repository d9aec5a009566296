"""A plain workbook with the rows of lists that have no package of their own (csv, tsv, xls, ods).

Every row and column keeps its position, text stays text, numbers stay numbers, dates stay dates.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from .cellrefs import LAST_COLUMN, LAST_ROW, column_letters
from .celltext import xml_text
from .stylesheet import MAIN_NAMESPACE, Stylesheet
from .xmlbytes import MalformedPartError, escape_attribute
from .zipparts import MemoryParts

__all__ = ["CellValue", "SheetRows", "plain_parts", "unique_sheet_name"]

CellValue = str | int | float | bool | dt.datetime | dt.date | dt.time | dt.timedelta | None

_RELATIONSHIPS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
_DAY_ZERO = dt.datetime(1899, 12, 30)
_FIRST_DAY = dt.datetime(1900, 3, 1)  # before it, spreadsheets count a 29 February 1900 that never was
_EXACT_INTEGER = 10**15
_SAMPLE_ROWS = 2000
_WIDEST, _NARROWEST = 48, 6


@dataclass(frozen=True, slots=True)
class SheetRows:
    """Rows of one sheet as read; the first row is row 1, the first value stands in column A."""

    name: str
    rows: Sequence[Sequence[CellValue]]


def unique_sheet_name(wanted: str, taken: Iterable[str], mark: str = "") -> str:
    """Name a sheet may have: 31 characters, none of ``[]:*?/\\``, and not among those taken."""
    lower = {name.lower() for name in taken}
    cleaned = re.sub(r"[\[\]:*?/\\\x00-\x1f]", " ", wanted).strip().strip("'") or "Sheet"
    if cleaned.lower() == "history":  # kept by spreadsheets for themselves
        cleaned = "History "
    if cleaned[:31].rstrip("' ").lower() not in lower:
        return cleaned[:31].rstrip("' ")
    number = 1
    while True:
        ending = mark if number == 1 and mark else f"{mark} {number + (not mark)}"
        name = cleaned[: 31 - len(ending)].rstrip("' ") + ending
        if name.lower() not in lower:
            return name
        number += 1


def plain_parts(sheets: Sequence[SheetRows]) -> tuple[MemoryParts, list[str]]:
    """Parts of a workbook with the rows of `sheets`, and the names its sheets got."""
    names: list[str] = []
    styles = Stylesheet(None)
    writer = _RowWriter(styles)
    parts: dict[str, list[bytes]] = {"[Content_Types].xml": [], "_rels/.rels": []}
    parts["xl/workbook.xml"], parts["xl/_rels/workbook.xml.rels"] = [], []
    listed, related, declared = [], [], []
    for number, sheet in enumerate(sheets, 1):
        name = unique_sheet_name(sheet.name, names)
        names.append(name)
        parts[f"xl/worksheets/sheet{number}.xml"] = writer.sheet(sheet, number == 1)
        listed.append(b'<sheet name="%s" sheetId="%d" r:id="rId%d"/>' % (escape_attribute(name), number, number))
        related.append(
            f'<Relationship Id="rId{number}" Type="{_RELATIONSHIPS}/worksheet" Target="worksheets/sheet{number}.xml"/>'
        )
        declared.append(f'<Override PartName="/xl/worksheets/sheet{number}.xml" ContentType="{_SHEET_TYPE}"/>')
    parts["xl/styles.xml"] = [styles.xml()]
    head = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
    spreadsheet = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    packages = "http://schemas.openxmlformats.org/package/2006"
    parts["[Content_Types].xml"] = [
        (
            f'{head}<Types xmlns="{packages}/content-types"><Default Extension="rels" '
            'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
            '<Default Extension="xml" ContentType="application/xml"/>'
            f'<Override PartName="/xl/workbook.xml" ContentType="{spreadsheet}.sheet.main+xml"/>'
            f'<Override PartName="/xl/styles.xml" ContentType="{spreadsheet}.styles+xml"/>'
            f"{''.join(declared)}</Types>"
        ).encode()
    ]
    parts["_rels/.rels"] = [
        (
            f'{head}<Relationships xmlns="{packages}/relationships"><Relationship Id="rId1" '
            f'Type="{_RELATIONSHIPS}/officeDocument" Target="xl/workbook.xml"/></Relationships>'
        ).encode()
    ]
    parts["xl/workbook.xml"] = [
        f'{head}<workbook xmlns="{MAIN_NAMESPACE}" xmlns:r="{_RELATIONSHIPS}"><bookViews>'
        '<workbookView activeTab="0"/></bookViews><sheets>'.encode()
        + b"".join(listed)
        + b"</sheets></workbook>"
    ]
    parts["xl/_rels/workbook.xml.rels"] = [
        (
            f'{head}<Relationships xmlns="{packages}/relationships">{"".join(related)}'
            f'<Relationship Id="rId{len(names) + 1}" Type="{_RELATIONSHIPS}/styles" Target="styles.xml"/>'
            "</Relationships>"
        ).encode()
    ]
    return MemoryParts(parts), names


class _RowWriter:
    def __init__(self, styles: Stylesheet) -> None:
        self._date = styles.plain("yyyy-mm-dd")
        self._moment = styles.plain("yyyy-mm-dd hh:mm:ss")
        self._time = styles.plain("hh:mm:ss")
        self._span = styles.plain("[h]:mm:ss")
        self._texts: dict[str, str] = {}

    def sheet(self, sheet: SheetRows, selected: bool) -> list[bytes]:
        """A sheet part, in pieces."""
        columns = max(map(len, sheet.rows), default=0)
        if len(sheet.rows) > LAST_ROW or columns > LAST_COLUMN + 1:
            raise MalformedPartError(
                f"sheet '{sheet.name}' has {len(sheet.rows)} rows and {columns} columns, "
                "more than a workbook sheet holds"
            )
        chosen = ' tabSelected="1"' if selected else ""
        pieces = [
            (
                '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
                f'<worksheet xmlns="{MAIN_NAMESPACE}"><sheetPr><pageSetUpPr fitToPage="1"/></sheetPr>'
                f'<sheetViews><sheetView{chosen} workbookViewId="0"/>'
                '</sheetViews><sheetFormatPr defaultRowHeight="15"/>'
                f"{_columns(sheet.rows, columns)}<sheetData>"
            ).encode()
        ]
        letters = [column_letters(index) for index in range(columns)]
        texts = self._texts
        written: list[str] = []
        for number, row in enumerate(sheet.rows, 1):
            cells = []
            for column, value in zip(letters, row, strict=False):
                if value is None or value == "":
                    continue
                kind = type(value)
                if kind is str:
                    body = texts.get(value)  # type: ignore[arg-type]
                    if body is None:
                        body = self._text(value)  # type: ignore[arg-type]
                    cells.append(f'<c r="{column}{number}"{body}')
                else:
                    cells.append(f'<c r="{column}{number}"{self._other(value)}')
            if cells:
                written.append(f'<row r="{number}">{"".join(cells)}</row>')
            if len(written) >= 1000:
                pieces.append("".join(written).encode("utf-8"))
                written.clear()
        pieces.append("".join(written).encode("utf-8"))
        pieces.append(
            b'</sheetData><printOptions gridLines="1"/><pageMargins left="0.4" right="0.4" top="0.5" '
            b'bottom="0.6" header="0.3" footer="0.3"/><pageSetup paperSize="9" orientation="landscape" '
            b'fitToWidth="1" fitToHeight="0"/><headerFooter><oddFooter>&amp;L&amp;A&amp;RPage &amp;P of &amp;N'
            b"</oddFooter></headerFooter></worksheet>"
        )
        return pieces

    def _text(self, value: str) -> str:
        body = f' t="inlineStr"><is><t xml:space="preserve">{xml_text(value)}</t></is></c>'
        if len(self._texts) < 200_000:
            self._texts[value] = body
        return body

    def _other(self, value: CellValue) -> str:
        if isinstance(value, bool):
            return f' t="b"><v>{int(value)}</v></c>'
        if isinstance(value, int):
            # a longer number would lose its last digits, and it is a part number in any case
            return f"><v>{value}</v></c>" if abs(value) < _EXACT_INTEGER else self._text(str(value))
        if isinstance(value, float):
            if math.isnan(value):
                return "/>"
            return f"><v>{float(value)!r}</v></c>" if math.isfinite(value) else self._text(str(value))
        if isinstance(value, dt.datetime):
            if value.tzinfo is None and value >= _FIRST_DAY:
                return f' s="{self._moment}"><v>{_days(value - _DAY_ZERO)!r}</v></c>'
            return self._text(value.isoformat(sep=" "))
        if isinstance(value, dt.date):
            moment = dt.datetime(value.year, value.month, value.day)
            if moment >= _FIRST_DAY:
                return f' s="{self._date}"><v>{(moment - _DAY_ZERO).days}</v></c>'
            return self._text(value.isoformat())
        if isinstance(value, dt.time):
            since = dt.timedelta(
                hours=value.hour, minutes=value.minute, seconds=value.second, microseconds=value.microsecond
            )
            return f' s="{self._time}"><v>{_days(since)!r}</v></c>'
        if isinstance(value, dt.timedelta):
            if value >= dt.timedelta(0):
                return f' s="{self._span}"><v>{_days(value)!r}</v></c>'
            return self._text(str(value))
        return self._text(str(value))


def _days(span: dt.timedelta) -> float:
    return span / dt.timedelta(days=1)


def _columns(rows: Sequence[Sequence[CellValue]], columns: int) -> str:
    """Column widths that show most of what the first rows hold."""
    if not columns:
        return ""
    widths = [0] * columns
    for row in rows[:_SAMPLE_ROWS]:
        for index, value in enumerate(row):
            if value is not None:
                length = len(value) if isinstance(value, str) else min(len(str(value)), 19)
                if length > widths[index]:
                    widths[index] = length
    written = "".join(
        f'<col min="{number}" max="{number}" width="{min(max(width + 2, _NARROWEST), _WIDEST)}" customWidth="1"/>'
        for number, width in enumerate(widths, 1)
    )
    return f"<cols>{written}</cols>"
