"""What a risk study found: the contract between who draws and evaluates incidents and who shows them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

    from mci.provenance import Provenance
    from mci.scenario.model import Scenario
    from mci.scenario.numbers import Number
    from mci.scenario.uncertain import Uncertainty
    from mci.surge.cube import Way

__all__ = ["Risk"]


@dataclass(frozen=True, slots=True)
class Risk:
    """Sampled incidents of one scenario, and what they say.

    Measures are named as in :mod:`mci.surge.measures`.  The tables of statistics are those that
    :mod:`mci.surge.statistics` and :mod:`mci.surge.drivers` return, put together.

    Parameters
    ----------
    scenario
        As written.
    uncertainty
        What is uncertain, and how.
    numbers
        The numbers that vary, in the order of ``uncertainty.paths``.
    way
        How samples were drawn: ``sobol`` or ``plain``.
    seed
        Of the whole study.
    table
        One row a sample, in order: ``case`` (``1, 2, ...``, as text), ``role`` (``Role.SAMPLE``), one column per path
        of ``numbers`` (in ``Number.unit``; a word where it is one), all of :data:`mci.surge.measures.MEASURES` in their
        order, ``replicate`` (which of the independent sets of points it belongs to, from 0).  ``status`` is
        ``planned``, or the reason why there is no result.  Cases of ``Role.DRIVER`` are not among them.
    summary
        One row a measure: ``measure, samples, failed, absent, mean, mean_low, mean_high, sd, q05, q25, q50, q75, q95``.
    compared
        The same over the samples in which every policy that was asked for has a result: so they compare.
    convergence
        ``measure, drawn, mean, low, high``.
    exceedance
        ``measure, amount, share, low, high``: the share of samples at least as bad as the amount (coverage: this much
        or less; patient-minutes without oxygen: this much or more), amounts increasing within a measure.
    drivers
        ``measure, input, points, first, first_low, first_high, total, total_low, total_high``; ``input`` is a path, or
        the paths of a mix with `` + `` between them.  Without rows where drivers were not asked for.
    rolling_every
        How often the crew that does not know the future plans again [min]; ``None`` where that was not asked for.
    failed
        Samples without a result.
    notes
        What a reader should know, as whole sentences.
    provenance
        With the seed and everything that was chosen among the settings.
    """

    scenario: Scenario
    uncertainty: Uncertainty
    numbers: tuple[Number, ...]
    way: Way
    seed: int
    table: pd.DataFrame
    summary: pd.DataFrame
    compared: pd.DataFrame
    convergence: pd.DataFrame
    exceedance: pd.DataFrame
    drivers: pd.DataFrame
    rolling_every: float | None
    failed: int
    notes: tuple[str, ...]
    provenance: Provenance
