"""Words of a debrief: amounts, causes, and what is not said about people.

This module knows nothing of pages, figures or files.
"""

from __future__ import annotations

import re
from pathlib import PurePath
from typing import TYPE_CHECKING

from mci.drills.debriefed import Cause
from mci.plan.things import find_handlers
from mci.report.compared import weighted_need
from mci.report.words import NOISE

if TYPE_CHECKING:
    from collections.abc import Mapping

    from mci.drills.debriefed import Debrief
    from mci.drills.log import Note
    from mci.replay.judged import Judged

__all__ = ["CAUSE_COUNTS", "Discretion", "credit", "log_name", "needed_weighted", "signed_credit", "usual_of"]

#: What counts as each cause, in a few words.
CAUSE_COUNTS: Mapping[Cause, str] = {
    Cause.RECOGNITION: "never on oxygen yet, though an outlet with oxygen behind it was free",
    Cause.IDLE_OXYGEN: "off oxygen again, or on too little, though an outlet was free",
    Cause.IDLE_REGULATOR: "no outlet in service was free, but a regulator and a cylinder for it were",
    Cause.EMPTY: "connected, and nothing came",
    Cause.LEAST_FLOW: "on a mask at less than the flow that it needs",
    Cause.HIGH_FLOW: "more drawn than prescribed, or the fullest therapy while others went without",
    Cause.DELIVERY: "what was expected had not come yet",
    Cause.SHORTAGE: "what earlier choices, or fewer litres than needed, had left",
    Cause.OTHER: "none of the other causes fits",
}
_HIDDEN = "(name left out)"
_BY, _WHO = "by", "who did it"  # the column of a log that says who did something, and its name here


def credit(amount: float) -> str:
    """Write weighted credit-minutes to a tenth, groups of three; what is there never reads as nothing."""
    rounded = round(amount, 1)
    if rounded == 0:
        return "0.0" if abs(amount) <= NOISE else "< 0.1" if amount > 0 else "> −0.1"
    return f"{rounded:,.1f}".replace(",", " ").replace("-", "−")


def signed_credit(amount: float) -> str:
    """Write a change of credit-minutes with its sign, to a tenth."""
    rounded = round(amount, 1)
    return "±0.0" if rounded == 0 else f"{rounded:+,.1f}".replace(",", " ").replace("-", "−")


def log_name(debrief: Debrief) -> str:
    """Return the name of the log's file, without its folder."""
    return PurePath(debrief.log.file).name


def needed_weighted(debrief: Debrief) -> float:
    """Return the weighted need of the incident [weighted patient-minutes]."""
    return weighted_need(debrief.scenario, debrief.team.verdict.coverage)


def usual_of(debrief: Debrief) -> Judged | None:
    """Return the better of the ways of usual practice; ``None`` where there is none."""
    return max(debrief.usual, key=lambda judged: judged.verdict.weighted, default=None)


class Discretion:
    """Takes names of people out of what is shown: a debrief scores the system, not individuals.

    Who changed a cylinder is needed to judge orders, and is not shown.  Names of the scenario (``field staff 1``)
    say no more than a role; anything else that stands there in a log may be somebody's name.
    """

    def __init__(self, debrief: Debrief) -> None:
        roles = {word for handler in find_handlers(debrief.scenario) for word in handler.key.casefold().split()}
        written = {note.written.strip() for note in debrief.log.notes if note.column == _BY}
        names = {order.by.strip() for order in debrief.team.plan.orders} | written
        names = {
            name for name in names if re.search(r"[^\W\d_]{2}", name) and not set(name.casefold().split()) <= roles
        }
        hidden = sorted(names, key=lambda name: (-len(name), name))
        self._pattern = re.compile("|".join(rf"(?<!\w){re.escape(name)}(?!\w)" for name in hidden)) if hidden else None

    def hide(self, text: str) -> str:
        """Return a text without names of people."""
        return self._pattern.sub(_HIDDEN, text) if self._pattern else text

    def note(self, note: Note) -> tuple[str, str, str, str]:
        """Return column, what is written, as what it was read, and why; nothing of what says who."""
        if note.column != _BY:
            return note.column, self.hide(note.written), self.hide(note.read), self.hide(note.why)
        if not note.written:
            return _WHO, "", note.read, self.hide(note.why)
        return _WHO, _HIDDEN, _HIDDEN if note.read else "", "Who did it is needed to judge the order and is not shown."
