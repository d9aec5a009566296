"""The arrows of the design: which layer may import which, and what a start-up must not load."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "harnessdrc"

_BASE = {"errors", "places", "units"}
ALLOWED: dict[str, set[str]] = {
    # What each part of the package may import of the others; itself always.
    "errors": set(),
    "places": set(),
    "units": set(),
    "datafiles": set(),
    "findings": {"places"},
    "results": {"findings", "places"},
    "papers": {"findings", "results"},
    "tables": {*_BASE},
    "intake": {"tables", *_BASE},
    "harness": {"tables", *_BASE},
    "physics": {"errors", "datafiles"},
    "design": {"harness", "physics", "tables", "findings", "datafiles", *_BASE},
    "checks": {"design", "harness", "physics", "tables", "findings", *_BASE},
    "rulesets": {"checks", "physics", "findings", "errors", "datafiles"},
    "wording": {"checks", "findings"},
    "solved": {"design", "findings", "results"},
    "induced": {"design", "results"},
    "sized": {"design", "harness", "physics", "findings", "results", "units"},
    "measured": {"design", "findings", "results"},
    "engine": {
        "rulesets", "checks", "design", "harness", "wording", "solved", "induced", "sized", "measured", "findings", "results",
        "tables", "places", "errors",
    },
    "advice": {
        "engine", "rulesets", "checks", "design", "harness", "physics", "findings", "results", "wording", "tables",
        *_BASE,
    },
    "diagram": {"findings", "places", "results"},
    "wiring": {"findings"},
    "drawn": {"design", "harness", "diagram", "wiring", "findings", "places", "results"},
    "comparison": {"findings", "places", "results"},
    "compare": {"comparison", "design", "harness", "findings", "places", "results", "tables", "units"},
    "concessions": {"rulesets", "findings", "results", "tables", "intake", *_BASE},
    "approval": {"findings", "results", "rulesets", "tables", *_BASE},
    "bench": {
        "papers", "rulesets", "checks", "design", "harness", "physics", "findings", "results", "tables", "datafiles",
        *_BASE,
    },
    "api": {
        "drawn", "diagram", "wiring", "compare", "comparison", "concessions", "bench", "papers", "advice", "engine", "rulesets", "checks", "design", "intake", "harness", "results",
        "tables", "errors",
    },
    "render": {"approval", "findings", "places", "papers", "results", "diagram", "wiring", "comparison", "errors"},
    "cli": {
        "diagram", "wiring", "approval", "compare", "comparison", "concessions", "api", "papers", "engine", "rulesets", "checks", "design", "harness", "intake", "render", "findings", "results", "tables",
        *_BASE,
    },
    "__init__": {"api", "checks", "findings", "results", "errors"},
    "__main__": {"cli"},
}  # fmt: skip
ALSO = {"render/template": {"tables"}}
"""The template writes the columns of the lists, so it may know them."""

MODULES = sorted(PACKAGE.rglob("*.py"))


def part_of(path: Path) -> str:
    """Part of the package a file belongs to: its folder, or its own name."""
    first = path.relative_to(PACKAGE).parts[0]
    return first.removesuffix(".py")


def imports_of(path: Path) -> set[str]:
    """Parts of the package that a file imports, wherever in the file the import stands."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            for alias in node.names:
                names = alias.name.split(".")
                if names[0] == "harnessdrc":
                    found.add(names[1] if len(names) > 1 else "__init__")
        elif isinstance(node, ast.ImportFrom):
            names = (node.module or "").split(".") if node.module else []
            if node.level:
                here = ["harnessdrc", *path.relative_to(PACKAGE).parts[:-1]]
                names = here[: len(here) - node.level + 1] + names
            if names[:1] != ["harnessdrc"]:
                continue
            if len(names) > 1:
                found.add(names[1])
            else:
                found |= {alias.name for alias in node.names} - {"__version__"}
    return found


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_module_imports_only_what_its_layer_may(path: Path) -> None:
    part = part_of(path)
    assert part in ALLOWED, f"{part} is in no layer; say in this test what it may import"
    allowed = ALLOWED[part] | {part}
    if part == "render" and path.name.startswith("template"):
        allowed |= ALSO["render/template"]
    assert imports_of(path) <= allowed


def test_no_arrow_points_back() -> None:
    """Of two parts of the table at most one may import the other."""
    pairs = [(a, b) for a, below in ALLOWED.items() for b in below if a in ALLOWED.get(b, set())]
    assert pairs == []


def test_every_part_of_the_table_is_there() -> None:
    assert set(ALLOWED) == {part_of(path) for path in MODULES}


def test_an_import_in_a_function_is_seen(tmp_path: Path) -> None:
    file = tmp_path / "some.py"
    file.write_text("def f():\n    from harnessdrc.cli import main\n    import harnessdrc.render.console\n")
    assert imports_of(file) == {"cli", "render"}


def test_physics_knows_numbers_only() -> None:
    """No object of a list in it: what it imports from outside is arithmetic."""
    outside = set()
    for path in (PACKAGE / "physics").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                outside |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module:
                outside.add(node.module.split(".")[0])
    assert not outside & {"pandas", "networkx", "openpyxl", "python_calamine", "rich"}


# --- start-up -----------------------------------------------------------------------------------

HEAVY = (
    "pandas", "networkx", "openpyxl", "scipy", "rich", "python_calamine", "numpy", "jinja2", "tomlkit", "matplotlib",
)  # fmt: skip


def loaded_after(code: str) -> set[str]:
    """Heavy libraries in ``sys.modules`` of a fresh interpreter after it has run `code`."""
    script = f"""
import json, sys
{code}
sys.stdout.flush()
print("\\nloaded " + json.dumps([name for name in {HEAVY!r} if name in sys.modules]))
"""
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stderr
    line = next(line for line in done.stdout.splitlines() if line.startswith("loaded "))
    return set(json.loads(line.removeprefix("loaded ")))


def run_cli(*arguments: str) -> str:
    """Code that runs the command line and takes its exit as usual."""
    return f"""
from harnessdrc.cli import main
try:
    code = main({list(arguments)!r})
except SystemExit as leaving:
    code = leaving.code
assert code in (0, 1), code
"""


def test_importing_the_package_loads_nothing_heavy() -> None:
    assert loaded_after("import harnessdrc") == set()


@pytest.mark.parametrize(
    "arguments", [["--help"], ["--version"], *([verb, "--help"] for verb in ("check", "read", "shop", "approve", "compare", "explain", "template"))],
    ids=" ".join,
)  # fmt: skip
def test_help_loads_nothing_heavy(arguments: list[str]) -> None:
    assert loaded_after(run_cli(*arguments)) == set()


@pytest.fixture
def workbook(tmp_path: Path) -> Path:
    """A small list, written with nothing of the package."""
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    for row in (
        ("Wire", "From", "From cavity", "To", "To cavity", "Colour", "Size (mm2)", "Length (m)", "Signal"),
        ("W1", "BATTERY", "+", "FUSE 1", "1", "RD", 2.5, 0.4, "Battery feed"),
        ("W2", "FUSE 1", "2", "FUEL PUMP", "1", "RD", 1.5, 2.2, "Pump feed"),
        ("W3", "FUEL PUMP", "2", "Chassis stud", None, "BK", 1.5, 0.6, "Pump ground"),
    ):
        book.active.append(row)
    path: Path = tmp_path / "list.xlsx"
    book.save(path)
    return path


def test_checking_a_workbook_loads_no_writer_and_no_solver_it_does_not_need(workbook: Path) -> None:
    out = workbook.parent / "out"
    loaded = loaded_after(run_cli("check", str(workbook), "--out", str(out), "--json", str(out / "list.json")))
    assert (out / "list.redline.xlsx").is_file()
    assert not loaded & {"openpyxl", "scipy", "jinja2", "tomlkit", "matplotlib"}


def test_plots_load_the_plotting_library_only_where_there_is_something_to_draw(workbook: Path) -> None:
    out = workbook.parent / "out"
    bare = workbook.with_name("bare.csv")  # no trigger sensor, and no size to hold against another
    bare.write_text("Wire,From,To,Colour,Signal\nW1,FUSE 1,FUEL PUMP,RD,Pump feed\nW2,FUEL PUMP,Chassis stud,BK,Ground\n")
    assert "matplotlib" not in loaded_after(run_cli("check", str(bare), "--out", str(out), "--plots"))
    assert not list(out.glob("*.svg"))
    assert "matplotlib" in loaded_after(run_cli("check", str(workbook), "--out", str(out), "--plots"))
    assert [path.name for path in out.glob("*.svg")] == ["list.sizes.svg"]


def test_the_modules_that_draw_load_the_plotting_library_when_they_draw() -> None:
    assert "matplotlib" not in loaded_after("import harnessdrc.render.plots.margin, harnessdrc.render.plots.sizes")


def test_reading_a_workbook_loads_no_writer(workbook: Path) -> None:
    assert not loaded_after(run_cli("read", str(workbook))) & {"openpyxl", "scipy", "jinja2", "tomlkit", "matplotlib"}


def test_the_check_of_what_is_loaded_can_fail() -> None:
    assert loaded_after("import numpy") == {"numpy"}
