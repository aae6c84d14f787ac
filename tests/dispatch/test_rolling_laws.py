"""Laws of rolling plans on invented incidents that turn out otherwise than expected."""

from __future__ import annotations

import dataclasses

from hypothesis import given
from hypothesis import strategies as st
from properties.common import bound, repeatable
from properties.random_incidents import incidents
from surprises import otherwise

from mci.dispatch.rolling import rolling
from mci.errors import InputError
from mci.scenario.model import Scenario
from mci.settings import Settings

#: Sums over the same minutes differ by rounding only.
SAME = 1e-6
PAIRS = incidents(memory=True).flatmap(lambda made: st.tuples(otherwise(made), st.just(made)))


@repeatable(150)
@given(PAIRS, st.sampled_from([15.0, 20.0, 60.0]))
def test_whatever_happens_orders_are_valid_and_within_the_bound(pair: tuple[Scenario, Scenario], every: float) -> None:
    """VALID but for a reserve that may be lost, and no better than with everything known beforehand."""
    actual, expected = pair
    judged = rolling(actual, expected, every, Settings())
    assert {each.law for each in judged.verdict.findings} <= {"reserve"}, judged.verdict.findings
    try:
        best = bound(dataclasses.replace(actual, reserve={}))
    except InputError:  # nobody comes
        best = 0.0
    assert 0 <= judged.verdict.weighted <= best * (1 + SAME) + SAME
