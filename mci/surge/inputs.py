"""Inputs: what varies by itself in a scenario, and the values of its numbers at points of the unit cube."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mci.errors import UsageError
from mci.scenario.numbers import TIMES, WHOLE, Number, NumberKind
from mci.scenario.quantity import write_value
from mci.scenario.uncertain import TIME_STEP, Fixed, Mix, OneOf, Uncertain, Uncertainty
from mci.surge.laws import quantile
from mci.surge.mixes import dirichlet, hand_out

__all__ = ["Input", "Valued", "inputs_of", "values_at"]

Floats = npt.NDArray[np.float64]

_ABOVE_0 = (NumberKind.COUNT, NumberKind.DURATION, NumberKind.MASS)
_DIGITS = 9  # after the point, as values are written
_MOST = {NumberKind.COUNT: 1e6, NumberKind.STOCK: 1e6, NumberKind.SHARE: 1.0}
_COLDEST = -273.15


@dataclass(frozen=True, slots=True)
class Input:
    """What varies by itself: one number, or the numbers of a mix together.

    Parameters
    ----------
    name
        Path of the number; paths of a mix with ``+`` between them.
    of
        The number or the mix.
    columns
        Which coordinates of a point it takes: one for a number; the total and one for each part of a mix.
    """

    name: str
    of: Uncertain | Mix
    columns: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Valued:
    """Numbers of a scenario at several points.

    Parameters
    ----------
    values
        By path, in the unit of the number, shape ``(points,)``; of :class:`OneOf` the number of the option.
    texts
        By path, as a planner would write them; they read back to the same values.
    notes
        Where a value had to be brought into the range of what the number can be.
    """

    values: Mapping[str, Floats]
    texts: Mapping[str, Sequence[str]]
    notes: tuple[str, ...]


def inputs_of(uncertainty: Uncertainty) -> tuple[Input, ...]:
    """Return the inputs, numbers first, with the coordinates that each of them takes.

    Raises
    ------
    UsageError
        If nothing is uncertain.
    """
    inputs: list[Input] = []
    used = 0
    of: tuple[Uncertain | Mix, ...] = (*uncertainty.numbers, *uncertainty.mixes)
    for each in of:
        name, width = (each.path, 1) if isinstance(each, Uncertain) else (" + ".join(each.paths), 1 + len(each.paths))
        inputs.append(Input(name, each, tuple(range(used, used + width))))
        used += width
    if not inputs:
        raise UsageError("no number of the scenario is uncertain, so there is nothing to draw")
    return tuple(inputs)


def values_at(points: Floats, inputs: Sequence[Input], numbers: Mapping[str, Number]) -> Valued:
    """Return the values of all inputs at points of the unit cube.

    Values are rounded to the step of the number and brought into the range of what it can be: a count is 1 or more, a
    share 0 to 1, a duration above 0.

    Parameters
    ----------
    points
        Off the faces of the cube, shape ``(points, dimensions)``.
    inputs
        What varies.
    numbers
        The numbers of the scenario by path.
    """
    values: dict[str, Floats] = {}
    texts: dict[str, Sequence[str]] = {}
    notes: list[str] = []
    for each in inputs:
        at = points[:, each.columns]
        if isinstance(each.of, Mix):
            found, told = _mix_values(each.of, at, numbers)
        else:
            found, told = _number_values(each.of, at[:, 0], numbers[each.of.path])
        values |= found
        texts |= {path: _texts(each.of, numbers[path], column) for path, column in found.items()}
        notes += told
    return Valued(values, texts, tuple(notes))


def _texts(of: Uncertain | Mix, number: Number, column: Floats) -> list[str]:
    if isinstance(of, Uncertain) and isinstance(of.law, OneOf):
        return [of.law.options[int(option)] for option in column]
    return [write_value(number.kind, each) for each in column.tolist()]


def _number_values(of: Uncertain, shares: Floats, number: Number) -> tuple[dict[str, Floats], list[str]]:
    drawn = quantile(of.law, shares)
    if isinstance(of.law, OneOf):
        return {of.path: drawn}, []
    step = _step(of, number.kind)
    rounded = np.round(np.round(drawn / step) * step if step else drawn, _DIGITS)
    least, most = _least(number.kind, step), _MOST.get(number.kind, math.inf)
    kept = np.clip(rounded, least, most) + 0.0  # no -0
    notes = (
        _note(of.path, rounded < least, "raised", f"{write_value(number.kind, least)}, the least"),
        _note(of.path, rounded > most, "lowered", f"{write_value(number.kind, most)}, the most"),
    )
    return {of.path: kept}, [note for note in notes if note]


def _step(of: Uncertain, kind: NumberKind) -> float:
    """Return what values are rounded to whole multiples of; 0: not at all, as what is fixed and need not be whole."""
    if kind in WHOLE:
        return max(1.0, float(round(of.step or 1)))
    if of.step is not None:
        return of.step
    return TIME_STEP if kind in TIMES and not isinstance(of.law, Fixed) else 0.0


def _least(kind: NumberKind, step: float) -> float:
    if kind in _ABOVE_0:
        return step or 10.0**-_DIGITS
    return _COLDEST if kind is NumberKind.TEMPERATURE else 0.0


def _note(what: str, changed: npt.NDArray[np.bool_], done: str, limit: str) -> str:
    count = int(np.count_nonzero(changed))
    return f"{what}: {done} in {count:,} of {len(changed):,} samples to {limit} that it can be" if count else ""


def _mix_values(mix: Mix, at: Floats, numbers: Mapping[str, Number]) -> tuple[dict[str, Floats], list[str]]:
    """Return the counts of a mix; the first coordinate is that of the total."""
    name = " + ".join(mix.paths)
    least = np.asarray([_least(numbers[path].kind, 1.0) for path in mix.paths])
    wanted = np.round(quantile(mix.total, at[:, 0]))
    totals = np.clip(wanted, least.sum(), _MOST[NumberKind.COUNT])
    counts, raised = hand_out(totals, dirichlet(at[:, 1:], mix.weights), least)
    short = _note(name, wanted < totals, "raised", f"{least.sum():.0f}, the least")
    part = f"{name}: a count raised to 1 in {raised:,} of {len(at):,} samples, the total kept" if raised else ""
    return dict(zip(mix.paths, counts.T, strict=True)), [note for note in (short, part) if note]
