"""The page of a debrief: what it says is what was found, sums close, and nobody is named."""

from __future__ import annotations

import dataclasses
import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_debrief import made_debrief

from mci.drills.debriefed import Cause, Debrief
from mci.drills.log import Note, NoteKind
from mci.drills.log_faults import Fault, fault_of
from mci.plan.marks import find_marks
from mci.plan.orders import Action, Order
from mci.replay.verdict import Finding
from mci.report.debrief_build import EXERCISE, build_debrief_page
from mci.report.debrief_html import debrief_html_text
from mci.report.debrief_series import StillPossible, reached_steps, still_possible
from mci.report.debrief_told import inject_letters
from mci.report.debrief_words import CAUSE_COUNTS, Discretion, credit, needed_weighted, signed_credit
from mci.report.figures.still_possible import axis_from
from mci.report.words import share

SOMEBODY = "Somebody Real"


def number(words: str) -> float:
    """Return the first number of a text."""
    found = re.search(r"[-+−±]?\d[\d ]*(?:\.\d+)?", words.replace("\u00a0", " "))
    assert found, words
    return float(found[0].replace(" ", "").replace("−", "-").replace("±", ""))


def with_notes(*notes: Note) -> Debrief:
    """Return the debrief with other remarks on the log."""
    found = made_debrief()
    return dataclasses.replace(found, log=dataclasses.replace(found.log, notes=notes))


def test_the_headline_has_the_three_numbers_and_the_whole() -> None:
    """Team, usual practice (its better way) and best orders as shares of the need by weight; the rest was lost."""
    found = made_debrief()
    lead, lost, knows = build_debrief_page(found).headline
    need = needed_weighted(found)
    usual = max(found.usual, key=lambda judged: judged.verdict.weighted)
    for judged in (found.team, usual, found.best):
        assert share(judged.verdict.weighted / need) in lead
    assert usual.name in lead
    possible, reached, gone = (number(part) for part in re.findall(r"[\d ]+\.\d", lost)[:3])
    assert possible == round(found.bound, 1)
    assert reached == round(found.team.verdict.weighted, 1)
    assert gone == pytest.approx(found.bound - found.team.verdict.weighted, abs=0.051)
    assert "know everything beforehand" in knows
    assert "no crew can" in knows


def test_causes_sum_to_the_whole_as_shown() -> None:
    """Each row is shown to a tenth, so their sum is the total but for half a tenth a row; so are the columns beside."""
    body = build_debrief_page(made_debrief()).body
    total = number(body.total)
    assert sum(number(row.lost) for row in body.causes) == pytest.approx(total, abs=0.05 * len(body.causes) + 0.05)
    assert sum(number(row.share) for row in body.causes) == pytest.approx(100.0, abs=0.05 * len(body.causes))
    assert body.others is not None
    shown = [*body.causes[: body.first_causes], body.others]
    assert sum(number(row.lost) for row in shown) == pytest.approx(total, abs=0.05 * len(shown) + 0.05)
    assert [row.name for row in body.causes] == [row.name for row in body.split]
    for row, split in zip(body.causes, body.split, strict=True):
        assert number(row.lost) == pytest.approx(number(split.total), abs=0.11)
        assert sum(number(cell) for cell in split.cells if cell != "–") == pytest.approx(number(split.total), abs=0.11)
    assert number(body.split_sum[-1]) == pytest.approx(total, abs=0.051)
    assert credit(made_debrief().bound) in body.rule
    assert body.total in body.rule


def test_stretches_fall_from_the_bound_to_what_was_reached() -> None:
    """The figure begins at the bound, ends at what was reached and never rises; rows carry their decision."""
    found = made_debrief()
    line = still_possible(found)
    assert line.possible[0] == found.bound
    assert line.possible[-1] == pytest.approx(found.team.verdict.weighted)
    assert list(line.possible) == sorted(line.possible, reverse=True)
    assert line.times[0] == 0
    assert line.times[-1] == found.scenario.horizon
    rows = build_debrief_page(found).body.stretches
    assert sorted(row.decision for row in rows if row.decision) == ["1", "2", "3"]
    lost = sum(number(row.lost) for row in rows)
    assert lost == pytest.approx(found.bound - found.team.verdict.weighted, abs=0.05 * len(rows) + 0.05)


@given(st.floats(1.0, 1e5), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_a_small_loss_is_seen_and_nothing_is_cut_off(bound: float, kept: float, usual: float) -> None:
    """The axis begins at or below all that is drawn, and at nothing where much was lost."""
    line = StillPossible((0.0, 60.0), (bound, kept * bound), usual * bound, (), ())
    low = axis_from(line)
    least = min(kept, usual) * bound
    assert 0 <= low <= least
    assert low == 0 or least >= 0.6 * bound


def test_steps_over_time_keep_credit_times_minutes() -> None:
    """What is drawn for a plan has the area that the judge found, and need that of all stays."""
    found = made_debrief()
    steps = reached_steps(found)
    lengths = [end - start for start, end in zip(steps.edges, steps.edges[1:], strict=False)]

    def whole(judged: object, column: str) -> float:
        table = judged.verdict.coverage.set_index("category")  # type: ignore[attr-defined]
        return float(table.loc["all", column])

    for values, judged in ((steps.team, found.team), (steps.best, found.best)):
        area = sum(value * length for value, length in zip(values, lengths, strict=True))
        assert area == pytest.approx(whole(judged, "credit_min"), rel=1e-4)
    need = sum(value * length for value, length in zip(steps.need, lengths, strict=True))
    assert need == pytest.approx(whole(found.team, "needed_patient_min"), rel=1e-4)


def test_coverage_is_that_of_the_judged_plans() -> None:
    """Rows are categories, columns the team, both ways of usual practice and the best orders."""
    found = made_debrief()
    body = build_debrief_page(found).body
    judged = (found.team, *found.usual, found.best)
    assert len(body.plans) == len(judged)
    for line in body.coverage:
        for cell, each in zip(line.coverage, judged, strict=True):
            table = each.verdict.coverage.set_index("category")
            assert cell == share(float(table.loc[line.category, "coverage"]))


def test_every_remark_on_the_log_is_shown_as_what_was_read() -> None:
    """One line each, in order, with what stood there and what it was taken for; the sum counts them."""
    found = made_debrief()
    body = build_debrief_page(found).body
    assert len(body.log) == len(found.log.notes)
    for line, note in zip(body.log, found.log.notes, strict=True):
        assert line.kind == note.kind
        assert line.line == (str(note.line) if note.line else "–")
        if note.column != "by":
            assert (line.written, line.read, line.why) == (note.written, note.read, note.why)
    assert "2 corrected, 1 left out, 2 gaps and 1 contradiction" in body.log_sum
    html = debrief_html_text(found).replace("\u00a0", " ").replace("&#39;", "'")
    for note in found.log.notes:
        assert note.column == "by" or note.why in html


def test_a_spotless_log_says_so() -> None:
    """No remarks, no table."""
    body = build_debrief_page(made_debrief(notes=False)).body
    assert body.log == ()
    assert "nothing had to be corrected" in body.log_sum


def test_findings_carry_the_line_of_the_log() -> None:
    """Everything that the judge found is there once, under what it means; what has no single order has no line."""
    found = made_debrief()
    body, orders = build_debrief_page(found).body, found.team.plan.orders
    lines = [line for group in body.faults for line in group.lines]
    findings = sorted(found.team.verdict.findings, key=lambda each: list(Fault).index(fault_of(each, orders)))
    assert len(lines) == len(findings) > 0
    for line, finding in zip(lines, findings, strict=True):
        assert line.line == (str(found.log.lines[finding.row - 1]) if finding.row else "–")
    marks = find_marks(found.scenario)
    assert not any(name in line.reason for line in lines for name in marks.by_name)
    assert not {(line.line, line.reason) for line in lines} & {(note.line, note.why) for note in body.log}


def test_what_can_have_happened_is_not_called_impossible() -> None:
    """An empty cylinder or a regulator that ended while in use went wrong; the order itself was possible."""
    connect = Order(10.0, "yard", Action.CONNECT, "P01", "mask", 6.0, "cylinder", "regulator")
    told = {
        Fault.WRONG: (Finding("content", 1, 42.0, "empty"), Finding("window", 1, 57.0, "gone"),
                      Finding("range", 1, 10.0, "too little"), Finding("in service", 1, 10.0, "too low")),
        Fault.IMPOSSIBLE: (Finding("window", 1, 10.0, "not there yet"), Finding("outlets", 1, 10.0, "taken"),
                           Finding("present", 1, 10.0, "not there"), Finding("holds", 0, 10.0, "two on it")),
        Fault.OPEN: (Finding("present", 1, 70.0, "left"), Finding("silent", 1, 10.0, "no reason"),
                     Finding("hands", 1, 10.0, "who?", judged=False)),
    }  # fmt: skip
    for fault, findings in told.items():
        assert [fault_of(each, [connect]) for each in findings] == [fault] * len(findings)


def test_orders_of_a_stretch_stand_beside_better_ones() -> None:
    """All of the team's orders in it with their line, all better ones; nobody's name among them."""
    found = made_debrief()
    for facing, missed in zip(build_debrief_page(found).body.facing, found.missed, strict=True):
        assert [act.line for act in facing.team] == [str(found.log.lines[row - 1]) for row in missed.did_rows]
        assert len(facing.better) == len(missed.better_orders)
        assert all(act.what for act in facing.team + facing.better)


def test_injects_have_letters_in_events_and_figure() -> None:
    """The same letter in both; without an exercise there are none, and nothing claims to be exercise data."""
    body = build_debrief_page(made_debrief()).body
    assert [event.letter for event in body.events if event.letter] == ["a", "b", "c"]
    assert [letter for letter, _ in still_possible(made_debrief()).injects] == ["a", "b", "c"]
    assert body.exercise == EXERCISE
    assert EXERCISE in debrief_html_text(made_debrief())
    real = made_debrief(exercise=False)
    assert inject_letters(real) == ()
    assert not any(event.letter for event in build_debrief_page(real).body.events)
    assert "Exercise data" not in debrief_html_text(real)


def test_nobody_is_named() -> None:
    """Who did what is nowhere on the page, be it a role of the scenario or a name in the log."""
    found = made_debrief()
    note = Note(NoteKind.LEFT_OUT, 4, "patient", "P88", "", f"{SOMEBODY} is no patient.", math.nan)
    found = dataclasses.replace(found, log=dataclasses.replace(found.log, notes=(*found.log.notes, note)))
    orders = tuple(dataclasses.replace(order, by=SOMEBODY if order.by else "") for order in found.team.plan.orders)
    team = dataclasses.replace(found.team, plan=dataclasses.replace(found.team.plan, orders=orders))
    for each in (found, dataclasses.replace(found, team=team)):
        html = debrief_html_text(each)
        assert SOMEBODY not in html
        assert "field staff" not in html
        assert re.search(r"<th[^>]*>(By|Who|Name)\b", html) is None


@given(st.text("ab 1.,", max_size=12))
def test_hiding_names_never_hides_what_is_no_name(text: str) -> None:
    """Numbers and single letters in the column are no names; texts without a name stay as they are."""
    found = made_debrief()
    numbers = tuple(dataclasses.replace(note, written="1") for note in found.log.notes if note.column == "by")
    plain = dataclasses.replace(found, log=dataclasses.replace(found.log, notes=numbers))
    assert Discretion(plain).hide(text) == text
    assert Discretion(found).hide(text) == text


def test_text_is_escaped() -> None:
    """Whatever stands in a log or a scenario is text, never markup."""
    nasty = "<script>alert(1)</script>"
    notes = with_notes(Note(NoteKind.LEFT_OUT, 2, nasty, nasty, nasty, nasty, 1.0))
    missed = tuple(dataclasses.replace(each, did=nasty, better=nasty, patients=(nasty,)) for each in notes.missed)
    scenario = dataclasses.replace(notes.scenario, name=nasty, summary=nasty)
    html = debrief_html_text(dataclasses.replace(notes, missed=missed, scenario=scenario, notes=(nasty,)))
    assert "<script" not in html
    assert html.count("&lt;script&gt;") >= 10


def test_nothing_lost_is_told_as_such() -> None:
    """A team that reached everything has no causes, no decisions, and a page all the same."""
    found = made_debrief()
    reached = found.team.verdict.weighted
    perfect = dataclasses.replace(
        found, bound=reached, causes=found.causes.iloc[:0], losses=found.losses.iloc[:0],
        stretches=found.stretches.iloc[:0], missed=(), objectives=(), improvements=(), usual=(),
    )  # fmt: skip
    page = build_debrief_page(perfect)
    assert "nothing was lost" in page.headline[1]
    assert page.body.causes == ()
    html = debrief_html_text(perfect)
    assert "Nothing was lost." in html
    assert "usual practice" not in page.headline[0]


def test_every_cause_says_what_counts_as_it() -> None:
    """No cause is shown without its meaning."""
    assert set(CAUSE_COUNTS) == set(Cause)


@given(st.floats(-1e6, 1e6))
def test_amounts_never_read_as_nothing(amount: float) -> None:
    """What is there is told as more or less than nothing, and else to a tenth."""
    words = credit(amount)
    if abs(amount) <= 1e-6:
        assert words == "0.0"
    elif round(amount, 1) == 0:
        assert words in ("< 0.1", "> −0.1")
    else:
        assert number(words) == pytest.approx(amount, abs=0.0501)
        assert number(signed_credit(amount)) == pytest.approx(amount, abs=0.0501)
