"""Objectives of an exercise in words, with their numbers and units: one wording, whoever makes them."""

from __future__ import annotations

import math

from mci.scenario.exercise import Measure, Objective

__all__ = ["make_objective"]


def make_objective(
    number: int,
    measure: Measure,
    *,
    category: str = "",
    area: str = "",
    title: str = "",
    minutes: float = math.nan,
    share: float = math.nan,
) -> Objective:
    """Return an objective with its key and its words.

    Parameters
    ----------
    number
        From 1.
    area, title
        Key and title of an area; both empty for everywhere.
    minutes, share
        As for :class:`mci.scenario.exercise.Objective`.
    """
    who = f"{category.capitalize()} patient" if category else "patient"
    where = f" ({title or area})" if area else ""
    text = _words(measure, who, where, minutes, _part(share))
    return Objective(f"O{number}", text[:1].upper() + text[1:], measure, category, area, minutes, share)


def _part(share: float) -> str:
    return "all" if share == 1 else f"at least {100 * share:.4g} % of"


def _words(measure: Measure, who: str, where: str, minutes: float, part: str) -> str:
    """Say what is asked; ``who`` is one patient, in words."""
    longest = f" for longer than {minutes:g} min" if minutes > 0 else ""
    total = f"s{where} are {{}} for at most {minutes:g} patient-minutes in all"
    match measure:
        case Measure.ON_OXYGEN:
            return f"{part} {who}s{where} get oxygen within {minutes:g} min of arrival"
        case Measure.STEPPED_UP:
            return f"{part} {who}s{where} who worsen get what is then prescribed within {minutes:g} min"
        case Measure.COVERAGE:
            return f"{part} the oxygen need of {who}s{where} is met"
        case Measure.EMPTY:
            return f"no {who}{where} is on something that gives nothing{longest}"
        case Measure.WITHOUT:
            what = "without oxygen"
        case Measure.LEAST_FLOW:
            what = "on a device below its least flow"
    return f"{who}{total.format(what)}" if minutes > 0 else f"no {who}{where} is ever {what}"
