"""Cases side by side in words: what is said of each case is what its run found, and differences are theirs."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import pytest
from made_beside import PEOPLE, TRUCK, chosen

from mci.errors import UsageError
from mci.report.beside_build import build_beside_page
from mci.report.beside_cases import MOST, Chosen
from mci.report.beside_page import BesideBody, Cell, Group
from mci.report.beside_rows import DIFFERS, NOTHING
from mci.report.series import windows_of_plan
from mci.report.study_page import StudyPage
from mci.report.words import category_word, moment, share

NAME = "Ferry fire"


def _page(*cases: Chosen) -> StudyPage[BesideBody]:
    return build_beside_page(NAME, cases)


def _group(groups: Sequence[Group], begin: str) -> dict[str, tuple[Cell, ...]]:
    (group,) = (group for group in groups if group.title.startswith(begin))
    return {row.label: row.cells for row in group.rows}


def _again(key: str) -> Chosen:
    """Return the case as written once more, by another name."""
    return dataclasses.replace(chosen("as written"), key=key, title=key)


def _without_plan(key: str) -> Chosen:
    return dataclasses.replace(_again(key), run=dataclasses.replace(chosen("as written").run, plans=()))


def test_coverage_is_that_of_each_run() -> None:
    """At best from the optimum, this plan and usual practice from the judge, per category and in all."""
    cases = [chosen("as written"), chosen("late")]
    groups = _page(*cases).body.groups
    found = {"best possible": [case.run.coverage for case in cases]}
    for place, judged in enumerate(cases[0].run.plans):
        name = judged.name if place else "this plan"
        found[name] = [case.run.plans[place].verdict.coverage for case in cases]
    assert len(found) == 4
    for name, tables in found.items():
        cells = _group(groups, f"Coverage, {name}")
        for place, table in enumerate(tables):
            told = {
                "All patients" if category == "all" else category_word(category): share(covered)
                for category, covered in zip(table["category"], table["coverage"], strict=True)
            }
            assert told == {label: cells[label][place].lines[0] for label in told}
            for label in told:
                split = cells[label][place].split
                assert split is not None
                assert sum(dataclasses.astuple(split)) == pytest.approx(1.0, abs=1e-6)


def test_a_change_turns_round_when_the_cases_are_exchanged() -> None:
    """What is more against the one is as much less against the other; what only differs, differs both ways."""
    turned = str.maketrans("+−", "−+")
    one, other = _page(chosen("as written"), chosen("late")), _page(chosen("late"), chosen("as written"))
    signed = 0
    for group, back in zip(one.body.groups[1:], other.body.groups[1:], strict=True):
        for row, row_back in zip(group.rows, back.rows, strict=True):
            assert row.cells[1].change == row_back.cells[1].change.translate(turned)
            signed += row.cells[1].change.startswith(("+", "−"))
    assert signed > 20


def test_a_case_equal_to_the_first_shows_no_difference() -> None:
    """Not one sign in any row, and the headline says so."""
    page = _page(chosen("as written"), _again("again"), chosen("late"))
    changes = [[row.cells[place].change for group in page.body.groups for row in group.rows] for place in (0, 1, 2)]
    assert set(changes[0]) == set(changes[1]) == {""}
    assert len(set(changes[2])) > 1
    assert "“again”" in (same := _page(chosen("as written"), _again("again")).headline[0])
    assert same.endswith(", the same.")


def test_every_changed_number_is_shown_in_every_case() -> None:
    """As written where a case leaves it alone, with the sign where it does not."""
    page = _page(chosen("late"), chosen("as written"), chosen("calm"))
    cells = _group(page.body.groups, "What differs")
    assert [cell.lines for cell in cells[TRUCK]] == [("T+160",), ("T+100",), ("T+100",)]
    assert [cell.change for cell in cells[PEOPLE]] == ["", DIFFERS, DIFFERS]
    assert len(cells) == 4
    assert list(_group(_page(_again("one"), _again("two")).body.groups, "What differs")) == ["Numbers changed"]


def test_shortage_and_stock_are_those_of_each_run() -> None:
    """First shortage of the plan and at best, windows, when cylinders are first empty."""
    cases = [chosen("as written"), chosen("late"), chosen("calm")]
    groups = _page(*cases).body.groups
    short, (empty,) = _group(groups, "When it is short"), _group(groups, "Cylinders and vessels").values()
    for place, run in enumerate(case.run for case in cases):
        for label, windows in (("this plan", windows_of_plan(run)), ("at best", run.windows)):
            told = short[f"First shortage, {label}"][place].lines[0]
            first = "never" if windows.empty else moment(windows["start_min"].min(), run.scenario.start)
            assert told == first
        lines = short["Windows of shortage, this plan"][place].lines
        shown = 0 if lines == ("none",) else sum("below target" in line or "without" in line for line in lines)
        more = int(lines[-1].split()[0]) if lines[-1].endswith(" more") else 0
        assert shown + more == len(windows_of_plan(run))
    moments = [case.run.first_empty["empty_min"][0] for case in cases]
    assert empty[1].change == f"+{moments[1] - moments[0]:.0f} min"
    assert empty[2].change == DIFFERS


def test_what_must_come_is_the_total_of_each_run() -> None:
    """Cylinders for everyone and for Immediate patients, summed over all steps."""
    cases = [chosen("as written"), chosen("late"), chosen("calm")]
    cells = _group(_page(*cases).body.groups, "What more must be there")
    totals = {}
    for goal, label in (("everyone", "Nobody below target"), ("immediate", "No Immediate patient below target")):
        tables = [case.run.resupply for case in cases]
        totals[goal] = [
            round(table[(table["goal"] == goal) & table["litres"].notna()]["quantity"].sum()) for table in tables
        ]
        assert [int(cell.lines[0]) for cell in cells[f"{label}: cylinders"]] == totals[goal]
    assert totals["everyone"][0] > totals["everyone"][2] == 0
    assert cells["Nobody below target: what, by when"][2].lines == ("Nothing more is needed.",)


def test_what_binds_is_told_most_worth_first() -> None:
    """The first line is what the run found to be worth most; with enough of all nothing binds."""
    cases = [chosen("as written"), chosen("calm")]
    cells = _group(_page(*cases).body.groups, "What binds")
    best = max(cases[0].run.worth.to_dict("records"), key=lambda row: float(row["weighted_gain_min"]))
    assert best["one_more"] in cells["Worth of one more"][0].lines[0]
    assert cells["What binds"][0].lines[0].startswith(best["resource"])
    assert cells["What binds"][1].lines == ("nothing by itself",)
    assert cells["Worth of one more"][1].lines == (NOTHING,)


def test_a_case_without_a_plan_is_told_at_best() -> None:
    """It has no share under this plan, and the headline and its number say so."""
    page = _page(chosen("as written"), _without_plan("bare"))
    cells = _group(page.body.groups, "Coverage, this plan")
    assert {cell.lines[0] for _, cell in cells.values()} == {NOTHING}
    assert "No orders that can be carried out were found for “bare”." in page.headline
    assert [("at best" in figure.label) for figure in page.key_figures] == [False, True]
    plain = _page(_without_plan("bare"), _without_plan("bare too"))
    assert plain.headline == ("No orders that can be carried out were found for “bare” and “bare too”.",)
    assert [group.title for group in plain.body.groups if "Coverage" in group.title] == ["Coverage, best possible"]


def test_the_first_with_a_plan_is_compared_in_the_headline_where_the_first_has_none() -> None:
    """Its sentence then has changes in points against the one that it names first."""
    page = _page(_without_plan("bare"), chosen("as written"), chosen("late"))
    assert page.headline[0].startswith("“as written”: ")
    assert "points)" in page.headline[0]
    assert DIFFERS not in page.headline[0]


def test_what_all_cases_share_is_said_once() -> None:
    """One row for software and settings, one per case for the hash of its scenario."""
    labels = [label for label, _ in _page(chosen("as written"), chosen("late")).provenance]
    assert labels.count("Software") == labels.count("Settings") == 1
    assert sum(label.startswith("Scenario SHA-256, ") for label in labels) == 2


@pytest.mark.parametrize("keys", [[], ["a"], ["a", "b", "a"], [str(place) for place in range(MOST + 1)]])
def test_too_few_too_many_and_the_same_twice_are_refused(keys: list[str]) -> None:
    """Two to six cases, each once."""
    with pytest.raises(UsageError):
        _page(*map(_again, keys))


@pytest.mark.parametrize("href", ["https://a.b/c", "//a/b", "/etc/a", "\\\\a\\b", "javascript:alert(1)"])
def test_a_link_that_leads_away_is_refused(href: str) -> None:
    """Reports are found relative to the page."""
    with pytest.raises(UsageError, match="not relative"):
        _page(_again("a"), dataclasses.replace(_again("b"), href=href))
