"""Page, workbook and tables of an inspection: the same findings everywhere, nothing that runs, boxes to tick."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from made_inventory import Rows, inspected, trailer
from playwright.sync_api import Browser, sync_playwright
from python_calamine import CalamineWorkbook
from test_html import NASTY, Elements

from mci.report.inspection_build import build_inspection_page
from mci.report.inspection_files import (
    inspection_files,
    inspection_html_text,
    inspection_json,
    inspection_workbook,
)
from mci.report.inspection_tables import INSPECTION_TABLES, inspection_tables
from mci.report.target import INSPECTION_NAMES

RIGHT = {"id": "1", "cylinder": "US E", "pressure": "full", "test date": "2025-01"}
YOKES: Rows = [{"item": "yoke regulator 0-15 L/min", "count": "12"}]


def headline(folder: Path, cylinders: Rows, equipment: Rows | None) -> str:
    """Return what the page of a cache says first."""
    return " ".join(build_inspection_page(inspected(folder, cylinders, equipment)).headline)


def test_files_are_those_that_may_be_replaced() -> None:
    """Their names are known where results are replaced; equal inspections give equal bytes."""
    made = inspection_files(trailer())
    assert set(made) == set(INSPECTION_NAMES)
    assert made == inspection_files(trailer())


def test_page_needs_nothing_from_outside() -> None:
    """No script, no link but the empty icon, a strict policy, and no number that is none."""
    text = inspection_html_text(trailer())
    found = Elements(text)
    assert set(found.links) == {"data:,"}
    assert "script" not in found.tags
    assert "default-src 'none'" in text
    assert not re.search(r"https?://(?!www\.w3\.org/)", text)
    assert not re.search(r"(?:>|\")(?:nan|None|inf)(?:<|\"| )", text)


def test_what_to_mend_comes_before_all_tables_and_every_item_has_a_box() -> None:
    """A box for each thing to mend, due soon, cylinder and line of equipment."""
    found, text = trailer(), inspection_html_text(trailer())
    titles = [re.sub(r"<[^>]+>.*", "", title) for title in re.findall(r"<h2>(.*?)</h2>", text)]
    assert titles[0] == "What to mend first"
    assert titles.index("Cylinders that are not fit for service ") < titles.index("Cylinders that are fit for service ")
    boxes = len(found.fixes) + len(found.soon) + len(found.cylinders) + len(found.equipment or ())
    assert text.count('<td class="tick">□</td>') == boxes
    for item, fault in found.findings:
        assert item.name in text
        assert fault.why.replace("'", "&#39;") in text.replace("\u00a0", " ")


def test_what_people_wrote_is_escaped_and_never_run(tmp_path: Path) -> None:
    """In the page it is text; in CSV and workbook no formula."""
    formula = '=HYPERLINK("x")'
    cylinders = [
        {**RIGHT, "id": NASTY, "condition": NASTY, "area": NASTY},
        {**RIGHT, "id": formula, "condition": formula, "area": formula},
    ]
    found = inspected(tmp_path, cylinders, [{**YOKES[0], "condition": NASTY, "area": formula}])
    text = inspection_html_text(found)
    assert "<script" not in text
    assert text.count("&lt;script&gt;") >= 6
    made = inspection_files(found)
    for name, content in made.items():
        if name.endswith(".csv"):
            cells = [cell for row in csv.reader(io.StringIO(str(content))) for cell in row]
            assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@"))]
    book = CalamineWorkbook.from_filelike(io.BytesIO(inspection_workbook(found)))
    assert book.get_sheet_by_name("cylinders").to_python()[2][0] == formula
    assert f"condition: {formula}" in [fault.why for _, fault in found.findings]


def test_csv_workbook_and_json_hold_the_same_tables() -> None:
    """Cell for cell."""
    found = trailer()
    book = CalamineWorkbook.from_filelike(io.BytesIO(inspection_workbook(found)))
    record = json.loads(inspection_json(found))
    assert book.sheet_names == ["about", *INSPECTION_TABLES]
    assert [table.name for table in inspection_tables(found)] == list(INSPECTION_TABLES)
    for table in inspection_tables(found):
        head, *rows = book.get_sheet_by_name(table.name).to_python()
        assert head == list(table.headers) == record["tables"][table.name]["columns"]
        assert rows == [["" if cell is None else cell for cell in row] for row in table.rows]
        assert record["tables"][table.name]["rows"] == [list(row) for row in table.rows]
        assert all(len(row) == len(table.headers) for row in table.rows)


def test_assumptions_carry_their_sources() -> None:
    """The load is marked as an assumption that nobody gave; pressures and intervals have their sources."""
    page = build_inspection_page(trailer())
    rows = {what: (value, basis, source) for what, value, basis, source in page.assumptions}
    assert rows["reference load (none was given)"][:2] == ("6 × 15 L/min, 4 × 2 L/min", "assumption")
    assert "The load is an assumption" in page.standing
    assert rows["in-service minimum"][:2] == ("500 psi", "verified")
    assert rows["residual pressure"][:2] == ("200 psi", "verified")
    assert rows["years between hydrostatic tests"][0] == "5"
    assert all(source for _, _, source in rows.values())


def test_headline_says_what_limits(tmp_path: Path) -> None:
    """Litres, outlets, too few outlets for all, no equipment listed, nothing to mend, nothing fit."""
    many = [{**RIGHT, "id": str(number)} for number in range(12)]
    assert "litres are what limits it" in headline(tmp_path / "a", many, YOKES)
    assert "Nothing has to be mended." in headline(tmp_path / "a", many, YOKES)
    held = [*many, {"id": "big", "cylinder": "US H", "pressure": "full", "test date": "2025-01"}]
    threaded = {"item": "threaded regulator 0-15 L/min", "count": "1"}
    assert "outlets hold it back" in headline(tmp_path / "b", held, [*YOKES, threaded])
    few = headline(tmp_path / "c", many, [{**YOKES[0], "count": "7"}])
    assert "there are outlets for 7 of its 10 patients" in few
    assert "by litres alone; outlets were not judged" in headline(tmp_path / "d", many, None)
    none = headline(tmp_path / "e", [{**RIGHT, "pressure": "0 psi"}], YOKES)
    assert none.startswith("0 of 1 cylinder is fit for service, with 0 L. Nothing on hand carries a load")
    assert "1 thing to mend" in none


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Start the installed Chromium once."""
    path = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if path is None:
        pytest.skip("no Chromium or Chrome is installed")
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.mark.browser
@pytest.mark.parametrize("width", [400, 1280])
def test_page_is_no_wider_than_the_screen(browser: Browser, tmp_path: Path, width: int) -> None:
    """Tables scroll in their own boxes; nothing is logged."""
    file = tmp_path / "report.html"
    file.write_text(inspection_html_text(trailer()), encoding="utf-8")
    page = browser.new_page(viewport={"width": width, "height": 800})
    told: list[str] = []
    page.on("console", lambda message: told.append(message.text))
    page.goto(file.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert told == []
    page.close()


@pytest.mark.browser
@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_tables_are_not_clipped_in_print(browser: Browser, tmp_path: Path, size: str) -> None:
    """No table is wider than the text on paper."""
    file = tmp_path / "report.html"
    file.write_text(inspection_html_text(trailer()), encoding="utf-8")
    millimetres = {"A4": 210 - 28, "Letter": 216 - 28}[size]
    page = browser.new_page(viewport={"width": round(millimetres / 25.4 * 96), "height": 1000})
    page.emulate_media(media="print")
    page.goto(file.as_uri())
    wide = page.evaluate("[...document.querySelectorAll('table')].filter(t => t.scrollWidth > innerWidth).length")
    assert wide == 0
    page.close()
