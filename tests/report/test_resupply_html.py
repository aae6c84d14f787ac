"""The HTML page of a resupply plan: sections in order, escaped, whole on screen and paper."""

from __future__ import annotations

import dataclasses
import functools
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from made_resupply import crowded_resupply, made_resupply
from playwright.sync_api import Browser, sync_playwright
from test_html import NASTY, Elements

from mci.pipeline_resupply import ResupplyRun
from mci.report.resupply_html import resupply_html_text

SECTIONS = [
    "Departures", "Goals by area", "Trips over the stock that they feed", "Network", "Single points of failure",
    "Notes", "Cautions", "Assumptions and sources", "Where this comes from",
]  # fmt: skip
#: Block titles of the ICS 213 RR, in their order.
BLOCKS = [
    "Incident Name", "Date/Time", "Resource Request Number", "Order", "Resource Status", "Requested Delivery",
    "Suitable Substitutes and/or Suggested Sources", "Requested by Name/Position", "Priority",
    "Section Chief Approval", "Logistics Order Number", "Supplier Phone/Fax/Email", "Name of Supplier/POC", "Notes",
    "Approval Signature of Auth Logistics Rep", "Date/Time", "Order placed by", "Reply/Comments from Finance",
    "Finance Section Signature", "Date/Time",
]  # fmt: skip


@functools.cache
def page_of(make: Callable[[], ResupplyRun]) -> str:
    """Return the page of a plan, made once."""
    return resupply_html_text(make())


def test_sections_come_in_order() -> None:
    """Headline, then what must leave, then the rest; sheets and forms last."""
    text = page_of(made_resupply)
    titles = [re.sub(r" ?<small>.*", "", title) for title in re.findall(r"<h2>(.*?)</h2>", text)]
    assert titles[:9] == SECTIONS
    assert [title.split(":")[0] for title in titles[9:]] == ["Trip sheet"] * 3 + ["Resource request"] * 2


def test_the_request_has_all_blocks_by_number_and_says_that_nothing_is_sent() -> None:
    """Twenty public block titles in order, their source, our own layout."""
    text = page_of(made_resupply)
    form = text[text.index("Resource request: North portal") :]
    blocks = re.findall(r'class="title"><b>(\d+)</b> ([^<]*)<', form)[:20]
    assert [int(number) for number, _ in blocks] == list(range(1, 21))
    assert all(title.startswith(wanted) for (_, title), wanted in zip(blocks, BLOCKS, strict=True))
    assert "Block titles as in ICS 213 RR" in form
    assert "Nothing is sent anywhere" in form


def test_needs_nothing_from_outside_and_ids_are_unique() -> None:
    """No script, no foreign reference, no id twice, every pattern there."""
    text = page_of(made_resupply)
    found = Elements(text)
    assert {link[0] for link in found.links if link != "data:,"} == {"#"}
    assert "script" not in found.tags
    assert len(found.ids) == len(set(found.ids))
    assert set(re.findall(r"url\(#([^)]+)\)", text)) <= set(found.ids)


def test_names_are_escaped() -> None:
    """Names of the incident and of places appear as text in tables and figures."""
    found = made_resupply()
    network = found.scenario.network
    assert network is not None
    places = tuple(dataclasses.replace(place, title=NASTY) for place in network.places)
    network = dataclasses.replace(network, places=places)
    text = resupply_html_text(
        dataclasses.replace(found, scenario=dataclasses.replace(found.scenario, name=NASTY, network=network))
    )
    assert "<script" not in text
    assert text.count("&lt;script&gt;") >= 8


def test_equal_plans_give_equal_bytes() -> None:
    """No date, no random id, no timing."""
    assert resupply_html_text(made_resupply()) == page_of(made_resupply)


def test_without_trips_there_is_a_page() -> None:
    """No timeline, no sheets, no request; the network is still drawn."""
    found = made_resupply()
    schedule = dataclasses.replace(found.schedule, departures=(), losses=(), goals=(), met=())
    text = resupply_html_text(dataclasses.replace(found, schedule=schedule, disruptions=()))
    assert "No trip is planned." in text
    assert text.count('<svg role="img"') == 1


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
@pytest.mark.parametrize("make", [made_resupply, crowded_resupply])
@pytest.mark.parametrize("width", [500, 1280])
def test_fits_the_screen(browser: Browser, tmp_path: Path, make: Callable[[], ResupplyRun], width: int) -> None:
    """No console message, nothing wider than the screen, no text outside its figure."""
    file = tmp_path / "report.html"
    file.write_text(page_of(make), encoding="utf-8")
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
@pytest.mark.parametrize("make", [made_resupply, crowded_resupply])
@pytest.mark.parametrize(("paper", "size_mm"), [("A4", (210, 297)), ("Letter", (216, 279))])
def test_prints_each_form_on_one_page(
    browser: Browser, tmp_path: Path, make: Callable[[], ResupplyRun], paper: str, size_mm: tuple[int, int]
) -> None:
    """Between the margins nothing overflows; each form, each figure and its heading is no higher than a page."""
    file = tmp_path / "report.html"
    file.write_text(page_of(make), encoding="utf-8")
    width, height = ((size_mm[0] - 28) / 25.4 * 96, (size_mm[1] - 32) / 25.4 * 96)
    page = browser.new_page(viewport={"width": round(width), "height": 900})
    page.emulate_media(media="print")
    page.goto(file.as_uri())
    wide = page.evaluate(
        """() => [...document.querySelectorAll('table, .chart svg, td, .form')]
            .filter(e => e.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
            .map(e => e.textContent.slice(0, 60))"""
    )
    assert wide == []
    tall = page.evaluate(
        """limit => [...document.querySelectorAll('.request, .network, .chart')]
            .filter(e => e.getBoundingClientRect().height > limit).map(e => e.textContent.slice(0, 60))""",
        height,
    )
    assert tall == []
    assert page.pdf(format=paper).startswith(b"%PDF")
    page.close()


@pytest.mark.browser
def test_sheets_begin_pages_and_trips_are_not_split(browser: Browser, tmp_path: Path) -> None:
    """Each sheet and form begins a page; one trip stays together, a sheet of many may break between trips."""
    file = tmp_path / "report.html"
    file.write_text(page_of(crowded_resupply), encoding="utf-8")
    page = browser.new_page()
    page.emulate_media(media="print")
    page.goto(file.as_uri())
    style = """selector => [...new Set([...document.querySelectorAll(selector)].map(e => {
        const s = getComputedStyle(e); return s.breakBefore + ' ' + s.breakInside; }))]"""
    assert page.evaluate(style, ".sheet") == ["page auto"]
    assert page.evaluate(style, ".trip-table") == ["auto auto"]
    assert page.evaluate(style, ".trip-table tbody") == ["auto avoid"]
    page.close()
