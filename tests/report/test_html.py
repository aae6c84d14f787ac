"""The HTML page: one file, no network, no script, readable without colour, everything escaped."""

from __future__ import annotations

import dataclasses
import re
import shutil
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import pytest

from mci.report.html import html_text
from mci.scenario.model import Area, LeftOut

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Browser

    from mci.pipeline import Run

NASTY = """<script>alert(1)</script> "O'Neil" & $x^2$ $[b]"""


class Elements(HTMLParser):
    """Collects tags, ids and references of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note one element."""
        self.tags.append(tag)
        for name, value in attrs:
            if name == "id" and value:
                self.ids.append(value)
            if name in {"href", "src", "xlink:href"} and value:
                self.links.append(value)


def test_equal_runs_give_equal_bytes(run: Run, same_run: Run) -> None:
    """The page holds no date, no random id and no timing."""
    assert html_text(same_run) == html_text(run)


def test_needs_nothing_from_outside(run: Run) -> None:
    """Every reference points into the page itself; there is no script and a strict policy."""
    text = html_text(run)
    found = Elements(text)
    assert {link[0] for link in found.links if link != "data:,"} == {"#"}
    assert "script" not in found.tags
    assert "default-src 'none'" in text
    assert not re.search(r"https?://(?!www\.w3\.org/)", text)


def test_ids_are_unique_and_every_reference_is_met(run: Run) -> None:
    """Five figures share one document: no id twice, no pattern or clip that is missing."""
    text = html_text(run)
    ids = Elements(text).ids
    assert len(ids) == len(set(ids))
    assert set(re.findall(r"url\(#([^)]+)\)", text)) <= set(ids)
    assert set(re.findall(r'href="#([^"]+)"', text)) <= set(ids)


def test_what_planners_write_is_escaped(make_run: Callable[..., Run]) -> None:
    """Names with markup, quotes and dollar signs appear as text, in tables and in figures."""
    run = make_run(
        name=NASTY, summary=NASTY, areas=(Area("west", NASTY), Area("east", "East")),
        left_out=(LeftOut(NASTY, "west", NASTY),),
    )  # fmt: skip
    text = html_text(run)
    assert "<script" not in text
    assert text.count("&lt;script&gt;alert(1)") >= 8
    assert "$x^2$" in text


def test_says_the_same_without_colour(run: Run) -> None:
    """Shortage is a pattern, not a colour, in figures, bars and legends; a category always has its word."""
    text = html_text(run)
    assert text.count("<pattern") >= 6
    for kind in ("lower", "without"):
        assert f'<pattern id="{kind}"' in text
        assert text.count(f"url(#{kind})") >= 5
    for category in ("immediate", "delayed", "minimal"):
        for tag in re.findall(rf'is-{category}" x="\.5" y="\.5" width="9".*?</span>', text):
            assert category.capitalize() in tag


def test_figures_speak_to_screen_readers(run: Run) -> None:
    """Every figure has a role, a title and a description."""
    text = html_text(run)
    figures = re.findall(r'<svg role="img" aria-labelledby="(\S+) (\S+)"', text)
    assert len(figures) == 5
    for title, description in figures:
        assert re.search(rf'<title id="{title}">[^<]+</title>', text)
        assert re.search(rf'<desc id="{description}">[^<]+</desc>', text)


def test_no_figure_of_nothing(calm_run: Run) -> None:
    """Without a shortage and without resupply those two figures are left out and said in words."""
    text = html_text(calm_run)
    assert text.count('<svg role="img"') == 3
    assert "No patient is below target at any time" in text


def test_many_areas_are_spread_over_figures(make_run: Callable[..., Run], run: Run) -> None:
    """Nineteen areas do not squeeze into one figure."""
    areas = tuple(Area(f"a{n}", f"Ward {n}") for n in range(19))
    over_time, stock = run.over_time, run.stock
    west = over_time[over_time["area"] == "west"]
    many = west.iloc[:0]
    frames = [west.assign(area=area.key) for area in areas]
    many = type(west)([row for frame in frames for row in frame.to_dict("records")])
    litres = [row for area in areas for row in stock[stock["area"] == "west"].assign(area=area.key).to_dict("records")]
    text = html_text(make_run(areas=areas, over_time=many, stock=type(stock)(litres)))
    assert 'aria-labelledby="stock2-title' in text
    assert 'aria-labelledby="flow2-title' in text
    assert "Ward 18" in text


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """An installed Chromium without network."""
    path = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if path is None:
        pytest.skip("no Chromium is installed")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=path, args=["--no-sandbox", "--disable-gpu"])
        yield chromium
        chromium.close()


@pytest.mark.browser
@pytest.mark.parametrize(("width", "start"), [(390, 14 * 60), (1280, 23 * 60), (1280, None)])
def test_opens_in_a_browser_without_network(
    browser: Browser, planned_run: Run, tmp_path: Path, width: int, start: int | None
) -> None:
    """No console message, no request but the file, nothing wider than the screen, no text outside its figure."""
    file = tmp_path / "report.html"
    run = dataclasses.replace(planned_run, scenario=dataclasses.replace(planned_run.scenario, start=start))
    file.write_text(html_text(run, cards=True), encoding="utf-8")
    page = browser.new_page(viewport={"width": width, "height": 900})
    messages: list[str] = []
    requests: list[str] = []
    page.on("console", lambda message: messages.append(message.text))
    page.on("pageerror", lambda error: messages.append(str(error)))
    page.on("request", lambda request: requests.append(request.url))
    page.context.set_offline(True)
    page.goto(file.as_uri())
    assert messages == []
    assert [url for url in requests if not url.startswith(("file:", "data:"))] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    outside = page.evaluate(
        """() => [...document.querySelectorAll('.chart svg')].flatMap(svg => {
            const box = svg.getBoundingClientRect();
            return [...svg.querySelectorAll('text')].filter(text => {
                const b = text.getBoundingClientRect();
                return b.left < box.left - 1 || b.right > box.right + 1
                    || b.top < box.top - 1 || b.bottom > box.bottom + 1;
            }).map(text => text.textContent);
        })"""
    )
    assert outside == []
    page.close()


@pytest.mark.browser
@pytest.mark.parametrize("west", ["West portal", "W" * 200])
@pytest.mark.parametrize(("paper", "width_mm"), [("A4", 210), ("Letter", 216)])
def test_prints_without_clipping(
    browser: Browser, planned_run: Run, tmp_path: Path, paper: str, width_mm: int, west: str
) -> None:
    """At the width of the paper between the margins nothing overflows, however long a name, and a PDF comes out."""
    file = tmp_path / "report.html"
    areas = (Area("west", west), Area("east", "East"))
    run = dataclasses.replace(planned_run, scenario=dataclasses.replace(planned_run.scenario, areas=areas))
    file.write_text(html_text(run, cards=True), encoding="utf-8")
    page = browser.new_page(viewport={"width": round((width_mm - 28) / 25.4 * 96), "height": 900})
    page.emulate_media(media="print")
    page.goto(file.as_uri())
    wide = page.evaluate(
        """() => [...document.querySelectorAll('table, .chart svg, dd, td, .card')]
            .filter(e => e.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
            .map(e => e.textContent.slice(0, 60))"""
    )
    assert wide == []
    assert page.pdf(format=paper).startswith(b"%PDF")
    page.close()


@pytest.mark.browser
def test_order_sheets_break_well_in_print(browser: Browser, planned_run: Run, tmp_path: Path) -> None:
    """Each sheet begins a page, its head comes again on every page, and no row is split."""
    file = tmp_path / "report.html"
    file.write_text(html_text(planned_run), encoding="utf-8")
    page = browser.new_page()
    page.emulate_media(media="print")
    page.goto(file.as_uri())
    style = """selector => [...document.querySelectorAll(selector)].map(e => {
        const s = getComputedStyle(e); return [s.breakBefore, s.breakInside, s.display]; })"""
    assert page.evaluate(style, ".sheet") == [["page", "auto", "block"]] * 2
    assert {tuple(row) for row in page.evaluate(style, ".orders tbody tr")} == {("auto", "avoid", "table-row")}
    assert {row[2] for row in page.evaluate(style, ".orders thead")} == {"table-header-group"}
    page.close()
