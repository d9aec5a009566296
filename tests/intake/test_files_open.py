"""Opening by path: what is missing, forbidden, no file, given twice, of the same name, or changing."""

from __future__ import annotations

import hashlib
import os
import socket
import sys
from pathlib import Path

import pytest
from workbook_parts import put, rows_xml, xlsx

from harnessdrc.errors import FileUnreadableError, NothingToReadError
from harnessdrc.intake import files as files_module
from harnessdrc.intake.files import open_file, open_files
from harnessdrc.intake.formats import limits

LIST = "wire,from,to\nW1,ECU,INJ1\n"


def refused(path: Path, kind: type[Exception] = FileUnreadableError) -> str:
    with pytest.raises(kind) as caught:
        open_file(path)
    text = str(caught.value)
    assert "\n" not in text
    return text


def test_a_text_list_opens_with_its_name_kind_and_thumbprint(tmp_path: Path) -> None:
    path = put(tmp_path, "loom.csv", LIST)
    opened = open_file(path)
    assert (opened.path, opened.file, opened.kind) == (path, "loom.csv", "csv")
    assert opened.sha256 == hashlib.sha256(LIST.encode()).hexdigest()
    (grid,) = opened.grids
    assert (grid.file, grid.sheet) == ("loom.csv", "loom")
    assert grid.rows == [["wire", "from", "to"], ["W1", "ECU", "INJ1"]]
    assert (grid.merged, grid.hidden, grid.drawings) == ((), False, False)


def test_a_missing_file_names_the_nearest(tmp_path: Path) -> None:
    put(tmp_path, "hill_climb_loom.xlsx", "x")
    put(tmp_path, "unrelated.txt", "x")
    text = refused(tmp_path / "hil_climb_loom.xlsx")
    assert "no such file" in text and "hill_climb_loom.xlsx" in text and "unrelated" not in text


def test_a_missing_file_finds_the_same_name_with_another_ending_or_case(tmp_path: Path) -> None:
    put(tmp_path, "V8.ods", "x")
    assert "V8.ods" in refused(tmp_path / "v8.xlsx")


def test_a_missing_file_without_a_near_name_lists_what_could_be_read(tmp_path: Path) -> None:
    put(tmp_path, "rescue_boat.csv", "x")
    put(tmp_path, ".secret.csv", "x")
    put(tmp_path, "~$rescue_boat.xlsx", "x")
    text = refused(tmp_path / "qq.xlsx")
    assert "rescue_boat.csv" in text and "secret" not in text and "~$" not in text


def test_a_missing_folder_is_named(tmp_path: Path) -> None:
    assert "there is no folder" in refused(tmp_path / "absent" / "loom.csv")


def test_a_file_used_as_a_folder(tmp_path: Path) -> None:
    put(tmp_path, "loom.csv", LIST)
    assert "there is no folder" in refused(tmp_path / "loom.csv" / "more.csv")


def test_a_link_to_nothing(tmp_path: Path) -> None:
    link = tmp_path / "link.csv"
    link.symlink_to(tmp_path / "gone.csv")
    assert "points to a file that does not exist" in refused(link)


def test_links_in_a_circle(tmp_path: Path) -> None:
    (tmp_path / "a.csv").symlink_to(tmp_path / "b.csv")
    (tmp_path / "b.csv").symlink_to(tmp_path / "a.csv")
    refused(tmp_path / "a.csv")
    with pytest.raises(FileUnreadableError):
        open_files([tmp_path / "a.csv"])


def test_a_folder_lists_its_lists(tmp_path: Path) -> None:
    for index in range(7):
        put(tmp_path, f"loom{index}.csv", LIST)
    text = refused(tmp_path)
    assert "this is a folder" in text and "loom0.csv" in text and "2 more" in text


def test_an_empty_folder(tmp_path: Path) -> None:
    assert "holds no file that can be read" in refused(tmp_path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_refused_without_waiting(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    assert "this is a pipe" in refused(tmp_path / "pipe.csv")


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="this system has no /dev/zero")
def test_a_device_is_refused_without_reading() -> None:
    assert "this is a device" in refused(Path("/dev/zero"))


@pytest.mark.skipif(sys.platform == "win32", reason="no sockets in folders")
def test_a_socket_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with socket.socket(socket.AF_UNIX) as server:
        server.bind("s.csv")
        assert "this is a socket" in refused(Path("s.csv"))


def test_no_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = put(tmp_path, "loom.csv", LIST)

    def forbid(*_: object) -> int:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(files_module.os, "open", forbid)
    assert "no permission" in refused(path)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read everything")
def test_no_permission_on_disk(tmp_path: Path) -> None:
    path = put(tmp_path, "loom.csv", LIST)
    path.chmod(0)
    assert "no permission" in refused(path)


def test_a_fault_of_the_drive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = put(tmp_path, "loom.csv", LIST)

    def fail(*_: object) -> int:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(files_module.os, "open", fail)
    assert "Input/output error" in refused(path)


def test_names_no_system_has(tmp_path: Path) -> None:
    refused(tmp_path / ("x" * 5000))
    assert "\0" not in refused(Path("loom\0.csv"))


def test_an_empty_file(tmp_path: Path) -> None:
    for name in ("loom.csv", "loom.xlsx", "loom.ods"):
        assert "the file is empty (0 bytes)" in refused(put(tmp_path, name, b""))


@pytest.mark.parametrize("content", ["\n\n\n", " , ,\n,,\n", "\ufeff", "sep=;\n", "\t\t\n"])
def test_nothing_but_blank_lines(tmp_path: Path, content: str) -> None:
    assert "nothing to read" in refused(put(tmp_path, "loom.csv", content), NothingToReadError)


def test_a_file_that_grows_while_it_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = put(tmp_path, "loom.csv", LIST)
    real = os.fstat
    seen = []

    def growing(descriptor: int) -> os.stat_result:
        seen.append(descriptor)
        if len(seen) == 2:
            with path.open("a") as more:
                more.write("W2,ECU,INJ2\n")
        return real(descriptor)

    monkeypatch.setattr(files_module.os, "fstat", growing)
    assert "changed while it was being read" in refused(path)


def test_a_file_that_disappears_before_it_is_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = put(tmp_path, "loom.csv", LIST)
    real = os.open

    def vanish(target: Path, flags: int) -> int:
        path.unlink()
        return real(target, flags)

    monkeypatch.setattr(files_module.os, "open", vanish)
    assert "no such file" in refused(path)


def test_a_file_swapped_for_a_folder_before_it_is_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = put(tmp_path, "loom.csv", LIST)
    real = os.open
    monkeypatch.setattr(files_module.os, "open", lambda _, flags: real(tmp_path, flags))
    assert "this is a folder" in refused(path)


def test_a_file_too_large_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "MAX_FILE_BYTES", 1024**2)
    path = tmp_path / "loom.csv"
    with path.open("wb") as sparse:
        sparse.truncate(3 * 1024**2)
    text = refused(path)
    assert "3 MiB" in text and "up to 1 MiB" in text


def test_the_same_file_twice_is_read_once_with_a_note(tmp_path: Path) -> None:
    path = put(tmp_path, "loom.csv", LIST)
    (tmp_path / "link.csv").symlink_to(path)
    other = put(tmp_path, "pins.csv", "connector,cavity\nX1,1\n")
    first, second = open_files([path, other, tmp_path / "." / "loom.csv", tmp_path / "link.csv"])
    assert (first.file, second.file) == ("loom.csv", "pins.csv")
    (note,) = [note for note in first.notes if note.what == "file"]
    assert (note.subject, note.value, note.count) == ("loom.csv", "read once", 3)
    assert not [note for note in second.notes if note.what == "file"]


def test_namesakes_show_as_much_of_their_folders_as_tells_them_apart(tmp_path: Path) -> None:
    paths = []
    for folder in ("a/x", "b/x", "b/y"):
        (tmp_path / folder).mkdir(parents=True)
        paths.append(put(tmp_path / folder, "wires.csv", LIST))
    paths.append(put(tmp_path, "pins.csv", LIST))
    opened = open_files(paths)
    assert [file.file for file in opened] == ["a/x/wires.csv", "b/x/wires.csv", "y/wires.csv", "pins.csv"]
    assert [file.grids[0].file for file in opened] == [file.file for file in opened]
    assert [file.path for file in opened] == paths


def test_nothing_is_written(tmp_path: Path) -> None:
    folder = tmp_path / "lists"
    folder.mkdir()
    put(folder, "a.csv", LIST)
    put(folder, "b.xlsx", xlsx(rows_xml('<row r="1"><c r="A1"><v>1</v></c></row>')))
    before = {path: (path.stat().st_mtime_ns, path.read_bytes()) for path in folder.iterdir()}
    open_files(sorted(folder.iterdir()))
    assert {path: (path.stat().st_mtime_ns, path.read_bytes()) for path in folder.iterdir()} == before


def test_text_needs_no_spreadsheet_reader(tmp_path: Path) -> None:
    import subprocess

    path = put(tmp_path, "loom.csv", LIST)
    script = (
        "import sys; from pathlib import Path; from harnessdrc.intake.files import open_file;"
        f" open_file(Path({str(path)!r}));"
        " print([m for m in ('python_calamine', 'pandas', 'openpyxl', 'numpy') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
