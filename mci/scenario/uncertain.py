"""What a planner does not know for sure: numbers of a scenario that are distributions, and how they hang together.

Every number is named by its path (:mod:`mci.scenario.numbers`); values are in the unit of that number.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "TIME_STEP",
    "Correlation",
    "Empirical",
    "Fixed",
    "Law",
    "Lognormal",
    "Mix",
    "OneOf",
    "Poisson",
    "Triangular",
    "Uncertain",
    "Uncertainty",
    "Uniform",
]


#: Times that are drawn are rounded to whole multiples of this [min], unless a step is given.
TIME_STEP = 5.0


@dataclass(frozen=True, slots=True)
class Fixed:
    """Always this value."""

    value: float


@dataclass(frozen=True, slots=True)
class Uniform:
    """Any value between two, all equally likely."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Triangular:
    """Between two values, most likely at a third."""

    low: float
    mode: float
    high: float


@dataclass(frozen=True, slots=True)
class Lognormal:
    """The logarithm is normal: half of the values lie below ``median``, two thirds within a factor ``spread`` of it."""

    median: float
    spread: float


@dataclass(frozen=True, slots=True)
class Poisson:
    """A count of independent events."""

    mean: float


@dataclass(frozen=True, slots=True)
class Empirical:
    """Values that were observed, each equally likely; ``source`` names the file and column."""

    values: tuple[float, ...]
    source: str


@dataclass(frozen=True, slots=True)
class OneOf:
    """One of a few words or values as a planner writes them, each with its chance; the chances sum to 1."""

    options: tuple[str, ...]
    chances: tuple[float, ...]


Law = Fixed | Uniform | Triangular | Lognormal | Poisson | Empirical | OneOf


@dataclass(frozen=True, slots=True)
class Uncertain:
    """One number that is a distribution.

    Parameters
    ----------
    path
        Which number.
    law
        Its distribution, in the unit of the number.
    step
        Values are rounded to whole multiples of this; ``None``: to whole units for counts, to 5 min for moments and
        durations, else not at all.
    """

    path: str
    law: Law
    step: float | None = None


@dataclass(frozen=True, slots=True)
class Mix:
    """Counts whose total follows one distribution and whose shares follow a Dirichlet distribution.

    Parameters
    ----------
    paths
        The counts.
    weights
        Parameters of the Dirichlet distribution, all above 0: their ratio is the mean mix, and the larger their
        sum, the less the mix varies.
    total
        Distribution of the sum; never :class:`OneOf`.
    """

    paths: tuple[str, ...]
    weights: tuple[float, ...]
    total: Law


@dataclass(frozen=True, slots=True)
class Correlation:
    """Two uncertain numbers that go together: Spearman's rank correlation, -1 to 1; neither is in a mix."""

    one: str
    other: str
    rank: float


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """Everything uncertain in a scenario; whatever is not named is as written."""

    numbers: tuple[Uncertain, ...] = ()
    mixes: tuple[Mix, ...] = ()
    correlations: tuple[Correlation, ...] = ()

    @property
    def paths(self) -> tuple[str, ...]:
        """Paths of all numbers that vary."""
        return (*(each.path for each in self.numbers), *(path for mix in self.mixes for path in mix.paths))
