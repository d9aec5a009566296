"""From files to a result in one call, for programs that use the package."""

from __future__ import annotations

import contextlib
import datetime
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from harnessdrc.advice.worth import MOST_WIRES, TOO_LONG, worth_advising
from harnessdrc.checks.registry import Check, load_checks
from harnessdrc.design import GIVEN, Design, design_of
from harnessdrc.engine import given_numbers, run
from harnessdrc.errors import CommandError, InputError, NothingToReadError
from harnessdrc.intake.files import open_files
from harnessdrc.intake.grid import OpenedFile
from harnessdrc.intake.mapping import read_mapping
from harnessdrc.intake.reading import read_lists
from harnessdrc.results import Result
from harnessdrc.rulesets import Ruleset, given_overrides, load_ruleset
from harnessdrc.tables.model import Reading
from harnessdrc.tables.words import KINDS

if TYPE_CHECKING:
    from harnessdrc.compare import Issue
    from harnessdrc.comparison import Comparison
    from harnessdrc.concessions import ConcessionList
    from harnessdrc.diagram import Diagram
    from harnessdrc.papers import Papers
    from harnessdrc.wiring import Wiring

__all__ = [
    "accept",
    "check_lists",
    "compare_lists",
    "day_of",
    "diagram_of_design",
    "issue_of",
    "judge",
    "load_rules",
    "name_of_lists",
    "open_and_read",
    "papers_of",
    "read_accepted",
    "require_wires",
    "shop_papers",
    "wiring_of_design",
    "with_measured",
    "with_own_concessions",
]


def check_lists(
    paths: Sequence[Path],
    *,
    ruleset: str = "engine-loom",
    given: Sequence[str] = (),
    mapping: str | Path | None = None,
    allowed_packages: Collection[str] = (),
    measured: str | Path | None = None,
    concessions: str | Path | None = None,
    concessions_in_list: bool = False,
    on: datetime.date | None = None,
) -> Result:
    """Read the lists of one loom and run a ruleset over them.

    Parameters
    ----------
    paths : sequence of pathlib.Path
        One workbook, or the files that make up one list.
    ruleset : str
        Name of a shipped ruleset or path of a file.
    given : sequence of str
        ``key=value``, values in place of the ruleset's given ones.
    mapping : str or pathlib.Path, optional
        How to understand the lists.
    allowed_packages : collection of str
        Python packages that the ruleset may have loaded for their checks.
    measured : str or pathlib.Path, optional
        Workbook with filled-in test sheets; its other sheets are not read.
    concessions : str or pathlib.Path, optional
        TOML file or workbook with what is accepted, by whom and until when.
    concessions_in_list : bool
        Whether concessions within the list count; otherwise they are set aside.
    on : datetime.date, optional
        The day for which concessions are looked at; today if not given.

    Returns
    -------
    Result

    Raises
    ------
    InputError
        For a list, mapping or workbook of test sheets that cannot be used.
    RulesetError, ConcessionError
        For a ruleset, for concessions that cannot be used.
    """
    checks, rules = load_rules(ruleset, given, allowed_packages)
    opened, reading = open_and_read(paths, mapping)
    require_wires(reading)
    accepted = read_accepted(opened, concessions, concessions_in_list)
    reading = with_own_concessions(reading) if concessions_in_list else reading
    if measured is not None:
        reading = with_measured(reading, Path(measured), paths)
    result = judge(design_of(reading, given_numbers(rules), rules.states), rules, checks, reading)
    return accept(result, accepted, on or datetime.date.today())


def compare_lists(
    old: Sequence[Path],
    new: Sequence[Path],
    *,
    ruleset: str = "engine-loom",
    given: Sequence[str] = (),
    mapping: str | Path | None = None,
    old_mapping: str | Path | None = None,
    allowed_packages: Collection[str] = (),
    concessions: str | Path | None = None,
    on: datetime.date | None = None,
) -> Comparison:
    """Hold two issues of one list against each other.

    Parameters
    ----------
    old, new : sequence of pathlib.Path
        Files of each issue: one workbook, or the files that make up one list.
    ruleset, given, mapping, allowed_packages
        As `check_lists`; they count for both issues.
    old_mapping : str or pathlib.Path, optional
        How to understand the old one, where `mapping` is for the new one alone.
    concessions : str or pathlib.Path, optional
        What is accepted in both.
    on : datetime.date, optional
        The day that concessions must hold on; today if not given.

    Returns
    -------
    Comparison
        What changed in the list, and in what the rules say of it. Nothing is advised on.

    Raises
    ------
    InputError, RulesetError
        As `check_lists`.
    """
    from harnessdrc.compare import compare_issues

    checks, rules = load_rules(ruleset, given, allowed_packages)
    before, _ = issue_of(old, rules, checks, old_mapping or mapping, concessions=concessions, on=on)
    after, _ = issue_of(new, rules, checks, mapping, concessions=concessions, on=on)
    return compare_issues(before, after)


def issue_of(
    paths: Sequence[Path],
    rules: Ruleset,
    checks: Mapping[str, Check],
    mapping: str | Path | None = None,
    progress: Callable[[str, int, int], None] | None = None,
    concessions: str | Path | None = None,
    on: datetime.date | None = None,
) -> tuple[Issue, str]:
    """One issue of a list as read and checked, and its name; parameters as `compare_lists`.

    Raises
    ------
    InputError
        For a list or mapping that cannot be used.
    ConcessionError
        For concessions that cannot be used.
    """
    from harnessdrc.compare import Issue

    opened, reading = open_and_read(paths, mapping)
    require_wires(reading)
    name = name_of_lists(opened, reading)
    accepted = read_accepted(opened, concessions)
    del opened
    design = design_of(reading, given_numbers(rules), rules.states)
    result = run(design, rules, checks, reading, progress)
    return Issue(design, accept(result, accepted, on or datetime.date.today())), name


def shop_papers(
    paths: Sequence[Path],
    *,
    ruleset: str = "engine-loom",
    given: Sequence[str] = (),
    mapping: str | Path | None = None,
    allowed_packages: Collection[str] = (),
) -> tuple[Papers, Result]:
    """Read the lists of one loom, run a ruleset over them and make the papers for the bench.

    Parameters and errors as `check_lists`; nothing is advised on.

    Returns
    -------
    papers : Papers
        What to cut, fit, label, buy and measure; `harnessdrc.render.papers` prints it.
    result : Result
        What the rules say.
    """
    checks, rules = load_rules(ruleset, given, allowed_packages)
    opened, reading = open_and_read(paths, mapping)
    require_wires(reading)
    design = design_of(reading, given_numbers(rules), rules.states)
    result = run(design, rules, checks, reading)
    return papers_of(design, result, name=name_of_lists(opened, reading)), result


def papers_of(design: Design, result: Result, *, name: str) -> Papers:
    """Papers of a checked list; see `harnessdrc.bench.assembling.make_papers`, which is loaded on first use."""
    from harnessdrc.bench.assembling import make_papers

    return make_papers(design, result, name=name)


def diagram_of_design(design: Design, result: Result) -> Diagram:
    """Ground diagram of a checked list; see `harnessdrc.drawn.diagram_of`, which is loaded on first use."""
    from harnessdrc.drawn import diagram_of

    return diagram_of(design, result)


def wiring_of_design(design: Design) -> Wiring:
    """Wires of a list with the nets that they lie in; see `harnessdrc.drawn.wires`, which is loaded on first use."""
    from harnessdrc.drawn.wires import wiring_of

    return wiring_of(design)


def name_of_lists(opened: Sequence[OpenedFile], reading: Reading) -> str:
    """Name of a list: that of its first file with wires, without its ending."""
    with_wires = {table.file for table in reading.of("wires")}
    return min(opened, key=lambda file: file.file not in with_wires).path.stem


def judge(
    design: Design,
    ruleset: Ruleset,
    checks: Mapping[str, Check],
    reading: Reading,
    progress: Callable[[str, int, int], None] | None = None,
) -> Result:
    """Run the rules over a design and work out what to do about what they find.

    Parameters
    ----------
    design : Design
        What to check.
    ruleset : Ruleset
        Rules.
    checks : mapping of str to Check
        Loaded checks by name.
    reading : Reading
        The account of the rows.
    progress : callable, optional
        Called as ``progress(what, number, total)`` before each step.
    """
    result = run(design, ruleset, checks, reading, progress)
    if not worth_advising(result):
        return result
    if result.read.wires > MOST_WIRES:
        return replace(result, network=replace(result.network, not_solved=(*result.network.not_solved, TOO_LONG)))
    from harnessdrc.advice.advising import advise

    if progress:
        progress("Trying what would put it right", len(ruleset.rules), len(ruleset.rules))
    return advise(design, ruleset, checks, result)


def load_rules(
    ruleset: str, given: Sequence[str] = (), allowed_packages: Collection[str] = ()
) -> tuple[Mapping[str, Check], Ruleset]:
    """Load the checks and a ruleset, with values given in place of its own.

    Raises
    ------
    RulesetError
        For a ruleset that cannot be used.
    CommandError
        For a given value that cannot be used.
    """
    checks = load_checks()
    known = {name: form.unit for name, form in GIVEN.items()}
    kinds = [kind for kind, _ in KINDS]
    rules = load_ruleset(
        ruleset, checks=checks, allowed_packages=allowed_packages, known_given=known, known_components=kinds
    )
    rules = given_overrides(given, rules, known_given=known) if given else rules
    _hold_to_bounds(rules)
    return checks, rules


def _hold_to_bounds(rules: Ruleset) -> None:
    """Refuse given values that make no sense.

    Raises
    ------
    CommandError
        For values beyond their bounds, all at once.
    """
    sentences = [
        f"given value '{name}': expected {form.expected}, found {given.value:g} ({given.source})."
        for name, given in rules.given.items()
        if (form := GIVEN.get(name)) is not None and not isinstance(given.value, str) and not form.takes(given.value)
    ]
    if sentences:
        raise CommandError("\n".join(sentences))


def open_and_read(
    paths: Sequence[Path], mapping: str | Path | None = None
) -> tuple[list[OpenedFile], Reading]:
    """Open the files of one loom and read their tables.

    Raises
    ------
    InputError
        For a list or mapping that cannot be used.
    """
    for path in map(Path, paths):
        if path.name.casefold().endswith(".papers.xlsx"):
            raise InputError(
                f"{path}: these are papers made from a list, not the list itself; name the list, and to read the "
                f"filled-in test sheets of the papers use harnessdrc check LIST --measured {path.name}."
            )
    opened = open_files(paths)
    return opened, read_lists(opened, read_mapping(Path(mapping)) if mapping else None)


def with_measured(reading: Reading, path: Path, lists: Sequence[Path]) -> Reading:
    """The reading of a list with the test sheets of another file.

    Parameters
    ----------
    reading : Reading
        Of the list; its sources stay as they are, since they say which issue of the list it is.
    path : pathlib.Path
        Workbook or text with filled-in test sheets; only these are read.
    lists : sequence of pathlib.Path
        Files of the list.

    Raises
    ------
    InputError
        For a file that cannot be used, or one without a test sheet.
    CommandError
        For a file that is one of the lists.
    """
    from harnessdrc.intake.measuring import read_test_sheets

    for file in lists:
        with contextlib.suppress(OSError, ValueError):
            if path.samefile(file):
                raise CommandError(
                    f"--measured {path}: this is one of the lists, whose test sheets are read anyway; leave the option "
                    "out."
                )
    found = read_test_sheets(path, {source.file for source in reading.sources})
    return replace(
        reading,
        tables=(*reading.tables, *found.tables),
        set_aside=(*reading.set_aside, *found.set_aside),
        assumptions=(*reading.assumptions, *found.assumptions),
        unreadable=(*reading.unreadable, *found.unreadable),
        rows_seen=reading.rows_seen + found.rows_seen,
        rows_used=reading.rows_used + found.rows_used,
        notes=(*reading.notes, *found.notes),
    )


def read_accepted(
    opened: Sequence[OpenedFile], concessions: str | Path | None = None, in_list: bool = False
) -> ConcessionList | None:
    """Concessions of a file of their own and, where they are to count, of the list.

    Parameters
    ----------
    opened : sequence of OpenedFile
        The list.
    concessions : str or pathlib.Path, optional
        TOML file or workbook.
    in_list : bool
        Whether those of the list count.

    Returns
    -------
    ConcessionList or None
        None where none are asked for; nothing of concessions is loaded then.

    Raises
    ------
    ConcessionError
        For concessions that cannot be used.
    CommandError
        For a file that is one of the lists.
    """
    if concessions is None and not in_list:
        return None
    from harnessdrc.concessions import ConcessionList, concessions_within, read_concessions

    accepted = ConcessionList()
    if concessions is not None:
        path = Path(concessions)
        for file in opened:
            with contextlib.suppress(OSError, ValueError):
                if path.samefile(file.path):
                    raise CommandError(
                        f"--concessions {path}: this is one of the lists, and a list cannot accept its own "
                        f"faults; keep "
                        "concessions in a file of their own, or give --concessions-in-list."
                    )
        accepted = read_concessions(path, {file.file for file in opened})
    return accepted.joined(concessions_within(opened)) if in_list else accepted


def with_own_concessions(reading: Reading) -> Reading:
    """The reading of a list whose own concessions count: their rows are used and not set aside."""
    from harnessdrc.intake.recognition.concession_sheets import OWN_FAULTS

    aside = tuple(row for row in reading.set_aside if row.reason != OWN_FAULTS)
    used = len(reading.set_aside) - len(aside)
    return replace(reading, set_aside=aside, rows_used=reading.rows_used + used)


def accept(result: Result, accepted: ConcessionList | None, on: datetime.date) -> Result:
    """The result with what concessions accept marked; see `harnessdrc.concessions.apply_concessions`.

    Raises
    ------
    ConcessionError
        For concessions that do not fit what they are to accept.
    """
    if accepted is None:
        return result
    from harnessdrc.concessions import apply_concessions

    return apply_concessions(result, accepted, on)


def day_of(option: str, text: str | None) -> datetime.date:
    """A day given on the command line; today where none is.

    Raises
    ------
    CommandError
        For a text that is no date.
    """
    if text is None:
        return datetime.date.today()
    from harnessdrc.concessions import date_of

    day = date_of(text)
    if day is None:
        raise CommandError(f"{option} {text}: expected a date such as 2027-03-31.")
    return day


def require_wires(reading: Reading) -> None:
    """Refuse lists in which no check has anything to look at: neither a wire nor a pin.

    Raises
    ------
    NothingToReadError
        Names the tables that were found instead.
    """
    if any(len(table.frame) for form in ("wires", "pins") for table in reading.of(form)):
        return
    found = [f"{table.form.replace('_', ' ')} on sheet '{table.sheet}'" for table in reading.tables]
    raise NothingToReadError(
        f"there is neither a wire list nor a pin list to check; found: {', '.join(found) or 'no table'}.",
        file=", ".join(source.file for source in reading.sources),
        sheet=reading.tables[0].sheet if len(reading.tables) == 1 and len(reading.sources) == 1 else "",
        remedy="Give the file or the sheet with the wires too; 'harnessdrc read LIST' shows how a list is understood.",
    )
