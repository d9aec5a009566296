"""Files made to do harm end as one sentence, in bounded memory and time.

Each runs in a process of its own, whose memory and processor time the system limits: the reader of cells
ends the whole process when it is led to ask for too much, so a limit that holds shows as a clean refusal.
"""

from __future__ import annotations

import io
import random
import struct
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
import xlwt
from workbook_parts import (
    biff8_stream,
    biff_record,
    ods,
    put,
    rows_xml,
    text_cell,
    xlsx,
    xlsx_parts,
    zipped,
)

from harnessdrc.errors import FileUnreadableError, InputError
from harnessdrc.intake.files import open_file
from harnessdrc.intake.formats import limits
from harnessdrc.intake.formats.ole import single_stream_document

REAL = Path(__file__).parents[2] / ".." / "shared" / "real_wirelists"

BOUNDED = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, (int(sys.argv[2]) * 1024**2,) * 2)
resource.setrlimit(resource.RLIMIT_CPU, (60, 60))
from pathlib import Path
from harnessdrc.errors import InputError
from harnessdrc.intake.files import open_file
try:
    opened = open_file(Path(sys.argv[1]))
except InputError as error:
    print("refused:", error)
else:
    print("read:", [(len(g.rows), sum(v is not None for r in g.rows for v in r)) for g in opened.grids])
"""


def bounded(path: Path, memory_mib: int = 1024) -> str:
    pytest.importorskip("resource", reason="this system cannot limit a process")
    done = subprocess.run(
        [sys.executable, "-c", BOUNDED, str(path), str(memory_mib)],
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert done.returncode == 0, (done.returncode, done.stderr[-2000:])
    assert done.stderr == ""
    return done.stdout


def cell(address: str, content: str = "<v>1</v>") -> str:
    return f'<c r="{address}">{content}</c>'


def test_one_filled_cell_at_the_far_corner_of_the_sheet(tmp_path: Path) -> None:
    sheet = rows_xml(f'<row r="1">{cell("A1")}</row>', f'<row r="1048576">{cell("XFD1048576")}</row>')
    text = bounded(put(tmp_path, "loom.xlsx", xlsx(sheet)))
    assert text.startswith("refused:") and "sheet 'S1', cell XFD1048576" in text and "stray cells" in text


def test_one_cell_alone_at_the_far_corner_is_read(tmp_path: Path) -> None:
    sheet = rows_xml(f'<row r="1048576">{cell("XFD1048576")}</row>')
    assert bounded(put(tmp_path, "loom.xlsx", xlsx(sheet)), 512) == "read: [(1048576, 1)]\n"


def test_a_list_at_the_far_right_edge_is_refused(tmp_path: Path) -> None:
    sheet = rows_xml(*(f'<row r="{i}">{cell(f"XFC{i}")}{cell(f"XFD{i}")}</row>' for i in range(1, 50_001)))
    text = bounded(put(tmp_path, "loom.xlsx", xlsx(sheet)), 512)
    assert text.startswith("refused:") and "cell XFD50000" in text


@pytest.mark.parametrize("form", ["single quotes", "no addresses", "prefix", "utf-16"])
def test_a_far_cell_in_an_odd_form_of_xml(tmp_path: Path, form: str) -> None:
    sheet = rows_xml(f'<row r="1">{cell("A1")}</row>', f'<row r="1048576">{cell("XFD1048576")}</row>')
    whole: str | bytes = f'<?xml version="1.0"?><worksheet xmlns="urn:x">{sheet}</worksheet>'
    if form == "single quotes":
        whole = str(whole).replace('r="', "r='").replace('"><v', "'><v").replace('"><c', "'><c")
    elif form == "no addresses":
        rows = "<row>" + "<c/>" * 16_383 + "<c><v>1</v></c></row>" + '<row r="1048576"><c><v>1</v></c></row>'
        whole = f'<?xml version="1.0"?><worksheet>{rows_xml(rows)}</worksheet>'
    elif form == "prefix":
        whole = str(whole).replace("<c ", "<y:c ").replace("</c>", "</y:c>").replace("xmlns=", 'xmlns:y="u" xmlns=')
    else:
        whole = str(whole).encode("utf-16")
    path = put(tmp_path, "loom.xlsx", zipped(xlsx_parts("") | {"xl/worksheets/sheet1.xml": whole}))
    assert bounded(path).startswith("refused:")


def test_styled_empty_cells_to_the_far_corner_are_cheap(tmp_path: Path) -> None:
    sheet = rows_xml(
        f'<row r="1">{cell("A1")}</row>',
        *(f'<row r="{row}"><c r="XFD{row}" s="0"/></row>' for row in range(2, 1_048_577, 4096)),
        '<row r="1048576"><c r="XFD1048576" s="0"/></row>',
    )
    path = put(tmp_path, "loom.xlsx", xlsx('<dimension ref="A1:XFD1048576"/>' + sheet))
    assert bounded(path, 512) == "read: [(1, 1)]\n"


def test_a_stray_cell_far_down_a_narrow_sheet_is_read(tmp_path: Path) -> None:
    sheet = rows_xml(f'<row r="1">{cell("A1")}{cell("AB1")}</row>', f'<row r="500000">{cell("C500000")}</row>')
    assert bounded(put(tmp_path, "loom.xlsx", xlsx(sheet)), 1400) == "read: [(500000, 3)]\n"


def test_an_ods_of_filled_cells_repeated_to_the_far_corner(tmp_path: Path) -> None:
    body = (
        '<table:table table:name="S"><table:table-row table:number-rows-repeated="1048576">'
        + text_cell("W1", 'table:number-columns-repeated="16384"')
        + "</table:table-row></table:table>"
    )
    text = bounded(put(tmp_path, "loom.ods", ods(body)), 512)
    assert text.startswith("refused:") and "XFD1048576" in text


def test_an_ods_that_declares_a_million_empty_rows_on_many_sheets(tmp_path: Path) -> None:
    empty = (
        '<table:table-row table:number-rows-repeated="1048575"><table:table-cell table:style-name="c"'
        ' table:number-columns-repeated="16384"/></table:table-row>'
    )
    body = "".join(
        f'<table:table table:name="S{i}"><table:table-row>{text_cell("W1")}</table:table-row>{empty}</table:table>'
        for i in range(50)
    )
    assert bounded(put(tmp_path, "loom.ods", ods(body)), 512) == f"read: {[(1, 1)] * 50}\n"


@pytest.mark.parametrize("declared", [(0, 0xFFFFFFFF, 0, 256), (67, 9, 0, 4)])
def test_an_xls_that_declares_a_vast_sheet(tmp_path: Path, declared: tuple[int, ...]) -> None:
    stream = biff8_stream(
        biff_record(0x0200, struct.pack("<IIHHH", *declared, 0)),
        biff_record(0x0203, struct.pack("<HHHd", 0, 0, 0, 1.0)),
    )
    path = put(tmp_path, "loom.xls", single_stream_document("Workbook", stream))
    assert bounded(path, 512) == "read: [(1, 1)]\n"


def test_an_xls_that_fills_its_far_corner_is_read(tmp_path: Path) -> None:
    stream = biff8_stream(
        biff_record(0x0203, struct.pack("<HHHd", 0, 0, 0, 1.0)),
        biff_record(0x0203, struct.pack("<HHHd", 65535, 255, 0, 1.0)),
    )
    path = put(tmp_path, "loom.xls", single_stream_document("Workbook", stream))
    assert bounded(path, 2048) == "read: [(65536, 2)]\n"


def bomb(part: str, mebibytes: int) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as package:
        for name, content in xlsx_parts(rows_xml()).items():
            if name != part:
                package.writestr(name, content)
        with package.open(part, "w", force_zip64=True) as target:
            for _ in range(mebibytes):
                target.write(bytes(1024**2))
    return buffer.getvalue()


def test_a_zip_bomb_is_refused_by_its_directory(tmp_path: Path) -> None:
    text = bounded(put(tmp_path, "loom.xlsx", bomb("xl/worksheets/sheet1.xml", 60)), 256)
    assert text.startswith("refused:") and "zip bomb" in text and "sheet1.xml" in text


def test_many_parts_that_together_are_too_much(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "MAX_UNPACKED_BYTES", 3 * 1024**2)
    parts = xlsx_parts(rows_xml()) | {f"xl/media/{i}.bin": bytes(1024**2) for i in range(4)}
    with pytest.raises(FileUnreadableError, match="unpacks to 4 MiB"):
        open_file(put(tmp_path, "loom.xlsx", zipped(parts)))


def test_a_directory_that_lies_about_sizes(tmp_path: Path) -> None:
    data = bytearray(bomb("xl/worksheets/sheet1.xml", 60))
    for mark, offset in ((b"PK\x01\x02", 24), (b"PK\x03\x04", 22)):
        at = data.find(mark)
        while at >= 0:
            (size,) = struct.unpack_from("<I", data, at + offset)
            if size > 10 * 1024**2:
                struct.pack_into("<I", data, at + offset, 1000)
            at = data.find(mark, at + 4)
    text = bounded(put(tmp_path, "loom.xlsx", bytes(data)), 256)
    assert text.startswith("refused:") and "damaged" in text


def test_what_is_really_unpacked_is_bounded_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    data = xlsx(rows_xml(*(f'<row r="{i}">{cell(f"A{i}")}</row>' for i in range(1, 2000))))
    path = put(tmp_path, "loom.xlsx", data)
    open_file(path)
    monkeypatch.setattr("harnessdrc.intake.formats.package.Package._check_sizes", lambda *_: None)
    monkeypatch.setattr(limits, "MAX_UNPACKED_BYTES", 20_000)
    with pytest.raises(FileUnreadableError, match="unpacks to more than"):
        open_file(path)


def test_thousands_of_parts(tmp_path: Path) -> None:
    parts = xlsx_parts(rows_xml()) | {f"x/{i}": b"" for i in range(limits.MAX_ZIP_PARTS)}
    with pytest.raises(FileUnreadableError, match="parts"):
        open_file(put(tmp_path, "loom.xlsx", zipped(parts, zipfile.ZIP_STORED)))


BILLION_LAUGHS = (
    '<?xml version="1.0"?><!DOCTYPE l [<!ENTITY a "W1">'
    + "".join(f'<!ENTITY {chr(98 + i)} "{f"&{chr(97 + i)};" * 10}">' for i in range(10))
    + "]>"
)


@pytest.mark.parametrize(
    "part",
    ["xl/workbook.xml", "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml", "xl/_rels/workbook.xml.rels"],
)
def test_entity_bombs(tmp_path: Path, part: str) -> None:
    parts = xlsx_parts(rows_xml(f'<row r="1">{cell("A1", "<v>&k;</v>")}</row>'), shared="<si><t>&k;</t></si>")
    parts[part] = BILLION_LAUGHS + str(parts[part])
    text = bounded(put(tmp_path, "loom.xlsx", zipped(parts)), 512)
    assert text.startswith("refused:") and "XML entities" in text


def test_an_entity_declared_behind_a_long_comment(tmp_path: Path) -> None:
    parts = xlsx_parts(rows_xml(f'<row r="1">{cell("A1")}</row>'))
    head = '<?xml version="1.0"?><!--' + "x" * (1 << 20) + "-->"
    parts["xl/worksheets/sheet1.xml"] = head + BILLION_LAUGHS[21:] + str(parts["xl/worksheets/sheet1.xml"])
    with pytest.raises(FileUnreadableError, match="XML entities"):
        open_file(put(tmp_path, "loom.xlsx", zipped(parts)))


def test_a_lie_about_the_count_of_texts(tmp_path: Path) -> None:
    parts = xlsx_parts(rows_xml(f'<row r="1">{cell("A1")}</row>'), shared="<si><t>W1</t></si>")
    parts["xl/sharedStrings.xml"] = str(parts["xl/sharedStrings.xml"]).replace(
        "<sst ", '<sst count="1" uniqueCount="4294967295" '
    )
    text = bounded(put(tmp_path, "loom.xlsx", zipped(parts)), 512)
    assert text.startswith("refused:") and "4,294,967,295 texts" in text


@pytest.mark.parametrize("content", [text_cell("W1"), f"<table:table-row><table:table-row>{text_cell('W1')}"])
def test_an_ods_with_cells_where_none_can_be(tmp_path: Path, content: str) -> None:
    rest = "</table:table-row></table:table-row>" if "row" in content else ""
    body = f'<table:table table:name="S">{content}{rest}</table:table>'
    with pytest.raises(FileUnreadableError, match="damaged"):
        open_file(put(tmp_path, "loom.ods", ods(body)))


def test_two_hundred_thousand_rows_are_read(tmp_path: Path) -> None:
    sheet = rows_xml(
        *(
            f'<row r="{i}"><c r="A{i}" t="inlineStr"><is><t>W{i}</t></is></c><c r="B{i}" t="s"><v>0</v></c>'
            f'<c r="C{i}"><v>{i}</v></c><c r="D{i}" t="s"><v>1</v></c></row>'
            for i in range(1, 200_001)
        )
    )
    data = xlsx(sheet, shared="<si><t>ECU</t></si><si><t>INJ</t></si>")
    assert bounded(put(tmp_path, "loom.xlsx", data), 1024) == "read: [(200000, 800000)]\n"
    lines = "".join(f"W{i},ECU,{i},INJ\n" for i in range(200_000))
    assert bounded(put(tmp_path, "loom.csv", lines), 512) == "read: [(200000, 800000)]\n"


def test_more_rows_than_a_sheet_can_have_are_refused(tmp_path: Path) -> None:
    path = put(tmp_path, "loom.csv", "W1,2\n" * (limits.MAX_ROWS + 2))
    text = bounded(path)
    assert text.startswith("refused:") and "1,048,576 rows" in text


def test_more_cells_than_are_allowed_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "MAX_CELLS", 10)
    rows = [f'<row r="{i}">{cell(f"A{i}")}</row>' for i in range(1, 12)]
    with pytest.raises(FileUnreadableError, match="more than 10 cells"):
        open_file(put(tmp_path, "loom.xlsx", xlsx(rows_xml(*rows))))
    with pytest.raises(FileUnreadableError, match=r"more than .* 10 fields"):
        open_file(put(tmp_path, "loom.csv", "W1\n" * 11))
    assert len(open_file(put(tmp_path, "loom.xlsx", xlsx(rows_xml(*rows[:10])))).grids[0].rows) == 10


def test_the_reader_of_cells_may_panic(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    """A panic derives from BaseException and writes to standard error; neither reaches the user."""
    import os

    import python_calamine

    class PanicException(BaseException):
        pass

    def panic(*_: object) -> object:
        os.write(2, b"thread main panicked at src/xls.rs")
        raise PanicException("index out of bounds")

    class Panicking:
        from_object = staticmethod(panic)

    monkeypatch.setattr(python_calamine, "CalamineWorkbook", Panicking)
    with pytest.raises(FileUnreadableError, match="its cells contradict its format"):
        open_file(put(tmp_path, "loom.xlsx", xlsx(rows_xml(f'<row r="1">{cell("A1")}</row>'))))
    os.write(2, b"still here")
    assert capfd.readouterr().err == "still here"


def test_memory_that_runs_out_is_a_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def run_out(*_: object, **__: object) -> object:
        raise MemoryError

    monkeypatch.setattr("harnessdrc.intake.formats.delimited.read_delimited", run_out)
    with pytest.raises(FileUnreadableError, match="does not fit into memory"):
        open_file(put(tmp_path, "loom.csv", "W1,ECU\n"))


def test_stopping_the_program_is_no_fault_of_the_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import python_calamine

    def stop(*_: object) -> object:
        raise KeyboardInterrupt

    class Stopping:
        from_object = staticmethod(stop)

    monkeypatch.setattr(python_calamine, "CalamineWorkbook", Stopping)
    with pytest.raises(KeyboardInterrupt):
        open_file(put(tmp_path, "loom.xlsx", xlsx(rows_xml(f'<row r="1">{cell("A1")}</row>'))))


def small_xlsx() -> bytes:
    book = openpyxl.Workbook()
    for i in range(30):
        book.active.append([f"W{i}", "ECU", i, 0.35, "BK/RD", f"=C{i + 1}*2"])
    book.active.merge_cells("A31:C31")
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def small_xls() -> bytes:
    book = xlwt.Workbook()
    sheet = book.add_sheet("S")
    for i in range(30):
        for j, value in enumerate([f"W{i}", "ECU", i, 0.35, "BK/RD", xlwt.Formula(f"C{i + 1}*2")]):
            sheet.write(i, j, value)
    sheet.write_merge(30, 30, 0, 2, "end")
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def small_ods() -> bytes:
    twice = text_cell("ECU", 'table:number-columns-repeated="2"')
    rows = "".join(
        f"<table:table-row>{text_cell(f'W{i}')}{twice}"
        f'<table:table-cell office:value-type="float" office:value="{i}.5"/></table:table-row>'
        for i in range(30)
    )
    return ods(f'<table:table table:name="S">{rows}</table:table>')


def mutated(data: bytes, seed: int) -> bytes:
    """A copy cut short, with flipped bits, or with a stretch overwritten."""
    chance = random.Random(seed)
    copy = bytearray(data)
    way = seed % 4
    if way == 0:
        return bytes(copy[: chance.randrange(len(copy))])
    if way == 1:
        at = chance.randrange(len(copy))
        copy[at : at + 32] = chance.randbytes(32)
    else:
        for _ in range(chance.choice([1, 2, 16])):
            copy[chance.randrange(len(copy))] ^= 1 << chance.randrange(8)
    return bytes(copy)


def inside(data: bytes, seed: int) -> bytes:
    """A sound zip around parts of which one is mutated."""
    chance = random.Random(seed)
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        parts: dict[str, str | bytes] = {name: package.read(name) for name in package.namelist()}
    name = chance.choice([name for name in parts if name.endswith((".xml", ".rels"))])
    parts[name] = mutated(bytes(parts[name]), seed)  # type: ignore[arg-type]
    return zipped(parts, zipfile.ZIP_STORED)


FUZZ = """
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, (2 * 1024**3,) * 2)
from pathlib import Path
from harnessdrc.errors import InputError
from harnessdrc.intake.files import open_file
count = 0
for path in sorted(Path(sys.argv[1]).iterdir()):
    try:
        open_file(path)
        count += 1
    except InputError as error:
        assert str(error).isprintable(), path
    except BaseException as error:
        print(path, repr(error))
print("read", count)
"""


@pytest.mark.parametrize(
    ("make", "mutate"),
    [
        (small_xlsx, mutated),
        (small_xlsx, inside),
        (small_xls, mutated),
        (small_ods, mutated),
        (small_ods, inside),
    ],
)
def test_two_hundred_damaged_copies_are_read_or_refused(
    tmp_path: Path, make: Callable[[], bytes], mutate: Callable[[bytes, int], bytes]
) -> None:
    pytest.importorskip("resource", reason="this system cannot limit a process")
    data = make()
    for seed in range(200):
        put(tmp_path, f"{seed:03}.bin", mutate(data, seed))
    done = subprocess.run([sys.executable, "-c", FUZZ, str(tmp_path)], capture_output=True, text=True, timeout=300)
    assert (done.returncode, done.stderr) == (0, ""), done.stderr[-2000:]
    (line,) = done.stdout.splitlines()
    assert 0 < int(line.removeprefix("read ")) < 200


@pytest.mark.parametrize("seed", range(200))
def test_damaged_text_is_read_or_refused(tmp_path: Path, seed: int) -> None:
    text = 'wire;from;to;note\nW1;ECU;INJ1;"18"" bare; tinned"\nW2;ECU;Zündspule;"zwei\nZeilen"\n' * 5
    path = put(tmp_path, "loom.csv", mutated(text.encode("cp1252" if seed % 3 else "utf-8"), seed))
    try:
        assert open_file(path).kind in ("csv", "tsv")
    except InputError as error:
        assert "\n" not in str(error)
