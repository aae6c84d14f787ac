"""What a debrief says first: reached, usual practice, possible, and where the difference went."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from mci.drills.debriefed import Status
from mci.drills.log_faults import Fault, fault_of
from mci.report.debrief_words import credit, log_name, needed_weighted, usual_of
from mci.report.page import KeyFigure
from mci.report.series import records
from mci.report.study_words import plural
from mci.report.words import NOISE, PatientTime, at_most, join_words, share

if TYPE_CHECKING:
    from mci.drills.debriefed import Debrief
    from mci.replay.judged import Judged

__all__ = ["debrief_headline", "debrief_key_figures", "debrief_standing", "patient_time", "whole_loss"]

KNOWS = "The best orders know everything beforehand, also what was not announced; no crew can."
_MOST_CAUSES = 3


def patient_time(debrief: Debrief) -> PatientTime:
    """Return the unit in which this debrief gives patient time."""
    return PatientTime.for_total(_all(debrief.team, "needed_patient_min"))


def whole_loss(debrief: Debrief) -> float:
    """Return what was possible at most less what was reached [weighted credit-minutes]."""
    return debrief.bound - debrief.team.verdict.weighted


def _all(judged: Judged, column: str) -> float:
    rows = records(judged.verdict.coverage)
    return float(next(row[column] for row in rows if row["category"] == "all"))


def _part(debrief: Debrief, weighted: float) -> float:
    needed = needed_weighted(debrief)
    return weighted / needed if needed > NOISE else 1.0


def debrief_headline(debrief: Debrief) -> tuple[str, ...]:
    """Say in one sentence what was reached and what was possible, then where the difference went."""
    team, best, usual = debrief.team, debrief.best, usual_of(debrief)
    reached = f"The team reached {share(_part(debrief, team.verdict.weighted))} of the weighted need"
    beside = f"usual practice ({usual.name}) reaches {share(_part(debrief, usual.verdict.weighted))}" if usual else ""
    possible = f"the best orders {share(_part(debrief, best.verdict.weighted))}"
    lead = f"{reached}; {join_words([beside, possible]) if beside else possible}."
    return lead, _lost(debrief), KNOWS


def _lost(debrief: Debrief) -> str:
    lost = whole_loss(debrief)
    sums = (
        f"Of the {credit(debrief.bound)} weighted credit-minutes that were possible at most, "
        f"{credit(debrief.team.verdict.weighted)} were reached"
    )
    if lost <= NOISE:
        return f"{sums}: nothing was lost."
    named = [
        f"{row['cause']} ({100 * row['share']:.1f} %)"
        for row in records(debrief.causes)[:_MOST_CAUSES]
        if row["lost"] > NOISE
    ]
    most = f", the largest parts to {join_words(named)}" if named else ""
    return f"{sums} and {credit(lost)} were lost{most}."


def debrief_standing(debrief: Debrief) -> str:
    """Say how far the log can be relied on."""
    log, orders = debrief.log, debrief.team.plan.orders
    counts = Counter(fault_of(finding, orders) for finding in debrief.team.verdict.findings)
    wrong, impossible, left = (counts[fault] for fault in (Fault.WRONG, Fault.IMPOSSIBLE, Fault.OPEN))
    told = [f"{plural(wrong, 'thing')} went wrong"] if wrong else []
    told += [f"{plural(impossible, 'thing')} cannot have been as written"] if impossible else []
    told += [f"{plural(left, 'thing')} {'is' if left == 1 else 'are'} left open"] if left else []
    told = told or ["all of it can have been as written"]
    read = f"{plural(log.read, 'line')} read, {log.left_out} left out"
    return f"From the log {log_name(debrief)}: {read}; {join_words(told)}."


def debrief_key_figures(debrief: Debrief) -> tuple[KeyFigure, ...]:
    """Return the numbers that matter most."""
    time, usual = patient_time(debrief), usual_of(debrief)
    without = _all(debrief.team, "without_patient_min")
    figures = [KeyFigure(share(_part(debrief, debrief.team.verdict.weighted)), "of the weighted need: the team", True)]
    if usual:
        figures.append(KeyFigure(share(_part(debrief, usual.verdict.weighted)), "usual practice", False))
    figures += [
        KeyFigure(share(_part(debrief, debrief.best.verdict.weighted)), "best orders, all known beforehand", False),
        KeyFigure(at_most(_part(debrief, debrief.bound)), "the most that any orders can reach", False),
        KeyFigure(time.write(without), f"{time.unit} without oxygen: the team", without > NOISE),
    ]
    if debrief.objectives:
        met = sum(reached.status is Status.MET for reached in debrief.objectives)
        of = len(debrief.objectives)
        figures.append(KeyFigure(f"{met} of {of}", "objectives met", met < of))
    return tuple(figures)
