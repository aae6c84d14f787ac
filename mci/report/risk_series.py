"""What the figures of a risk study show: policies beside each other, chances, how means settle, drivers, inputs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from mci.report.law_words import laws_by_path
from mci.report.series import records
from mci.report.study_words import BY_NAME, categories_in, category_title, only, policies_in, short_words
from mci.scenario.uncertain import OneOf
from mci.surge.measures import POLICIES

if TYPE_CHECKING:
    import pandas as pd

    from mci.scenario.numbers import Number
    from mci.surge.risk_result import Risk

__all__ = ["ChanceCurve", "ChancePanel", "Dot", "DriverBar", "DriverPanel", "Histogram", "Settling"]
__all__ += ["chance_panels", "dots", "driver_panels", "histograms", "settlings", "without_measure"]

Floats = npt.NDArray[np.float64]

_MOST_POINTS = 160  # of a curve as drawn; the file has every one
_MOST_BARS = 12


@dataclass(frozen=True, slots=True)
class Dot:
    """Mean coverage by one policy with its interval of 95 %, and what 9 of 10 incidents lie between."""

    category: str
    title: str
    policy: str
    mean: float
    low: float
    high: float
    q05: float
    q95: float


@dataclass(frozen=True, slots=True)
class ChanceCurve:
    """The share of incidents at least as bad as each amount, by one policy."""

    policy: str
    amounts: tuple[float, ...]
    shares: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class ChancePanel:
    """Curves of one category; amounts in patient-minutes without oxygen."""

    category: str
    title: str
    curves: tuple[ChanceCurve, ...]


@dataclass(frozen=True, slots=True)
class Settling:
    """How the mean of one measure settled as samples were added, with its interval of 95 %."""

    measure: str
    title: str
    drawn: tuple[int, ...]
    mean: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class DriverBar:
    """How much of the variance one input brings by itself, and with what it does together with others."""

    input: str
    first: float
    first_low: float
    first_high: float
    total: float
    total_low: float
    total_high: float


@dataclass(frozen=True, slots=True)
class DriverPanel:
    """Inputs of one measure, the largest total first."""

    measure: str
    title: str
    bars: tuple[DriverBar, ...]


@dataclass(frozen=True, slots=True)
class Histogram:
    """How often a number had which values in the samples; bars from ``edges[i]`` to ``edges[i + 1]``."""

    path: str
    law: str
    edges: tuple[float, ...]
    shares: tuple[float, ...]
    ticks: tuple[float, ...]
    words: tuple[str, ...]


def dots(found: Risk) -> tuple[Dot, ...]:
    """Return mean coverage by category, all by weight first, each policy in its order."""
    rows = {row["measure"]: row for row in records(found.compared)}
    made = []
    for category in ("share", *categories_in(found.table)):
        for policy in policies_in(found.table):
            row = rows.get(f"{policy}_{category}")
            if row is not None and not math.isnan(row["mean"]):
                ends = (row["mean"], row["mean_low"], row["mean_high"], row["q05"], row["q95"])
                made.append(Dot(category, category_title(category), policy, *map(float, ends)))
    return tuple(made)


def without_measure(policy: str, category: str) -> str:
    """Name the measure of patient-minutes without oxygen; of everybody where the category is ``all``."""
    return f"{policy}_without_min" if category == "all" else f"{policy}_without_{category}_min"


def chance_panels(found: Risk) -> tuple[ChancePanel, ...]:
    """Return curves of patient-minutes without oxygen by category, where anybody is."""
    by_measure = dict(list(found.exceedance.groupby("measure", sort=False)))
    made = []
    for category in categories_in(found.table):
        curves = []
        for policy in policies_in(found.table):
            rows = by_measure.get(without_measure(policy, category))
            if rows is not None and len(rows) and float(rows["amount"].max()) > 0:
                curves.append(_curve(policy, rows))
        if curves:
            made.append(ChancePanel(category, category_title(category), tuple(curves)))
    return tuple(made)


def _curve(policy: str, rows: pd.DataFrame) -> ChanceCurve:
    """Thin a curve evenly, both ends kept."""
    chosen = np.unique(np.linspace(0, len(rows) - 1, min(len(rows), _MOST_POINTS)).round().astype(int))
    thin = rows.iloc[chosen]
    return ChanceCurve(policy, tuple(thin["amount"].astype(float)), tuple(thin["share"].astype(float)))


def settlings(found: Risk) -> tuple[Settling, ...]:
    """Return how each mean that was followed settled."""
    made = []
    for measure, rows in found.convergence.groupby("measure", sort=False):
        rows = rows.dropna(subset=["mean"])
        if len(rows) > 1:
            drawn = tuple(int(count) for count in rows["drawn"])
            ends = (tuple(rows[name].astype(float)) for name in ("mean", "low", "high"))
            policy, _, what = str(measure).partition("_")
            title = POLICIES[policy] if what == "share" else BY_NAME[str(measure)].title
            made.append(Settling(str(measure), title, drawn, *ends))
    return tuple(made)


def driver_panels(found: Risk) -> tuple[DriverPanel, ...]:
    """Return the inputs that drive each measure; none where the measure never varies or nothing was found."""
    made = []
    names = ("first", "first_low", "first_high", "total", "total_low", "total_high")
    for measure, rows in found.drivers.groupby("measure", sort=False):
        rows = rows.dropna(subset=["total"]).sort_values("total", ascending=False, kind="stable")
        bars = tuple(DriverBar(row["input"], *(float(row[n]) for n in names)) for row in records(rows))
        if any(bar.total > 0 for bar in bars):
            made.append(DriverPanel(str(measure), BY_NAME[str(measure)].title, bars))
    return tuple(made)


def histograms(found: Risk) -> tuple[Histogram, ...]:
    """Return what was drawn of each number."""
    laws = laws_by_path(found.uncertainty, {n.path: n for n in found.numbers}, found.scenario)
    return tuple(_histogram(found, number, laws.get(number.path, "")) for number in found.numbers if len(found.table))


def _histogram(found: Risk, number: Number, law: str) -> Histogram:
    column = found.table[number.path]
    values = _in_order(found, number.path)
    if any(isinstance(value, str) for value in values) or len(values) <= 1:
        shares = tuple(float((column == value).mean()) for value in values)
        edges = tuple(place - 0.5 for place in range(len(values) + 1))
        words = tuple(short_words(number, value, found.scenario) for value in values)
        return Histogram(number.path, law, edges, shares, tuple(map(float, range(len(values)))), words)
    drawn = column.astype(float).to_numpy()
    counts, bounds = np.histogram(drawn[np.isfinite(drawn)], bins=_bins(np.asarray(values, dtype=float)))
    ends = (float(values[0]), float(values[-1]))
    return Histogram(
        path=number.path,
        law=law,
        edges=tuple(map(float, bounds)),
        shares=tuple(float(count) / len(drawn) for count in counts),
        ticks=ends,
        words=tuple(short_words(number, value, found.scenario) for value in ends),
    )


def _in_order(found: Risk, path: str) -> tuple[float | str, ...]:
    """Return the values that were drawn, words in the order in which they are written."""
    values = only(found.table, path)
    law = next((each.law for each in found.uncertainty.numbers if each.path == path), None)
    return (
        tuple(sorted(values, key=law.options.index))
        if isinstance(law, OneOf) and set(values) <= set(law.options)
        else values
    )


def _bins(values: Floats) -> Floats:
    """Return edges of bars of one width; where values come in steps, a whole number of steps each."""
    finite = values[np.isfinite(values)]
    step = float(np.diff(finite).min())
    steps = round((finite[-1] - finite[0]) / step) + 1
    if steps > 20 * _MOST_BARS:  # no steps to speak of
        return np.linspace(finite[0], finite[-1], _MOST_BARS + 1)
    each = step * math.ceil(steps / _MOST_BARS)
    first = finite[0] - step / 2
    return np.asarray(first + each * np.arange(math.ceil(steps * step / each - 1e-9) + 1), dtype=float)
