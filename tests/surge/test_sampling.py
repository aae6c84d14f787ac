"""Sampled incidents: the same whatever their number, with the moments of their laws."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest
from made_numbers import numbers
from scipy import stats

from mci.scenario.numbers import NumberKind
from mci.scenario.quantity import read_value
from mci.scenario.uncertain import (
    Correlation,
    Lognormal,
    Mix,
    OneOf,
    Poisson,
    Triangular,
    Uncertain,
    Uncertainty,
    Uniform,
)
from mci.surge.cases import Role
from mci.surge.cube import Way
from mci.surge.laws import mean
from mci.surge.sampling import Drawn, draw

KINDS = {
    "arrivals": NumberKind.COUNT,
    "truck": NumberKind.DELAY,
    "pressure": NumberKind.PRESSURE,
    "pattern": NumberKind.WORD,
    "red": NumberKind.COUNT,
    "yellow": NumberKind.COUNT,
}
UNCERTAINTY = Uncertainty(
    numbers=(
        Uncertain("arrivals", Poisson(30)),
        Uncertain("truck", Triangular(0, 15, 90)),
        Uncertain("pressure", Lognormal(1850, 1.1), step=10),
        Uncertain("pattern", OneOf(("evenly", "early"), (0.6, 0.4))),
    ),
    mixes=(Mix(("red", "yellow"), (6, 14), Uniform(60, 100)),),
    correlations=(Correlation("arrivals", "truck", 0.5),),
)
WAYS: tuple[Way, ...] = ("sobol", "plain")


def _draw(samples: int, way: Way, seed: int = 7) -> Drawn:
    return draw(UNCERTAINTY, numbers(**KINDS), samples, seed, way)


@pytest.mark.parametrize("way", WAYS)
def test_samples_do_not_depend_on_how_many(way: Way) -> None:
    """The first 10 of 1,000 sampled incidents are the 10 that are drawn alone; another seed gives others."""
    assert _draw(1000, way).cases[:10] == _draw(10, way).cases
    assert _draw(10, way).cases != _draw(10, way, seed=8).cases


@pytest.mark.parametrize("way", WAYS)
def test_cases_say_the_values(way: Way) -> None:
    """Every case is a sample named by its number, and its texts read back to the values."""
    drawn = _draw(100, way)
    assert [case.key for case in drawn.cases] == [str(number) for number in range(1, 101)]
    assert {case.role for case in drawn.cases} == {Role.SAMPLE}
    assert drawn.points.shape == (100, 7)
    for path in UNCERTAINTY.paths:
        texts = [case.values[path] for case in drawn.cases]
        if path == "pattern":
            assert texts == [("evenly", "early")[int(value)] for value in drawn.values[path]]
        else:
            assert [read_value(KINDS[path], text) for text in texts] == drawn.values[path].tolist()


@pytest.mark.parametrize("way", WAYS)
def test_samples_have_the_moments_of_their_laws(way: Way) -> None:
    """Means, standard deviations and rank correlations lie within four standard errors of the true ones."""
    count = 4096
    values = _draw(count, way).values
    spread = mean(Lognormal(1850, 1.1)) * math.sqrt(math.exp(math.log(1.1) ** 2) - 1)
    expected = {
        "arrivals": (30, math.sqrt(30)),
        "truck": (35, stats.triang(1 / 6, 0, 90).std()),
        "pressure": (mean(Lognormal(1850, 1.1)), spread),
        "pattern": (0.4, math.sqrt(0.24)),
        "red": (80 * 0.3, math.sqrt((400 / 3 + 6400) * (0.21 / 21 + 0.09) - 24**2)),
    }
    for path, (middle, deviation) in expected.items():
        grain = {"truck": 5, "pressure": 10, "pattern": 0}.get(path, 1)  # rounding adds a variance of grain^2 / 12
        rounded = math.sqrt(deviation**2 + grain**2 / 12) if path != "arrivals" else deviation
        error = rounded / math.sqrt(count)
        assert values[path].mean() == pytest.approx(middle, abs=4 * error), path
        assert values[path].std() == pytest.approx(rounded, rel=4 / math.sqrt(count)), path
    ranks = stats.spearmanr(values["arrivals"], values["truck"]).statistic
    assert ranks == pytest.approx(0.5, abs=4 / math.sqrt(count))
    assert ((values["red"] + values["yellow"] >= 60) & (values["red"] + values["yellow"] <= 100)).all()


def test_notes_say_what_would_be_more_even() -> None:
    """Sobol' samples say where another number would be more even; plain ones need not."""
    assert any("2,048" in note for note in _draw(2000, "sobol").notes)
    assert not any("2,048" in note for note in _draw(2000, "plain").notes)


def test_sobol_samples_are_closer_to_the_mean() -> None:
    """Over 20 seeds, the mean of 128 Sobol' samples is off by less than half of what that of plain ones is."""
    off = {way: np.mean([abs(_draw(128, way, seed).values["truck"].mean() - 35) for seed in range(20)]) for way in WAYS}
    assert off["sobol"] < off["plain"] / 2


def test_scipy_is_loaded_only_where_something_is_drawn() -> None:
    """Importing the rooms of risk loads no scipy: commands that draw nothing start quickly."""
    names = ("sampling", "statistics", "drivers")
    code = "import sys\n" + "".join(f"import mci.surge.{name}\n" for name in names) + "print('scipy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
