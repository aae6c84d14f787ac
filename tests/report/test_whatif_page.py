"""The page of a what-if study in words: every number is one of the table, and says what it is."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pandas as pd
import pytest
from made_surge import ARRIVALS, DELAY, NUMBERS, PATTERN, STOCK, incident, made_whatif

from mci.report.study_words import amount, fraction, number_words, short_words
from mci.report.whatif_build import MOST_CASES, build_whatif_page
from mci.report.whatif_headline import asked_cases
from mci.report.whatif_series import heat_maps, line_panels, swing_bars
from mci.report.words import share
from mci.scenario.numbers import Number, NumberKind
from mci.surge.cases import Role
from mci.surge.whatif_result import WhatIf


@pytest.mark.parametrize("numbers", [(ARRIVALS,), (ARRIVALS, DELAY), NUMBERS, (PATTERN,), ()])
def test_every_cell_is_that_of_the_table(numbers: tuple[Number, ...]) -> None:
    """Rows of the page are the cases in order: values of the numbers, coverage at best, coverage by others."""
    found = made_whatif(numbers, "one by one")
    page, asked = build_whatif_page(found), asked_cases(found)
    assert len(page.body.cases) == len(asked)
    for row, case in zip(page.body.cases, asked.to_dict("records"), strict=True):
        if len(numbers) <= 2:
            assert row.values == tuple(number_words(n, case[n.path], found.scenario) for n in numbers)
        assert row.written == (case["role"] == Role.AS_WRITTEN)
        if case["status"] != "planned":
            assert row.failed == case["status"]
            assert set(row.best + row.others) == {"–"}
            continue
        names = ["best_share", *(f"best_{category}" for category, _ in page.body.categories[1:])]
        assert row.best == tuple(share(float(case[name])) for name in names)
        assert row.others == tuple(share(float(case[f"{p}_share"])) for p in ("orders", "rolling", "usual"))
        assert row.binds == case["binding"]


def test_the_headline_says_where_coverage_breaks_and_what_binds() -> None:
    """The break of the most urgent category comes first: the last value that is covered, the first that is not."""
    headline = build_whatif_page(made_whatif()).headline
    assert headline[0] == (
        "Coverage of Immediate stays at 100 % up to 23 (patients.immediate.count); at 24 it does not. "
        "What binds then: regulators, not oxygen."
    )
    assert "between 52.7 % and 98.7 %" in headline[1]


def test_a_break_says_which_way_and_whether_there_is_one() -> None:
    """A number that falls goes down to its break; a goal met nowhere or everywhere is said so."""
    found = made_whatif((STOCK,))
    everywhere = pd.DataFrame([{**found.breaks.iloc[0], "category": "minimal", "kept_to": 0.5, "lost_at": math.nan}])
    found = dataclasses.replace(found, breaks=pd.concat([found.breaks, everywhere], ignore_index=True))
    said = {row.category: row.sentence for row in build_whatif_page(found).body.breaks}
    assert "down to 80 % (supplies.share); at 75 % it does not" in said["immediate"]
    assert "below 100 % at every value of supplies.share" in said["delayed"]
    assert "stays at 100 % over all values of supplies.share, down to 50 %" in said["minimal"]


def test_lines_hold_all_other_numbers_as_written() -> None:
    """A panel shows only cases in which one number moves, in order, and the value that each has in the table."""
    found = made_whatif((ARRIVALS, DELAY))
    panel = next(panel for panel in line_panels(found) if panel.title == ARRIVALS.path)
    best = next(curve for curve in panel.curves if curve.policy == "best")
    alone = found.table[(found.table[DELAY.path] == 0) & (found.table["status"] == "planned")]
    by_value = dict(zip(alone[ARRIVALS.path], alone["best_share"], strict=True))
    assert list(best.places) == sorted(best.places)
    assert dict(zip(best.places, best.shares, strict=True)) == by_value
    assert panel.written == ARRIVALS.value


def test_the_break_is_marked_in_the_panel_of_its_category_only() -> None:
    """Immediate breaks after 23; Delayed breaks nowhere within the range."""
    kept = {panel.category: panel.kept_to for panel in line_panels(made_whatif())}
    assert kept["immediate"] == 23.0
    assert kept["delayed"] is None


def test_a_map_has_every_case_in_its_cell() -> None:
    """Columns are the first number, rows the second from below; a case without a result is empty."""
    found = made_whatif((ARRIVALS, DELAY))
    weighted = heat_maps(found)[0]
    cells = found.table[found.table["role"] == Role.CASE].set_index([ARRIVALS.path, DELAY.path])["best_share"]
    columns, rows = sorted(set(cells.index.get_level_values(0))), sorted(set(cells.index.get_level_values(1)))
    expected = [[cells[column, row] for column in columns] for row in rows]
    assert np.array_equal(np.array(weighted.shares), np.array(expected), equal_nan=True)
    assert np.isnan(np.array(weighted.shares)).sum() == 1
    assert weighted.written == (columns.index(14.0), rows.index(0.0))


def test_no_map_without_a_whole_grid() -> None:
    """Cases one by one, or pairs with a hole, are no map; a number in one value is none either."""
    assert heat_maps(made_whatif((ARRIVALS, DELAY), "one by one")) == ()
    whole = made_whatif((ARRIVALS, DELAY))
    assert heat_maps(dataclasses.replace(whole, table=whole.table.drop(index=5))) == ()
    assert heat_maps(made_whatif()) == ()


def test_swings_keep_their_order_and_leave_out_what_failed() -> None:
    """The largest swing comes first; one without a result at an end is not drawn."""
    found = made_whatif(NUMBERS)
    bars = swing_bars(found)
    widths = [abs(bar.at_high - bar.at_low) for bar in bars]
    assert widths == sorted(widths, reverse=True)
    found.swings.loc[0, "at_low"] = math.nan
    assert [bar.path for bar in swing_bars(found)] == [bar.path for bar in bars[1:]]


def test_failed_cases_are_named_with_their_reason() -> None:
    """One row per reason, with how many and which."""
    (row,) = build_whatif_page(made_whatif()).failed
    assert row.reason == "no plan within the time limit of 60 s"
    assert row.count == "1 case"


def test_numbers_of_many_cases_are_lettered_and_what_is_too_much_is_left_to_the_file() -> None:
    """Three numbers and more stand for themselves by letters; the page shows the first cases and counts the rest."""
    found = made_whatif(NUMBERS)
    body = build_whatif_page(found).body
    assert [row.letter for row in body.varied] == ["A", "B", "C", "D"]
    assert [row.path for row in body.varied] == [number.path for number in NUMBERS]
    assert len(body.cases) == MOST_CASES
    assert body.left == f"{len(asked_cases(found)) - MOST_CASES} more cases are in cases.csv."


def test_a_case_of_many_numbers_tells_only_those_that_are_other_than_as_written() -> None:
    """Under one head, by their letters; the scenario as written differs in nothing."""
    found = made_whatif(NUMBERS, "one by one")
    body = build_whatif_page(found).body
    assert body.numbers == ("Other than as written",)
    assert body.cases[0].values == ("nothing",)
    for row, case in zip(body.cases, asked_cases(found).to_dict("records"), strict=True):
        moved = [n for n in NUMBERS if case[n.path] != (n.text if n.kind is NumberKind.WORD else n.value)]
        told = [f"{'ABCD'[NUMBERS.index(n)]} = {number_words(n, case[n.path], found.scenario)}" for n in moved]
        assert row.values == (", ".join(told) or "nothing",)


def test_one_number_is_not_compared_with_itself() -> None:
    """Swings tell what moves the result most, so there are none of one number alone."""
    assert swing_bars(made_whatif()) == ()
    assert len(swing_bars(made_whatif((ARRIVALS, DELAY)))) == 2


def _all_failed() -> WhatIf:
    found = made_whatif()
    table = found.table.assign(status="no plan", **{name: math.nan for name in found.table if name.startswith("best_")})
    return dataclasses.replace(found, table=table, swings=found.swings.iloc[:0], breaks=found.breaks.iloc[:0])


def test_a_study_without_any_result_says_so() -> None:
    """No sentence counts what is not there."""
    page = build_whatif_page(_all_failed())
    assert page.headline[0] == "No case has a result."
    assert page.key_figures[-1].value == "8"


@pytest.mark.parametrize(
    ("number", "value", "words", "short"),
    [
        (ARRIVALS, 23.0, "23", "23"),
        (ARRIVALS, math.inf, "unlimited", "unlimited"),
        (DELAY, 45.0, "45 min", "45 min"),
        (STOCK, 0.825, "82.5 %", "82.5 %"),
        (PATTERN, "late", "late", "late"),
        (Number("a", NumberKind.MOMENT, "08:20", 30.0, "min", ""), 30.0, "T+30 (08:20)", "T+30"),
        (Number("a", NumberKind.PRESSURE, "full", math.nan, "psi", ""), math.nan, "full", "full"),
        (Number("a", NumberKind.PRESSURE, "100 bar", 1450.377, "psi", ""), 1450.377, "100 bar", "100 bar"),
        (Number("a", NumberKind.TEMPERATURE, "-5 C", -5.0, "C", ""), -5.0, "−5 °C", "−5 °C"),
    ],
)
def test_values_are_written_as_a_planner_would(number: Number, value: float | str, words: str, short: str) -> None:
    """Each kind in its unit; pressures in bar where the scenario writes them so; clock times in full words only."""
    assert number_words(number, value, incident()) == words
    assert short_words(number, value, incident()) == short


@pytest.mark.parametrize(
    ("hits", "of", "words"),
    [(0, 500, "none"), (500, 500, "all"), (150, 500, "3 of 10"), (25, 500, "1 of 20"), (131, 500, "26 of 100"),
     (1, 6, "1 of 6"), (1, 5000, "fewer than 1 of 1000"), (4999, 5000, "999 of 1000")],
)  # fmt: skip
def test_shares_are_said_as_so_many_of_so_many(hits: int, of: int, words: str) -> None:
    """Few samples exactly; many by the least round number that tells it; never all or none where that is not so."""
    assert fraction(hits, of).replace("\u00a0", " ") == words


@pytest.mark.parametrize(("value", "words"), [(43.456, "43.5"), (1234.4, "1 234"), (-0.0312, "−0.0312"), (0.0, "0")])
def test_amounts_have_three_figures(value: float, words: str) -> None:
    """Whole from 100 on."""
    assert amount(value) == words
