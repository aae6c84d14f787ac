"""A crew that plans again and again: it uses nothing that it cannot know, and copes with what it did not expect."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import pytest
from surprises import with_batch

import mci
from mci.demand.groups import count_demand
from mci.dispatch.rolling import rolling
from mci.errors import UsageError
from mci.lp.allocate import allocate
from mci.plan.orders import Order
from mci.scenario.model import Scenario
from mci.settings import Settings

FERRY = mci.read_scenario(Path(mci.__file__).parents[1] / "scenarios" / "ferry-fire.yaml")


def _delivered_later(scenario: Scenario, minutes: float) -> Scenario:
    def later(things):
        return tuple(
            dataclasses.replace(each, available_from=each.available_from + minutes) if each.delivery else each
            for each in things
        )

    return dataclasses.replace(
        scenario,
        lots=later(scenario.lots),
        regulators=later(scenario.regulators),
        devices=later(scenario.devices),
    )


def _until(scenario: Scenario, moment: float, actual: Scenario) -> list[Order]:
    orders = rolling(actual, scenario, 30.0, Settings()).plan.orders
    return [order for order in orders if order.patient and order.minute < moment - 1e-6]


@pytest.mark.parametrize(
    ("moment", "other"),
    [
        (100.0, _delivered_later(FERRY, 60.0)),
        (100.0, _delivered_later(FERRY, math.inf)),
        (15.0, with_batch(FERRY, 1, count=30)),
        (85.0, with_batch(FERRY, 3, leave=150.0)),
    ],
    ids=["truck later", "truck never", "many more", "stays longer"],
)
def test_what_happens_later_changes_nothing_before(moment: float, other: Scenario) -> None:
    """In incidents that are alike up to a moment patients get the same up to it, whatever comes then."""
    as_expected = _until(FERRY, moment, FERRY)
    assert as_expected == _until(FERRY, moment, other)
    assert as_expected


@pytest.mark.parametrize(
    "actual",
    [
        _delivered_later(FERRY, 45.0),
        _delivered_later(FERRY, -40.0),
        _delivered_later(FERRY, math.inf),
        with_batch(FERRY, 1, count=30),
        with_batch(FERRY, 1, count=1),
        with_batch(FERRY, 0, stay=math.inf),
        dataclasses.replace(FERRY, patients=FERRY.patients[1:]),
    ],
    ids=["late", "early", "never", "many more", "few", "stay on", "a batch that never comes"],
)
def test_surprises_are_met(actual: Scenario) -> None:
    """Whatever turns out otherwise, the orders are VALID and no better than the best with everything known."""
    judged = rolling(actual, FERRY, 60.0, Settings())
    best = allocate(actual, count_demand(actual), Settings()).outcome.bound
    assert judged.verdict.validity, judged.verdict.findings[:3]
    assert 0.6 * best < judged.verdict.weighted <= best * (1 + 1e-6)


def test_as_expected_is_nearly_as_good_as_one_plan() -> None:
    """Where everything comes as expected, planning again costs little: within 3 % of the plan made once."""
    once = mci.run(FERRY, further=False).plans[0]
    again = rolling(FERRY, FERRY, 30.0, Settings())
    assert again.verdict.weighted > 0.97 * once.verdict.weighted
    assert again.name == "planned again every 30 min"


def test_nobody_expected_at_all() -> None:
    """With nobody expected the first plans are empty; whoever comes is served all the same."""
    nobody = dataclasses.replace(FERRY, patients=(dataclasses.replace(FERRY.patients[0], arrival=_late()),))
    judged = rolling(FERRY, nobody, 30.0, Settings())
    assert judged.verdict.validity
    assert judged.verdict.coverage["coverage"].iloc[-1] > 0.5


def _late():
    return dataclasses.replace(FERRY.patients[0].arrival, at=FERRY.horizon + 10.0)


@pytest.mark.parametrize("every", [0.0, -5.0, 0.01, math.nan])
def test_planning_without_end_is_refused(every: float) -> None:
    """A time between plans that is no time, or so short that planning never ends, is wrong use."""
    with pytest.raises(UsageError, match="planning again every"):
        rolling(FERRY, FERRY, every, Settings())
