"""Where minutes were lost, in words: by cause, by category, by stretch, and the decisions behind them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.drills.debriefed import Cause
from mci.report.debrief_headline import patient_time, whole_loss
from mci.report.debrief_page import CauseRow, CauseSplit, DecisionCard, StretchRow
from mci.report.debrief_words import CAUSE_COUNTS, Discretion, credit, signed_credit
from mci.report.series import records
from mci.report.words import NOISE, category_word, join_words, span
from mci.scenario.model import CATEGORIES

if TYPE_CHECKING:
    from mci.drills.debriefed import Debrief, Missed

__all__ = ["accounting_rule", "cause_rows", "cause_split", "decision_cards", "lost_categories", "stretch_rows"]
__all__ += ["unit_words"]

_MOST_NAMED = 8
#: Below this a loss of a stretch is not worth a line [weighted credit-minutes].
_SHOWN = 0.05


def accounting_rule(debrief: Debrief) -> str:
    """Say how losses are reckoned, with the sum."""
    return (
        "For every stretch of the log: what could still be reached at most at its start, less what could at its end, "
        "is lost in it and divided among what was seen then; so the losses sum to the whole, "
        f"{credit(debrief.bound)} possible at most − {credit(debrief.team.verdict.weighted)} reached = "
        f"{credit(whole_loss(debrief))} weighted credit-minutes."
    )


def unit_words(debrief: Debrief) -> str:
    """Say what a weighted credit-minute is, with the weights of this incident."""
    weights = debrief.scenario.weights
    told = ", ".join(f"{category_word(each)} {weights[each]:g}" for each in CATEGORIES if each in weights)
    return (
        "A weighted credit-minute is one minute of one patient whose need is fully met (part of one on a lower rung), "
        f"times the weight of the category ({told})."
    )


def cause_rows(debrief: Debrief) -> tuple[CauseRow, ...]:
    """Put each cause into words, in the order of the debrief."""
    rows = [row for row in records(debrief.causes) if abs(row["lost"]) > NOISE or row["patient_min"] > NOISE]
    time = patient_time(debrief)
    most = max((row["lost"] for row in rows), default=0.0)
    longest = max((row["patient_min"] for row in rows), default=0.0)
    return tuple(
        CauseRow(
            name=_capital(str(Cause(row["cause"]))),
            counts=CAUSE_COUNTS[Cause(row["cause"])],
            lost=credit(row["lost"]),
            share=_part(row["share"]),
            relative=max(0.0, row["lost"] / most) if most > NOISE else 0.0,
            patient_min=time.write(row["patient_min"]),
            relative_minutes=row["patient_min"] / longest if longest > NOISE else 0.0,
        )
        for row in rows
    )


def _part(value: float) -> str:
    """Write a share of a whole, rounded to the nearest, so that the parts come close to 100 %."""
    return "–" if math.isnan(value) else f"{100 * value:.1f} %"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def lost_categories(debrief: Debrief) -> tuple[str, ...]:
    """Return the categories of patients that something was lost of."""
    there = set(debrief.losses["category"])
    return tuple(category for category in CATEGORIES if category in there)


def cause_split(debrief: Debrief) -> tuple[tuple[CauseSplit, ...], tuple[str, ...]]:
    """Return what each category lost to each cause, and the sums of the columns with the whole last."""
    categories = lost_categories(debrief)
    sums: dict[tuple[str, str], float] = {}
    for row in records(debrief.losses):
        key = (str(row["cause"]), row["category"])
        sums[key] = sums.get(key, 0.0) + row["lost"]
    named = [str(row["cause"]) for row in records(debrief.causes) if abs(row["lost"]) > NOISE]
    lines = tuple(
        CauseSplit(
            _capital(cause),
            CAUSE_COUNTS[Cause(cause)],
            tuple(credit(sums[cause, category]) if (cause, category) in sums else "–" for category in categories),
            credit(sum(sums.get((cause, category), 0.0) for category in categories)),
        )
        for cause in named
    )
    below = [sum(value for (_, here), value in sums.items() if here == category) for category in categories]
    return lines, (*(credit(value) for value in below), credit(sum(below)))


def decision_cards(debrief: Debrief) -> tuple[DecisionCard, ...]:
    """Put the decisions that would have gained most into words."""
    return tuple(_card(number, missed, debrief) for number, missed in enumerate(debrief.missed, start=1))


def _card(number: int, missed: Missed, debrief: Debrief) -> DecisionCard:
    hide = Discretion(debrief).hide
    return DecisionCard(
        number=str(number),
        when=span(missed.start, missed.end, debrief.scenario.start),
        did=hide(missed.did),
        better=missed.better,
        at_best=credit(missed.worth),
        by_orders=signed_credit(missed.by_orders),
        immediate=signed_credit(missed.immediate_min),
        cause=str(missed.cause),
        patients=_named(missed.patients),
    )


def _named(names: tuple[str, ...]) -> str:
    more = len(names) - _MOST_NAMED
    if more > 0:
        return f"{', '.join(names[:_MOST_NAMED])} and {more} more"
    return join_words(list(names)) if names else ""


def stretch_rows(debrief: Debrief) -> tuple[StretchRow, ...]:
    """Put every stretch in which something was lost into words."""
    to: dict[float, list[tuple[float, str]]] = {}
    for row in records(debrief.losses.groupby(["start_min", "cause"], sort=False, as_index=False)["lost"].sum()):
        to.setdefault(float(row["start_min"]), []).append((-row["lost"], str(row["cause"])))
    decided = {missed.start: str(number) for number, missed in enumerate(debrief.missed, start=1)}
    return tuple(
        StretchRow(
            when=span(row["start_min"], row["end_min"], debrief.scenario.start),
            possible=credit(row["possible_start"]),
            lost=credit(row["lost"]),
            to=", ".join(f"{cause} {credit(-minus)}" for minus, cause in sorted(to.get(row["start_min"], []))),
            decision=decided.get(row["start_min"], ""),
        )
        for row in records(debrief.stretches)
        if abs(row["lost"]) >= _SHOWN or row["start_min"] in decided
    )
