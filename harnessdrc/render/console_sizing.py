"""Wire sizes and fuses on the terminal, in about ten lines."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from harnessdrc.render.induction import figure_text, needs_text
from harnessdrc.render.lines import counted, say
from harnessdrc.render.names import names_text
from harnessdrc.render.sizing import (
    CAUTION_TEXT,
    ampere_text,
    copper_text,
    fuse_known,
    fuse_load,
    needed_of,
    needs_size_text,
    order_of_need,
    percent_text,
    standings,
    surely_tight,
    tight_by,
)
from harnessdrc.results import FuseLine, SizeLine, SizingLimits, SizingOutcome

__all__ = ["print_sizing"]

_SHEET = "sheet Wire sizes"
_WIRES, _DOUBTFUL = 5, 3
"""Lines of wires that are too small or may be, and of those that may be."""
_FUSES = 4
_SENTENCES = 2
_NEARLY = 0.05
"""Two currents are alike within this part of the greater one."""


def print_sizing(console: Console, sizing: SizingOutcome) -> None:
    """Print the wires that are too small, copper, and the fuses that are tight; nothing for an empty outcome.

    Parameters
    ----------
    console : rich.console.Console
        Where to.
    sizing : SizingOutcome
        What was worked out.
    """
    if sizing.wires:
        _print_wires(console, sizing)
    if sizing.fuses:
        _print_fuses(console, sizing.fuses, sizing.limits)
    sentences = sizing.not_worked_out
    if sentences and not sizing.wires and not sizing.fuses:
        say(console, Text("WIRE SIZES", style="bold blue"))
    for sentence in sentences[:_SENTENCES]:
        say(console, Text(sentence, style="dim"), 1)
    if len(sentences) > _SENTENCES:
        say(console, Text(f"… and {len(sentences) - _SENTENCES:,} more ({_SHEET})", style="dim"), 1)
    if sizing.wires or sizing.fuses:
        say(console, Text(f"{CAUTION_TEXT}.", style="dim"), 1)
    if sizing.wires or sizing.fuses or sentences:
        say(console)


# --- wires --------------------------------------------------------------------------------------------


def _print_wires(console: Console, sizing: SizingOutcome) -> None:
    wires = sizing.wires
    found = standings(wires)
    counts = Counter(found)
    parts = [f"{counts['small']:,} too small"]
    if counts["perhaps"]:
        parts.append(f"{counts['perhaps']:,} may be too small")
    parts += [f"{counts['spare']:,} could be smaller", f"{counts['unknown']:,} not known"]
    title = Text("WIRE SIZES", style="bold blue")
    title.append(f": {counted(len(wires), 'wire')} ({', '.join(parts)})")
    say(console, title)
    order = order_of_need(wires, found)
    small = [wires[at] for at in order if found[at] == "small"]
    perhaps = [wires[at] for at in order if found[at] == "perhaps"]
    told = _print_bad(console, small, _WIRES, certain=True)
    _print_bad(console, perhaps, min(_DOUBTFUL, _WIRES - told), certain=False)
    if perhaps:
        needs = needs_text((name for line in perhaps for name in line.lacking), 2)
        text = f"to decide on {'it' if len(perhaps) == 1 else 'these'}: {needs.removeprefix('needs ')}"
        say(console, Text(text, style="magenta"), 1)
    if not small and not perhaps:
        _print_least(console, wires, order)
    unknown = [line for line, standing in zip(wires, found, strict=True) if standing == "unknown"]
    if unknown:
        needs = needs_text((name for line in unknown for name in line.lacking), 2)
        names = names_text([line.wire for line in unknown])
        say(console, Text(f"{names}: not known{f'; {needs}' if needs else ''}", style="magenta"), 1)
    if sizing.copper_g > 0:
        _print_copper(console, sizing)


def _print_bad(console: Console, wires: Sequence[SizeLine], most: int, certain: bool) -> int:
    """Wires that are too small, or may be; gives the number of lines with their figures."""
    groups = _grouped(wires, most)
    for group in groups[:most]:
        _print_wire(console, group, certain)
    rest = sum(map(len, groups[most:]))
    if rest:
        also = "that are" if certain else "that may be"
        say(console, Text(f"{rest:,} {'more ' if most else ''}{also} too small ({_SHEET})", style="dim"), 1)
    return min(len(groups), most)


def _alike(first: SizeLine, line: SizeLine) -> bool:
    """Whether two wires differ in nothing worth a line of their own."""
    same = (first.size, first.state, first.governs) == (line.size, line.state, line.governs)
    same = same and (first.governs != "short circuit" or first.fuse == line.fuse)
    if not same or needed_of(first) != needed_of(line) or bool(first.lacking) != bool(line.lacking):
        return False
    figures = (
        (first.current_a, line.current_a), (first.allowed_a, line.allowed_a),
        (first.conductor_degc, line.conductor_degc),
        *([(first.drop_mv, line.drop_mv)] if first.governs == "drop" else []),
        *([(first.fault_a, line.fault_a)] if first.governs == "short circuit" else []),
    )  # fmt: skip
    for one, other in figures:
        if (one is None) != (other is None):
            return False
        if one is not None and other is not None and not (one == other or abs(one - other) <= _NEARLY * abs(one)):
            return False
    return True


def _grouped(wires: Sequence[SizeLine], most: int) -> list[list[SizeLine]]:
    """Wires in the order given, alike ones with the first of them; beyond the groups told each stands alone."""
    groups: list[list[SizeLine]] = []
    for line in wires:
        group = next((one for one in groups[:most] if _alike(one[0], line)), None)
        if group is not None:
            group.append(line)
        else:
            groups.append([line])
    return groups


def _current_text(line: SizeLine) -> str:
    if line.current_a is None:
        return "current not known"
    return f"{ampere_text(line.current_a)}{f' ({line.state})' if line.state else ''}"


def _allowed_text(line: SizeLine) -> str:
    """What it may carry, and where it lies: ``7.4 A allowed among 11 wires at 85 °C``."""
    if line.allowed_a is None:
        return "allowed current not known"
    where = []
    if line.bundle_wires is not None and line.bundle_wires > 1:
        where.append(f"among {line.bundle_wires:,} wires")
    if line.ambient_degc is not None:
        where.append(f"at {figure_text(line.ambient_degc, 3)} °C")
    least = "at least " if line.lacking else ""
    return " ".join((f"{least}{ampere_text(line.allowed_a)} allowed", *where))


def _degc_text(line: SizeLine) -> str:
    """Its temperature against what its insulation bears: ``118 of 105 °C``."""
    if line.conductor_degc is None:
        return ""
    own = figure_text(line.conductor_degc, 3)
    if line.rated_degc is None:
        return f"{own} °C"
    return f"{own} of {figure_text(line.rated_degc, 3)} °C"


def _print_wire(console: Console, group: Sequence[SizeLine], certain: bool) -> None:
    line = group[0]
    text = Text()
    text.append(names_text([one.wire for one in group]), style="bold")
    text.append(f" ({line.size or 'no size'}): {_current_text(line)}, {_allowed_text(line)}")
    degc = _degc_text(line)
    if degc:
        text.append(f", {degc}")
    if line.governs == "drop" and line.drop_mv is not None:
        text.append(f", {figure_text(line.drop_mv)} mV")
    if line.governs == "short circuit":
        text.append(_short_text(line))
    needs = needs_size_text(line)
    if needs:
        text.append("; ")
        text.append(needs if certain else f"{needs} at worst", style="bold red" if certain else "bold yellow")
    say(console, text, 1)


def _short_text(line: SizeLine) -> str:
    """Its short circuit: ``, 480 A on a fault at its end, which F1 may take 0.9 s to clear, it bears 0.4 s``."""
    if line.fault_a is None:
        return ""
    text = f", {ampere_text(line.fault_a)} on a fault at its end"
    if line.fuse and line.clears_s is not None:
        time = "may never clear" if math.isinf(line.clears_s) else f"may take {_seconds(line.clears_s)} to clear"
        text += f", which {line.fuse} {time}"
    if line.withstands_s is not None and math.isfinite(line.withstands_s):
        text += f", it bears {_seconds(line.withstands_s)}"
    return text


def _print_least(console: Console, wires: Sequence[SizeLine], order: Sequence[int]) -> None:
    """Where none is too small: the wire with the least to spare."""
    for at in order:
        line = wires[at]
        if line.margin is not None and math.isfinite(line.margin):
            degc = _degc_text(line)
            text = Text("the least to spare: ")
            text.append(line.wire, style="bold")
            text.append(
                f" ({line.size or 'no size'}): {_current_text(line)}, {_allowed_text(line)}"
                f"{f', {degc}' if degc else ''}: {percent_text(line.margin)} to spare"
            )
            say(console, text, 1)
            return


def _print_copper(console: Console, sizing: SizingOutcome) -> None:
    listed, needed = copper_text(sizing.copper_g), copper_text(sizing.needed_g)
    known = sum(1 for line in sizing.wires if line.copper_g is not None and line.needed_g is not None)
    of = "" if known == len(sizing.wires) else " (wires with size, length and needed size known)"
    same = listed == needed
    text = f"{listed} of copper; {'no less' if same else needed} with the smallest sizes that do{of}"
    say(console, text, 1)


# --- fuses --------------------------------------------------------------------------------------------


def _print_fuses(console: Console, fuses: Sequence[FuseLine], limits: SizingLimits) -> None:
    tight = [(line, _certain(line, limits)) for line in fuses if surely_tight(line, limits)]
    counts = Counter(one for _, why in tight for one in why)
    unknown = [line for line in fuses if not fuse_known(line, limits)]
    parts = [
        f"{counts[kind]:,} {text}"
        for kind, text in (
            ("load", f"loaded over {limits.load_percent:g} % of rating"),
            ("wire", "rated above a wire"),
            ("fault", "slow on a fault"),
        )
        if counts[kind]
    ]  # fmt: skip
    if unknown:
        parts.append(f"{len(unknown):,} not known in full")
    title = Text("FUSES", style="bold blue")
    title.append(f": {counted(len(fuses), 'fuse')}")
    if parts:
        title.append(f" ({', '.join(parts)})")
    say(console, title)
    # a wire that burns before its fuse opens goes before a fuse that ages
    ordered = sorted(tight, key=lambda one: ("wire" not in one[1], "fault" not in one[1], -len(one[1])))
    for line, why in ordered[:_FUSES]:
        _print_fuse(console, line, why)
    if len(ordered) > _FUSES:
        names = names_text([line.fuse for line, _ in ordered[_FUSES:]])
        say(console, Text(f"{len(ordered) - _FUSES:,} more: {names} ({_SHEET})", style="dim"), 1)
    if not tight:
        _print_most_loaded(console, fuses)
    if unknown:
        needs = needs_text((name for line in unknown for name in line.lacking), 2)
        names = names_text([line.fuse for line in unknown])
        say(console, Text(f"{names}: not known in full{f'; {needs}' if needs else ''}", style="magenta"), 1)


def _certain(line: FuseLine, limits: SizingLimits) -> tuple[str, ...]:
    """What is tight about it for certain."""
    sure = {"load", *line.certain}
    return tuple(one for one in tight_by(line, limits) if one in sure or not line.lacking)


def _seconds(seconds: float) -> str:
    return f"{figure_text(seconds)} s"


def _print_fuse(console: Console, line: FuseLine, why: Sequence[str]) -> None:
    text = Text()
    text.append(line.fuse, style="bold")
    facts = [fact for fact in (line.family, line.colour) if fact]
    rating = ampere_text(line.rating_a) if line.rating_a is not None else "rating not known"
    text.append(f" ({', '.join((rating, *facts))}): ")
    parts = []
    if "wire" in why:
        parts.append(f"rated above the {ampere_text(line.thinnest_allowed_a)} that {line.thinnest} may carry")
    if "fault" in why:
        parts.append(_fault_text(line))
    if "load" in why:
        state = f" ({line.state})" if line.state else ""
        parts.append(f"carries {ampere_text(line.load_a)}{state}, {percent_text(fuse_load(line))} of its rating")
    text.append("; ".join(parts))
    say(console, text, 1)


def _fault_text(line: FuseLine) -> str:
    """What happens on a fault: ``a fault at the end of W22 (31 A) is cleared in 9 s, that wire bears 4.1 s``."""
    where = f" at the end of {line.fault_wire}" if line.fault_wire else ""
    fault = f"a fault{where}{f' ({ampere_text(line.fault_a)})' if line.fault_a is not None else ''}"
    bears = ""
    if line.withstands_s is not None and math.isfinite(line.withstands_s):
        bears = f", that wire bears it {_seconds(line.withstands_s)}"
    if line.clears_s is None or math.isinf(line.clears_s):
        return f"{fault} may never open it{bears}"
    return f"{fault} may take {_seconds(line.clears_s)} to open it{bears}"


def _print_most_loaded(console: Console, fuses: Sequence[FuseLine]) -> None:
    """Where none is tight: that with the greatest share of its rating."""
    loads = [(load, line) for line in fuses if (load := fuse_load(line)) is not None]
    if not loads:
        return
    load, line = max(loads, key=lambda one: one[0])
    state = f" ({line.state})" if line.state else ""
    text = f"the most loaded: {line.fuse}, {ampere_text(line.load_a)} of {ampere_text(line.rating_a)}{state}"
    say(console, f"{text}, {percent_text(load)}", 1)
