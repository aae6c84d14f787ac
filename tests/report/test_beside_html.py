"""The page of cases side by side: one file, nothing from outside, everything escaped, readable on screen and paper."""

from __future__ import annotations

import base64
import csv
import dataclasses
import functools
import io
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from made_beside import chosen
from playwright.sync_api import Browser, sync_playwright
from test_html import NASTY, Elements

from mci.report.beside_cases import Chosen
from mci.report.beside_html import beside_html
from mci.report.beside_series import need_rows, stock_rows

NUMBERS = (2, 3, 6)
_LONG = "a case with a name that is long enough for three lines or more over a narrow panel"


@functools.cache
def page_of(number: int) -> str:
    """Return the page of so many cases; those beyond the third are the first again under long names."""
    more = [dataclasses.replace(chosen("as written"), key=str(n), title=f"{_LONG} {n}") for n in range(number - 3)]
    return beside_html("Ferry fire", [*map(chosen, ("as written", "late", "calm")), *more][:number])


def _tables(text: str) -> dict[str, list[dict[str, str]]]:
    """Return what stands behind the figures, by name."""
    links = re.findall(r'download="(\w+)\.csv" href="data:text/csv;charset=utf-8;base64,([^"]+)"', text)
    files = {name: base64.b64decode(link).decode("utf-8") for name, link in links}
    return {name: list(csv.DictReader(io.StringIO(file))) for name, file in files.items()}


@pytest.mark.parametrize("number", NUMBERS)
def test_needs_nothing_from_outside_and_ids_are_unique(number: int) -> None:
    """No script; links into the page, to data that it carries and to the reports beside it; no id twice."""
    text = page_of(number)
    found = Elements(text)
    links = {link for link in found.links if not link.startswith(("#", "data:"))}
    assert links == {"late/report.html", "calm/report.html"} - ({"calm/report.html"} if number == 2 else set())
    assert "script" not in found.tags
    assert "default-src 'none'" in text
    assert not re.search(r"https?://(?!www\.w3\.org/)", text)
    assert len(found.ids) == len(set(found.ids))
    assert set(re.findall(r"url\(#([^)]+)\)", text)) <= set(found.ids)
    assert not re.search(r'(?:>|")(?:nan|None|NaN)(?:<|"| %)', text)


def test_equal_cases_give_equal_bytes() -> None:
    """No date, no random id, no timing."""
    cases = [chosen("as written"), chosen("late")]
    assert beside_html("Ferry fire", cases) == beside_html("Ferry fire", cases)


def _nasty(key: str) -> Chosen:
    """Return a case in which everything that a planner names has markup in its name."""
    case = chosen("late")
    scenario = case.run.scenario
    areas = tuple(dataclasses.replace(area, title=NASTY) for area in scenario.areas)
    named = dataclasses.replace(scenario, summary=NASTY, areas=areas)
    run = dataclasses.replace(case.run, scenario=named, resupply_notes=(NASTY,))
    return Chosen(key, NASTY, ((NASTY, NASTY, NASTY),), run, f"{NASTY[:8]}/report.html")


def test_what_a_planner_wrote_is_escaped() -> None:
    """Names of the incident, cases, numbers and areas appear as text in tables and figures."""
    text = beside_html(NASTY, [_nasty(NASTY), _nasty("b")])
    assert "<script" not in text
    assert text.count("&lt;script&gt;") >= 20


def test_the_numbers_behind_the_figures_are_those_of_the_runs() -> None:
    """Patient-minutes over all periods per case, and litres at the start."""
    tables = _tables(page_of(3))
    for key in ("as written", "late", "calm"):
        run = chosen(key).run
        everyone = run.coverage.set_index("category").loc["all"]
        rows = [row for row in tables["beside_need"] if row["case"] == key]
        for column, total in (
            ("need_patients", everyone["needed_patient_min"]),
            ("at_target_patients", everyone["at_target_patient_min"]),
            ("lower_rung_patients", everyone["below_target_patient_min"]),
            ("without_patients", everyone["without_patient_min"]),
        ):
            length = [float(row["end_min"]) - float(row["start_min"]) for row in rows]
            summed = sum(float(row[column]) * minutes for row, minutes in zip(rows, length, strict=True))
            assert summed == pytest.approx(total, abs=1e-3)  # as the run sums up its own periods
        start = next(row for row in tables["beside_stock"] if row["case"] == key)
        assert float(start["stock_L"]) == pytest.approx(run.stock["litres"].iloc[0])


def test_the_highest_value_of_any_case_is_the_scale_of_all() -> None:
    """Cases differ in what they need and have, and share one top per category and area."""
    cases = [chosen("calm"), chosen("as written"), chosen("late")]
    for needed in need_rows(cases)[:2]:
        tops = [max(panel.need) for panel in needed.panels if panel is not None]
        assert needed.top == max(tops) > min(tops)
    (stocked,) = stock_rows(cases)
    tops = [max(panel.litres) for panel in stocked.panels if panel is not None]
    assert stocked.top == max(tops) > min(tops)


def test_every_figure_tells_of_every_case() -> None:
    """One figure of need for each category, one of stock for each area."""
    text = page_of(3)
    told = re.findall(r'<desc id="(?:need|stock)\d-desc">([^<]+)</desc>', text)
    assert len(told) == 4
    assert all(title in each for each in told for title in ("as written", "truck at T+160 and one person"))
    assert "first empty at T+160" in told[-1]


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


_OUTSIDE = """() => [...document.querySelectorAll('.chart svg')].flatMap(svg => {
    const box = svg.getBoundingClientRect();
    return [...svg.querySelectorAll('text')].filter(text => {
        const b = text.getBoundingClientRect();
        return b.left < box.left - 1 || b.right > box.right + 1 || b.top < box.top - 1 || b.bottom > box.bottom + 1;
    }).map(text => text.textContent);
})"""
_CROSSING = """() => [...document.querySelectorAll('.chart svg')].flatMap(svg => {
    const boxes = [...svg.querySelectorAll('text')].map(text => [text.textContent, text.getBoundingClientRect()]);
    return boxes.flatMap(([one, a], place) => boxes.slice(place + 1).filter(([_, b]) =>
        a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 3 && b.top < a.bottom - 3
    ).map(([other, _]) => `${one} on ${other}`));
})"""


@pytest.mark.browser
@pytest.mark.parametrize("number", NUMBERS)
@pytest.mark.parametrize("width", [500, 1280])
def test_fits_the_screen(browser: Browser, tmp_path: Path, number: int, width: int) -> None:
    """No console message, nothing wider than the screen, no text outside its figure or on another."""
    file = tmp_path / "beside.html"
    file.write_text(page_of(number), encoding="utf-8")
    page = browser.new_page(viewport={"width": width, "height": 900})
    messages: list[str] = []
    page.on("console", lambda message: messages.append(message.text))
    page.goto(file.as_uri())
    assert messages == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate(_OUTSIDE) == []
    assert page.evaluate(_CROSSING) == []
    page.close()


@pytest.mark.browser
@pytest.mark.parametrize("number", NUMBERS)
def test_prints_within_the_margins(browser: Browser, tmp_path: Path, number: int) -> None:
    """On A4 on its side nothing overflows to the right, and no row or figure is higher than a page."""
    file = tmp_path / "beside.html"
    file.write_text(page_of(number), encoding="utf-8")
    width, height = (297 - 28) / 25.4 * 96, (210 - 26) / 25.4 * 96
    page = browser.new_page(viewport={"width": round(width), "height": 900})
    page.emulate_media(media="print")
    page.goto(file.as_uri())
    wide = page.evaluate(
        """() => [...document.querySelectorAll('table, .chart svg, td, td p')]
            .filter(e => e.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
            .map(e => e.textContent.slice(0, 60))"""
    )
    assert wide == []
    tall = "[...document.querySelectorAll('.chart, .beside tr')].map(e => e.getBoundingClientRect().height)"
    assert 0 < max(page.evaluate(tall)) <= height
    page.close()
