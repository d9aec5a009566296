"""The report in Chromium: states, picking both ways, connectivity, print, phone, keyboard, no scripts, accessibility."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from report_made import FAULTY, made_from, page_of

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
if CHROMIUM is None:
    pytest.skip("chromium is not installed", allow_module_level=True)
sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
AXE = os.environ.get("AXE_CORE", "")


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with sync_api.sync_playwright() as play:
        started = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("report") / "loom.report.html"
    path.write_text(page_of(FAULTY), encoding="utf-8")
    return path.as_uri()


@pytest.fixture
def page(browser: Any, address: str) -> Iterator[Any]:
    """The page opened; at the end it has said nothing on the console and asked for nothing but itself."""
    said: list[str] = []
    asked: list[str] = []
    opened = browser.new_page(viewport={"width": 1400, "height": 900})
    opened.on("console", lambda message: said.append(message.text))
    opened.on("pageerror", lambda error: said.append(str(error)))
    opened.on("request", lambda request: asked.append(request.url.partition("#")[0]))
    opened.goto(address)
    yield opened
    opened.close()
    assert said == []
    assert set(asked) == {address}


def edge_of(wire: str) -> Any:
    diagram = made_from(FAULTY)[1]
    return next(edge for edge in diagram.edges if edge.wire == wire)


def figure(value: float) -> float:
    return float(f"{abs(value):.3g}") if abs(value) >= 5e-4 else 0.0


def test_the_state_is_switched_in_diagram_and_table(page: Any) -> None:
    edge = edge_of("W301")
    diagram = made_from(FAULTY)[1]
    row = next(at for at, wire in enumerate(made_from(FAULTY)[2].wires) if wire.name == "W301")
    for number in (1, 4, 0):
        page.get_by_label(diagram.states[number], exact=True).check()
        text = page.locator(f'g[data-e="{edge.id}"] .ev').text_content()
        told = re.search(r"([\d.,]+) A  ([\d.,]+) mV", text)
        assert told is not None
        assert float(told[1]) == pytest.approx(figure(edge.average_a[number]), rel=0.01)
        assert float(told[2]) == pytest.approx(figure(edge.drop_mv[number]), rel=0.01)
        cells = page.locator(f"#w{row} td").all_text_contents()
        assert abs(float(cells[-3])) == pytest.approx(figure(edge.average_a[number]), rel=0.01)
        assert page.locator(".state-name").text_content() == diagram.states[number]


def test_a_state_is_switched_quickly(page: Any) -> None:
    took = page.evaluate(
        "() => { const t = performance.now(); document.querySelectorAll('input[name=state]')[3].click();"
        " document.body.offsetHeight; return performance.now() - t; }"
    )
    assert took < 500  # ms


def test_the_script_draws_what_the_still_picture_shows(page: Any, browser: Any, address: str) -> None:
    """Both are written apart; a part chosen anew must look like the first."""
    context = browser.new_context(java_script_enabled=False)
    still = context.new_page()
    still.goto(address)
    lines = [one.split() for one in still.locator("#drawing .en").all_text_contents()]
    assert [one.split() for one in page.locator("#drawing .en").all_text_contents()] == lines
    assert [one.split() for one in still.locator("#drawing .ev").all_text_contents()] == [
        one.split() for one in page.locator("#drawing .ev").all_text_contents()
    ]
    context.close()


def test_a_line_of_the_diagram_shows_its_cell_and_row(page: Any) -> None:
    edge = edge_of("W301")
    page.locator(f'g[data-e="{edge.id}"]').dispatch_event("click")
    shown = page.locator("#picked").inner_text()
    assert str(made_from(FAULTY)[2].wires[0].mark.place.file) in shown
    assert "W301" in shown and "LOOP 1" in shown
    assert page.locator("tr.on th").all_text_contents() == ["W301"]


def test_a_row_and_a_finding_show_the_wire_in_the_diagram(page: Any) -> None:
    edge = edge_of("W212")
    page.locator("#wires").get_by_role("link", name="W212", exact=True).click()
    assert page.locator("#drawing .on").get_attribute("data-e") == str(edge.id)
    assert page.locator("#drawing .on").evaluate(
        "g => { const a = g.getBoundingClientRect(), b = document.getElementById('stage').getBoundingClientRect();"
        " return a.left < b.right && a.right > b.left; }"
    )
    page.locator("#findings").get_by_role("link", name="W301", exact=True).first.click()
    assert page.locator("#drawing .on").get_attribute("data-e") == str(edge_of("W301").id)


def test_a_loop_is_shown_whole(page: Any) -> None:
    loop = made_from(FAULTY)[1].loops[0]
    page.get_by_role("link", name="LOOP 1", exact=True).click()
    shown = page.locator("#drawing g.e.on").evaluate_all("all => all.map(g => Number(g.dataset.e))")
    assert set(shown) == set(loop.edges)


def test_connectivity_of_a_connector_and_of_a_net(page: Any) -> None:
    wiring = made_from(FAULTY)[2]
    item = wiring.wires[0].to_item
    expected = sorted(wire.name for wire in wiring.wires if item in (wire.from_item, wire.to_item))
    page.locator("#what").fill(item)
    page.locator("#what").press("Enter")
    assert sorted(page.locator("#joined a").all_text_contents()) == expected
    number = wiring.wires[40].nets[0]
    page.locator("#what").fill(wiring.nets[number])
    page.locator("#what").press("Enter")
    assert sorted(page.locator("#joined a").all_text_contents()) == sorted(
        wire.name for wire in wiring.wires if number in wire.nets
    )


def test_by_keyboard(page: Any) -> None:
    assert page.locator('#drawing [tabindex="0"]').count() == 1
    page.locator('#drawing [tabindex="0"]').focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    assert page.locator("#drawing .on").evaluate("g => [...g.parentNode.children].indexOf(g)") == 3
    assert page.locator("#picked h4").count() == 1


def test_on_a_phone(page: Any) -> None:
    page.set_viewport_size({"width": 400, "height": 800})
    page.reload()
    assert page.evaluate("document.documentElement.scrollWidth") <= 400


def test_prints_on_a4(page: Any, tmp_path: Path) -> None:
    if shutil.which("pdfinfo") is None:
        pytest.skip("pdfinfo is not installed")
    page.pdf(path=str(tmp_path / "a.pdf"), prefer_css_page_size=True)
    said = subprocess.run(
        ["pdfinfo", "-f", "1", "-l", "99", str(tmp_path / "a.pdf")], check=True, capture_output=True, text=True
    ).stdout
    sizes = [(float(w), float(h)) for w, h in re.findall(r"size:\s+([\d.]+) x ([\d.]+) pts", said)]
    assert {tuple(sorted(map(round, size))) for size in sizes} == {(595, 842)}
    assert {w < h for w, h in sizes} == {True, False}  # the diagram lies on its side


def test_without_scripts_the_first_state_is_shown(browser: Any, address: str) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(address)
    diagram = made_from(FAULTY)[1]
    assert page.locator("#drawing g.e").count() == len(diagram.edges)
    assert page.locator("#drawing g.n").count() == len(diagram.nodes)
    assert diagram.states[0] in page.locator("#diagram").inner_text()
    assert not page.locator("#states").is_visible()
    context.close()


def test_folded_wires_appear_when_asked_for(browser: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Long tables stand folded, as text, and are part of the page once they are opened or a wire of theirs is picked."""
    from harnessdrc.render.report import html

    monkeypatch.setattr(html, "_WIRES_IN_ONE", 50)
    result, diagram, wiring = made_from(FAULTY)
    (tmp_path / "a.html").write_text(html.report_html(result, diagram, wiring, "x", plots=False), encoding="utf-8")
    context = browser.new_context()
    page = context.new_page()
    page.goto((tmp_path / "a.html").as_uri())
    assert page.locator("details.wires").count() == 3
    assert page.locator("details.wires tbody tr").count() == 50
    page.get_by_label(diagram.states[4], exact=True).check()
    page.locator("details.wires summary").nth(1).click()
    page.wait_for_function("document.querySelectorAll('details.wires tbody tr').length === 100")
    figured = next(at for at, wire in enumerate(wiring.wires) if 50 <= at < 100 and wire.name in result.network.wires)
    column = result.network.wires.index(wiring.wires[figured].name)
    told = page.locator(f"#w{figured} td").all_text_contents()[-3]
    assert float(told) == pytest.approx(float(result.network.average_a[4, column]), rel=0.01, abs=1e-4)
    page.evaluate("location.hash = '#w120'")
    page.wait_for_selector("#w120", state="visible")
    context.close()


@pytest.mark.skipif(not Path(AXE or "/nowhere").is_file(), reason="axe-core is not at hand; AXE_CORE names axe.min.js")
def test_accessibility(page: Any) -> None:
    page.evaluate(Path(AXE).read_text(encoding="utf-8"))
    found = page.evaluate("axe.run()")["violations"]
    assert [(one["id"], one["nodes"][0]["html"][:200]) for one in found] == []
