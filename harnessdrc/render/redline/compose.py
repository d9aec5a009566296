"""The redline: a marked-up copy of each list, with what was found, assumed and looked at."""

from __future__ import annotations

import contextlib
import gc
import struct
import zipfile
import zlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from harnessdrc.errors import OutputError
from harnessdrc.render.induction import has_induction
from harnessdrc.render.outfile import StagedFiles
from harnessdrc.render.sizing import has_sizing
from harnessdrc.results import Result

from .currents_page import currents_page
from .findings_page import findings_page
from .links import Links
from .loops_page import LOOPS_AND_TRIGGERS, loops_page
from .marking import MarkedCells, collect
from .measured_page import MEASURED, measured_page
from .offsets_page import offsets_page
from .ordering import NumberedFinding, numbered
from .other_pages import assumptions_page, coverage_page
from .package import RedlinePackage
from .page import Page
from .plain import SheetRows, unique_sheet_name
from .sizes_page import WIRE_SIZES, sizes_page

if TYPE_CHECKING:
    from harnessdrc.approval import Approval

__all__ = ["RedlineSource", "stage_redline", "write_redline"]

_SPREADSHEETS = {".xlsx", ".xlsm", ".xltx", ".xltm", ".xls", ".xlsb", ".xlt", ".ods", ".fods", ".ots"}
_UNUSABLE = (
    zipfile.BadZipFile, zlib.error, struct.error, ValueError, EOFError, RuntimeError
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class RedlineSource:
    """A list that is to be marked up.

    Parameters
    ----------
    file : str
        Its name as places have it.
    path : pathlib.Path
        Where it is.
    sheets : sequence of SheetRows, optional
        Its rows, for a list that is no xlsx or xlsm package; None for one that is.
    """

    file: str
    path: Path
    sheets: Sequence[SheetRows] | None


def write_redline(result: Result, sources: Sequence[RedlineSource], folder: Path) -> list[Path]:
    """Write the redline of every list: one workbook per spreadsheet, one for all text lists together.

    Parameters
    ----------
    result : Result
        Outcome of the run.
    sources : sequence of RedlineSource
        The lists, as given.
    folder : pathlib.Path
        Where to write; must exist.

    Returns
    -------
    list of pathlib.Path
        The workbooks written: ``NAME.redline.xlsx``, or ``.xlsm`` for one with macros.

    Raises
    ------
    OutputError
        If a copy cannot be made or written; then none is left.
    """
    with StagedFiles() as staged:
        stage_redline(staged, result, sources, folder)
        return staged.commit()


def stage_redline(
    staged: StagedFiles,
    result: Result,
    sources: Sequence[RedlineSource],
    folder: Path,
    approval: Approval | None = None,
) -> None:
    """Write the redlines to temporary files, to be moved into place together with other outputs.

    See `write_redline`; with an approval each gets a sheet of it.
    """
    findings = numbered(result.findings)
    taken: set[Path] = set()
    with _without_collector():
        for group in _workbooks(sources):
            _stage(result, findings, group, sources, folder, taken, staged, approval)


@contextlib.contextmanager
def _without_collector() -> Iterator[None]:
    """Pause the search for reference cycles: none are made here, and it costs a quarter of the time."""
    paused = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if paused:
            gc.enable()


def _workbooks(sources: Sequence[RedlineSource]) -> list[list[RedlineSource]]:
    """Sources by the workbook they go into, in the order of the first of each."""
    groups: list[list[RedlineSource]] = []
    texts: list[RedlineSource] | None = None
    for source in sources:
        if source.sheets is None or source.path.suffix.lower() in _SPREADSHEETS:
            groups.append([source])
        elif texts is None:
            texts = [source]
            groups.append(texts)
        else:
            texts.append(source)
    return groups


def _stage(
    result: Result,
    findings: Sequence[NumberedFinding],
    group: Sequence[RedlineSource],
    sources: Sequence[RedlineSource],
    folder: Path,
    taken: set[Path],
    staged: StagedFiles,
    approval: Approval | None,
) -> None:
    first = group[0]
    package = _opened(group)
    try:
        files = _sheets_of(package, group)
        links = Links(package, files)
        target = _target(folder, first, package.suffix, sources, taken)
        title = " + ".join(dict.fromkeys(source.path.name for source in group))
        links.find(mark.place for one in findings for mark in one.finding.marks)
        cells = collect(findings, links)
        names = [info.name for info in package.sheets]
        network = result.network
        pages: dict[str, str] = {}
        for wanted in _wanted_pages(result, approval):
            pages[wanted] = unique_sheet_name(wanted, names, " (redline)")
            names.append(pages[wanted])
        remarks = [*package.remarks, *_remarks(package, findings, links, cells, len(sources) > len(group))]
        made = findings_page(result, findings, links, pages["Findings"], title, remarks)
        added: list[Page] = [made.page]
        if approval is not None:
            from .approval_page import APPROVAL, approval_page  # loaded where there is one

            added.append(approval_page(approval, links, pages[APPROVAL], title))
        if MEASURED in pages:
            added.append(measured_page(result.measured, links, pages[MEASURED], title))
        if "Ground offsets" in pages:
            added.append(offsets_page(network, links, pages["Ground offsets"], title))
        if LOOPS_AND_TRIGGERS in pages:
            added.append(loops_page(result.induction, links, pages[LOOPS_AND_TRIGGERS], title))
        if "Currents" in pages:
            added.append(currents_page(network, links, pages["Currents"], title))
        if WIRE_SIZES in pages:
            added.append(sizes_page(result.sizing, links, pages[WIRE_SIZES], title))
        added.append(assumptions_page(result, links, pages["Assumptions"], title))
        added.append(coverage_page(result, pages["Coverage"], title))
        marks = cells.marks(findings, made.rows, pages["Findings"], links)
        staged.stage(target, lambda out: package.write(out, marks, added))
    except _UNUSABLE as error:
        raise _unusable(first, error) from error
    finally:
        package.close()


def _wanted_pages(result: Result, approval: Approval | None) -> list[str]:
    """Sheets that are added, in their order."""
    pages = ["Findings", "Ground offsets", LOOPS_AND_TRIGGERS, "Currents", WIRE_SIZES, "Assumptions", "Coverage"]
    network = result.network
    if result.measured.sheets:
        pages.insert(1, MEASURED)
    if approval is not None:
        pages.insert(1, "Approval")
    if not has_induction(result.induction):
        pages.remove(LOOPS_AND_TRIGGERS)
    if not has_sizing(result.sizing):
        pages.remove(WIRE_SIZES)
    if not network.states:
        pages.remove("Currents")
        if not network.not_solved:
            pages.remove("Ground offsets")
    return pages


def _opened(group: Sequence[RedlineSource]) -> RedlinePackage:
    first = group[0]
    try:
        if first.sheets is None:
            return RedlinePackage.of_file(first.path)
        return RedlinePackage.of_rows([sheet for source in group for sheet in source.sheets or ()])
    except OSError as error:
        raise OutputError(
            f"{first.file}: the redline could not be made because the list can no longer be read "
            f"({error.strerror or error}). Leave it in place while it is checked, and run again."
        ) from error
    except _UNUSABLE as error:
        raise _unusable(first, error) from error


def _unusable(source: RedlineSource, error: Exception) -> OutputError:
    return OutputError(
        f"{source.file}: the redline could not be made because the workbook cannot be edited: {error}. "
        "Open it in your spreadsheet program, save it as a new xlsx, and run again."
    )


def _sheets_of(package: RedlinePackage, group: Sequence[RedlineSource]) -> Mapping[str, Mapping[str, int]]:
    """For each file its sheet names and their index in the workbook that is marked."""
    if group[0].sheets is None:
        return {group[0].file: {info.name: index for index, info in enumerate(package.sheets)}}
    files: dict[str, dict[str, int]] = {}
    index = 0
    for source in group:
        for sheet in source.sheets or ():
            files.setdefault(source.file, {})[sheet.name] = index
            index += 1
    return files


def _target(
    folder: Path, source: RedlineSource, suffix: str, sources: Sequence[RedlineSource], taken: set[Path]
) -> Path:
    """Name of the redline: never that of a list given, nor of another redline of this run."""
    number = 1
    while True:
        stem = source.path.stem if number == 1 else f"{source.path.stem}-{number}"
        target = folder / f"{stem}.redline{suffix}"
        if target not in taken and not any(_same(target, one.path) for one in sources):
            taken.add(target)
            return target
        number += 1


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return False


def _remarks(
    package: RedlinePackage,
    findings: Sequence[NumberedFinding],
    links: Links,
    cells: MarkedCells,
    several: bool,
) -> list[str]:
    remarks = []
    if len(cells.cells) > len(cells.noted):
        remarks.append(
            f"{len(cells.cells):,} cells are marked. The first {len(cells.noted):,}, those on hold before "
            "the others, have a note; the rest are filled and linked to this sheet."
        )
    if several and any(
        mark.place.file and not links.here(mark.place) for one in findings for mark in one.finding.marks
    ):
        remarks.append("Findings in other lists are given with the name of the file and without a link.")
    hidden = sorted(
        {
            package.sheets[cell[0]].name
            for cell in cells.cells
            if package.sheets[cell[0]].hidden
        }
    )  # fmt: skip
    if hidden:
        remarks.append(f"Hidden sheets have marked cells ({', '.join(hidden)}); unhide them to see these.")
    return remarks
