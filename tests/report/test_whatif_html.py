"""The HTML pages of studies: one file, no script, nothing from outside, readable without colour, everything escaped."""

from __future__ import annotations

import base64
import csv
import dataclasses
import io
import itertools
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import matplotlib.colors
import pytest
from made_surge import ARRIVALS, DELAY, NUMBERS, PATTERN, made_risk, made_whatif
from playwright.sync_api import Browser, sync_playwright
from test_html import NASTY, Elements

from mci.report.figures import heat
from mci.report.figures.axes import clip_middle
from mci.report.figures.policies import MARK, STROKE
from mci.report.risk_html import risk_html_text
from mci.report.whatif_html import whatif_html_text
from mci.scenario.uncertain import Uncertain, Uniform
from mci.surge.measures import POLICIES

PAGES: dict[str, Callable[[], str]] = {
    "one number": lambda: whatif_html_text(made_whatif()),
    "two numbers": lambda: whatif_html_text(made_whatif((ARRIVALS, DELAY))),
    "one by one": lambda: whatif_html_text(made_whatif(NUMBERS, "one by one")),
    "words": lambda: whatif_html_text(made_whatif((PATTERN,))),
    "nothing varied": lambda: whatif_html_text(made_whatif(())),
    "risk": lambda: risk_html_text(made_risk()),
    "few samples": lambda: risk_html_text(made_risk(6, rolling=False, drivers=False, failing=False)),
}
_MADE: dict[str, str] = {}


def page_of(name: str) -> str:
    """Return a page, made once."""
    if name not in _MADE:
        _MADE[name] = PAGES[name]()
    return _MADE[name]


@pytest.mark.parametrize("name", PAGES)
def test_needs_nothing_from_outside_and_ids_are_unique(name: str) -> None:
    """No script, links into the page or to data that it carries, no id twice, every pattern there."""
    text = page_of(name)
    found = Elements(text)
    links = {link for link in found.links if not link.startswith("#")}
    assert all(link == "data:," or link.startswith("data:text/csv;") for link in links)
    assert "script" not in found.tags
    assert "default-src 'none'" in text
    assert not re.search(r"https?://(?!www\.w3\.org/)", text)
    assert len(found.ids) == len(set(found.ids))
    assert set(re.findall(r"url\(#([^)]+)\)", text)) <= set(found.ids)
    assert not re.search(r'(?:>|")(?:nan|None|NaN)(?:<|"| %)', text)


@pytest.mark.parametrize("name", ["two numbers", "risk"])
def test_equal_studies_give_equal_bytes(name: str) -> None:
    """No date, no random id, no timing."""
    assert PAGES[name]() == page_of(name)


def test_what_a_planner_wrote_is_escaped() -> None:
    """Names of the incident, of numbers and reasons appear as text in tables, figures and hover texts."""
    number = dataclasses.replace(ARRIVALS, path=NASTY, what=NASTY)
    found = made_whatif()
    renamed = [frame.replace(ARRIVALS.path, NASTY) for frame in (found.swings, found.breaks)]
    table = found.table.rename(columns={ARRIVALS.path: NASTY}).replace("no plan within the time limit of 60 s", NASTY)
    scenario = dataclasses.replace(found.scenario, name=NASTY, summary=NASTY)
    text = whatif_html_text(
        dataclasses.replace(
            found,
            scenario=scenario,
            numbers=(number,),
            table=table,
            swings=renamed[0],
            breaks=renamed[1],
            notes=(NASTY,),
        )
    )
    assert "<script" not in text
    assert text.count("&lt;script&gt;") >= 12


def test_what_is_uncertain_is_escaped() -> None:
    """A path and its law appear as text."""
    found = made_risk(64)
    path = found.numbers[0].path
    numbers = (dataclasses.replace(found.numbers[0], path=NASTY, what=NASTY), *found.numbers[1:])
    uncertain = (Uncertain(NASTY, Uniform(0.0, 90.0)), *found.uncertainty.numbers[1:])
    text = risk_html_text(
        dataclasses.replace(
            found,
            numbers=numbers,
            table=found.table.rename(columns={path: NASTY}),
            drivers=found.drivers.replace(path, NASTY),
            uncertainty=dataclasses.replace(found.uncertainty, numbers=uncertain, correlations=()),
        )
    )
    assert "<script" not in text
    assert text.count("&lt;script&gt;") >= 5


def test_the_file_behind_a_figure_holds_what_its_table_shows() -> None:
    """The link carries the same rows as the table under the figure."""
    text = page_of("risk")
    links = re.findall(r'download="(\w+)\.csv" href="data:text/csv;charset=utf-8;base64,([^"]+)"', text)
    assert [name for name, _ in links] == ["policies", "chances", "drivers", "inputs", "settling"]
    rows = list(csv.reader(io.StringIO(base64.b64decode(dict(links)["policies"]).decode("utf-8"))))
    mean = made_risk().summary.set_index("measure").loc["best_share", "mean"]
    assert rows[0][:3] == ["category", "policy", "mean_share"]
    assert rows[1][:2] == ["All, by weight", "best possible"]
    assert float(rows[1][2]) == mean


def test_marks_say_their_numbers() -> None:
    """Each mark of a line, cell, bar and dot has a hover text with its value."""
    assert "<title>Immediate, best possible, 25: 95.0 %</title>" in page_of("one number")
    assert "<title>All, by weight, 14, 0 min: 97.8 %</title>" in page_of("two numbers")
    assert "no result</title>" in page_of("two numbers")
    assert re.search(r"<title>All, by weight, usual practice: [\d.]+ % \(", page_of("risk"))


def test_policies_are_told_apart_without_colour() -> None:
    """Every two policies differ in stroke and in mark."""
    for one, other in itertools.combinations(POLICIES, 2):
        assert MARK[one]["marker"] != MARK[other]["marker"]
        strokes = [(STROKE[p]["linestyle"], STROKE[p]["linewidth"] > 2) for p in (one, other)]
        assert strokes[0] != strokes[1]


@pytest.mark.parametrize(
    ("path", "shown"),
    [
        ("supplies.share", "supplies.share"),
        ("supplies.north portal, steel cylinder 10 L.pressure", "supplies.north portal…pressure"),
        ("supplies.north portal, steel cylinder 10 L.count", "supplies.north portal, s…count"),
        ("a number whose name has no point at all", "a number whose…no point at all"),
    ],
)
def test_a_path_that_is_too_long_keeps_what_tells_it_from_others(path: str, shown: str) -> None:
    """Its end stays whole: it says which number of a thing is meant."""
    assert clip_middle(path, 30) == shown
    assert len(shown) <= 30


def _lightness(colour: tuple[float, ...]) -> float:
    """Return relative luminance (WCAG 2.1)."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour[:3]]
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def test_a_map_is_read_in_grey() -> None:
    """The more is covered the lighter is the cell, and its number stands out from it (contrast 4 and more)."""
    shades = [heat.shade(value / 100, 0.0) for value in range(101)]
    lightness = [_lightness(shade) for shade in shades]
    assert lightness == sorted(lightness)
    for shade, light in zip(shades, lightness, strict=True):
        text = _lightness(matplotlib.colors.to_rgb(heat.ink_on(shade)))
        assert (max(light, text) + 0.05) / (min(light, text) + 0.05) >= 4  # where ink and white are alike it is 4.1


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """An installed Chromium without network."""
    path = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if path is None:
        pytest.skip("no Chromium is installed")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=path, args=["--no-sandbox", "--disable-gpu"])
        yield chromium
        chromium.close()


@pytest.mark.browser
@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("width", [500, 1280])
def test_fits_the_screen(browser: Browser, tmp_path: Path, name: str, width: int) -> None:
    """No console message, nothing wider than the screen, no text outside its figure."""
    file = tmp_path / "report.html"
    file.write_text(page_of(name), encoding="utf-8")
    page = browser.new_page(viewport={"width": width, "height": 900})
    messages: list[str] = []
    page.on("console", lambda message: messages.append(message.text))
    page.goto(file.as_uri())
    assert messages == []
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
@pytest.mark.parametrize("name", PAGES)
def test_prints_within_the_margins(browser: Browser, tmp_path: Path, name: str) -> None:
    """On A4 nothing overflows to the right, and every figure is no higher than a page."""
    file = tmp_path / "report.html"
    file.write_text(page_of(name), encoding="utf-8")
    width, height = (210 - 28) / 25.4 * 96, (297 - 32) / 25.4 * 96
    page = browser.new_page(viewport={"width": round(width), "height": 900})
    page.emulate_media(media="print")
    page.goto(file.as_uri())
    wide = page.evaluate(
        """() => [...document.querySelectorAll('table, .chart svg, td')]
            .filter(e => e.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
            .map(e => e.textContent.slice(0, 60))"""
    )
    assert wide == []
    heights = page.evaluate("[...document.querySelectorAll('.chart')].map(e => e.getBoundingClientRect().height)")
    assert max(heights, default=0) <= height
    page.close()


@pytest.mark.browser
def test_the_numbers_behind_a_figure_can_be_had_without_script(browser: Browser, tmp_path: Path) -> None:
    """The link is followed by a browser that runs no script, under the policy of the page."""
    file = tmp_path / "report.html"
    file.write_text(page_of("two numbers"), encoding="utf-8")
    page = browser.new_context(java_script_enabled=False, accept_downloads=True).new_page()
    page.goto(file.as_uri())
    page.locator("details.behind summary").first.click()
    with page.expect_download() as waiting:
        page.locator("details.behind a").first.click()
    assert waiting.value.suggested_filename == "lines.csv"
    assert Path(waiting.value.path()).read_text(encoding="utf-8").startswith("number,category,policy")
    page.close()
