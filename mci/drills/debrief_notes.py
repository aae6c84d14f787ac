"""What a reader of a debrief should know, as whole sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.drills.debriefed import Cause

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pandas as pd

    from mci.drills.log import Log
    from mci.replay.judged import Judged

__all__ = ["debrief_notes"]

_NOISE = 1e-6
_ALWAYS = (
    (
        "What was possible is reckoned with everything known beforehand, what was not announced too. No crew can know "
        "that much: it is a yardstick, not a mark to be reached."
    ),
    "The bound counts patients in fractions; even the best orders lose a little against it.",
    (
        "A loss is put where it became certain, not where somebody first went without: gas that is spent too fast is "
        "lost while it is spent."
    ),
)


def debrief_notes(log: Log, team: Judged, bound: float, causes: pd.DataFrame, lateness: float) -> tuple[str, ...]:
    """Return what holds of every debrief, and what holds of this one.

    Parameters
    ----------
    lateness
        What deliveries that were late cost by that alone [weighted credit-minutes].
    """
    return (
        *_ALWAYS,
        *_of_log(log, team),
        *_of_losses(team, bound, causes),
        *_of_lateness(causes, lateness),
    )


def _of_log(log: Log, team: Judged) -> Iterator[str]:
    if log.left_out:
        one = log.left_out == 1
        yield (
            f"{log.left_out} line{'' if one else 's'} of the log could not be used: what was done by "
            f"{'it' if one else 'them'} is missing here, and may count as lost."
        )
    offences = [each for each in team.verdict.findings if each.judged and each.law != "content"]
    if offences:
        number = "One thing" if len(offences) == 1 else f"{len(offences)} things"
        yield (
            f"{number} in the log cannot have been as written (see what the judge found); its orders were carried out "
            "as far as they make sense."
        )


def _of_losses(team: Judged, bound: float, causes: pd.DataFrame) -> Iterator[str]:
    lost = dict(zip(causes["cause"], causes["lost"], strict=True))
    if team.verdict.weighted > bound + _NOISE * max(bound, 1.0):
        yield "The log reaches more than is possible: not all of it can have been as written; its losses say little."
    if lost.get(Cause.OTHER, 0.0) > _NOISE:
        yield (
            f"What is {Cause.OTHER} was lost while nobody was seen below what is prescribed: mostly oxygen that was "
            "used then and was missing later."
        )


def _of_lateness(causes: pd.DataFrame, lateness: float) -> Iterator[str]:
    if lateness > _NOISE or Cause.DELIVERY in set(causes["cause"]):
        yield (
            "What came late is part of what happened, so waiting for it is no loss against what was possible; the "
            "minutes in which it was seen are told all the same. Had it come on time, "
            f"{max(lateness, 0.0):.1f} weighted credit-minutes more would have been possible at most."
        )
