"""Small builders of workbooks, part by part, for the tests of opening files."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Mapping
from pathlib import Path

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
RELS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"

CONTENT_TYPES = (
    f'<Types xmlns="{PACKAGE}/content-types"><Default Extension="rels"'
    ' ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml"'
    ' ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>'
)


def xlsx_parts(
    *sheets: str, shared: str | None = None, names: tuple[str, ...] = (), states: tuple[str, ...] = ()
) -> dict[str, str | bytes]:
    """Parts of a minimal .xlsx; each of `sheets` is a whole part or what stands inside its root element."""
    names = names or tuple(f"S{i}" for i in range(1, len(sheets) + 1))
    states = states or ("visible",) * len(sheets)
    parts: dict[str, str | bytes] = {
        "[Content_Types].xml": CONTENT_TYPES,
        "_rels/.rels": f'<Relationships xmlns="{PACKAGE}/relationships"><Relationship Id="rId1"'
        f' Type="{RELS}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{RELS}"><sheets>'
        + "".join(
            f'<sheet name="{name}" sheetId="{i}" state="{state}" r:id="rId{i}"/>'
            for i, (name, state) in enumerate(zip(names, states, strict=True), 1)
        )
        + "</sheets></workbook>",
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{PACKAGE}/relationships">'
        + "".join(
            f'<Relationship Id="rId{i}" Type="{RELS}/worksheet" Target="worksheets/sheet{i}.xml"/>'
            for i in range(1, len(sheets) + 1)
        )
        + f'<Relationship Id="rId99" Type="{RELS}/sharedStrings" Target="sharedStrings.xml"/></Relationships>',
    }
    if shared is not None:
        parts["xl/sharedStrings.xml"] = f'<sst xmlns="{MAIN}">{shared}</sst>'
    for i, sheet in enumerate(sheets, 1):
        whole = sheet if sheet.startswith("<?xml") else f'<worksheet xmlns="{MAIN}">{sheet}</worksheet>'
        parts[f"xl/worksheets/sheet{i}.xml"] = whole
    return parts


def zipped(parts: Mapping[str, str | bytes], compression: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A zip with the parts in their order."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", compression) as package:
        for name, content in parts.items():
            package.writestr(name, content)
    return buffer.getvalue()


def xlsx(*sheets: str, **options: object) -> bytes:
    """A minimal .xlsx, see `xlsx_parts`."""
    return zipped(xlsx_parts(*sheets, **options))  # type: ignore[arg-type]


def rows_xml(*rows: str) -> str:
    """``<sheetData>`` around rows."""
    return f"<sheetData>{''.join(rows)}</sheetData>"


ODS_SPACES = (
    " ".join(
        f'xmlns:{prefix}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
        for prefix, name in (
            ("office", "office"),
            ("table", "table"),
            ("text", "text"),
            ("style", "style"),
            ("draw", "drawing"),
        )
    )
    + ' xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"'
)


def ods_parts(body: str, styles: str = "", head: str = "") -> dict[str, str | bytes]:
    """Parts of a minimal .ods; `body` stands inside ``<office:spreadsheet>``."""
    return {
        "mimetype": "application/vnd.oasis.opendocument.spreadsheet",
        "META-INF/manifest.xml": '<manifest:manifest xmlns:manifest="urn:x"/>',
        "content.xml": f'<?xml version="1.0" encoding="UTF-8"?>{head}<office:document-content {ODS_SPACES}>'
        f"<office:automatic-styles>{styles}</office:automatic-styles><office:body><office:spreadsheet>{body}"
        "</office:spreadsheet></office:body></office:document-content>",
    }


def ods(body: str, styles: str = "") -> bytes:
    """A minimal .ods, see `ods_parts`."""
    return zipped(ods_parts(body, styles))


def text_cell(text: str, attributes: str = "") -> str:
    """A text cell of an .ods."""
    return f'<table:table-cell office:value-type="string" {attributes}><text:p>{text}</text:p></table:table-cell>'


def biff_record(kind: int, body: bytes = b"") -> bytes:
    """One record of an .xls workbook stream."""
    return struct.pack("<HH", kind, len(body)) + body


def biff8_stream(*records: bytes, globals_extra: bytes = b"", name: str = "S") -> bytes:
    """A workbook stream with one sheet that holds `records`."""
    start = biff_record(0x0809, struct.pack("<HHHHII", 0x0600, 0x0005, 0, 0, 0, 0)) + globals_extra
    bound_length = 8 + len(name)
    offset = len(start) + 4 + bound_length + 4
    bound = biff_record(0x0085, struct.pack("<IBBBB", offset, 0, 0, len(name), 0) + name.encode("latin-1"))
    sheet = biff_record(0x0809, struct.pack("<HHHHII", 0x0600, 0x0010, 0, 0, 0, 0)) + b"".join(records)
    return start + bound + biff_record(0x000A) + sheet + biff_record(0x000A)


def put(folder: Path, name: str, content: bytes | str) -> Path:
    """A file in a folder."""
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path
