"""The recommended workbook: a page of guidance, a sheet per form with an example, drop-downs.

Sheets, headings and their comments come from `harnessdrc.tables.columns`, the words of the drop-downs from
`harnessdrc.tables.words`; this file decides only how they look.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterable, Sequence
from io import BytesIO
from pathlib import Path

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.formatting.rule import FormulaRule
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from harnessdrc.errors import OutputError
from harnessdrc.places import column_letters
from harnessdrc.render.outfile import StagedFiles
from harnessdrc.render.template_columns import CENTRED, HOW_TO_WRITE, drop_down_of, width_of
from harnessdrc.render.template_example import EXAMPLE, ExampleCell
from harnessdrc.render.template_lists import LISTS, LISTS_SHEET, add_lists_sheet
from harnessdrc.render.template_look import FONT, GRID, INK, MIST, RULE, SLATE, STRAW, set_up_print
from harnessdrc.render.template_page import GUIDE_SHEET, fill_guide
from harnessdrc.tables.columns import FORMS, Column, Form

__all__ = ["LAST_ROW", "add_form_sheet", "heading_of", "template_workbook", "write_template"]

LAST_ROW = 5000
"""Row down to which drop-downs and row marks reach."""

_ROW_PT = 17.0


def heading_of(form: Form, column: Column) -> str:
    """Heading of `column` in the recommended workbook, with the unit it is written in.

    Parameters
    ----------
    form : Form
        The table's form; joints, straps and earth points are in mΩ, components in Ω.
    column : Column
        One of its columns.

    Returns
    -------
    str
        ``Length (mm)``, ``Signal`` ...
    """
    unit = {
        "size": "mm²",
        "length": "mm",
        "current": "A",
        "resistance": "Ω" if form.name == "components" else "mΩ",
        "capacitance": "µF",
        "voltage": "V",
        "temperature": "°C",
        "coordinate": "mm",
        "pressure": "bar",
        "time": "µs",
        "bit_rate": "kbit/s",
    }.get(column.value)
    return f"{column.heading} ({unit})" if unit else column.heading


def _head_comment(form: Form, column: Column) -> Comment:
    parts = [column.meaning + "."]
    how = HOW_TO_WRITE.get(column.value)
    if how:
        parts.append(how)
    parts.append(f"Needed for every {form.one}." if column.needed else "Optional.")
    comment = Comment("\n".join(parts), "harnessdrc")
    comment.width, comment.height = 260, 110
    return comment


def _add_drop_down(sheet: Worksheet, letter: str, column: Column) -> None:
    found = drop_down_of(column)
    if found is None:
        return
    title, manner = found
    drop_down = DataValidation(type="list", formula1=LISTS[title].cells, allow_blank=True)
    drop_down.showErrorMessage = manner != "free"
    drop_down.errorStyle = "stop" if manner == "stop" else "warning"
    drop_down.errorTitle = column.heading
    drop_down.error = (
        "Please write yes or no."
        if manner == "stop"
        else f"This word is not among the {title.lower()} on the sheet {LISTS_SHEET}; keep it all the same?"
    )
    drop_down.add(f"{letter}2:{letter}{LAST_ROW}")
    sheet.add_data_validation(drop_down)


def add_form_sheet(
    book: Workbook,
    form: Form,
    columns: Sequence[str],
    rows: Iterable[Sequence[ExampleCell]],
    *,
    only_given: bool = False,
) -> Worksheet:
    """Add the sheet of one form with its headings, drop-downs, print set-up and rows.

    Parameters
    ----------
    book : openpyxl.Workbook
        Receives the sheet; its sheet ``Lists`` is expected to be there or to follow.
    form : Form
        Which form.
    columns : sequence of str
        Column names that the cells of `rows` stand for, in their order.
    rows : iterable of sequences
        Values as shown, in the units of the headings.
    only_given : bool
        Leave out optional columns that `columns` does not name.

    Returns
    -------
    openpyxl.worksheet.worksheet.Worksheet
        The sheet added.
    """
    sheet = book.create_sheet(form.title)
    shown = [column for column in form.columns if not only_given or column.needed or column.name in columns]
    position = {column.name: index for index, column in enumerate(shown)}

    for index, column in enumerate(shown):
        letter = column_letters(index)
        cell = sheet.cell(1, index + 1, heading_of(form, column))
        cell.font = Font(name=FONT, bold=True, color="FFFFFF" if column.needed else INK)
        cell.fill = PatternFill("solid", fgColor=SLATE if column.needed else MIST)
        centred = column.value in CENTRED
        cell.alignment = Alignment(
            horizontal="center" if centred else "left",
            indent=0 if centred else 1,
            vertical="center",
            wrap_text=True,
        )
        cell.border = GRID
        cell.comment = _head_comment(form, column)
        sheet.column_dimensions[letter].width = width_of(form, column)
        _add_drop_down(sheet, letter, column)
    sheet.row_dimensions[1].height = 34
    sheet.sheet_format.defaultRowHeight, sheet.sheet_format.customHeight = _ROW_PT, True

    last_filled = 1
    for row_number, row in enumerate(rows, start=2):
        last_filled = row_number
        for name, value in zip(columns, row, strict=True):
            if value is None:
                continue
            kind = form.column(name).value
            if kind == "cavity" and isinstance(value, str) and value.isdecimal() and value[0] != "0":
                value = int(value)  # as a person types it; a number kept as text gets a warning mark
            cell = sheet.cell(row_number, position[name] + 1, value)
            cell.font = Font(name=FONT, color=INK)
            if isinstance(value, str):
                cell.data_type = "s"  # text never becomes a formula
            centred = kind in CENTRED
            cell.alignment = Alignment(
                horizontal="center" if centred else "left",
                indent=0 if centred else 1,
                vertical="center",
                wrap_text=name == "note",
            )

    last = column_letters(len(shown) - 1)
    body = f"A2:{last}{LAST_ROW}"
    written = f"COUNTA($A2:${last}2)>0"
    for column in shown:
        if column.needed:
            letter = column_letters(position[column.name])
            sheet.conditional_formatting.add(
                f"{letter}2:{letter}{LAST_ROW}",
                FormulaRule([f'AND({written},TRIM({letter}2)="")'], fill=PatternFill(bgColor=STRAW)),
            )
    sheet.conditional_formatting.add(body, FormulaRule([written], border=GRID))

    sheet.freeze_panes = "B2" if form.name == "wires" else "A2"
    sheet.print_title_rows = "1:1"
    if len(shown) > 4:
        sheet.auto_filter.ref = f"A1:{last}{max(last_filled, 2)}"
    sheet.sheet_view.zoomScale = 100
    sheet.sheet_properties.tabColor = SLATE if form.name == "wires" else RULE
    set_up_print(sheet, form.title)
    return sheet


def template_workbook() -> Workbook:
    """Build the recommended workbook: ``Read me``, one sheet per form with its example, ``Lists``."""
    book = Workbook()
    guide = book.active
    guide.title = GUIDE_SHEET
    fill_guide(guide)
    for form in FORMS.values():
        columns, rows = EXAMPLE[form.name]
        add_form_sheet(book, form, columns, rows)
    add_lists_sheet(book)
    for words in LISTS.values():
        name = "list_" + words.title.lower().replace(" ", "_")
        book.defined_names[name] = DefinedName(name, attr_text=words.cells)
    book.properties.title = "Wire list of an engine loom"
    book.properties.creator = "harnessdrc"
    return book


def write_template(path: Path) -> None:
    """Write the recommended workbook to `path`, whole or not at all.

    Parameters
    ----------
    path : Path
        A name ending in ``.xlsx`` that does not exist yet, in a folder that does.

    Raises
    ------
    OutputError
        When the name does not end in ``.xlsx``, the file exists, or it cannot be written (no such folder,
        no permission, disk full). Nothing is left behind.
    """
    if path.suffix.lower() != ".xlsx":
        raise OutputError(
            f"{path}: the recommended workbook is an .xlsx file; give a name that ends in .xlsx, for example "
            f"{path.stem or 'loom'}.xlsx."
        )
    if os.path.lexists(path):
        raise OutputError(
            f"{path}: this file exists already and is not overwritten; give another name, or move it away "
            "first."
        )
    buffer = BytesIO()
    try:
        template_workbook().save(buffer)
        buffer.seek(0)
    except OSError as error:  # openpyxl keeps its sheets in the folder for temporary files meanwhile
        raise OutputError(
            f"{path}: the workbook could not be put together in the folder for temporary files "
            f"({error.strerror or error}); free some space there, or set TMPDIR to another folder."
        ) from error
    with StagedFiles() as staged:
        staged.stage(path, lambda out: shutil.copyfileobj(buffer, out))
        staged.commit()
