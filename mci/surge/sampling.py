"""Sampled incidents: cases drawn at random from what is uncertain in a scenario."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mci.scenario.numbers import Number
from mci.scenario.uncertain import Uncertainty
from mci.surge.cases import Case, Role
from mci.surge.copula import correlate
from mci.surge.cube import Way, evenness, random_points, replicated_points
from mci.surge.inputs import Valued, inputs_of, values_at

__all__ = ["Drawn", "cases_of", "draw"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Drawn:
    """Sampled incidents.

    Parameters
    ----------
    points
        Points in the unit cube, shape ``(samples, dimensions)``; those of correlated numbers are correlated.
    values
        By path, in the unit of the number, shape ``(samples,)``; where words or texts were drawn, the number of the
        option, from 0.
    cases
        One a sample, in order; the key is the number of the sample, from 1.
    way
        How they were drawn, which says how intervals are found (:mod:`mci.surge.statistics`).
    notes
        What a reader of the results should know about the samples.
    """

    points: Floats
    values: Mapping[str, Floats]
    cases: tuple[Case, ...]
    way: Way
    notes: tuple[str, ...]


def draw(uncertainty: Uncertainty, numbers: Mapping[str, Number], samples: int, seed: int, way: Way = "sobol") -> Drawn:
    """Draw incidents; sample i is the same however many are drawn.

    Parameters
    ----------
    uncertainty
        What is uncertain, and how.
    numbers
        The numbers of the scenario by path.
    samples
        How many, 1 or more.
    seed
        Any whole number of 0 or more.
    way
        Evenly filling (``sobol``) or plain random points.

    Raises
    ------
    UsageError
        If nothing is uncertain.
    InputError
        If correlations contradict each other.
    """
    inputs = inputs_of(uncertainty)
    columns = {each.name: each.columns[0] for each in inputs}
    dimensions = 1 + inputs[-1].columns[-1]
    cube = (replicated_points if way == "sobol" else random_points)(samples, dimensions, seed)
    points = correlate(cube, columns, uncertainty.correlations)
    valued = values_at(points, inputs, numbers)
    even = evenness(samples) if way == "sobol" else ""
    keys = tuple(str(number) for number in range(1, samples + 1))
    return Drawn(
        points=points,
        values=valued.values,
        cases=cases_of(valued, keys, Role.SAMPLE),
        way=way,
        notes=(*valued.notes, *([even] if even else [])),
    )


def cases_of(valued: Valued, keys: tuple[str, ...], role: Role) -> tuple[Case, ...]:
    """Return one case for each point, in order."""
    rows = zip(*valued.texts.values(), strict=True)
    return tuple(
        Case(key, dict(zip(valued.texts, texts, strict=True)), role) for key, texts in zip(keys, rows, strict=True)
    )
