"""Cases side by side on a terminal: the words of the page, at every width."""

from __future__ import annotations

import dataclasses
import io

import pytest
from made_beside import PEOPLE, TRUCK, chosen
from rich.console import Console

from mci.cli._beside_words import show_beside_page
from mci.report.beside_build import build_beside_page
from mci.report.beside_page import BesideBody
from mci.report.study_page import StudyPage


def _page(number: int) -> StudyPage[BesideBody]:
    more = [dataclasses.replace(chosen("late"), key=str(n), title=f"late again, number {n}") for n in range(number - 3)]
    return build_beside_page("Ferry fire", [*map(chosen, ("as written", "late", "calm")), *more][:number])


def _shown(page: StudyPage[BesideBody], width: int) -> str:
    stream = io.StringIO()
    show_beside_page(page, Console(file=stream, width=width, markup=False, highlight=False))
    return stream.getvalue()


def _section(text: str, title: str) -> str:
    return text[text.index(f"\n{title}\n") :].split("\n\nWhen it is short")[0]


@pytest.mark.parametrize("number", [2, 3, 6])
@pytest.mark.parametrize("width", [80, 120])
def test_no_line_is_wider_than_the_terminal(number: int, width: int) -> None:
    """Tables and sentences keep to the width."""
    assert max(len(line) for line in _shown(_page(number), width).splitlines()) <= width


@pytest.mark.parametrize("number", [2, 3, 6])
@pytest.mark.parametrize("width", [80, 120])
def test_everything_that_the_page_says_is_shown(number: int, width: int) -> None:
    """Every group, every cell of every case and every change; sentences of the first case are not said again."""
    page = _page(number)
    text = _shown(page, width)
    flat = " ".join(text.split())
    for group in page.body.groups:
        assert group.title in flat
        for row in group.rows:
            if not row.long:
                assert all(cell.lines[0].split()[0] in flat and cell.change in flat for cell in row.cells)
                continue
            for column, cell in zip(page.body.columns, row.cells, strict=True):
                if cell.change or column is page.body.columns[0]:
                    assert all(line in flat for line in cell.lines)
                else:
                    assert f"- {column.title}: as in the first case" in flat
    assert all(word in flat for path in (TRUCK, PEOPLE) for word in path.replace(".", " ").split())


def test_the_first_case_is_shown_again_beside_those_for_which_there_is_no_room() -> None:
    """Six cases take one table on a wide terminal and two on a narrow one, each with the first case."""
    page = _page(6)
    narrow, wide = (_section(_shown(page, width), "Coverage, this plan") for width in (80, 120))
    first = page.body.groups[1].rows[0].cells[0].lines[0]
    plans = sum(group.title.startswith("Coverage") for group in page.body.groups)
    assert plans == 4
    assert (narrow.count("Weighted need met"), wide.count("Weighted need met")) == (2 * plans, plans)
    assert (narrow.count(first), wide.count(first)) == (2, 1)
