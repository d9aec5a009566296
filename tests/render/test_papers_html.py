"""The papers as pages: nothing runs, nothing is fetched, every line is there, codes scan, pages are A4."""

from __future__ import annotations

import re
import shutil
import subprocess
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path

import pytest
from paper_lines import HARMFUL, papers_by_hand

from harnessdrc.render.papers.codes import code_path, code_png
from harnessdrc.render.papers.html import papers_html

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
CODES = ["W101/3F9A01BC22EE", "ECU-A 12 (left) ≥ Ω", "x" * 80]


class _Page(HTMLParser):
    """Tags with their attributes, and the text outside the style sheet."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self._style = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._style = tag == "style"

    def handle_endtag(self, tag: str) -> None:
        self._style = self._style and tag != "style"

    def handle_data(self, data: str) -> None:
        if not self._style:
            self.words.append(data)


def read(html: str) -> _Page:
    page = _Page()
    page.feed(html)
    return page


@pytest.mark.parametrize("text", HARMFUL, ids=range(len(HARMFUL)))
def test_texts_of_the_list_stay_texts(text: str) -> None:
    html = papers_html(papers_by_hand((text, "W2"), name=text))
    html.encode("utf-8")
    page = read(html)
    assert not {"script", "img", "link", "iframe", "object", "base", "form"} & {tag for tag, _ in page.tags}
    # the one address is the namespace-less svg's; links go to the page's own papers
    assert all(not str(value).strip().startswith(("http", "//", "javascript")) for _, attributes in page.tags
               for name, value in attributes.items() if name in ("href", "src", "action"))  # fmt: skip
    assert not [name for _, attributes in page.tags for name in attributes if name.startswith("on")]
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f\u202e\ud800-\udfff]", html)


def test_a_name_cannot_leave_the_style_sheet() -> None:
    html = papers_html(papers_by_hand(name='x"; } </style><script>alert(1)</script> \\'))
    assert html.count("</style>") == 1
    assert "script" not in {tag for tag, _ in read(html).tags}


def test_every_line_stands_on_its_paper() -> None:
    wires = tuple(f"W{number}" for number in range(100, 180))
    html = papers_html(papers_by_hand(wires))
    sections = dict(re.findall(r'<section[^>]*id="(\w+)">(.*?)</section>', html, re.S))
    assert set(sections) == {"cut", "connectors", "splices", "labels", "parts", "test"}
    for wire in wires:
        assert sections["cut"].count(f'<td class="w">{wire}</td>') == 1
        assert sections["connectors"].count(f'<td class="w">{wire}</td>') == 1
        assert sections["splices"].count(f'<td class="w">{wire}</td>') == 1
        assert sections["labels"].count(f"<b>{wire}</b>") == 1
        assert len(re.findall(rf'<td class="w">{wire}<', sections["test"])) == 1


def test_what_is_missing_stands_on_the_first_page() -> None:
    first = papers_html(papers_by_hand()).split('id="cut"')[0]
    assert "INCOMPLETE" in first
    assert "Length of W1 is missing." in first
    assert "ON HOLD" in first


@pytest.mark.parametrize("text", CODES)
def test_codes_scan(text: str) -> None:
    """Read back by another library than the one that draws them; ISO/IEC 18004 asks for four white modules around."""
    zxingcpp = pytest.importorskip("zxingcpp")
    image = pytest.importorskip("PIL.Image")
    read_back = zxingcpp.read_barcodes(image.open(BytesIO(code_png(text))).convert("L"))
    assert [code.text for code in read_back] == [text]


@pytest.mark.parametrize("text", CODES)
def test_codes_on_the_page_are_the_same(text: str) -> None:
    zxingcpp = pytest.importorskip("zxingcpp")
    image = pytest.importorskip("PIL.Image")
    side, path = code_path(text)
    scale = 4
    picture = image.new("L", ((side + 8) * scale,) * 2, 255)
    for x, y, width in re.findall(r"M(\d+) (\d+)h(\d+)v1H\1z", path):
        left, top = (int(x) + 4) * scale, (int(y) + 4) * scale
        picture.paste(0, (left, top, left + int(width) * scale, top + scale))
    assert [code.text for code in zxingcpp.read_barcodes(picture)] == [text]


@pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed")
def test_prints_on_a4(tmp_path: Path) -> None:
    if shutil.which("pdfinfo") is None:
        pytest.skip("pdfinfo is not installed")
    page, pdf = tmp_path / "papers.html", tmp_path / "papers.pdf"
    page.write_text(papers_html(papers_by_hand(tuple(f"W{n}" for n in range(60)))), encoding="utf-8")
    subprocess.run(
        [str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path / 'profile'}",
         "--no-pdf-header-footer", f"--print-to-pdf={pdf}", page.as_uri()],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    said = subprocess.run(["pdfinfo", "-f", "1", "-l", "9", str(pdf)], check=True, capture_output=True, text=True).stdout
    sizes = re.findall(r"size:\s+([\d.]+) x ([\d.]+) pts", said)
    assert sizes
    # 210 × 297 mm in points, upright or on its side
    assert {tuple(sorted(round(float(side)) for side in size)) for size in sizes} == {(595, 842)}
    assert {float(width) < float(height) for width, height in sizes} == {True, False}


def test_the_page_says_of_the_codes_what_they_say() -> None:
    """The codes name no issue of the list: wires keep their labels when the list is changed."""
    papers = papers_by_hand()
    assert all(papers.issue_mark not in label.code for label in papers.labels)
    told = re.search(r'id="labels">.*?<p class="small">(.*?)</p>', papers_html(papers), re.S)
    assert told is not None
    assert "issue" not in told[1]
    assert "two ends" in told[1]


def test_the_isolation_test_says_what_the_cautions_say() -> None:
    """The pairs against power ground reach every ring only while the rings are joined (common practice, no source)."""
    page = papers_html(papers_by_hand())
    assert "ground rings joined" in page
    assert "off their studs" not in page
