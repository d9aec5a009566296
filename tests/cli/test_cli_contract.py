"""The command line's contract: exit codes, outputs, JSON, the same bytes for the same input."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest
from cli_helpers import CLEAN, FAULTY, SAMPLES, assert_refused, contents, csv_list, process, ran, workbook

from harnessdrc.render.findings_json import schema

VERBS = ("check", "read", "explain", "template")


def test_nothing_on_hold_gives_0_and_a_redline_beside_the_list(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = workbook(tmp_path / "loom.xlsx")
    before = source.read_bytes()
    result = ran(capsys, "check", source)
    assert result.code == 0, result
    assert result.err == ""
    assert sorted(contents(tmp_path)) == ["loom.redline.xlsx", "loom.xlsx"]
    assert source.read_bytes() == before
    assert f"Written: {tmp_path / 'loom.redline.xlsx'}" in result.out


def test_something_on_hold_gives_1_and_names_cells_and_remedy(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    result = ran(capsys, "check", workbook(tmp_path / "loom.xlsx", FAULTY))
    assert result.code == 1
    assert "ON HOLD: 1 " in result.out
    line = next(line for line in result.out.splitlines() if "holds 2 wires" in line)
    assert line.strip().startswith("Wire list C5")
    assert "C4" in line
    assert "→ Join them in a splice" in result.out


def test_the_last_line_holds_the_counts(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = ran(capsys, "check", csv_list(tmp_path / "loom.csv", FAULTY)).out
    last = out.splitlines()[-1]
    assert out.endswith(last + "\n")
    assert last.startswith("4 wires, 2 components, ")
    assert last.endswith(" rules: 1 on hold, 0 to query, 0 to note, 1 not decided")


def test_one_of_a_kind_is_counted_in_the_singular(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    result = ran(capsys, "check", csv_list(tmp_path / "loom.csv", CLEAN[:1]))
    assert result.out.splitlines()[-1].startswith("1 wire, 2 components, ")


def test_a_clear_list_is_no_proof(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    clear = ran(capsys, "check", csv_list(tmp_path / "loom.csv")).out
    assert "That is not proof that the loom is safe" in clear
    assert clear.casefold().count("safe") == 1
    held = ran(capsys, "check", csv_list(tmp_path / "held.csv", FAULTY)).out
    assert "safe" not in held.casefold()
    for verb in VERBS:
        text = ran(capsys, verb, "--help").out
        assert "is safe" not in " ".join(text.split()).replace("not proof that a loom is safe", "")


def test_what_was_not_looked_at_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = ran(capsys, "check", csv_list(tmp_path / "loom.csv")).out
    blind = next(line for line in out.splitlines() if line.startswith("Looked at nothing"))
    assert "trigger-pair" in blind
    assert "numbers-once" not in blind


def test_out_takes_the_outputs_and_is_made(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = workbook(tmp_path / "loom.xlsx")
    assert ran(capsys, "check", source, "--out", tmp_path / "a" / "b").code == 0
    assert sorted(contents(tmp_path)) == ["a", "a/b", "a/b/loom.redline.xlsx", "loom.xlsx"]


def test_a_redline_can_be_checked_in_its_turn(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its own sheets of findings are set aside, and the outcome is that of the list."""
    source = workbook(tmp_path / "x.xlsx", FAULTY)
    first = ran(capsys, "check", source, "--json", tmp_path / "1.json")
    second = ran(capsys, "check", tmp_path / "x.redline.xlsx", "--json", tmp_path / "2.json")
    assert (first.code, second.code) == (1, 1)
    one, two = (json.loads((tmp_path / name).read_text("utf-8")) for name in ("1.json", "2.json"))
    assert one["counts"] == two["counts"]
    assert [f["thumbprint"] for f in one["findings"]] == [f["thumbprint"] for f in two["findings"]]
    assert one["read"]["wires"] == two["read"]["wires"] == 4
    assert (tmp_path / "x.redline.redline.xlsx").is_file()


@pytest.mark.parametrize("lists", ["faulty", "clean", "csv"])
def test_json_to_a_file_fits_its_schema(lists: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    if lists == "csv":
        sources = sorted((SAMPLES / "clean" / "hill_climb_csv").glob("*.csv"))
    else:
        sources = [SAMPLES / lists / "rescue_boat_v8.xlsx"]
    target = tmp_path / "outcome.json"
    result = ran(capsys, "check", *sources, "--out", tmp_path, "--json", target)
    assert result.code == (1 if lists == "faulty" else 0)
    assert f"Written: {target}" in result.out
    outcome = json.loads(target.read_bytes().decode("utf-8"))
    jsonschema.Draft202012Validator(schema()).validate(outcome)
    counts = ", ".join(
        f"{outcome['counts'][grade]} {words}"
        for grade, words in (("hold", "on hold"), ("query", "to query"), ("note", "to note"))
    )
    assert f"{counts}, {outcome['counts']['undecided']} not decided" in result.out.splitlines()[-1]
    assert len(outcome["findings"]) == sum(outcome["counts"][grade] for grade in ("hold", "query", "note"))
    read = outcome["read"]
    assert read["rows_seen"] == read["rows_used"] + len(read["rows_set_aside"])
    assert len(outcome["inputs"]) == len(sources)


def test_json_to_standard_output_stands_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = csv_list(tmp_path / "loom.csv", FAULTY)
    result = ran(capsys, "check", source, "--json", "-")
    outcome = json.loads(result.out)
    jsonschema.Draft202012Validator(schema()).validate(outcome)
    assert result.out.startswith("{") and result.out.endswith("}\n")
    assert "ON HOLD: 1" in result.err
    assert result.err.splitlines()[-1].endswith("1 on hold, 0 to query, 0 to note, 1 not decided")
    assert sorted(contents(tmp_path)) == ["loom.csv", "loom.redline.xlsx"]


def test_json_is_utf8_whatever_the_terminal_is(tmp_path: Path) -> None:
    source = csv_list(tmp_path / "loom.csv", [("W1", "ECU", "1", "Öl-Geber", "1", "BU", "0.5")])
    done = process("check", source, "--json", "-", env={"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"})
    assert done.returncode == 0, done.stderr
    json.loads(done.stdout.decode("utf-8"))
    plain = process("check", source, env={"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"})
    assert plain.returncode == 0, plain.stderr
    plain.stdout.decode("ascii")


def test_same_input_same_bytes(tmp_path: Path) -> None:
    """Two runs with different seeds of Python's hashes: JSON, redline and summary are the same bytes."""
    outcomes = []
    for seed in ("1", "4711"):
        out = tmp_path / seed
        done = process(
            "check", SAMPLES / "faulty" / "hill_climb_single_seater.xlsx", "--out", "out", "--json", "o.json",
            env={"PYTHONHASHSEED": seed}, cwd=_made(out),
        )  # fmt: skip
        assert done.returncode == 1, done.stderr
        outcomes.append((done.stdout, contents(out)))
    assert outcomes[0] == outcomes[1]
    assert len(outcomes[0][1]) == 3


def _made(folder: Path) -> Path:
    folder.mkdir()
    return folder


def test_same_json_whichever_way_it_leaves(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = csv_list(tmp_path / "loom.csv", FAULTY)
    ran(capsys, "check", source, "--json", tmp_path / "o.json")
    piped = process("check", source, "--json", "-")
    assert piped.stdout == (tmp_path / "o.json").read_bytes()


def test_given_values_change_the_outcome(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = csv_list(tmp_path / "loom.csv")
    ran(capsys, "check", source, "--given", "conductor_degc=95 degC", "--json", tmp_path / "o.json")
    given = json.loads((tmp_path / "o.json").read_text("utf-8"))["given"]
    assert given["conductor_degc"]["value"] == 95.0
    assert given["conductor_degc"]["from"] == "--given"
    assert given["contact_mohm"]["from"] != "--given"


def test_typos_of_given_values_are_told_all_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = csv_list(tmp_path / "loom.csv")
    result = ran(
        capsys, "check", source, "--given", "conductor_deg=95", "--given", "contact_mohm=two", "--given", "nothing"
    )
    assert result.code == 2
    assert result.out == ""
    lines = result.err.splitlines()
    assert len(lines) == 3
    assert "did you mean 'conductor_degc'?" in lines[0]
    assert "expected a number in mohm, found 'two'" in lines[1]
    assert "expected key=value" in lines[2]
    assert sorted(contents(tmp_path)) == ["loom.csv"]


def test_typos_of_a_ruleset_are_told_all_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rules = tmp_path / "mine.toml"
    rules.write_text(
        'name = "mine"\nissue = "1"\ntitle = "Mine"\nbased_on = "engine-loom"\n'
        '[rule.no-short]\ngraed = "hold"\n'
        '[rule.one-supply]\ngrade = "holt"\n'
        '[rule.new]\ncheck = "ground.two_path"\ngrade = "note"\nreason = "r"\nsource = "s"\n'
        "[rule.return-drop.limits]\ndrop_mw = 3\n",
        encoding="utf-8",
    )
    result = ran(capsys, "check", csv_list(tmp_path / "loom.csv"), "--ruleset", rules)
    assert result.code == 2
    assert result.out == ""
    for words in ("'grade'", "'hold'", "'ground.two_paths'", "'drop_mv'"):
        assert f"did you mean {words}?" in result.err or words in result.err, (words, result.err)
    faults = [line for line in result.err.splitlines() if line.startswith("  - ")]
    assert len(faults) == 4, result.err
    assert f"harnessdrc: {rules}: " in result.err
    assert "4 to mend" in result.err


def test_an_unknown_ruleset_suggests_the_nearest(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    result = ran(capsys, "check", csv_list(tmp_path / "loom.csv"), "--ruleset", "engine-lom")
    assert result.code == 2
    assert "engine-loom" in result.err
    assert "Traceback" not in result.err


def test_a_rule_switched_off_is_said_with_its_reason(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rules = tmp_path / "mine.toml"
    rules.write_text(
        'name = "mine"\nissue = "7"\ntitle = "Mine"\nbased_on = "engine-loom"\n'
        '[rule.one-wire-per-cavity]\noff = true\nreason = "Double crimps are usual here."\n',
        encoding="utf-8",
    )
    result = ran(capsys, "check", csv_list(tmp_path / "loom.csv", FAULTY), "--ruleset", rules)
    assert result.code == 0, result
    assert "against mine, issue 7" in result.out
    assert "Switched off by the ruleset: one-wire-per-cavity (Double crimps are usual here)." in result.out


@pytest.mark.parametrize("arguments", [(), ("chekc", "a.csv"), ("check",), ("check", "a.csv", "--giv", "a=1")])
def test_a_command_that_is_none_gives_2(arguments: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    """Options are not to be shortened: what a script says today must mean the same tomorrow."""
    result = ran(capsys, *arguments)
    assert result.code == 2
    assert result.out == ""
    assert "Traceback" not in result.err


@pytest.mark.parametrize("verb", ["", *VERBS])
def test_help_and_version(verb: str, capsys: pytest.CaptureFixture[str]) -> None:
    result = ran(capsys, *filter(None, (verb, "--help")))
    assert result.code == 0
    assert result.err == ""
    assert ran(capsys, "--version").out.startswith("harnessdrc ")


def test_several_lists_with_one_missing_write_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = csv_list(tmp_path / "loom.csv")
    assert_refused(ran(capsys, "check", source, tmp_path / "pins.csv"), "pins.csv", "no such file")
    assert sorted(contents(tmp_path)) == ["loom.csv"]


def _as_tsv(source: Path) -> Path:
    target = source.with_suffix(".tsv")
    target.write_text(source.read_text("utf-8").replace(",", "\t"), encoding="utf-8")
    return target


def _as_semicolons(source: Path) -> Path:
    target = source.with_name("loom2.csv")
    target.write_text(source.read_text("utf-8").replace(",", ";").replace("0.5", "0,5"), encoding="cp1252")
    return target


def _as_xlsx(source: Path) -> Path:
    return workbook(source.with_suffix(".xlsx"), FAULTY)


def _as_xls(source: Path) -> Path:
    import xlwt

    book = xlwt.Workbook()
    sheet = book.add_sheet("Wire list")
    for r, line in enumerate(source.read_text("utf-8").splitlines()):
        for c, text in enumerate(line.split(",")):
            sheet.write(r, c, text)
    book.save(str(source.with_suffix(".xls")))
    return source.with_suffix(".xls")


def _as_ods(source: Path) -> Path:
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    book = OpenDocumentSpreadsheet()
    table = Table(name="Wire list")
    for line in source.read_text("utf-8").splitlines():
        row = TableRow()
        for text in line.split(","):
            cell = TableCell(valuetype="string")
            cell.addElement(P(text=text))
            row.addElement(cell)
        table.addElement(row)
    book.spreadsheet.addElement(table)
    book.save(str(source.with_suffix(".ods")))
    return source.with_suffix(".ods")


@pytest.mark.parametrize("convert", [_as_tsv, _as_semicolons, _as_xlsx, _as_xls, _as_ods])
def test_the_same_list_in_any_form_has_the_same_findings(
    convert: Callable[[Path], Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = csv_list(tmp_path / "loom.csv", FAULTY)
    other = convert(source)
    outcomes = []
    for number, path in enumerate((source, other)):
        assert ran(capsys, "check", path, "--json", tmp_path / f"{number}.json").code == 1
        outcomes.append(json.loads((tmp_path / f"{number}.json").read_text("utf-8")))
        assert path.with_name(f"{path.stem}.redline.xlsx").is_file()
    one, two = outcomes
    assert one["counts"] == two["counts"]
    assert one["rules"] == two["rules"]
    assert [f["thumbprint"] for f in one["findings"]] == [f["thumbprint"] for f in two["findings"]]
    assert [[p["cell"] for p in f["places"]] for f in one["findings"]] == [
        [p["cell"] for p in f["places"]] for f in two["findings"]
    ]
