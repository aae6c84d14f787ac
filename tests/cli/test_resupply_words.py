"""The resupply page on a terminal: everything that matters, at every width."""

from __future__ import annotations

import io
import re

import pytest
from made_resupply import crowded_resupply, made_resupply
from rich.console import Console

from mci.cli._resupply_words import show_resupply_page
from mci.report.resupply_build import build_resupply_page


def _shown(make: type, width: int) -> str:
    stream = io.StringIO()
    show_resupply_page(build_resupply_page(make()), Console(file=stream, width=width, markup=False, highlight=False))
    return stream.getvalue()


@pytest.mark.parametrize("make", [made_resupply, crowded_resupply])
@pytest.mark.parametrize("width", [80, 120])
def test_no_line_is_wider_than_the_terminal(make: type, width: int) -> None:
    """Tables and sentences keep to the width."""
    assert max(len(line) for line in _shown(make, width).splitlines()) <= width


@pytest.mark.parametrize("width", [80, 120])
def test_last_safe_times_losses_and_goals_are_shown(width: int) -> None:
    """Every trip with its planned and its last safe departure, what is lost, what orders miss."""
    text = _shown(made_resupply, width)
    for departure in made_resupply().schedule.departures:
        assert departure.trip.key in text
        assert f"T+{departure.leave_by:g}" in text
        assert f"T+{departure.earliest:g}" in text
    for words in (
        "none",
        "NO",
        "(Minimal gains 0.5)",
        "The orders miss 2 of 4 goals by area by more than 1 %",
        "Planned without road old bridge.",
        "ask by T+104 (09:34)",
    ):
        assert words in text


def test_what_could_be_misread_is_explained() -> None:
    """A share is one of the goal, not of the need; a loss of none at a last safe time has its reason."""
    text = _shown(made_resupply, 120)
    assert re.search(r"\bOf\b.*\bOf\b", text)
    assert "Share" not in text
    assert any(row.lost.startswith("none") for row in build_resupply_page(made_resupply()).departures)
    assert "None: nothing yet after 10 min" in " ".join(text.split())


def test_a_long_table_of_losses_says_what_is_left_out() -> None:
    """Twelve losses at most, and how many more there are."""
    found = crowded_resupply()
    assert f"{len(found.schedule.losses) - 12} more, which cost no more, are in the report." in _shown(
        crowded_resupply, 80
    )
