"""Studies on a terminal: the words of the page, at every width."""

from __future__ import annotations

import io
from collections.abc import Callable

import pytest
from made_surge import ARRIVALS, DELAY, NUMBERS, made_risk, made_whatif
from rich.console import Console

from mci.cli._risk_words import show_risk_page
from mci.cli._whatif_words import show_whatif_page
from mci.report.risk_build import build_risk_page
from mci.report.whatif_build import build_whatif_page

SHOWN: dict[str, Callable[[Console], None]] = {
    "one number": lambda console: show_whatif_page(build_whatif_page(made_whatif()), console),
    "grid": lambda console: show_whatif_page(build_whatif_page(made_whatif((ARRIVALS, DELAY))), console),
    "many": lambda console: show_whatif_page(build_whatif_page(made_whatif(NUMBERS, "one by one")), console),
    "nothing": lambda console: show_whatif_page(build_whatif_page(made_whatif(())), console),
    "risk": lambda console: show_risk_page(build_risk_page(made_risk()), console),
    "few": lambda console: show_risk_page(build_risk_page(made_risk(6, rolling=False, drivers=False)), console),
}


def _shown(name: str, width: int) -> str:
    stream = io.StringIO()
    SHOWN[name](Console(file=stream, width=width, markup=False, highlight=False))
    return stream.getvalue()


@pytest.mark.parametrize("name", SHOWN)
@pytest.mark.parametrize("width", [80, 120])
def test_no_line_is_wider_than_the_terminal(name: str, width: int) -> None:
    """Tables and sentences keep to the width."""
    assert max(len(line) for line in _shown(name, width).splitlines()) <= width


@pytest.mark.parametrize("width", [80, 120])
def test_cases_breaks_and_failures_are_shown(width: int) -> None:
    """Every case with its coverage at best and in usual practice, what binds, and why one has no result."""
    text, page = _shown("one number", width), build_whatif_page(made_whatif())
    for row in page.body.cases:
        assert all(cell in text for cell in (*row.values, *row.best, row.others[-1]))
    for words in ("up to 23", "regulators at North portal", "no plan within the time limit of 60 s", "as written"):
        assert words in " ".join(text.split())
    assert ("planned" in text) == (width == 120)


@pytest.mark.parametrize("width", [80, 120])
def test_policies_chances_and_inputs_are_shown(width: int) -> None:
    """Means with intervals, amounts of one in so many, laws."""
    text, page = " ".join(_shown("risk", width).split()), build_risk_page(made_risk())
    assert all(mean in text for row in page.body.compared for mean, _ in row.means)
    assert all(cell in text for row in page.body.chances for cell in row.amounts)
    assert "triangular: 0 min to 90 min" in text
    assert "seed 7" in text
