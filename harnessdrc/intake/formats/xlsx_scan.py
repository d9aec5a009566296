"""What must be known of an .xlsx before its cells are read, and what the cell reader does not tell.

Each sheet is streamed once. Found out: how many cells it has, whether the area between its outermost
filled cells fits into memory, which cells hold an error value (the cell reader gives those as empty) and
which a formula without a saved result. Regular files, in the form nearly every program writes, are
searched with byte patterns (about 0.4 s per million cells); anything else goes through a real XML parser.
"""

from __future__ import annotations

import posixpath
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass
from urllib.parse import unquote
from xml.parsers import expat

from harnessdrc.errors import FileUnreadableError
from harnessdrc.intake.formats import limits
from harnessdrc.intake.formats.package import Package, damaged, too_large
from harnessdrc.places import cell_name

__all__ = ["SheetFacts", "WorkbookFacts", "scan_xlsx"]


@dataclass(frozen=True, slots=True)
class SheetFacts:
    """What the cell reader does not tell about one sheet.

    Parameters
    ----------
    cells : int
        Upper bound on the cells that hold something.
    errors : tuple of (int, int, str)
        One-based row, zero-based column, and ``#REF!`` or the like.
    formulas_without_value : tuple of str
        Cell names.
    drawings : bool
        Pictures, shapes or charts stand on the sheet.
    """

    cells: int = 0
    errors: tuple[tuple[int, int, str], ...] = ()
    formulas_without_value: tuple[str, ...] = ()
    drawings: bool = False


@dataclass(frozen=True, slots=True)
class WorkbookFacts:
    """Names and facts of the sheets in their order, and whether the workbook carries macros."""

    sheets: tuple[tuple[str, SheetFacts], ...]
    macros: bool = False


_OFFICE_REL = re.compile(r"/relationships/(\w+)$")
_ROOT = re.compile(rb"<(?:([\w.-]+):)?(?:worksheet|chartsheet|dialogsheet|macrosheet)\b")
_ROOT_END = re.compile(rb"</(?:work|chart|dialog|macro)sheet\s*>|<(?:work|chart|dialog|macro)sheet\b[^>]*/>")
_WIDE = re.compile(rb'<c r="(?:[A-Za-z]{2}|[A-Za-z][0-9]{6})')
_FILLED = re.compile(rb'<c r="([A-Za-z]+)([0-9]+)"(?:[^>]*[^/>])?>(?!</c>)')
_FORMULA = re.compile(
    rb'<c r="([A-Za-z]+[0-9]+)"([^>]*)>\s*<f\b[^>]*?(?:/>|>[^<]*</f>)\s*'
    rb'(<v>[^<]|<v xml:space="preserve">[^<]|<is|<v|)'
)
_ERROR = re.compile(
    rb'<c r="([A-Za-z]+)([0-9]+)"[^>]*?\st="e"[^>]*>\s*(?:<f\b[^>]*?(?:/>|>[^<]*</f>)\s*)?<v>([^<]*)</v>'
)
_UNIQUE_COUNT = re.compile(rb"""\buniqueCount\s*=\s*["']\s*\+?([0-9]+)""")
_CELL_TAG = re.compile(rb"<c(?![A-Za-z])")
_PREFIXED_CELL_TAG = re.compile(rb"<[^<>:\s]*:c[\s/>]")


def scan_xlsx(package: Package) -> WorkbookFacts:
    """Check every part of an .xlsx that will be read, and gather what the cell reader does not tell.

    Raises
    ------
    FileUnreadableError
        If a part is damaged, hostile, or a cell stands where no sheet reaches.
    """
    workbook_part, macros = _workbook_part(package)
    relations = _relations(package, workbook_part)
    listed = [target for kind, target in relations.values() if kind in ("sharedStrings", "styles")]
    for target in dict.fromkeys([*listed, "xl/sharedStrings.xml", "xl/styles.xml"]):
        if target in package:
            _check_counts(package, target)
    facts: list[tuple[str, SheetFacts]] = []
    cells = 0
    for name, relation in _sheets(package, workbook_part):
        _, target = relations.get(relation, ("", ""))
        if target not in package:
            raise damaged(package.file, "the part with the cells of this sheet is missing", sheet=name)
        drawings = any(kind == "drawing" for kind, _ in _relations(package, target).values())
        count, errors, formulas = _scan_sheet(package, target, name)
        facts.append((name, SheetFacts(count, tuple(errors), tuple(formulas), drawings)))
        cells += count
        if cells > limits.MAX_CELLS:
            raise too_large(package.file, f"it has more than {limits.MAX_CELLS:,} cells", sheet=name)
    return WorkbookFacts(tuple(facts), macros)


def _check_counts(package: Package, part: str) -> None:
    """Refuse a part that says it has more texts than a workbook can show: memory is set aside for them."""
    for piece in package.verified(part):
        for count in _UNIQUE_COUNT.findall(piece):
            if int(count[:20]) > limits.MAX_CELLS:
                raise damaged(package.file, f"its part '{part}' says it has {int(count[:20]):,} texts")


def _xml(package: Package, part: str) -> ET.Element:
    raw = package.read(part)
    package.refuse_declarations(part, raw, doctype=True)
    try:
        return ET.fromstring(raw)
    except (ET.ParseError, LookupError, ValueError) as fault:
        raise damaged(package.file, f"its part '{part}' is not well-formed XML") from fault


def _relations(package: Package, part: str) -> dict[str, tuple[str, str]]:
    """Relation id → (kind, part) of the relations of one part; outside links are never followed."""
    folder, name = posixpath.split(part)
    rels = posixpath.join(folder, "_rels", name + ".rels")
    if rels not in package:
        return {}
    found: dict[str, tuple[str, str]] = {}
    for relation in _xml(package, rels):
        kind = _OFFICE_REL.search(relation.get("Type", ""))
        if kind is None or relation.get("TargetMode") == "External":
            continue
        target = unquote(relation.get("Target", ""))
        path = posixpath.normpath(target[1:] if target.startswith("/") else posixpath.join(folder, target))
        found[relation.get("Id", "")] = (kind.group(1), path)
    return found


def _workbook_part(package: Package) -> tuple[str, bool]:
    """The part with the list of sheets, and whether the package carries macros."""
    root = [target for kind, target in _relations(package, "").values() if kind == "officeDocument"]
    part = next((target for target in [*root, "xl/workbook.xml"] if target in package), None)
    if part is None:
        raise damaged(package.file, "the part that lists its sheets is missing")
    macros = any(name.endswith("vbaproject.bin") for name in package.names)
    if not macros and "[Content_Types].xml" in package:
        macros = b"sheet.macroEnabled" in package.read("[Content_Types].xml")
    return part, macros


def _sheets(package: Package, workbook_part: str) -> Iterator[tuple[str, str]]:
    """Name and relation id of each sheet, in order."""
    count = 0
    for element in _xml(package, workbook_part).iter():
        if element.tag.rpartition("}")[2] != "sheet":
            continue
        count += 1
        if count > limits.MAX_SHEETS:
            raise too_large(package.file, f"it has more than {limits.MAX_SHEETS:,} sheets")
        for key, value in element.attrib.items():
            if key.endswith("}id"):
                yield element.get("name", ""), value


def _scan_sheet(package: Package, part: str, sheet: str) -> tuple[int, list[tuple[int, int, str]], list[str]]:
    """Count of cells, error cells and formulas without a value of one sheet."""
    cells, wide, piece = 0, False, b""
    errors: list[tuple[int, int, str]] = []
    formulas: list[str] = []
    for index, piece in enumerate(package.pieces(part, b"<c")):
        package.refuse_declarations(part, piece, doctype=True)
        count = piece.count(b'<c r="')
        if (index == 0 and not _begins_regularly(piece)) or not _is_regular(piece, count):
            return _scan_oddly_written(package, part, sheet)
        cells += count
        wide = wide or _WIDE.search(piece) is not None
        if b"<f" in piece:
            for match in _FORMULA.finditer(piece):
                name, attributes, value = match.groups()
                if not value or (value == b"<v" and b't="str"' not in attributes):
                    formulas.append(name.decode())
        if b't="e"' in piece:
            for letters, row, text in _ERROR.findall(piece):
                errors.append((int(row), _column(letters), text.decode("utf-8", "replace")))
    if not _ROOT_END.search(piece):
        raise damaged(package.file, "the sheet ends in the middle", sheet=sheet)
    if wide:
        _check_box(package, part, sheet)
    return cells, errors, formulas


def _begins_regularly(piece: bytes) -> bool:
    root = _ROOT.search(piece)
    return root is not None and not root.group(1)


def _is_regular(piece: bytes, count: int) -> bool:
    """True if all cells of a piece are written ``<c r="A1" ...>``, so that byte patterns find them."""
    if piece.count(b"<c") != count and len(_CELL_TAG.findall(piece)) != count:
        return False
    return not (b"t='e'" in piece or (b":c" in piece and _PREFIXED_CELL_TAG.search(piece)))


def _check_box(package: Package, part: str, sheet: str) -> None:
    box = _Box(package.file, sheet)
    for piece in package.pieces(part, b"<c"):
        columns: set[bytes] = set()
        rows: set[bytes] = set()
        for letters, row in _FILLED.findall(piece):
            columns.add(letters)
            rows.add(row)
        for letters in columns:
            box.take_column(_column(letters))
        for row in rows:
            box.take_row(int(row))
    box.check()


class _Box:
    """Smallest area from column A on that holds the filled cells of a sheet."""

    def __init__(self, file: str, sheet: str) -> None:
        self._file, self._sheet = file, sheet
        self._top, self._bottom = limits.MAX_ROWS + 1, 0
        self._right = -1

    def take_row(self, row: int) -> None:
        """Widen to a one-based row."""
        if not 0 < row <= limits.MAX_ROWS:
            raise damaged(self._file, f"a cell stands in row {row}, which no sheet has", sheet=self._sheet)
        self._top, self._bottom = min(self._top, row), max(self._bottom, row)

    def take_column(self, column: int) -> None:
        """Widen to a zero-based column."""
        if not 0 <= column < limits.MAX_COLUMNS:
            raise damaged(self._file, "a cell stands beyond column XFD, the last a sheet has", sheet=self._sheet)
        self._right = max(self._right, column)

    def check(self) -> None:
        """Refuse an area that would not fit into memory, naming its far corner."""
        if self._right < 0:
            return
        cells = (self._bottom - self._top + 1) * (self._right + 1)  # rows begin at column A
        if cells > limits.MAX_BOX_CELLS:
            raise far_cell(self._file, self._sheet, self._bottom, self._right)


def far_cell(file: str, sheet: str, row: int, column: int) -> FileUnreadableError:
    """Error for a sheet whose filled cells reach so far out that the area does not fit into memory."""
    return too_large(
        file,
        f"its filled cells reach out to row {row:,} and column {cell_name(row, column).rstrip('0123456789')}",
        sheet=sheet,
        cell=cell_name(row, column),
        remedy="Delete the stray cells far out (all rows below and all columns right of the list) and save.",
    )


def _column(letters: bytes) -> int:
    column = 0
    for letter in letters.upper()[:8]:
        column = column * 26 + letter - 64
    return column - 1


class _SheetParser:
    """Handlers of an XML parser that follow cells in any form the format allows."""

    def __init__(self, file: str, sheet: str) -> None:
        self.cells = 0
        self.errors: list[tuple[int, int, str]] = []
        self.formulas: list[str] = []
        self.box = _Box(file, sheet)
        self._row, self._column = 0, -1
        self._kind = ""
        self._formula = self._valued = self._filled = False
        self._text: list[str] | None = None

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        local = tag.rpartition(":")[2]
        if local == "c":
            self._start_cell(attributes)
        elif local == "row":
            given = attributes.get("r", "")
            self._row = int(given) if given.isdecimal() else self._row + 1
            self._column = -1
        elif local == "f":
            self._formula = self._filled = True
        elif local in ("v", "is"):
            self._filled = True
            self._text = []

    def _start_cell(self, attributes: dict[str, str]) -> None:
        self.cells += 1
        self._kind = attributes.get("t", "")
        self._formula = self._valued = self._filled = False
        letters = attributes.get("r", "").rstrip("0123456789")
        if letters and letters.isascii() and letters.isalpha():
            self._row = int(attributes["r"][len(letters) :] or 0)
            self._column = _column(letters.encode())
        else:
            self._column += 1

    def data(self, text: str) -> None:
        if self._text is not None:
            self._text.append(text)

    def end(self, tag: str) -> None:
        local = tag.rpartition(":")[2]
        if local in ("v", "is") and self._text is not None:
            text = "".join(self._text)
            self._text = None
            self._valued = bool(text) or self._kind == "str"
            if self._kind == "e":
                self.errors.append((self._row, self._column, text))
        elif local == "c" and self._filled:
            self.box.take_row(self._row)
            self.box.take_column(self._column)
            if self._formula and not self._valued:
                self.formulas.append(cell_name(self._row, self._column))


def _scan_oddly_written(package: Package, part: str, sheet: str) -> tuple[int, list[tuple[int, int, str]], list[str]]:
    parser = expat.ParserCreate()
    parser.buffer_text = True
    found = _SheetParser(package.file, sheet)
    parser.StartElementHandler = found.start
    parser.EndElementHandler = found.end
    parser.CharacterDataHandler = found.data
    try:
        for piece in package.pieces(part, b"<"):
            package.refuse_declarations(part, piece, doctype=True)
            parser.Parse(piece, False)
        parser.Parse(b"", True)
    except (expat.ExpatError, ValueError) as fault:
        raise damaged(package.file, "the sheet is not well-formed XML", sheet=sheet) from fault
    found.box.check()
    return found.cells, found.errors, found.formulas
