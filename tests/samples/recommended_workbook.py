"""A build in the recommended form, on the headings of the template."""

from __future__ import annotations

from build_model import Build
from openpyxl import Workbook

from harnessdrc.places import cell_name, column_letters
from harnessdrc.render.template import add_form_sheet
from harnessdrc.render.template_lists import add_lists_sheet
from harnessdrc.tables.columns import FORMS

_ENDS = ("from_item", "from_cavity", "to_item", "to_cavity")


def rows_of(build: Build, form: str) -> list[dict[str, object]]:
    """Rows of one sheet by normalized column names, values as they are written."""
    if form == "wires":
        return [
            {
                "wire": row.wire, "from_item": row.from_item, "from_cavity": row.from_cavity,
                "to_item": row.to_item, "to_cavity": row.to_cavity, "colour": row.colour,
                "size": number(row.size), "length_m": number(str(row.length)), "signal": row.signal,
                "twist": row.twist, "lay_m": row.lay, "untwisted_m": row.untwisted, "shield": row.shield,
                "shield_material": row.shield_material, "current_a": row.current_a, "branch": row.branch,
                "insulation": row.insulation,
                "from_terminal": row.from_terminal, "to_terminal": row.to_terminal, "note": row.note,
            }
            for row in build.wires
        ]  # fmt: skip
    if form == "pins":
        return [
            {"connector": pin.connector, "cavity": pin.cavity, "component": pin.component,
             "signal": pin.signal, "role": pin.role, "wire": pin.wire, "seal": pin.seal}
            for pin in build.pins
        ]  # fmt: skip
    return list(getattr(build, form))


def number(text: str) -> object:
    """Number of a cell, whole where it is; other text as it stands."""
    try:
        value = float(text)
    except ValueError:
        return text
    return int(value) if value.is_integer() else value


def recommended_workbook(build: Build):  # type: ignore[no-untyped-def]
    """Workbook of `build`, and a function that tells the sheet and cell of a row's column."""
    book = Workbook()
    book.remove(book.active)
    cells: dict[tuple[str, str, str], tuple[str, str]] = {}
    for name, form in FORMS.items():
        if name in ("joints", "points", "parts", "measurements") and not getattr(build, name, None):
            continue
        rows = rows_of(build, name)
        columns = [column.name for column in form.columns if any(row.get(column.name) not in (None, "") for row in rows)]
        shown = [column.name for column in form.columns if column.needed or column.name in columns]
        add_form_sheet(
            book, form, columns,
            [[None if row.get(column) == "" else row.get(column) for column in columns] for row in rows], only_given=True,
        )  # fmt: skip
        if name == "wires":  # a wire through several branches needs more room than the template has for one
            widest = max((len(str(row["branch"])) for row in rows), default=0)
            letter = column_letters(shown.index("branch")) if "branch" in shown else ""
            if letter and widest > 9:
                book[form.title].column_dimensions[letter].width = widest + 1
        for index, row in enumerate(rows, start=2):
            key = f"{row['connector']}:{row['cavity']}" if name == "pins" else str(row[form.columns[0].name])
            for at, column in enumerate(shown):
                cells.setdefault((name, key, column), (form.title, cell_name(index, at)))
    add_lists_sheet(book)
    book.properties.title, book.properties.creator = build.title, "harnessdrc samples"
    return book, lambda form, key, column: cells[form, key, column]
