"""Files of a packing list: everything that was found, with units, no formula, the same bytes for the same finding."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
import re
import zipfile
from pathlib import Path

import pytest
from made_stock import made_stock
from python_calamine import CalamineWorkbook

from mci.errors import UsageError
from mci.report.files import add_files, put_files
from mci.report.stock_files import stock_files
from mci.report.stock_html import stock_html_text
from mci.report.stock_tables import STOCK_TABLES, stock_tables
from mci.report.target import STOCK_NAMES, check_target
from mci.scenario.stocking import RuleOfThumb
from mci.stocking.result import Stock

EVIL = "=cmd|'/C calc'!A1<script>alert(1)</script>&\"x"


def rows_of(text: str | bytes) -> list[dict[str, str]]:
    """Read a CSV file as a program would."""
    assert isinstance(text, str)
    return list(csv.DictReader(io.StringIO(text, newline="")))


@pytest.fixture(scope="module")
def files() -> dict[str, str | bytes]:
    """The files of a list for two caches."""
    return stock_files(made_stock(caches=2))


def named_evilly() -> Stock:
    """Return a list in which every name that a planner writes is hostile."""
    found = made_stock()
    swap = {"quay trailer": EVIL, "cylinder rack": EVIL, "US E aluminium, full": EVIL, "half of everything": EVIL}
    caches = tuple(dataclasses.replace(cache, key=swap.get(cache.key, cache.key)) for cache in found.stocking.caches)
    things = tuple(dataclasses.replace(c, key=swap.get(c.key, c.key), bag=swap.get(c.bag, c.bag))
                   for c in found.stocking.candidates)  # fmt: skip
    rules = (*found.stocking.rules[:1], RuleOfThumb(EVIL, {}))
    stocking = dataclasses.replace(found.stocking, caches=caches, candidates=things, rules=rules, money=EVIL)
    worst = found.worst.assign(name=[EVIL, "b", "c"], values=EVIL, why=EVIL, one_more=EVIL)
    return dataclasses.replace(
        found,
        scenario=dataclasses.replace(found.scenario, name=EVIL, summary=EVIL),
        stocking=stocking,
        packing=found.packing.replace(swap),
        usage=found.usage.replace(swap),
        lists=found.lists.replace(swap),
        contents=found.contents.replace(swap),
        targets=found.targets.rename(columns={"packs: US E aluminium, full": f"packs: {EVIL}"}),
        frontier=found.frontier.assign(added=EVIL),
        worst=worst,
        worst_scenarios={
            name: {f"{rank:02d}-incident-{number}.yaml": "incident: {}\n"}
            for rank, (name, number) in enumerate(zip(worst["name"], worst["incident"], strict=True), start=1)
        },
        notes=(EVIL,),
    )


def test_everything_announced_is_written(files: dict[str, str | bytes]) -> None:
    """A CSV file for each table, workbook, JSON, the worst incidents; the report comes last."""
    worst = [name for name in files if name.startswith("worst/")]
    assert set(files) - set(worst) == set(STOCK_NAMES) - {"worst"}
    assert len(worst) == len(made_stock().worst)
    assert list(files)[-1] == "report.html"
    assert all(str(files[name]).startswith("incident:") for name in worst)


def test_tables_hold_every_row_and_every_column() -> None:
    """Nothing that was found is left out but the seconds, which differ from run to run."""
    found = made_stock(caches=2)
    made = {table.name: table for table in stock_tables(found)}
    assert tuple(made) == STOCK_TABLES
    for name in ("packing", "usage", "lists", "contents", "frontier", "targets", "patients"):
        frame = getattr(found, name)
        assert (len(made[name].rows), len(made[name].headers)) == frame.shape
    assert len(made["validity"].rows) == len(found.validity.table)
    assert len(made["worst"].headers) == found.worst.shape[1] + 1  # its file
    assert len(made["trace"].headers) == found.trace.shape[1] - 1
    assert [row[0] for row in made["worth"].rows] == [field.name for field in dataclasses.fields(found.worth)]


@pytest.mark.parametrize("mode", ["goals", "budget"])
def test_headers_are_their_own_and_say_units(mode: str) -> None:
    """Money with its currency, and over how many years; shares, minutes, kilograms and litres by their ends."""
    for table in stock_tables(made_stock(mode)):
        assert len(set(table.headers)) == len(table.headers)
        bare = {"cost", "budget", "buy", "yearly", "weighted", "lower", "upper", "gap", "mass", "volume", "seconds"}
        assert not bare & set(table.headers)
    packing, _, lists = stock_tables(made_stock(mode))[:3]
    assert {"buy at once [$]", "keep [$ a year]", "cost over 5 years [$]", "mass_kg", "volume_L", "gas_L"} <= set(
        packing.headers
    )
    assert "weighted_share" in lists.headers
    wanted = {"goal_1_share", "goal_2_share", "goal_3_patient_min"} if mode == "goals" else set()
    assert {header for header in lists.headers if header.startswith("goal_")} == wanted


def test_limits_and_truths_are_words_in_files(files: dict[str, str | bytes]) -> None:
    """No limit is ``inf``, a truth yes or no, what there is not is empty."""
    assert {row["allowed"] for row in rows_of(files["usage.csv"])} >= {"inf", "400"}
    assert {row["limits_kept"] for row in rows_of(files["lists.csv"])} == {"yes", "no"}
    assert {row["met"] for row in rows_of(files["validity.csv"])} == {"yes", "no", ""}


def test_numbers_are_written_to_their_last_digit(files: dict[str, str | bytes]) -> None:
    """A table is read back as it was."""
    frontier = made_stock(caches=2).frontier
    rows = rows_of(files["frontier.csv"])
    assert [float(row["weighted_share"]) for row in rows] == frontier["weighted"].tolist()
    assert [float(row["tail_immediate_patient_min"]) for row in rows] == frontier["tail_immediate_min"].tolist()


def test_json_holds_the_tables_and_the_same_finding_gives_the_same_bytes(files: dict[str, str | bytes]) -> None:
    """Only timings differ between equal runs."""
    record = json.loads(str(files["stock.json"]))
    assert record["format"] == "mci stock"
    assert set(record["tables"]) == set(STOCK_TABLES)
    assert record["choice"]["mode"] == "goals"
    assert record["choice"]["budget"] is None
    assert len(record["provenance"]["timings"]["trace_s"]) == 12
    found = made_stock(caches=2)
    slower = dataclasses.replace(
        found,
        seconds=99.0,
        trace=found.trace.assign(seconds=9.0),
        provenance=dataclasses.replace(found.provenance, timings={"all_s": 99.0}),
    )
    again = stock_files(slower)
    assert {name for name in files if again[name] != files[name]} == {"stock.json"}


def test_the_workbook_has_a_sheet_for_each_table(files: dict[str, str | bytes]) -> None:
    """Behind one that says what it is."""
    content = files["stock.xlsx"]
    assert isinstance(content, bytes)
    book = CalamineWorkbook.from_filelike(io.BytesIO(content))
    assert book.sheet_names == ["about", *STOCK_TABLES]
    for table in stock_tables(made_stock(caches=2)):
        head, *rows = book.get_sheet_by_name(table.name).to_python()
        assert head == list(table.headers)
        for read, written in zip(rows, table.rows, strict=True):  # a cell holds 16 digits
            assert read == ["" if c is None else c if isinstance(c, str) else pytest.approx(c) for c in written]


def test_no_name_is_run_or_taken_for_markup() -> None:
    """Hostile names are text in CSV, workbook, page and figures."""
    files = stock_files(named_evilly())
    for name, content in files.items():
        if name.endswith(".csv"):
            cells = [cell for row in csv.reader(io.StringIO(str(content), newline="")) for cell in row]
            assert not [cell for cell in cells if cell.startswith(("=", "@"))]
    workbook = files["stock.xlsx"]
    assert isinstance(workbook, bytes)
    with zipfile.ZipFile(io.BytesIO(workbook)) as packed:
        parts = {name: packed.read(name).decode("utf-8") for name in packed.namelist()}
    assert not [name for name, part in parts.items() if "<f>" in part or "<hyperlink" in part or "vba" in name.lower()]
    page = str(files["report.html"])
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert {name for name in files if "/" in name} == {
        "worst/01-incident-112.yaml", "worst/02-incident-407.yaml", "worst/03-incident-31.yaml"
    }  # fmt: skip


def test_the_page_prints_a_sheet_for_each_cache(files: dict[str, str | bytes]) -> None:
    """Each has its boxes to tick, its limits and lines to sign; the style breaks pages around them."""
    page = str(files["report.html"])
    found = made_stock(caches=2)
    assert page.count('<article class="pack">') == 2
    assert page.count("☐") == len(found.packing)
    assert page.count('class="signed"') == 2
    printed = page[page.rindex("@media print") :]
    assert re.search(r"\.pack \{ break-before: page", printed)
    assert re.search(r"\.packing \{ break-before: page; break-after: page", printed)


def test_the_page_has_its_parts_in_order_and_needs_nothing_else(files: dict[str, str | bytes]) -> None:
    """From what to pack to where it comes from; no address outside of the file."""
    page = str(files["report.html"])
    titles = re.findall(r"<h2>(.*?)</h2>", page)
    assert titles == [
        "Packing list", "What money buys", "How the list changes with the goals", "Compared with other lists",
        "What breaks it", "With more or fewer patients", "On fresh incidents",
        "What looking at many incidents is worth", "How it was chosen",
        "Notes", "Cautions", "Assumptions and sources", "Where this comes from",
    ]  # fmt: skip
    assert not re.search(r'(src|href)="(?!data:|#)', page)
    assert "(value of the stochastic solution)" in page
    assert "Ask what the fire code allows" in page
    ids = re.findall(r'\bid="([^"]+)"', page)
    assert len(ids) == len(set(ids))


def test_a_bare_list_has_a_whole_page() -> None:
    """Without goals, rules, limits, curve or trace nothing is drawn of them."""
    found = made_stock("budget", own=False, limits=False, rules=False)
    bare = dataclasses.replace(
        found,
        frontier=found.frontier.iloc[:0],
        trace=found.trace.iloc[:1],
        worst=found.worst.iloc[:0],
        worst_scenarios={},
    )
    page = stock_html_text(bare)
    assert "No curve over the money was made." in page
    assert "<h2>How the list changes with the goals</h2>" not in page
    assert not re.search(r"\b(nan|inf)\b", page, flags=re.IGNORECASE)


def test_files_in_a_folder_are_put_there_and_replaced_whole(tmp_path: Path) -> None:
    """A new list leaves no scenario of the old one; a file of somebody else is not deleted."""
    made = {"stock.json": "{}", "worst/01-incident-7.yaml": "a", "worst/02-incident-9.yaml": "b", "report.html": "x"}
    target = tmp_path / "out"
    put_files(made, target)
    assert (target / "worst" / "01-incident-7.yaml").read_text() == "a"
    with pytest.raises(UsageError, match="--force"):
        check_target(target, force=False)
    check_target(target, force=True)
    put_files({"stock.json": "{}", "worst/01-incident-5.yaml": "c"}, target)
    assert [file.name for file in (target / "worst").iterdir()] == ["01-incident-5.yaml"]
    add_files({"worst/02-incident-1.yaml": "d"}, target)
    assert (target / "worst" / "02-incident-1.yaml").read_text() == "d"
    (target / "worst" / "mine.yaml").write_text("of somebody else")
    with pytest.raises(UsageError, match=r"worst/mine\.yaml"):
        check_target(target, force=True)
