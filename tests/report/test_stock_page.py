"""The page of a packing list in words: what it says is what was found, in every case that can occur."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_stock import made_stock

from mci.report.stock_build import build_stock_page
from mci.report.stock_frontier import curve_rows
from mci.report.stock_series import coverage_panels, tail_panels
from mci.report.stock_words import litres_words, mass_words, money_words, points, volume_words
from mci.stocking.result import AVERAGE, CHOSEN, OWNED, Stock


def changed(found: Stock, name: str, column: str, value: object, **where: object) -> Stock:
    """Return the finding with another value in a table, where the other columns are as named."""
    inner = name == "validity"
    frame: pd.DataFrame = (found.validity.table if inner else getattr(found, name)).copy()
    rows = pd.Series(data=True, index=frame.index)
    for key, wanted in where.items():
        rows &= frame[key] == wanted
    frame[column] = frame[column].where(~rows, value)
    value = dataclasses.replace(found.validity, table=frame) if inner else frame
    return dataclasses.replace(found, **{name: value})  # type: ignore[arg-type]


def text(found: Stock) -> str:
    """Return the headline as one text, without spaces that tie."""
    return " ".join(build_stock_page(found).headline).replace("\u00a0", " ")


def one_unmet(found: Stock) -> Stock:
    """Return the finding with a goal that the chosen list does not meet."""
    worse = changed(found, "lists", "goal_3", 74.0, list=CHOSEN)
    return changed(worse, "lists", "goals_met", 2, list=CHOSEN)


def test_the_headline_says_what_is_packed_what_it_costs_and_what_it_reaches() -> None:
    """Things, money, fresh incidents with their interval, the worst incident, and how sure the choice is."""
    told = text(made_stock())
    assert told.startswith("For 6 758 $ over 5 years this list meets all 3 goals in the 512 incidents drawn.")
    assert "quay trailer, at Valley depot: 18 × US E aluminium, full, 4 × US D aluminium, full" in told
    assert "1 670 $ to buy at once and 1 018 $ a year to keep; 12 packs of it are there already." in told
    assert "On 2 000 fresh incidents, at best, means with 95 % intervals: Immediate coverage 98.6 %" in told
    assert "Immediate coverage 98.6 % (98.3 to 98.9 %), met, but not for sure" in told
    assert "66 patient-min (52 to 80), not met, but within the interval" in told
    assert "On 200 fresh incidents, by orders that a crew can carry out: Immediate coverage 98.1 %, not met" in told
    assert "in the worst incident drawn (number 112) weighted coverage is 81.1 %, and 402 patient-min are" in told
    assert "costs less than 6 657 $: this one is at most 101 $ (1.5 %) dearer than need be." in told


def test_goals_that_are_not_met_are_named() -> None:
    """The lead does not claim what is not so."""
    told = text(one_unmet(made_stock()))
    assert told.startswith("For 6 758 $ over 5 years this list meets 2 of 3 goals in the 512 incidents drawn, not all")
    assert "without oxygen, mean of the worst 5 %, 74 patient-min instead of at most 60 patient-min." in told
    assert "dearer than need be" not in told
    figures = build_stock_page(one_unmet(made_stock())).key_figures
    assert (figures[3].value, figures[3].short) == ("2 of 3", True)


def test_goals_that_are_met_one_by_one_only_are_not_called_met() -> None:
    """A list may meet each goal by itself, and not all of them at once."""
    apart = changed(made_stock(), "lists", "together", value=False)
    assert "meets each of 3 goals by itself in the 512 incidents drawn, not all of them at once." in text(apart)
    sums = dict(build_stock_page(apart).body.compared.sums)
    assert set(sums["All goals met at once"]) == {"no"}
    assert sums["Goals met, each by itself"][0] == "3\u00a0of\u00a03"
    assert [row.together for row in build_stock_page(apart).body.patients] == ["yes"] * 3 + ["no"] * 3


@pytest.mark.parametrize("mode", ["goals", "budget"])
def test_only_what_the_bounds_say_is_called_proven(mode: str) -> None:
    """A search that ended at its gap has not proven its list to be the best."""
    found = made_stock(mode)
    assert "proven" not in text(dataclasses.replace(found, proven=True))
    assert "stopped at its time limit" not in text(dataclasses.replace(found, proven=True))
    assert "stopped at its time limit" in text(found)
    assert "that is proven" in text(dataclasses.replace(found, lower=found.upper, gap=0.0, proven=True))
    assert "is not known" in text(dataclasses.replace(found, lower=math.nan, gap=math.nan))


def test_with_a_budget_the_headline_tells_coverage() -> None:
    """Money spent and allowed, weighted coverage, and its bound; no goals where there are none."""
    found = made_stock("budget", 2)
    told = text(found)
    assert told.startswith("For 9 384 $ over 5 years, out of 10 000 $: weighted coverage 97.1 % in the mean of the 512")
    assert "No list for this money covers more than 97.3 % of the weighted need" in told
    assert "school cupboard, at school yard: 8 × US E aluminium, full" in told
    page = build_stock_page(found)
    assert page.body.targets == ()
    assert page.body.goals == ()
    assert any(row.chosen and "chosen for its goals" not in row.added for row in page.body.frontier)


def test_a_budget_may_come_with_goals() -> None:
    """They are told as met or not, but it is coverage that was sought."""
    found = dataclasses.replace(made_stock(), mode="budget", budget=7000.0, lower=0.0271, upper=0.0286)
    told = text(found)
    assert (
        "out of 7 000 $: weighted coverage 97.1 % in the mean of the 512 incidents drawn, and 3 of 3 goals met" in told
    )
    assert "Goals that are not met" not in text(one_unmet(found))
    assert len(build_stock_page(found).body.targets) == 3


@pytest.mark.parametrize("mode", ["goals", "budget"])
def test_nothing_owned_no_rules_no_limits(mode: str) -> None:
    """What is not there is not told."""
    found = made_stock(mode, own=False, limits=False, rules=False)
    page = build_stock_page(found)
    assert "there already" not in " ".join(page.headline)
    assert page.body.compared.names == ("This list", "For the average incident")
    assert [kind for kind, *_ in page.body.marks] == ["chosen", "average"]
    assert {limit.allowed for limit in page.body.sheets[0].limits} == {"no limit"}
    assert {(limit.left, limit.part) for limit in page.body.sheets[0].limits} == {("", None)}


def test_a_list_for_the_average_incident_may_not_exist() -> None:
    """Its worth is then not told."""
    found = made_stock()
    no = math.nan
    worth = dataclasses.replace(found.worth, average_cost=no, average_coverage=no, same_money_coverage=no)
    lists = found.lists[found.lists["list"] != AVERAGE]
    told = build_stock_page(dataclasses.replace(found, lists=lists, worth=worth)).body.worth
    assert told[0] == ("For the incident as it is expected no list was found to compare with.", "")
    assert [name for _, name in told] == ["", "expected value of perfect information"]


def test_an_empty_list_has_a_page() -> None:
    """A cache in which nothing is packed says so; everything that was not found is absent."""
    found = made_stock("budget")
    none = math.nan
    worth = dataclasses.replace(
        found.worth, average_cost=none, average_coverage=none, known_coverage=none, same_money_coverage=none
    )
    bare = dataclasses.replace(
        found,
        packing=found.packing.iloc[:0],
        frontier=found.frontier.iloc[:0],
        patients=found.patients.iloc[:0],
        worst=found.worst.iloc[:0],
        worst_scenarios={},
        trace=found.trace.iloc[:0],
        validity=dataclasses.replace(found.validity, judged=0, table=found.validity.table.iloc[:0]),
        worth=worth,
    )
    page = build_stock_page(bare)
    assert "quay trailer: nothing is packed." in page.headline
    assert page.body.sheets[0].bags == ()
    assert (page.body.frontier, page.body.next_step, page.body.worst, page.body.validity) == ((), "", (), ())
    assert "Orders were not made" in page.body.fresh
    assert all(not panels for panels in page.behind.values())


@pytest.mark.parametrize("caches", [1, 2])
def test_sheets_hold_everything_that_is_packed(caches: int) -> None:
    """One sheet a cache, one line a thing, under its bag; sums are those of the table."""
    found = made_stock(caches=caches)
    sheets = build_stock_page(found).body.sheets
    assert [sheet.cache for sheet in sheets] == [cache.key for cache in found.stocking.caches]
    for sheet in sheets:
        mine = found.packing[found.packing["cache"] == sheet.cache]
        lines = [(bag.name, row.packs, row.what) for bag in sheet.bags for row in bag.rows]
        told = [(bag or "people who come with it", str(packs), what)
                for bag, packs, what in zip(mine["bag"], mine["packs"], mine["candidate"], strict=True)]  # fmt: skip
        assert sorted(lines) == sorted(told)
        assert sheet.weight == mass_words(float(mine["mass_kg"].sum()))
        assert sheet.gas == litres_words(float(mine["gas_l"].sum()))
        things = mine[mine["kind"] != "staff"]
        assert sheet.total.packs == str(things["packs"].sum())
    assert "and 1 person" in sheets[0].total.name
    assert "Sets off at T+5 (07:55). Can be there: North portal at T+17 (08:07)" in sheets[0].when


def test_limits_say_what_is_used_and_left() -> None:
    """Share used from 0 to 1; a limit of nothing that is used is full."""
    found = made_stock()
    payload = build_stock_page(found).body.sheets[0].limits[0]
    assert (payload.what, payload.used, payload.allowed) == ("Payload", mass_words(86.9), mass_words(400.0))
    assert payload.part == pytest.approx(86.9 / 400)
    over = changed(found, "usage", "allowed", 0.0, limit="payload")
    assert build_stock_page(over).body.sheets[0].limits[0].part == 1.0
    assert (
        build_stock_page(changed(found, "usage", "allowed", 50.0, limit="payload")).body.sheets[0].limits[0].part == 1.0
    )


def test_the_chosen_list_stands_on_the_curve_or_beside_it() -> None:
    """Exactly one row is marked; with goals it may be none of the curve, and says why."""
    for mode in ("goals", "budget"):
        rows = build_stock_page(made_stock(mode)).body.frontier
        assert sum(row.chosen for row in rows) == 1
    beside = next(row for row in build_stock_page(made_stock()).body.frontier if row.chosen)
    assert "not for weighted coverage" in beside.added
    assert set(beside.coverages) == {"–"}
    found = made_stock()
    low = dataclasses.replace(found, frontier=found.frontier[found.frontier["budget"] <= 4000])
    assert [row.chosen for row in build_stock_page(low).body.frontier].index(True) == len(curve_rows(low))


def test_the_same_list_for_more_money_is_one_row() -> None:
    """Several budgets may buy the same list."""
    found = made_stock()
    assert len(curve_rows(found)) < len(found.frontier)
    costs = [row["cost"] for row in curve_rows(found)]
    assert costs == sorted(set(costs))


def test_what_the_next_money_buys_is_the_difference_of_two_rows() -> None:
    """From the last list that this money buys to the next better one; nothing where there is none."""
    found = made_stock("budget")
    rows = curve_rows(found)
    place = next(n for n, row in enumerate(rows) if row["cost"] == found.lists["cost"][0])
    told = build_stock_page(found).body.next_step
    gain = points(rows[place + 1]["weighted"] - rows[place]["weighted"])
    assert money_words(rows[place + 1]["cost"] - rows[place]["cost"], "$") in told
    assert gain in told
    assert rows[place + 1]["added"] in told.replace("\u00a0", " ").replace("−", "-")
    dear = dataclasses.replace(found, frontier=found.frontier[found.frontier["cost"] <= rows[place]["cost"]])
    assert "more money buys no more weighted coverage" in build_stock_page(dear).body.next_step


def test_targets_show_only_what_changes() -> None:
    """Rows are candidates that change, the rest one line; the target as written is marked; no list says so."""
    blocks = build_stock_page(made_stock()).body.targets
    assert len(blocks) == 3
    for block in blocks:
        assert [written for _, written in block.targets] == [False, False, True, False]
        assert [name for name, _ in block.rows] == [
            "US E aluminium, full", "US D aluminium, full", "yoke regulator 0-15 L/min"
        ]  # fmt: skip
        assert "3 × non-rebreather, box of 10" in block.same
        assert "concentrator" not in block.same  # never packed
    assert blocks[2].costs[-1] == "no list does"
    assert blocks[2].rows[0][1][-1] == "–"


def test_lists_side_by_side_begin_with_the_chosen_one() -> None:
    """Every list has a column, every thing in any of them a row."""
    found = made_stock(caches=2)
    shuffled = dataclasses.replace(found, lists=found.lists.iloc[::-1])
    compared = build_stock_page(shuffled).body.compared
    assert compared.names[0] == "This list"
    assert set(compared.names[1:]) == {
        "What is owned", "For the average incident", "a cylinder for each patient", "half of everything"
    }  # fmt: skip
    assert {len(cells) for _, cells in compared.sums} == {5}
    first = dict(compared.contents[0].rows)
    assert first["US E aluminium, full"][0] == "18"
    assert {contents.cache for contents in compared.contents} == {"quay trailer", "school cupboard"}


def test_fresh_incidents_are_told_by_policy() -> None:
    """A policy that was not judged has no column; what has no target has no verdict."""
    found = made_stock()
    body = build_stock_page(found).body
    assert [name for name, _ in body.policies] == ["best possible", "orders, judged", "usual practice"]
    assert body.validity[0].goal == "All by weight: coverage"
    assert body.validity[0].cells[0][2] == ""
    assert body.validity[2].cells[0] == ("93.0 %", "92.7 to 93.3 %", "met for sure")
    assert body.validity[3].cells[2][2] == "not met"
    table = found.validity.table
    best = dataclasses.replace(
        found, validity=dataclasses.replace(found.validity, table=table[table["policy"] == "best"])
    )
    assert [name for name, _ in build_stock_page(best).body.policies] == ["best possible"]
    blank = table.assign(low=math.nan, high=math.nan)
    none = dataclasses.replace(found, validity=dataclasses.replace(found.validity, table=blank))
    assert {interval for row in build_stock_page(none).body.validity for _, interval, _ in row.cells} == {""}


def test_intervals_stay_where_values_can_be() -> None:
    """No coverage above 100 %, no minutes below nothing; a single incident has no interval."""
    found = made_stock()
    wide = changed(found, "validity", "high", 1.02, measure="coverage")
    wide = changed(wide, "validity", "low", -3.0, measure="without_min", policy="best")
    cells = build_stock_page(wide).body.validity
    assert cells[0].cells[0][1].endswith("to 100.0 %")
    assert cells[3].cells[0][1] == "0 to 80"
    table = found.validity.table
    alone = table.assign(low=table["low"].where(table["measure"] == "coverage", table["mean"]),
                         high=table["high"].where(table["measure"] == "coverage", table["mean"]))  # fmt: skip
    one = dataclasses.replace(found, validity=dataclasses.replace(found.validity, table=alone))
    assert build_stock_page(one).body.validity[3].cells[1][1] == ""


def test_what_is_arithmetic_of_the_solver_is_nothing() -> None:
    """A ten-billionth of a patient-minute is none."""
    found = made_stock()
    still = dataclasses.replace(found, frontier=found.frontier.assign(tail_immediate_min=2.5e-13))
    assert {row.tails[0] for row in build_stock_page(still).body.frontier} == {"0", "–"}


def test_other_lists_are_not_taken_for_the_chosen_one_on_fresh_incidents() -> None:
    """What is owned is asked in the same incidents; it has its own column, and no row among the goals."""
    body = build_stock_page(made_stock()).body
    assert [row.in_sample for row in body.validity] == ["97.1 %", "98.7 %", "93.1 %", "52\u00a0patient-min"]
    sums = dict(body.compared.sums)
    assert sums["On fresh incidents: weighted coverage"][:2] == ("96.9 %", "77.5 %")


def test_worst_incidents_have_a_file_of_their_own() -> None:
    """Worst first; the name of the file holds nothing of what a planner wrote."""
    rows = build_stock_page(made_stock()).body.worst
    assert [row.file for row in rows] == [
        "worst/01-incident-112.yaml", "worst/02-incident-407.yaml", "worst/03-incident-31.yaml"
    ]  # fmt: skip
    assert rows[0].one_more == "yoke regulator 0-15 L/min: +2.1\u00a0points"
    assert rows[2].one_more == "nothing that can be packed"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"same_money_coverage": 0.9203}, "does no better than the one for the expected incident"),
        ({"known_cost": 9000.0}, "the goals ask for the mean of all incidents"),
        ({"known_unmet": 0}, "(64 incidents looked at)"),
        ({"known_unmet": 3}, "in 3 of them no list does, and they are left out"),
    ],
)
def test_worth_says_nothing_that_is_not_so(changes: dict[str, Any], words: str) -> None:
    """A worth of nothing is no gain, and a dearer known incident no saving."""
    found = made_stock()
    told = build_stock_page(dataclasses.replace(found, worth=dataclasses.replace(found.worth, **changes))).body.worth
    assert words in " ".join(sentence for sentence, _ in told)


def test_worth_with_a_budget_is_coverage() -> None:
    """No money is compared where both lists cost at most the budget."""
    told = " ".join(sentence for sentence, _ in build_stock_page(made_stock("budget")).body.worth)
    assert "For the same budget of 7\u00a0000\u00a0$" in told
    assert "5.1\u00a0points more of the weighted need" in told
    assert "Not knowing costs about 1.2\u00a0points" in told


def test_figures_show_every_list_with_its_mark() -> None:
    """Weighted coverage has all lists; minutes of the worst only where a goal counted them."""
    found = made_stock()
    weighted, by_category = coverage_panels(found)
    assert {(mark.kind, mark.letter) for mark in weighted.marks} == {
        ("chosen", ""), ("owned", ""), ("average", ""), ("rule", "A"), ("rule", "B")
    }  # fmt: skip
    assert [curve.category for curve in by_category.curves] == ["immediate", "delayed", "minimal"]
    curve = list(zip(weighted.curves[0].costs, weighted.curves[0].values, strict=True))
    assert weighted.bound
    for money, share in weighted.bound:  # what can be paid with so much never passes it
        assert all(value <= share for cost, value in curve if cost <= money)
    tails = tail_panels(found)
    assert [bool(panel.marks) for panel in tails] == [True, False, False]
    assert [panel.wanted for panel in tails[:1]] == [60.0]
    assert next(mark.name for mark in weighted.marks if mark.kind == "owned") == "What is owned"
    assert OWNED in set(found.lists["list"])


def test_categories_of_the_curve_are_those_it_has() -> None:
    """A study that counted one category only shows one."""
    found = made_stock("budget")
    kept = [c for c in found.frontier.columns if "delayed" not in c and "minimal" not in c]
    body = build_stock_page(dataclasses.replace(found, frontier=found.frontier[kept])).body
    assert body.categories == (("immediate", "Immediate"),)
    assert {len(row.coverages + row.tails) for row in body.frontier} == {2}


@given(st.floats(-1e9, 1e9, allow_nan=False))
def test_money_is_read_back_to_its_last_shown_digit(value: float) -> None:
    """Whole from 100 on, cents below; a minus is a minus, nothing is never below nothing."""
    told = money_words(value, "$").replace("\u00a0", "").replace("−", "-").removesuffix("$")
    assert abs(float(told) - value) <= (0.5 if abs(value) >= 100 else 0.005) + 1e-6
    assert told not in ("-0", "-0.00")


def test_what_has_no_limit_or_no_number_is_said_so() -> None:
    """Infinity and no number are words, not numbers."""
    for words in (mass_words, volume_words, litres_words):
        assert words(math.inf) == "no limit"
        assert words(math.nan) == "–"
    assert money_words(math.inf, "$") == "no limit"
    assert money_words(math.nan, "$") == points(math.nan) == "–"
    assert points(-0.0001) == points(0.0) == "0.0\u00a0points"
