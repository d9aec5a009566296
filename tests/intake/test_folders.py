"""A folder as one list: which of its files belong to it."""

from __future__ import annotations

from pathlib import Path

import pytest

from harnessdrc.errors import NothingToReadError
from harnessdrc.intake.folders import OUTPUTS, files_of_list


def test_a_file_is_itself(tmp_path: Path) -> None:
    assert files_of_list(tmp_path / "any.name") == [tmp_path / "any.name"]


def test_of_a_folder_what_can_be_read_and_was_not_written_by_this_program(tmp_path: Path) -> None:
    lists = ["B.CSV", "a.xlsx", "c.tsv", "d.ods", "e.xls", "f.xlsm"]
    others = ["notes.md", "plan.pdf", "~$a.xlsx", ".~lock.a.xlsx", ".hidden.csv", "a.papers.html", *(f"a{end}" for end in OUTPUTS)]
    for name in (*lists, *others):
        (tmp_path / name).write_text("x", encoding="utf-8")
    (tmp_path / "older.xlsx").mkdir()
    assert [path.name for path in files_of_list(tmp_path)] == sorted(lists)


def test_a_folder_without_a_list_is_refused_with_what_was_expected(tmp_path: Path) -> None:
    (tmp_path / "notes.md").write_text("x", encoding="utf-8")
    with pytest.raises(NothingToReadError, match=r"holds no list; expected files that end in \.xlsx"):
        files_of_list(tmp_path)
