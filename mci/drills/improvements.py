"""The improvement plan: what was seen, what to do about it, and how to see that it worked.

Actions and measures are common practice, no source, and subject to local protocol.  Who does it by when is left open,
for the team.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.drills.debriefed import Cause, Result, Status
from mci.drills.missed_words import join_names
from mci.scenario.exercise import Measure

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    import pandas as pd

    from mci.drills.debriefed import Reached
    from mci.drills.symptoms import Symptom

__all__ = ["NOTICEABLE", "improvements"]

#: Share of the whole loss, and weighted credit-minutes, from which a loss to a cause is noticeable.
NOTICEABLE, _LEAST = 0.05, 0.5

#: What to do about each cause.
_DO: Mapping[Cause, str] = {
    Cause.RECOGNITION: "Look at everybody on arrival for the need of oxygen, and call out who needs it before anything "
    "else is done; one person keeps the list of who waits.",
    Cause.IDLE_OXYGEN: "Go round every 5 min with the list of outlets: who is off, who is below target, what is free; "
    "bring free outlets and waiting patients together at once.",
    Cause.IDLE_REGULATOR: "Put every regulator on a full cylinder as soon as the area opens, and keep one pair ready "
    "ahead of need; name who does it.",
    Cause.EMPTY: "Read every gauge every 5 min, write down when each cylinder will be empty, and begin a change while "
    "10 min are left in it.",
    Cause.LEAST_FLOW: "Put the least flow on every mask (a label or card); change to a device for low flow before "
    "going below it.",
    Cause.HIGH_FLOW: "Set the prescribed flow and no more, and read it again on every round; when gas is short, agree "
    "on one rule of who steps down first.",
    Cause.DELIVERY: "Ask for more before half is used, agree beforehand on a second source, and ask for the time of "
    "arrival again every 15 min.",
    Cause.SHORTAGE: "Agree on one rule of who gets what when nothing is left, by category, and go through it aloud "
    "whenever an outlet becomes free.",
    Cause.OTHER: "Reckon at the start how long what is there lasts at the flows that are prescribed, and step down "
    "early rather than late when it does not last.",
}

#: How to see that it worked.
_SHOWS: Mapping[Cause, str] = {
    Cause.RECOGNITION: "Minutes from arrival to the first oxygen, by patient: nobody waits while an outlet is free.",
    Cause.IDLE_OXYGEN: "Patient-minutes below target while an outlet is free: 0 in the next drill.",
    Cause.IDLE_REGULATOR: "Patient-minutes without oxygen while a regulator and a cylinder for it lie idle: 0 in the "
    "next drill.",
    Cause.EMPTY: "Longest time that anybody is connected to something that gives nothing: at most 2 min in the next "
    "drill.",
    Cause.LEAST_FLOW: "Patient-minutes on a device below its least flow: 0 in the next drill.",
    Cause.HIGH_FLOW: "Litres drawn above what is prescribed: 0 in the next drill; nobody less urgent is on full flow "
    "while somebody more urgent goes without.",
    Cause.DELIVERY: "Minutes from the news that a delivery is late to a request to the second source: at most 5.",
    Cause.SHORTAGE: "Coverage by category in the next drill: the more urgent category has the higher one.",
    Cause.OTHER: "Litres left and minutes that they last, said aloud every 15 min.",
}

#: What to do about an objective that was not met; whether it worked shows the same objective.
_DO_FOR: Mapping[Measure, str] = {
    Measure.ON_OXYGEN: "Drill the first minutes again: arrival, need, outlet, connection.",
    Measure.STEPPED_UP: "Look at everybody again every 5 min, and whenever somebody says that a patient looks worse; "
    "raise the flow first, then change the device.",
    Measure.COVERAGE: "Go through the decisions that would have gained most, in the order of what they are worth.",
    Measure.WITHOUT: "Keep a list of who is without oxygen, and since when.",
    Measure.EMPTY: "Name one person per area who reads gauges and calls changes.",
    Measure.LEAST_FLOW: "Check device and flow together whenever either is changed.",
}
_STATUS: Mapping[Status, str] = {Status.MET: "met", Status.PARTLY: "partly met", Status.NOT: "not met"}


def improvements(
    causes: pd.DataFrame, symptoms: Sequence[Symptom], objectives: Sequence[Reached]
) -> tuple[Result, ...]:
    """Return the improvement plan: causes by what was lost to them, then objectives that were not met.

    Parameters
    ----------
    causes
        As :class:`mci.drills.debriefed.Debrief` has them.
    symptoms
        What was seen of each.
    objectives
        What was reached of each.
    """
    return (*_of_causes(causes, symptoms), *_of_objectives(objectives))


def _of_causes(causes: pd.DataFrame, symptoms: Iterable[Symptom]) -> Iterator[Result]:
    seen: dict[Cause, set[str]] = {}
    for each in symptoms:
        seen.setdefault(each.cause, set()).add(each.patient)
    rows = zip(causes["cause"], causes["lost"], causes["share"], causes["patient_min"], strict=True)
    for cause, lost, share, minutes in rows:
        is_late = cause is Cause.DELIVERY and minutes > 0  # costs nothing of what was possible: nobody could help it
        if not (share >= NOTICEABLE and lost >= _LEAST) and not is_late:
            continue
        who = f", seen in {_patients(seen[cause])} for {minutes:.1f} patient-min" if cause in seen else ""
        cost = f"{lost:.1f} weighted credit-min ({100 * share:.1f} % of the loss)"
        cost = cost if lost >= _LEAST else "no loss against what was possible"
        words = f"{cause[0].upper()}{cause[1:]}: {cost}{who}."
        yield Result(words, _DO[cause], _SHOWS[cause], cause)


def _patients(names: Iterable[str]) -> str:
    ordered = sorted(names)
    return f"{len(ordered)} patient{'' if len(ordered) == 1 else 's'} ({join_names(ordered)})"


def _of_objectives(objectives: Iterable[Reached]) -> Iterator[Result]:
    for each in objectives:
        if each.status is not Status.MET:
            text = each.objective.text or str(each.objective.measure)
            words = f"{each.objective.key} {_STATUS[each.status]}: {text.rstrip('.')}. Found: {each.words}."
            shows = f"{each.objective.key} is met in the next drill."
            yield Result(words, _DO_FOR[each.objective.measure], shows, None)
