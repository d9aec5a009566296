"""The command line: ``harnessdrc VERB``.

Only argparse is imported here; a verb's module is imported when the verb is called.
"""

from __future__ import annotations

import argparse
import gc
import importlib
import os
import signal
import sys
from collections.abc import Callable, Sequence

from harnessdrc import __version__
from harnessdrc.errors import HarnessdrcError

__all__ = ["main", "parser"]

_EPILOG = (
    "Exit codes: 0 nothing on hold, 1 something is on hold, 2 the input or the command cannot be used, "
    "3 a check failed to run. A clear result is not proof that a loom is safe."
)


def parser() -> argparse.ArgumentParser:
    """Parser of the whole command line."""
    top = argparse.ArgumentParser(
        prog="harnessdrc",
        description="Checks wire lists of engine-management looms against design rules before a wire is cut.",
        epilog=_EPILOG,
        allow_abbrev=False,
    )
    top.add_argument("--version", action="version", version=f"harnessdrc {__version__}")
    verbs = top.add_subparsers(dest="verb", metavar="VERB", required=True)

    check = verbs.add_parser(
        "check",
        allow_abbrev=False,
        help="check a wire list and write its marked-up copy",
        description="Reads one list (a workbook, or several files that belong together), runs a ruleset and "
        "writes NAME.redline.xlsx beside it.",
        epilog=_EPILOG,
    )
    check.add_argument("lists", nargs="+", metavar="LIST", help="xlsx, xlsm, xls, ods, csv or tsv")
    check.add_argument("--ruleset", default="engine-loom", metavar="NAME|FILE", help="rules to check against")
    check.add_argument("--out", metavar="DIR", help="folder for the outputs (default: beside the list)")
    check.add_argument("--json", metavar="FILE|-", help="write the outcome as JSON; - is standard output")
    check.add_argument(
        "--report",
        action="store_true",
        help="write NAME.report.html: one page with the findings, the ground diagram, offsets, sizes and wires",
    )
    check.add_argument(
        "--plots",
        action="store_true",
        help="draw the margin of trigger sensors over engine speed as NAME.margin.svg, and wire sizes as listed "
        "against those needed as NAME.sizes.svg",
    )
    check.add_argument("--given", action="append", default=[], metavar="KEY=VALUE", help="set a value taken as given")
    check.add_argument(
        "--measured",
        metavar="FILE",
        help="filled-in test sheets of the papers: compare what was measured, and solve the network with it",
    )
    _concession_options(check)
    check.add_argument("--on", metavar="DATE", help="day for which concessions are looked at (default: today)")
    _reading_options(check)
    _package_option(check)

    shop = verbs.add_parser(
        "shop",
        allow_abbrev=False,
        help="make the papers for the bench: cut list, connector sheets, labels, parts, test sheets",
        description="Reads one list, runs a ruleset over it and writes the papers to build and test the loom by: "
        "NAME.papers.xlsx, whose test sheets are filled in and read back, and NAME.papers.html to print.",
        epilog="Exit codes: 0 the papers are complete, 1 they are made, but something is on hold or they are "
        "incomplete, 2 the input or the command cannot be used, 3 a check failed to run.",
    )
    shop.add_argument("lists", nargs="+", metavar="LIST", help="xlsx, xlsm, xls, ods, csv or tsv")
    shop.add_argument("--ruleset", default="engine-loom", metavar="NAME|FILE", help="rules to check against")
    shop.add_argument("--out", metavar="DIR", help="folder for the papers (default: beside the list)")
    shop.add_argument("--given", action="append", default=[], metavar="KEY=VALUE", help="set a value taken as given")
    _reading_options(shop)
    _package_option(shop)

    _approve_parser(verbs)

    read = verbs.add_parser(
        "read",
        allow_abbrev=False,
        help="show how a list is understood",
        description="Shows the tables found, heading by heading, the rows set aside with their reasons, and "
        "every assumption.",
    )
    read.add_argument("lists", nargs="+", metavar="LIST", help="xlsx, xlsm, xls, ods, csv or tsv")
    read.add_argument(
        "--write-mapping", metavar="FILE", help="write how the list was understood, to edit and give back"
    )
    read.add_argument("--all", action="store_true", help="show every row set aside and every assumption")
    _reading_options(read)

    compare = verbs.add_parser(
        "compare",
        allow_abbrev=False,
        help="hold two issues of a list against each other",
        description="Reads two issues of one list, runs a ruleset over both and writes NAME.comparison.xlsx: wires "
        "added, removed, moved, resized, renamed, what else changed, findings new, carried over and gone, offsets "
        "before and after. Wires are known by number and ends, never by their row.",
        epilog="Exit codes: 0 no difference, 1 there are differences, 2 the input or the command cannot be used, "
        "3 a check failed to run.",
    )
    compare.add_argument("old", metavar="OLD", help="the earlier issue: a file, or a folder of files of one list")
    compare.add_argument("new", metavar="NEW", help="the later issue, likewise")
    compare.add_argument("--ruleset", default="engine-loom", metavar="NAME|FILE", help="rules to check both against")
    compare.add_argument("--out", metavar="DIR", help="folder for the outputs (default: beside the later issue)")
    compare.add_argument("--json", metavar="FILE|-", help="write the comparison as JSON; - is standard output")
    compare.add_argument("--given", action="append", default=[], metavar="KEY=VALUE", help="set a value taken as given")
    compare.add_argument("--concessions", metavar="FILE", help="what is accepted, in both issues")
    compare.add_argument("--on", metavar="DATE", help="the day that concessions must hold on (default: today)")
    _reading_options(compare)
    compare.add_argument("--old-mapping", metavar="FILE", help="for OLD, where --mapping is for NEW alone")
    _package_option(compare)

    explain = verbs.add_parser(
        "explain",
        allow_abbrev=False,
        help="show what a check does, with examples",
        description="Shows a check's page: why it matters, what it reads and decides, when it stays silent, "
        "its source, an example that is found and one that is not. Without a name, lists all checks.",
    )
    explain.add_argument("check", nargs="?", metavar="CHECK", help="name of a check, such as ground.two_paths")
    explain.add_argument("--ruleset", default="engine-loom", metavar="NAME|FILE", help="ruleset whose limits to show")
    _package_option(explain)

    template = verbs.add_parser(
        "template",
        allow_abbrev=False,
        help="write the recommended workbook",
        description="Writes a workbook with the recommended sheets, drop-downs, an example and a page of guidance.",
    )
    template.add_argument("file", metavar="FILE", help="workbook to write (.xlsx)")
    return top


def _reading_options(verb: argparse.ArgumentParser) -> None:
    verb.add_argument("--mapping", metavar="FILE", help="how to understand the list (see read --write-mapping)")


def _approve_parser(verbs: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    approve = verbs.add_parser(
        "approve",
        allow_abbrev=False,
        help="approve an issue of a list, or say whether a list is the one approved",
        description="Runs a ruleset over one list and, where nothing on hold is open or undecided, writes "
        "NAME.redline.xlsx with a sheet Approval and NAME.approval.json. With --verify it says whether the list in "
        "hand is the one approved, and if not what changed.",
        epilog="Exit codes: 0 approved, or the same as approved; 1 refused, or not the same; 2 the input or the "
        "command cannot be used. An approval is not proof that a loom is safe.",
    )
    approve.add_argument("lists", nargs="+", metavar="LIST", help="xlsx, xlsm, xls, ods, csv or tsv")
    approve.add_argument("--by", metavar="NAME", help="who approves")
    approve.add_argument("--note", metavar="TEXT", help="what else there is to say")
    approve.add_argument("--on", metavar="DATE", help="day of the approval, and for concessions (default: today)")
    approve.add_argument("--key", metavar="FILE.pem", help="sign with this Ed25519 private key")
    approve.add_argument("--verify", metavar="FILE", help="hold the list against this NAME.approval.json")
    approve.add_argument("--public-key", metavar="FILE.pem", help="with --verify: it must be signed with this key")
    approve.add_argument("--ruleset", metavar="NAME|FILE", help="rules to check against (default: engine-loom)")
    approve.add_argument("--out", metavar="DIR", help="folder for the outputs (default: beside the list)")
    approve.add_argument("--given", action="append", default=[], metavar="KEY=VALUE", help="set a value taken as given")
    approve.add_argument("--measured", metavar="FILE", help="filled-in test sheets of the papers")
    _concession_options(approve)
    _reading_options(approve)
    _package_option(approve)


def _concession_options(verb: argparse.ArgumentParser) -> None:
    verb.add_argument(
        "--concessions",
        metavar="FILE",
        help="what is accepted, by whom and until when: a TOML file, or a workbook with Rule, Subject, Reason, By, "
        "Until",
    )
    verb.add_argument(
        "--concessions-in-list",
        action="store_true",
        help="let concessions within the list count too; otherwise a list cannot accept its own faults",
    )


def _package_option(verb: argparse.ArgumentParser) -> None:
    verb.add_argument(
        "--allow-checks",
        action="append",
        default=[],
        metavar="PACKAGE",
        help="allow a Python package named by the ruleset to be loaded for its checks",
    )


def _write_anything() -> None:
    """Never fail on a character that the terminal's encoding lacks, which is written as its number, nor on a
    stream that was closed before the start."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115, PTH123 - for the whole run
            continue
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")


class _Terminated(KeyboardInterrupt):
    """The system asks the process to end: what is half written is taken away first, as for Ctrl-C."""


def _terminated(*_: object) -> None:
    raise _Terminated


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line, without arguments that of the process; returns the exit code."""
    if arguments is not None:
        return _run(arguments)
    # Nearly all that is made lives to the end, when the system takes it back at once: looking for cycles, on the way
    # and before the end, costs a tenth of the time.
    gc.disable()
    try:
        return _run(None)
    finally:
        gc.freeze()


def _run(arguments: Sequence[str] | None) -> int:
    _write_anything()
    options = parser().parse_args(arguments)
    try:
        before = signal.signal(signal.SIGTERM, _terminated)
    except ValueError:  # not in the main thread, where signals are no matter of ours
        return _carried_out(options)
    try:
        return _carried_out(options)
    finally:
        signal.signal(signal.SIGTERM, before)


def _carried_out(options: argparse.Namespace) -> int:
    try:
        verb: Callable[[argparse.Namespace], int] = importlib.import_module(f"harnessdrc.cli.{options.verb}").run
        code = verb(options)
        sys.stdout.flush()
        return code
    except HarnessdrcError as error:
        from harnessdrc.render.lines import visible

        text = "\n".join(visible(line) for line in str(error).split("\n"))
        print(f"harnessdrc: {text}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        from harnessdrc.cli.output import quiet_pipe

        quiet_pipe()
        return 2
    except OSError as error:
        if error.filename is not None:  # a file, and none that is known to be missing or full
            return _own_fault(error)
        from harnessdrc.cli.output import quiet_pipe

        quiet_pipe()
        reason = error.strerror or str(error)
        print(f"harnessdrc: standard output cannot be written ({reason[:1].lower()}{reason[1:]}).", file=sys.stderr)
        return 2
    except KeyboardInterrupt as stop:
        print("harnessdrc: stopped; nothing was half written.", file=sys.stderr)
        return 143 if isinstance(stop, _Terminated) else 130
    except MemoryError:
        print(
            "harnessdrc: not enough memory for this list; close other programs or check its sheets one by one.",
            file=sys.stderr,
        )
        return 2
    except Exception as error:
        return _own_fault(error)


def _own_fault(error: Exception) -> int:
    if os.environ.get("HARNESSDRC_TRACEBACK"):
        raise error
    print(
        f"harnessdrc: a fault of the program itself ({type(error).__name__}: {error}). "
        "Please report it with the list; HARNESSDRC_TRACEBACK=1 shows where.",
        file=sys.stderr,
    )
    return 3
