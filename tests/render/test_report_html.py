"""The report as text: everything is there and escaped, nothing is fetched, the same input gives the same page."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from dataclasses import replace
from html import unescape
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest
from paper_lines import HARMFUL
from report_made import CLEAN, FAULTY, made_from, page_of, spoiled

from harnessdrc.cli import main
from harnessdrc.diagram import Diagram
from harnessdrc.render.report.drawing import sheet_of
from harnessdrc.render.report.html import report_html

ADDRESS = re.compile(r"^\s*(?:https?:|//|javascript:|data:|file:)", re.I)


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.scripts: list[str] = []
        self._in = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._in = tag if tag in ("style", "script") else ""

    def handle_endtag(self, tag: str) -> None:
        self._in = ""

    def handle_data(self, data: str) -> None:
        if self._in == "script":
            self.scripts.append(data)
        elif not self._in:
            self.words.append(data)


def read(html: str) -> _Page:
    page = _Page()
    page.feed(html)
    return page


def text_of(html: str) -> str:
    """Text without the places to break words at, blanks made one."""
    return " ".join("".join(read(html.replace("<wbr>", "")).words).split())


def data_of(html: str) -> dict:
    return json.loads(read(html).scripts[0])


@pytest.mark.parametrize("text", HARMFUL, ids=range(len(HARMFUL)))
def test_texts_of_the_list_stay_texts(text: str) -> None:
    result, diagram, wiring = made_from(FAULTY)
    html = report_html(*(spoiled(one, text) for one in (result, diagram, wiring)), text, plots=len(text) < 1000)
    html.encode("utf-8")
    page = read(html)
    tags = {tag for tag, _ in page.tags}
    assert not {"img", "link", "iframe", "object", "base", "form", "embed", "audio", "video"} & tags
    assert sum(tag == "script" for tag, _ in page.tags) == 2
    assert not [name for _, attributes in page.tags for name in attributes if name.startswith("on")]
    addresses = [value for _, attributes in page.tags for name, value in attributes.items()
                 if name in ("href", "xlink:href", "src", "action", "data") and ADDRESS.match(value or "")]  # fmt: skip
    assert not addresses
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f\u202e\ud800-\udfff]", html)
    if "{{" in text:
        assert "{{ 7*7 }}" in unescape(html)
    assert "49 {% raw" not in html


def test_the_data_cannot_end_its_element() -> None:
    html = report_html(*(spoiled(one, "</script><b>") for one in made_from(FAULTY)), "x", plots=False)
    assert any("</script>" in wire[0] for wire in data_of(html)["wires"])


def test_nothing_is_fetched_and_only_our_script_runs() -> None:
    html = page_of(FAULTY)
    policy = next(a["content"] for tag, a in read(html).tags if a.get("http-equiv") == "Content-Security-Policy")
    assert policy is not None and policy.startswith("default-src 'none'")
    own = read(html).scripts[-1]
    digest = base64.b64encode(hashlib.sha256(own.encode()).digest()).decode()
    assert f"script-src 'sha256-{digest}'" in policy
    assert "url(" not in re.sub(r"url\(#", "", html) and "@import" not in html


def test_every_finding_state_wire_and_rule_is_there() -> None:
    result, diagram, wiring = made_from(FAULTY)
    text = text_of(page_of(FAULTY))
    for finding in result.findings:
        assert " ".join(finding.message.removesuffix(".").split())[:500] in text
        if finding.proposal is None or finding.follows_from is not None:
            continue
        assert finding.proposal.change.removesuffix(".") in text
    for name in (*diagram.states, *(rule.rule for rule in result.rules), *(wire.name for wire in wiring.wires)):
        assert name in text
    assert "looked at, by" in text
    assert len(data_of(page_of(FAULTY))["edges"]) == len(diagram.edges)


def test_the_page_never_calls_a_loom_safe() -> None:
    for path in (FAULTY, CLEAN):
        assert not re.search(r"\bsafe\b", text_of(page_of(path)), re.I)


def test_a_clean_list_says_what_was_looked_at() -> None:
    text = text_of(page_of(CLEAN))
    assert "Nothing found on hold. That is no proof" in text
    assert "LOOP 1" not in text


def test_the_same_input_gives_the_same_bytes() -> None:
    result, diagram, wiring = made_from(CLEAN)
    assert report_html(result, diagram, wiring, CLEAN.name) == page_of(CLEAN)


def test_the_page_is_small() -> None:
    """The bound of the task is 3 MB at 300 wires; the samples have some 140."""
    assert len(page_of(FAULTY).encode()) < 1_500_000


def test_columns_are_spread_and_lines_stay_out_of_boxes() -> None:
    _, diagram, _ = made_from(FAULTY)
    view = diagram.views[0]
    sheet = sheet_of(diagram, view)
    edges = {e.edge: len(e.points) for e in view.edges}
    assert {number: len(points) for number, points in sheet.edges} == edges
    before = sorted((node.x, node.node) for node in view.nodes)
    assert [n for _, n in before] == [n[0] for n in sorted(sheet.nodes, key=lambda n: (n[1], n[0]))] or len(
        {x for x, _ in before}
    ) < len(before)
    for number, points in sheet.edges:
        ends = {diagram.edges[number].a, diagram.edges[number].b}
        if diagram.edges[number].kind == "battery":
            continue
        for (x0, y0), (x1, y1) in pairwise(points):
            for node, x, y, w, h in sheet.nodes:
                if node in ends:
                    continue
                for part in range(1, 20):
                    px, py = x0 + (x1 - x0) * part / 20, y0 + (y1 - y0) * part / 20
                    assert not (x + 1 < px < x + w - 1 and y + 1 < py < y + h - 1), (number, node)


def test_without_a_diagram_the_reasons_stand_in_its_place() -> None:
    result, _, wiring = made_from(CLEAN)
    html = report_html(result, Diagram(left_out=("The battery has no negative post.",)), wiring, "x", plots=False)
    section = html.split('id="diagram"')[1].split("</section>")[0]
    assert "There is no diagram" in section and "The battery has no negative post." in section
    assert "<svg id=" not in section


def test_accepted_findings_stand_apart() -> None:
    result, diagram, wiring = made_from(FAULTY)
    first = result.findings[0]
    taken = replace(first, concession="of K. Ostrander until 2027-03-31: pits only")
    html = report_html(replace(result, findings=(taken, *result.findings[1:])), diagram, wiring, "x", plots=False)
    assert "pits only" in html.split('id="accepted"')[1].split("</section>")[0]
    assert first.message[:60] not in unescape(html.split('id="findings"')[1].split("</section>")[0]).replace("<wbr>", "")


def test_check_writes_it_only_when_asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(CLEAN), "--out", str(tmp_path)]) == 0
    assert not list(tmp_path.glob("*.html"))
    assert main(["check", str(CLEAN), "--out", str(tmp_path), "--report"]) == 0
    page = tmp_path / f"{CLEAN.stem}.report.html"
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert str(page) in capsys.readouterr().out.replace("\n", "")
    assert main(["check", str(CLEAN), "--out", str(tmp_path), "--json", str(tmp_path / "a.report.html")]) == 2
