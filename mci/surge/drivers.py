"""Which inputs drive the result: Sobol' indices from a design of its own.

The first-order index of an input is the share of the variance that it brings by itself, the total index the share
that would remain if all the others were known.  Source: A. Saltelli et al., Variance based sensitivity analysis of
model output, Computer Physics Communications 181 (2010) 259-270.

The design: points A and B, drawn independently, and for every input the points A with that input's coordinates taken
from B.  A mix is one input, all its coordinates exchanged together: its indices are those of the counts as a
group.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from mci.scenario.numbers import Number
from mci.scenario.uncertain import Uncertainty
from mci.surge.cases import PLANNED, Case, Role
from mci.surge.cube import sobol_points
from mci.surge.inputs import inputs_of, values_at
from mci.surge.intervals import LEVEL
from mci.surge.sampling import cases_of

__all__ = ["COLUMNS", "FEWEST", "DriverDesign", "driver_design", "driver_indices"]

Floats = npt.NDArray[np.float64]

#: Columns of the answer.
COLUMNS = ("measure", "input", "points", "first", "first_low", "first_high", "total", "total_low", "total_high")

_RESAMPLES = 999
_BATCH = 100  # resamples at a time, for memory
_SAME = 1e-9  # results that differ by less are alike: what solvers leave
FEWEST = 8  # base points below which an interval says nothing


@dataclass(frozen=True, slots=True)
class DriverDesign:
    """Cases that show which inputs drive the result.

    Parameters
    ----------
    inputs
        Names: the path of a number, the paths of a mix with ``+`` between them.
    base_points
        Points A and B each.
    cases
        ``(inputs + 2) x base points``: ``A1, A2, ..., B1, ...``, then for input j ``A1 with B in input j, ...``.
    notes
        What a reader of the indices should know.
    """

    inputs: tuple[str, ...]
    base_points: int
    cases: tuple[Case, ...]
    notes: tuple[str, ...]


def driver_design(uncertainty: Uncertainty, numbers: Mapping[str, Number], base_points: int, seed: int) -> DriverDesign:
    """Design the cases; it takes ``(inputs + 2) x base_points`` of them.

    Parameters
    ----------
    uncertainty
        What is uncertain, and how; correlations are left out, since indices are those of independent inputs.
    numbers
        The numbers of the scenario by path.
    base_points
        1 or more; powers of 2 are most even.
    seed
        Any whole number of 0 or more.

    Raises
    ------
    UsageError
        If nothing is uncertain.
    """
    inputs = inputs_of(uncertainty)
    dimensions = 1 + inputs[-1].columns[-1]
    both = sobol_points(base_points, 2 * dimensions, seed)
    a, b = both[:, :dimensions], both[:, dimensions:]
    blocks, names = [a, b], ["A{}", "B{}"]
    for number, each in enumerate(inputs, 1):
        mixed = a.copy()
        mixed[:, each.columns] = b[:, each.columns]
        blocks.append(mixed)
        names.append(f"A{{}} with B in input {number}")
    valued = values_at(np.vstack(blocks), inputs, numbers)
    keys = tuple(name.format(point) for name in names for point in range(1, base_points + 1))
    apart = "What drives the result is told as if the inputs were independent: correlations are left out."
    return DriverDesign(
        inputs=tuple(each.name for each in inputs),
        base_points=base_points,
        cases=cases_of(valued, keys, Role.DRIVER),
        notes=(apart,) if uncertainty.correlations else (),
    )


def driver_indices(table: pd.DataFrame, design: DriverDesign, measures: Sequence[str]) -> pd.DataFrame:
    """Return the Sobol' indices of every input for every measure, with 95 % intervals by the bootstrap.

    A base point counts where all of its cases have the measure.  The bootstrap takes the points as random, so
    the intervals are wider than needed.

    Parameters
    ----------
    table
        One row a case, in any order: ``key, status`` and measures; rows of other cases are ignored.
    design
        As :func:`driver_design` returned it.
    measures
        Names of numeric columns.

    Returns
    -------
    pandas.DataFrame
        :data:`COLUMNS`; ``points`` is the number of base points that count.  Where a measure is the same in all cases
        the indices are 0; where no points count, or too few for an interval, NaN.
    """
    of_design = table.set_index("key").reindex([case.key for case in design.cases])
    rows: list[dict[str, object]] = []
    for measure in measures:
        numeric = pd.to_numeric(of_design[measure], errors="coerce").where(of_design["status"] == PLANNED)
        found = numeric.to_numpy(dtype=float).reshape(len(design.inputs) + 2, design.base_points)
        whole = found[:, np.isfinite(found).all(axis=0)]
        estimate, low, high = _with_intervals(whole)
        for number, name in enumerate(design.inputs):
            ends = np.stack([estimate, low, high], axis=1)[..., number]
            rows.append(dict(zip(COLUMNS, (measure, name, whole.shape[1], *ends.ravel().tolist()), strict=True)))
    return pd.DataFrame(rows, columns=list(COLUMNS))


def _with_intervals(found: Floats) -> tuple[Floats, Floats, Floats]:
    """Return estimates with lower and upper ends, each of shape ``(first and total, inputs)``."""
    from scipy.stats import bootstrap  # heavy, and only needed where drivers are told

    inputs, points = found.shape[0] - 2, found.shape[1]
    nothing = np.full((2, inputs), math.nan)
    if not points:
        return nothing, nothing, nothing
    if np.ptp(found) <= _SAME * max(1.0, float(np.abs(found).max())):
        return np.zeros_like(nothing), np.zeros_like(nothing), np.zeros_like(nothing)
    estimate = _indices(found[:, None, :])[..., 0]
    if points < FEWEST:
        return estimate, nothing, nothing

    def of_resamples(chosen: npt.NDArray[np.intp], axis: int = -1) -> Floats:
        return _indices(found[:, np.moveaxis(chosen, axis, -1)])

    ends = bootstrap(
        (np.arange(points),),
        of_resamples,
        n_resamples=_RESAMPLES,
        batch=_BATCH,
        vectorized=True,
        axis=-1,
        confidence_level=LEVEL,
        method="percentile",  # the others have no interval for an input that does nothing
        random_state=np.random.default_rng(0),  # the same table gives the same intervals
    ).confidence_interval
    return estimate, ends.low, ends.high


def _indices(found: Floats) -> Floats:
    """Return first and total indices, shape ``(2, inputs, tables)``, of several tables of results at once.

    Parameters
    ----------
    found
        Results at A, at B, and at A with each input from B, shape ``(inputs + 2, tables, points)``.
    """
    from scipy.stats import sobol_indices  # heavy, and only needed where drivers are told

    tables, points = found.shape[1:]
    # The library wants a power of 2; results that are the mean add nothing to any sum, and an index is a ratio of sums.
    room = 2 ** (points - 1).bit_length()
    padded = np.zeros((len(found) + 1, tables, room))  # an input more: with a single one the library fails
    padded[:-1, :, :points] = found - found[:2].mean(axis=(0, -1), keepdims=True)
    answer = sobol_indices(func={"f_A": padded[0], "f_B": padded[1], "f_AB": padded[2:]}, n=room)
    indices = np.stack([answer.first_order, answer.total_order]).reshape(2, tables, len(found) - 1)
    return np.moveaxis(indices, 1, 2)[:, :-1]
