"""The boat's workbook as its builder keeps it: banner, headings on row 4, AWG, feet, notes at the foot."""

from __future__ import annotations

from build_model import Build
from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from recommended_workbook import number, rows_of

from harnessdrc.places import cell_name, column_letters

_SHEETS = {
    "wires": ("Harness", {
        "wire": "Wire No", "from_item": "From", "from_cavity": "Pin", "to_item": "To", "to_cavity": "Pin",
        "colour": "Color", "size": "AWG", "length_m": "Len (ft)", "signal": "Function", "twist": "Pair",
        "lay_m": "Lay (in)", "untwisted_m": "Untwisted (in)", "shield": "Screen", "shield_material": "Screen type",
        "current_a": "Amps", "branch": "Bundle", "insulation": "Insulation", "from_terminal": "From term",
        "to_terminal": "To term", "note": "Remarks",
    }),
    "pins": ("Plugs", {
        "connector": "Connector", "cavity": "Pin", "component": "Device", "signal": "Function",
        "wire": "Wire No", "seal": "Seal",
    }),
    "components": ("Devices", {
        "component": "Device", "kind": "Type", "place": "Mounted on", "current_a": "Amps",
        "capacitance_f": "Capacitance (uF)", "case_earthed": "Case grounded", "mate": "Mates with",
        "fires": "Fires", "lead_m": "Plug lead (in)", "lead_type": "Lead type", "plug_type": "Plug type",
        "gap_m": "Gap (in)", "teeth": "Teeth", "output_v": "Output (V)", "contact_a": "Contact rating (A)",
        "terminator_ohm": "Terminator (ohm)", "bit_rate_kbit_s": "Bit rate (kbit/s)",
        "boot_m": "Boot ID (in)", "boot_shrunk_m": "Boot shrunk (in)", "part": "Part", "strain_relief": "Strain relief",
        "note": "Remarks",
    }),
    "earth_points": ("Grounds", {"earth_point": "Ground point", "body": "Bolted to", "note": "Remarks"}),
    "fuses": ("Fuses", {
        "fuse": "Fuse", "rating_a": "Amps", "family": "Type", "colour": "Color", "protects": "Circuit",
    }),
    "straps": ("Bonding", {
        "strap": "Strap", "from_body": "From body", "to_body": "To body", "size": "AWG",
        "length_m": "Len (ft)", "note": "Remarks",
    }),
    "branches": ("Bundles", {
        "branch": "Bundle", "from_point": "From", "to_point": "To", "length_m": "Len (ft)", "zone": "Zone",
        "sleeve_m": "Sleeve ID (in)", "bend_m": "Bend radius (in)", "note": "Remarks",
    }),
    "points": ("Layout", {
        "point": "Point", "x_m": "X (in)", "y_m": "Y (in)", "z_m": "Z (in)", "note": "Remarks",
    }),
    "parts": ("Parts", {
        "part": "Part", "kind": "Kind", "family": "Series", "sex": "Gender", "size_min": "Min wire (AWG)",
        "size_max": "Max wire (AWG)", "insulation_min_m": "OD min (in)", "insulation_max_m": "OD max (in)",
        "bore_m": "Bore (in)", "bore_min_m": "Bore min (in)", "bore_max_m": "Bore max (in)", "strip_m": "Strip (in)",
        "cavities": "Ways", "sealed": "Sealed", "pack": "Pack", "note": "Remarks",
    }),
    "joints": ("Joints", {
        "joint": "Joint", "resistance_ohm": "Resistance (mohm)", "aged_ohm": "Aged (mohm)", "note": "Remarks",
    }),
}  # fmt: skip
_BANNERS = {
    "wires": ("Lengths are cut lengths. Colors: base/tracer.", 4),
    "pins": ("Seen from the wire side.", 4),
    "components": ("", 3),
    "earth_points": ("", 3),
    "fuses": ("", 3),
    "straps": ("", 3),
    "branches": ("", 3),
    "points": ("X forward, Y to port, Z up, from the crankshaft at the rear face of the block.", 4),
    "joints": ("", 3),
    "parts": ("", 3),
}
_FOOT = (
    "NOTES",
    "1. Disconnect the battery before working on the harness. Run the blower and sniff the bilge first.",
    "2. Coil leads carry dangerous voltage: never touch or crank with a lead off.",
    "3. All splices crimped and sealed. G1 stack: ring terminals only, bare metal, then coat.",
    "4. Invented for demonstration. Do not build from this list.",
)
_WIDTHS = {
    "Wire No": 9, "From": 12, "To": 12, "Pin": 7, "Color": 16, "AWG": 7, "Len (ft)": 9, "Function": 30,
    "Pair": 9, "From body": 16, "To body": 18, "Screen": 9, "Remarks": 44, "Connector": 13,
    "Device": 12, "Type": 21,
    "Mounted on": 13, "Amps": 8, "Capacitance (uF)": 17, "Case grounded": 14, "Mates with": 12,
    "Ground point": 14, "Bolted to": 19, "Fuse": 9, "Circuit": 26, "Strap": 12,
    "Lay (in)": 8, "Untwisted (in)": 14, "Screen type": 14, "Bundle": 18, "Fires": 15, "Plug lead (in)": 14,
    "Lead type": 12, "Plug type": 10, "Gap (in)": 8, "Teeth": 8, "Output (V)": 9, "Point": 12, "X (in)": 8,
    "Y (in)": 8, "Z (in)": 8, "Insulation": 11, "Contact rating (A)": 18, "Terminator (ohm)": 16, "Bit rate (kbit/s)": 15,
    "From term": 11, "To term": 11, "Seal": 9, "Part": 13, "Strain relief": 11, "Kind": 14, "Series": 10, "Gender": 9,
    "Min wire (AWG)": 10, "Max wire (AWG)": 10, "OD min (in)": 9, "OD max (in)": 9, "Bore (in)": 9, "Bore min (in)": 9,
    "Bore max (in)": 9, "Strip (in)": 8, "Ways": 7, "Sealed": 8, "Pack": 7,
    "Boot ID (in)": 9, "Boot shrunk (in)": 10, "Zone": 8, "Sleeve ID (in)": 14,
    "Bend radius (in)": 15, "Joint": 10, "Resistance (mohm)": 18, "Aged (mohm)": 13,
}  # fmt: skip
_THIN = Side(style="thin", color="999999")


def boat_workbook(build: Build):  # type: ignore[no-untyped-def]
    """Workbook of `build`, and a function that tells the sheet and cell of a row's column."""
    book = Workbook()
    book.remove(book.active)
    cells: dict[tuple[str, str, str], tuple[str, str]] = {}
    for form, (title, headings) in _SHEETS.items():
        sheet = book.create_sheet(title)
        subtitle, head_row = _BANNERS[form]
        sheet["A1"] = build.title if form == "wires" else f"{title.upper()} - {build.title.split(' - ')[0]}"
        sheet["A1"].font = Font(name="Arial", bold=True, size=14)
        sheet.merge_cells(start_row=1, end_row=1, start_column=1, end_column=len(headings))
        if subtitle:
            sheet["A2"] = subtitle
            sheet["A2"].font = Font(name="Arial", italic=True, size=10)
        for at, heading in enumerate(headings.values()):
            cell = sheet.cell(head_row, at + 1, heading)
            cell.font = Font(name="Arial", bold=True, size=10)
            cell.fill = PatternFill("solid", fgColor="D9D9D9")
            cell.border = Border(top=_THIN, bottom=Side(style="medium"), left=_THIN, right=_THIN)
            cell.alignment = Alignment(horizontal="center", wrap_text=True, vertical="center")
            sheet.column_dimensions[column_letters(at)].width = _WIDTHS[heading]
        row_number = head_row
        for row_number, row in enumerate(rows_of(build, form), start=head_row + 1):
            key = f"{row['connector']}:{row['cavity']}" if form == "pins" else str(row[next(iter(headings))])
            for at, column in enumerate(headings):
                value = row.get(column)
                if column in ("wire", "from_cavity", "to_cavity", "cavity", "size", "size_min", "size_max") and value:
                    value = number(str(value))
                cell = sheet.cell(row_number, at + 1, None if value == "" else value)
                cell.font = Font(name="Arial", size=10)
                cell.border = Border(top=_THIN, bottom=_THIN, left=_THIN, right=_THIN)
                if isinstance(value, str):
                    cell.data_type = "s"
                if column not in ("signal", "note", "colour", "protects", "kind", "body"):
                    cell.alignment = Alignment(horizontal="center")
                cells.setdefault((form, key, column), (title, cell_name(row_number, at)))
        if form == "wires":
            for offset, text in enumerate(_FOOT):
                cell = sheet.cell(row_number + 2 + offset, 1, text)
                cell.font = Font(name="Arial", size=10, bold=offset == 0)
        sheet.freeze_panes = f"A{head_row + 1}"
        sheet.print_title_rows = f"{head_row}:{head_row}"
        sheet.page_setup.orientation = "landscape"
        sheet.page_setup.paperSize = sheet.PAPERSIZE_A4
        sheet.sheet_properties.pageSetUpPr.fitToPage = True
        sheet.page_setup.fitToHeight = 0
    book.properties.title, book.properties.creator = build.title, "harnessdrc samples"
    return book, lambda form, key, column: cells[form, key, column]
