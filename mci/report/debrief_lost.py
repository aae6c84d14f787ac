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
    from collections.abc import Sequence

    from mci.drills.debriefed import Debrief, Missed
    from mci.report.series import Record

__all__ = ["accounting_rule", "cause_rows", "cause_split", "decision_cards", "lost_categories"]
__all__ += ["FIRST_CAUSES", "other_causes", "stretch_rows", "unit_words"]

_MOST_NAMED = 8
#: So many causes stand by themselves on the first page; on paper the rest share a row.
FIRST_CAUSES = 5
#: Below this a loss of a stretch is not worth a line [weighted credit-minutes].
_SHOWN = 0.05


def accounting_rule(debrief: Debrief) -> str:
    """Say how losses are reckoned, with the sum."""
    return (
        "What could still be reached at most at the start of a stretch of the log, less what could at its end, is lost "
        "in it and divided among what was seen then; so the losses sum to the whole: "
        f"{credit(debrief.bound)} possible at most − {credit(debrief.team.verdict.weighted)} reached = "
        f"{credit(whole_loss(debrief))} weighted credit-minutes."
    )


def unit_words(debrief: Debrief) -> str:
    """Say what a weighted credit-minute is, with the weights of this incident."""
    weights = debrief.scenario.weights
    told = ", ".join(f"{category_word(each)} {weights[each]:g}" for each in CATEGORIES if each in weights)
    return f"One of them is a minute of one patient whose need is fully met, times the weight of the category ({told})."


def cause_rows(debrief: Debrief) -> tuple[CauseRow, ...]:
    """Put each cause into words, in the order of the debrief."""
    return tuple(
        _cause_row(_capital(str(row["cause"])), CAUSE_COUNTS[Cause(row["cause"])], [row], debrief)
        for row in _told_causes(debrief)
    )


def other_causes(debrief: Debrief) -> CauseRow | None:
    """Put the causes that do not fit the first page into one row; ``None`` where all do."""
    rest = _told_causes(debrief)[FIRST_CAUSES:]
    return _cause_row(f"{len(rest)} other causes", "", rest, debrief) if len(rest) > 1 else None


def _told_causes(debrief: Debrief) -> list[Record]:
    return [row for row in records(debrief.causes) if abs(row["lost"]) > NOISE or row["patient_min"] > NOISE]


def _cause_row(name: str, counts: str, rows: Sequence[Record], debrief: Debrief) -> CauseRow:
    most = max(row["lost"] for row in _told_causes(debrief))
    longest = max(row["patient_min"] for row in _told_causes(debrief))
    lost, minutes = sum(row["lost"] for row in rows), sum(row["patient_min"] for row in rows)
    return CauseRow(
        name=name,
        counts=counts,
        lost=credit(lost),
        share=_part(sum(row["share"] for row in rows)),
        relative=min(1.0, max(0.0, lost / most)) if most > NOISE else 0.0,
        patient_min=patient_time(debrief).write(minutes),
        relative_minutes=min(1.0, minutes / longest) if longest > NOISE else 0.0,
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

    def decision(start: float) -> str:
        inside = (str(n) for n, each in enumerate(debrief.missed, start=1) if each.start <= start < each.end)
        return ", ".join(inside)

    return tuple(
        StretchRow(
            when=span(row["start_min"], row["end_min"], debrief.scenario.start),
            possible=credit(row["possible_start"]),
            lost=credit(row["lost"]),
            to=", ".join(f"{cause} {credit(-minus)}" for minus, cause in sorted(to.get(row["start_min"], []))),
            decision=decision(row["start_min"]),
        )
        for row in records(debrief.stretches)
        if abs(row["lost"]) >= _SHOWN
    )
