"""Values at points: rounded, within what a number can be, and written so that they read back."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_numbers import numbers

from mci.errors import UsageError
from mci.scenario.numbers import NumberKind
from mci.scenario.quantity import read_value
from mci.scenario.uncertain import (
    Empirical,
    Fixed,
    Law,
    Lognormal,
    Mix,
    OneOf,
    Poisson,
    Triangular,
    Uncertain,
    Uncertainty,
    Uniform,
)
from mci.surge.cube import sobol_points
from mci.surge.inputs import Valued, inputs_of, values_at
from mci.surge.laws import quantile

KINDS = tuple(kind for kind in NumberKind if kind is not NumberKind.WORD)


def _values(uncertainty: Uncertainty, count: int = 256, **kinds: NumberKind) -> Valued:
    inputs = inputs_of(uncertainty)
    points = sobol_points(count, 1 + inputs[-1].columns[-1], 4)
    return values_at(points, inputs, numbers(**kinds))


def _one(law: Law, kind: NumberKind, step: float | None = None, count: int = 256) -> Valued:
    return _values(Uncertainty((Uncertain("x", law, step),)), count, x=kind)


laws = st.one_of(
    st.builds(Fixed, st.floats(0, 1e5)),
    st.builds(Lognormal, st.floats(1e-3, 1e5), st.floats(1, 3)),
    st.builds(Poisson, st.floats(0, 1e4)),
    st.floats(-100, 1e4).flatmap(lambda low: st.builds(Uniform, st.just(low), st.floats(low, low + 1e4))),
    st.builds(Empirical, st.lists(st.floats(0, 1e5), min_size=1, max_size=4).map(tuple), st.just("f")),
)


@given(laws, st.sampled_from(KINDS), st.sampled_from([None, 0.5, 1.0, 5.0, 25.0]))
def test_texts_read_back_to_the_values(law: Law, kind: NumberKind, step: float | None) -> None:
    """What is written reads back to exactly the value, and is never outside of what the number can be."""
    valued = _one(law, kind, step, count=16)
    assert [read_value(kind, text) for text in valued.texts["x"]] == valued.values["x"].tolist()
    least = {NumberKind.COUNT: 1, NumberKind.TEMPERATURE: -273.15}.get(kind, 0)
    most = {NumberKind.SHARE: 1, NumberKind.COUNT: 1e6, NumberKind.STOCK: 1e6}.get(kind, np.inf)
    assert (valued.values["x"] >= least).all()
    assert (valued.values["x"] <= most).all()
    assert kind not in (NumberKind.DURATION, NumberKind.MASS) or (valued.values["x"] > 0).all()


def test_texts_are_what_a_planner_writes() -> None:
    """Texts have the unit of the number; moments count from the start."""
    kinds = {
        NumberKind.DELAY: "35 min",
        NumberKind.MOMENT: "T+35",
        NumberKind.PRESSURE: "35 psi",
        NumberKind.COUNT: "35",
        NumberKind.FLOW: "35 L/min",
        NumberKind.TEMPERATURE: "35 C",
    }
    assert {kind: _one(Fixed(35), kind).texts["x"][0] for kind in kinds} == kinds


@pytest.mark.parametrize(
    ("kind", "step", "grain"),
    [
        (NumberKind.DELAY, None, 5),
        (NumberKind.MOMENT, None, 5),
        (NumberKind.DURATION, None, 5),
        (NumberKind.COUNT, None, 1),
        (NumberKind.STOCK, None, 1),
        (NumberKind.PRESSURE, 50, 50),
        (NumberKind.DELAY, 1, 1),
    ],
)
def test_values_are_whole_steps(kind: NumberKind, step: float | None, grain: float) -> None:
    """Values are whole multiples of the step, and half a step at most off the quantile."""
    values = _one(Uniform(100, 200), kind, step).values["x"]
    exact = 100 + 100 * sobol_points(256, 1, 4)[:, 0]
    np.testing.assert_array_equal(values, np.round(values / grain) * grain)
    assert np.abs(values - exact).max() <= grain / 2


def test_nothing_is_written_as_minus_nothing() -> None:
    """What is rounded to 0 from below is written as 0."""
    assert set(_one(Uniform(-1, 1), NumberKind.TEMPERATURE, 5).texts["x"]) == {"0 C"}


def test_what_is_fixed_stays() -> None:
    """A fixed value is not rounded unless a step is given."""
    assert set(_one(Fixed(7), NumberKind.DELAY).values["x"]) == {7.0}
    assert set(_one(Fixed(7), NumberKind.DELAY, 5).values["x"]) == {5.0}


def test_what_cannot_be_is_raised_or_lowered_and_said() -> None:
    """A count is 1 or more, a share at most 1, a duration above 0, and how often that mattered is said."""
    count = _one(OneOf(("1", "2"), (0.5, 0.5)), NumberKind.COUNT)
    assert count.notes == ()
    none = _one(Empirical((0, 0, 0, 8), "f"), NumberKind.COUNT)
    assert set(none.values["x"]) == {1.0, 8.0}
    assert none.notes == ("x: raised in 192 of 256 samples to 1, the least that it can be",)
    assert _one(Fixed(1), NumberKind.SHARE).notes == ()
    share = _one(Uniform(0.5, 1.5), NumberKind.SHARE)
    assert share.notes == ("x: lowered in 128 of 256 samples to 1, the most that it can be",)
    brief = _one(Uniform(0, 5), NumberKind.DURATION)
    assert brief.notes == ("x: raised in 128 of 256 samples to 5 min, the least that it can be",)


def test_words_are_chosen() -> None:
    """A choice gives its texts as written, and the number of the option as value."""
    valued = _one(OneOf(("evenly", "early"), (0.75, 0.25)), NumberKind.WORD)
    assert valued.texts["x"].count("early") == 64
    assert [("evenly", "early")[int(value)] for value in valued.values["x"]] == valued.texts["x"]


def test_a_mix_sums_to_its_total() -> None:
    """The counts of a mix sum to the total as drawn, on average in the ratio of the weights."""
    mix = Mix(("a", "b", "c"), (12, 6, 2), Triangular(40, 60, 100))
    counts = dict.fromkeys("abc", NumberKind.COUNT)
    valued = _values(Uncertainty((), (mix,)), 4096, **counts)
    columns = np.stack([valued.values[path] for path in "abc"])
    totals = np.round(quantile(mix.total, sobol_points(4096, 4, 4)[:, 0]))
    np.testing.assert_array_equal(columns.sum(axis=0), totals)
    np.testing.assert_allclose(columns.mean(axis=1) / columns.mean(axis=1).sum(), [0.6, 0.3, 0.1], atol=0.005)


def test_a_mix_of_few_has_one_of_each() -> None:
    """No line of patients has 0: counts and, if need be, the total are raised, which is said; stock may be 0."""
    mix = Mix(("a", "b", "c"), (8, 1, 1), Poisson(3))
    valued = _values(Uncertainty((), (mix,)), 256, a=NumberKind.COUNT, b=NumberKind.COUNT, c=NumberKind.STOCK)
    assert min(valued.values["a"].min(), valued.values["b"].min()) == 1
    assert valued.values["c"].min() == 0
    assert sum(valued.values[path] for path in "abc").min() == 2
    total, part = valued.notes
    assert total.startswith("a + b + c: raised in ")
    assert total.endswith(" of 256 samples to 2, the least that it can be")
    assert part.startswith("a + b + c: a count raised to 1 in ")


def test_inputs_share_no_coordinate() -> None:
    """Each input has coordinates of its own, a mix one for the total and one for each part."""
    inputs = inputs_of(Uncertainty((Uncertain("x", Fixed(1)),), (Mix(("a", "b"), (1, 1), Poisson(3)),)))
    assert [(each.name, each.columns) for each in inputs] == [("x", (0,)), ("a + b", (1, 2, 3))]


def test_nothing_uncertain_is_refused() -> None:
    """Where nothing is uncertain there is nothing to draw."""
    with pytest.raises(UsageError, match="nothing to draw"):
        inputs_of(Uncertainty())
