"""Order sheets and cards: every order once, in words, by short marks; changes and losses stand out."""

from __future__ import annotations

import dataclasses
import re
from typing import TYPE_CHECKING

from made_plans import ORDERS

from mci.plan.marks import find_marks, shorten
from mci.plan.orders import Action, sort_orders
from mci.replay.verdict import Validity
from mci.report.build import build_page
from mci.report.html import html_text
from mci.report.order_sheets import order_sheets

if TYPE_CHECKING:
    from mci.pipeline import Run
    from mci.report.order_sheets import Sheet


def sheets(run: Run) -> dict[str, Sheet]:
    """Return the sheets of a run by area."""
    return {sheet.area: sheet for sheet in order_sheets(run.scenario, run.plans[0].plan)}


def test_every_order_is_on_the_sheet_of_its_area_once(planned_run: Run) -> None:
    """The sheets hold all orders, in the order of time, and nothing else."""
    found = sheets(planned_run)
    for title, key in (("West portal", "west"), ("East yard", "east")):
        mine = [order for order in ORDERS if order.area == key]
        assert [(line.patient, line.when) for line in found[title].lines] == [
            (order.patient, f"T+{order.minute:.0f}") for order in mine
        ]
    assert sum(len(sheet.lines) for sheet in found.values()) == len(ORDERS)


def test_a_change_names_both_cylinders_and_the_next_change(planned_run: Run) -> None:
    """What comes off, what goes on, who does it from when, and when the same regulator is due again."""
    first, _, _, change, *_ = (line for line in sheets(planned_run)["West portal"].lines if line.change or line.patient)
    assert first.change is not None
    assert (first.action, first.change.what, first.change.again) == ("Open cylinder", "R1: C1 on", "T+36 (14:36)")
    changes = [line for line in sheets(planned_run)["West portal"].lines if line.change]
    assert [(line.action, line.who) for line in changes][2] == ("Change cylinder", "west staff 1, begins T+34")
    assert changes[2].change is not None
    assert (changes[2].change.what, changes[2].change.again) == ("R1: C1 off, C3 on", "")
    assert changes[2].change.following == "No further change of R1"
    assert change.patient


def test_a_cylinder_that_comes_from_another_regulator_says_so(planned_run: Run) -> None:
    """Who fetches it must know where it is, and it does not come off its old regulator a second time."""
    ours = planned_run.plans[0].plan
    change = next(order for order in ORDERS if order.action is Action.CHANGE)
    one, many = "west one outlet 1", "west manifold"
    orders = [
        dataclasses.replace(change, minute=minute, supply=supply, regulator=regulator)
        for minute, supply, regulator in ((0, "west-1 1", one), (5, "west-1 1", many), (9, "west-1 2", one))
    ]
    (sheet,) = order_sheets(planned_run.scenario, dataclasses.replace(ours, orders=sort_orders(orders)))
    assert [(line.action, line.change.what) for line in sheet.lines if line.change] == [
        ("Open cylinder", "R1: C1 on"),
        ("Open cylinder", "R3: C1 on, taken off R1"),
        ("Open cylinder", "R1: C2 on"),
    ]


def test_a_flow_to_set_is_rounded_up(planned_run: Run) -> None:
    """What is set by the sheet reaches the rung that the plan counts on."""
    ours = planned_run.plans[0].plan
    connect = next(order for order in ORDERS if order.action is Action.CONNECT)
    flows = {24.6435: "24.7 L/min", 4.441: "4.45 L/min", 15.0: "15 L/min", 0.5: "0.5 L/min"}
    for flow, written in flows.items():
        orders = (dataclasses.replace(connect, flow_lpm=flow),)
        (sheet,) = order_sheets(planned_run.scenario, dataclasses.replace(ours, orders=orders))
        assert sheet.lines[0].gives.endswith(f", {written}")


def test_whoever_gets_less_is_marked_with_the_reason(planned_run: Run) -> None:
    """Step-downs and withdrawals are marked and say why; a patient who leaves is neither."""
    west, east = sheets(planned_run).values()
    less = [(line.action, line.reason) for line in west.lines if line.less]
    assert less == [("Step down", "less is left than is needed"), ("Take off oxygen", "the gas runs out")]
    assert [line.action for line in east.lines if not line.change] == ["Connect", "Disconnect"]
    assert not any(line.less for line in east.lines)
    assert west.sums == "12 orders: 4 cylinder changes, 1 move, 1 step-down, 1 withdrawal."


def test_gauges_are_in_the_unit_of_the_scenario(planned_run: Run) -> None:
    """Pressures are written in psi, or in bar where the planner wants bar."""
    metric = dataclasses.replace(planned_run.scenario, pressures_in_bar=True)
    for scenario, unit in ((planned_run.scenario, "1900 psi"), (metric, "131 bar")):
        assert order_sheets(scenario, planned_run.plans[0].plan)[0].lines[0].gauge == unit


def test_marks_are_used_once_in_an_area_and_told(planned_run: Run) -> None:
    """No two things of one area share a mark, and the legend tells all of them."""
    marks = find_marks(planned_run.scenario)
    assert marks.of("west one outlet 2") == "R2"
    assert marks.of("west-2 1") == "C10"
    assert marks.of("unheard of") == "unheard of"
    west = [name for name in marks.by_name if name.startswith("west")]
    assert len({marks.by_name[name] for name in west}) == len(west)
    assert [legend.marks for legend in marks.legends["west"]] == ["R1, R2", "R3", "C1 to C9", "C10, C11"]
    assert marks.legends["west"][-1].what == "2 x US H steel at 2100 psi, from T+60 (supply truck)"


def test_runs_of_marks_are_written_as_ranges() -> None:
    """Only neighbours of one kind are joined."""
    assert shorten(["C1", "C2", "C3", "C7", "C8", "K-101", "X"]) == "C1 to C3, C7, C8, K-101, X"
    assert shorten(["C09", "C10", "C11"]) == "C09, C10, C11"


def test_an_invalid_plan_is_not_shown_as_orders(planned_run: Run) -> None:
    """Orders that the judge did not find valid make no sheet, no card and no timeline."""
    first, *others = planned_run.plans
    for validity in (Validity.INVALID, Validity.UNKNOWN):
        verdict = dataclasses.replace(first.verdict, validity=validity)
        run = dataclasses.replace(planned_run, plans=(dataclasses.replace(first, verdict=verdict), *others))
        page = build_page(run, cards=True)
        assert page.sheets == page.cards == page.unused == ()
        assert "Order sheet" not in html_text(run)


def test_cards_only_on_request_and_one_for_everybody(planned_run: Run) -> None:
    """Every patient has a card with the orders of that patient; who gets none is told so."""
    assert build_page(planned_run).cards == ()
    cards = build_page(planned_run, cards=True).cards
    assert len(cards) == 20
    by_name = {card.patient: card for card in cards}
    first = by_name["delayed patients 1"]
    assert [line.action for _, line in first.lines] == ["Connect", "Step down", "Set flow"]
    assert by_name["minimal patients 1"].stays[-1] == "T+150 (16:30): leaves"
    text = html_text(planned_run, cards=True)
    assert text.count('<article class="card">') == 20
    assert text.count("No oxygen in this plan") == 20 - len({o.patient for o in ORDERS if o.patient})


def test_every_sheet_says_who_decides(planned_run: Run) -> None:
    """A sheet may be handed out alone: it says itself that local protocol and licensed practice decide."""
    (*sheets_of,) = html_text(planned_run).split('<section class="sheet">')[1:]
    assert len(sheets_of) == 2
    assert all("licensed practice decide" in text.partition("<table")[0] for text in sheets_of)


def test_every_row_has_its_tick_box(planned_run: Run) -> None:
    """One box per order on the sheets, and rows of changes and losses are told apart by more than colour."""
    text = html_text(planned_run)
    assert text.count('<td class="tick">') == len(ORDERS)
    assert text.count('<tr class="change">') == sum(order.action is Action.CHANGE for order in ORDERS)
    assert len(re.findall(r'<tr class="less">', text)) == 2
