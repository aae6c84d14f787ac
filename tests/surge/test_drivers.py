"""Which inputs drive the result: published test functions, groups, failed cases, constants."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from made_numbers import numbers
from scipy.stats import sobol_indices

from mci.scenario.numbers import NumberKind
from mci.scenario.quantity import read_value
from mci.scenario.uncertain import Correlation, Fixed, Mix, Triangular, Uncertain, Uncertainty, Uniform
from mci.surge.cases import Role
from mci.surge.drivers import COLUMNS, DriverDesign, driver_design, driver_indices

TURN = NumberKind.TEMPERATURE  # the one kind that may be negative


def _design(law: object, count: int, points: int, kind: NumberKind = TURN) -> DriverDesign:
    paths = [f"x{number}" for number in range(1, count + 1)]
    uncertainty = Uncertainty(tuple(Uncertain(path, law) for path in paths))
    return driver_design(uncertainty, numbers(**dict.fromkeys(paths, kind)), points, 3)


def _inputs(design: DriverDesign, kind: NumberKind = TURN) -> np.ndarray:
    return np.asarray([[read_value(kind, text) for text in case.values.values()] for case in design.cases]).T


def _table(design: DriverDesign, **measures: object) -> pd.DataFrame:
    return pd.DataFrame({"key": [case.key for case in design.cases], "status": "planned", **measures})


def _ishigami(x: np.ndarray) -> np.ndarray:
    return np.sin(x[0]) + 7 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])


def test_ishigami() -> None:
    """Indices are those of T. Ishigami and T. Homma (1990), a = 7, b = 0.1, in closed form, within their intervals."""
    alone = 0.5 * (1 + 0.1 * math.pi**4 / 5) ** 2
    second, together = 49 / 8, 0.01 * math.pi**8 * (1 / 18 - 1 / 50)
    whole = alone + second + together
    first = np.asarray([alone, second, 0]) / whole
    total = np.asarray([alone + together, second, together]) / whole
    design = _design(Uniform(-math.pi, math.pi), 3, 1024)
    found = driver_indices(_table(design, y=_ishigami(_inputs(design))), design, ["y"])
    assert tuple(found.columns) == COLUMNS
    np.testing.assert_allclose(found["first"], first, atol=0.03)
    np.testing.assert_allclose(found["total"], total, atol=0.03)
    assert found["first"].between(found["first_low"], found["first_high"]).all()
    assert ((found["first_low"] <= first) & (first <= found["first_high"])).all()
    assert ((found["total_low"] <= total) & (total <= found["total_high"])).all()


def test_g_function() -> None:
    """Indices are those of A. Saltelli and I. M. Sobol' (1995), with a = 0, 1, 4.5, 9, in closed form."""
    a = np.asarray([0, 1, 4.5, 9])
    parts = 1 / (3 * (1 + a) ** 2)
    whole = np.prod(1 + parts) - 1
    first = parts / whole
    total = parts * np.prod(1 + parts) / (1 + parts) / whole
    design = _design(Uniform(0, 1), 4, 2048, NumberKind.SHARE)
    inputs = _inputs(design, NumberKind.SHARE)
    harm = np.prod((np.abs(4 * inputs - 2) + a[:, None]) / (1 + a[:, None]), axis=0)
    found = driver_indices(_table(design, y=harm), design, ["y"])
    np.testing.assert_allclose(found["first"], first, atol=0.02)
    np.testing.assert_allclose(found["total"], total, atol=0.02)


def test_the_library_is_given_what_it_wants() -> None:
    """A power of 2 of points gives exactly what the library gives on the same results."""
    design = _design(Uniform(-math.pi, math.pi), 3, 64)
    blocks = _ishigami(_inputs(design)).reshape(5, 1, 64)
    expected = sobol_indices(func={"f_A": blocks[0], "f_B": blocks[1], "f_AB": blocks[2:]}, n=64)
    found = driver_indices(_table(design, y=blocks.ravel()), design, ["y"])
    np.testing.assert_allclose(found["first"], expected.first_order)
    np.testing.assert_allclose(found["total"], expected.total_order)


def test_any_number_of_points_and_failed_cases() -> None:
    """A failed case takes its base point away; the rest are estimated as if it had never been there."""
    design = _design(Uniform(-math.pi, math.pi), 3, 100)
    harm = _ishigami(_inputs(design))
    broken = _table(design, y=harm)
    broken.loc[[99, 299, 499], "status"] = "no plan"  # the last point of A, and of A with inputs 1 and 3
    fewer = _design(Uniform(-math.pi, math.pi), 3, 99)
    found = driver_indices(broken, design, ["y"])
    expected = driver_indices(_table(fewer, y=_ishigami(_inputs(fewer))), fewer, ["y"])
    assert set(found["points"]) == {99}
    pd.testing.assert_frame_equal(found, expected)
    whole = harm.reshape(5, 100)[:, :99]
    variance = np.var(whole[:2])
    by_hand = [0.5 * np.mean((whole[0] - mixed) ** 2) / variance for mixed in whole[2:]]
    np.testing.assert_allclose(found["total"], by_hand)


def test_rows_of_any_order_and_other_cases() -> None:
    """The order of rows does not matter, rows of other cases are ignored, and the same table gives the same answer."""
    design = _design(Uniform(0, 1), 2, 32)
    rows = _table(design, y=_inputs(design)[0])
    other = pd.DataFrame({"key": ["1"], "status": ["planned"], "y": [1e6]})
    shuffled = pd.concat([other, rows.sample(frac=1, random_state=2)])
    pd.testing.assert_frame_equal(driver_indices(rows, design, ["y"]), driver_indices(shuffled, design, ["y"]))


def test_what_does_nothing_and_what_is_constant() -> None:
    """An input without effect has the indices 0, the only one that matters 1; a constant result gives 0."""
    design = _design(Uniform(0, 1), 2, 64)
    first, second = _inputs(design)
    found = driver_indices(_table(design, y=first, same=0.3 + 1e-13 * second), design, ["y", "same"])
    numeric = list(COLUMNS[3:])
    effect, none = found.iloc[0], found.iloc[1]
    assert effect["first"] == pytest.approx(1, abs=0.05)
    assert effect["total"] == pytest.approx(1, abs=0.05)
    assert (none[["total", "total_low", "total_high"]] == 0).all()
    assert (found.loc[found["measure"] == "same", numeric] == 0).all(axis=None)


def test_one_input_alone() -> None:
    """With one input its total index is 1 up to what the points leave."""
    design = _design(Uniform(0, 1), 1, 64)
    found = driver_indices(_table(design, y=_inputs(design)[0]), design, ["y"])
    assert found["total"].tolist() == [pytest.approx(1, abs=0.05)]


@pytest.mark.parametrize("points", [1, 2, 7])
def test_few_points_have_no_interval(points: int) -> None:
    """From a few points no interval is told; from none, nothing."""
    design = _design(Uniform(0, 1), 2, points)
    rows = _table(design, y=_inputs(design)[0])
    assert driver_indices(rows, design, ["y"])[["first_low", "total_high"]].isna().all(axis=None)
    rows["status"] = "no plan"
    assert driver_indices(rows, design, ["y"])[["first", "total"]].isna().all(axis=None)


def test_a_mix_is_one_input() -> None:
    """A mix has one pair of indices: half of a sum that is half its own, all of one of its counts."""
    mix = Mix(("a", "b"), (3, 1), Uniform(20, 80))
    uncertainty = Uncertainty((Uncertain("x", Uniform(0, 60), 1),), (mix,))
    kinds = {"x": NumberKind.DELAY, "a": NumberKind.COUNT, "b": NumberKind.COUNT}
    design = driver_design(uncertainty, numbers(**kinds), 512, 5)
    assert design.inputs == ("x", "a + b")
    assert len(design.cases) == 4 * 512
    values = {path: np.asarray([read_value(kinds[path], case.values[path]) for case in design.cases]) for path in kinds}
    harm = values["x"] + values["a"] + values["b"]
    found = driver_indices(_table(design, y=harm), design, ["y"])
    np.testing.assert_allclose(found["first"], [0.5, 0.5], atol=0.03)
    np.testing.assert_allclose(found["total"], [0.5, 0.5], atol=0.03)
    of_part = driver_indices(_table(design, y=values["a"]), design, ["y"])
    np.testing.assert_allclose(of_part["total"], [0, 1], atol=0.03)


def test_only_one_input_is_exchanged() -> None:
    """Case ``A3 with B in input 2`` has input 2 of B3 and all others of A3."""
    design = _design(Triangular(0, 15, 90), 3, 8, NumberKind.DELAY)
    by_key = {case.key: case for case in design.cases}
    assert len(by_key) == len(design.cases) == 5 * 8
    assert {case.role for case in design.cases} == {Role.DRIVER}
    a, b, mixed = (by_key[key].values for key in ("A3", "B3", "A3 with B in input 2"))
    assert mixed == {**a, "x2": b["x2"]}


def test_correlations_are_left_out_and_said() -> None:
    """Indices are those of independent inputs, which is said where inputs are correlated."""
    numbers_ = (Uncertain("x1", Uniform(0, 1)), Uncertain("x2", Fixed(1)))
    known = numbers(x1=TURN, x2=TURN)
    alone = driver_design(Uncertainty(numbers_), known, 8, 1)
    together = driver_design(Uncertainty(numbers_, (), (Correlation("x1", "x2", 0.5),)), known, 8, 1)
    assert alone.notes == ()
    assert alone.cases == together.cases
    assert "correlations are left out" in together.notes[0]
