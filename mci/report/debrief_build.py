"""From a debrief to its page in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.build import pairs_words
from mci.report.cautions import AID_STATEMENT, read_cautions
from mci.report.debrief_headline import (
    debrief_headline,
    debrief_key_figures,
    debrief_standing,
    patient_time,
    whole_loss,
)
from mci.report.debrief_log import fault_groups, log_sum, note_lines
from mci.report.debrief_lost import (
    FIRST_CAUSES,
    accounting_rule,
    cause_rows,
    cause_split,
    decision_cards,
    lost_categories,
    other_causes,
    stretch_rows,
    unit_words,
)
from mci.report.debrief_page import CoverageLine, DebriefBody, ImprovementRow, ObjectiveRow
from mci.report.debrief_tables import over_time_table, stretches_table
from mci.report.debrief_told import event_lines, facings, used_legends
from mci.report.debrief_words import Discretion, credit, log_name, needed_weighted, usual_of
from mci.report.series import records
from mci.report.study_page import StudyPage
from mci.report.study_tables import behind
from mci.report.study_words import category_title
from mci.report.words import NOISE, category_word, share

if TYPE_CHECKING:
    from mci.drills.debriefed import Debrief
    from mci.replay.judged import Judged
    from mci.report.words import PatientTime

__all__ = ["build_debrief_page", "compared_plans", "debrief_record"]

EXERCISE = "Exercise data, invented; not for care of any patient."
_DECISIONS = (
    "At best: what could be reached at most at the start of the stretch less what could at its end. By orders: the "
    "same between orders that were made from both moments on and judged; it can be less, or more. "
    "This looks at how the work was organised, not at persons."
)


def build_debrief_page(debrief: Debrief) -> StudyPage[DebriefBody]:
    """Put a debrief into words."""
    scenario, record = debrief.scenario, debrief.provenance
    return StudyPage(
        kind="Debrief",
        name=scenario.name,
        summary=scenario.summary,
        headline=debrief_headline(debrief),
        standing=debrief_standing(debrief),
        key_figures=debrief_key_figures(debrief),
        body=_body(debrief),
        behind={
            "reached": (behind(over_time_table(debrief)),),
            "possible": (behind(stretches_table(debrief)),),
        },
        failed=(),
        notes=tuple(map(Discretion(debrief).hide, debrief.notes)),
        assumptions=tuple((a.what, a.value, str(a.source.basis), a.source.text) for a in scenario.assumptions),
        statement=AID_STATEMENT,
        cautions=read_cautions(),
        provenance=debrief_record(debrief),
        provenance_line=f"{record.software} · scenario {record.scenario_sha256[:12]} · log {log_name(debrief)}",
    )


def debrief_record(debrief: Debrief) -> tuple[tuple[str, str], ...]:
    """Say where a debrief comes from."""
    record, log, exercise = debrief.provenance, debrief.log, debrief.scenario.exercise
    drawn = (("Drawn with seed", str(exercise.seed)),) if exercise and exercise.seed is not None else ()
    return (
        ("Software", record.software),
        ("Scenario file", record.scenario_file),
        ("Scenario SHA-256", record.scenario_sha256),
        *drawn,
        ("Log", f"{log_name(debrief)}: {log.read} lines, {log.left_out} left out, {len(log.orders)} orders"),
        ("Solver", pairs_words(record.solver)),
        ("Settings", pairs_words(record.settings)),
        ("Weights", pairs_words(debrief.scenario.weights)),
        ("Format version", str(record.format_version)),
    )


def compared_plans(debrief: Debrief) -> tuple[tuple[str, Judged], ...]:
    """Return whose results stand side by side, with their titles."""
    return (
        ("Team", debrief.team),
        *((f"Usual practice ({judged.name})", judged) for judged in debrief.usual),
        ("Best orders, all known beforehand", debrief.best),
    )


def _body(debrief: Debrief) -> DebriefBody:
    time, plans, usual = patient_time(debrief), compared_plans(debrief), usual_of(debrief)
    split, split_sum = cause_split(debrief)
    needed = needed_weighted(debrief)
    return DebriefBody(
        plans=tuple(title for title, _ in plans),
        usual=usual.name if usual else "",
        unit=time.unit,
        rule=accounting_rule(debrief),
        unit_words=unit_words(debrief),
        total=credit(whole_loss(debrief)),
        exercise=EXERCISE if debrief.scenario.exercise else "",
        causes=cause_rows(debrief),
        others=other_causes(debrief),
        first_causes=FIRST_CAUSES,
        decisions=decision_cards(debrief),
        decisions_note=_DECISIONS,
        objectives=tuple(
            ObjectiveRow(each.objective.key, each.objective.text, str(each.status), each.words)
            for each in debrief.objectives
        ),
        improvements=_improvements(debrief),
        coverage=_coverage(plans, time),
        weighted=tuple(share(judged.verdict.weighted / needed if needed > NOISE else 1.0) for _, judged in plans),
        categories=tuple((category, category_word(category)) for category in lost_categories(debrief)),
        split=split,
        split_sum=split_sum,
        stretches=stretch_rows(debrief),
        log_sum=log_sum(debrief),
        log=note_lines(debrief),
        faults=fault_groups(debrief),
        facing=facings(debrief),
        legends=used_legends(debrief),
        events=event_lines(debrief),
    )


def _improvements(debrief: Debrief) -> tuple[ImprovementRow, ...]:
    """Put the improvement plan into words; objectives that ask for the same stand in one line, by their keys."""
    hide, keys = Discretion(debrief).hide, tuple(f"{each.objective.key} " for each in debrief.objectives)
    rows: dict[str, ImprovementRow] = {}
    for number, each in enumerate(debrief.improvements):
        short = each.cause is None and each.seen.startswith(keys)  # the table of objectives has the rest
        key = each.action if short else str(number)
        row = ImprovementRow(
            hide(each.seen.partition(": ")[0] + "." if short else each.seen), each.action, each.measure
        )
        if key in rows:
            row = ImprovementRow(f"{rows[key].seen} {row.seen}", row.action, f"{rows[key].measure} {row.measure}")
        rows[key] = row
    return tuple(rows.values())


def _coverage(plans: tuple[tuple[str, Judged], ...], time: PatientTime) -> tuple[CoverageLine, ...]:
    """Put coverage per category, plans side by side, into words."""
    tables = [{row["category"]: row for row in records(judged.verdict.coverage)} for _, judged in plans]
    return tuple(
        CoverageLine(
            category=category,
            word=category_title(category),
            patients=f"{row['patients']:g}",
            need=time.write(row["needed_patient_min"]),
            coverage=tuple(share(table[category]["coverage"]) for table in tables),
            without=tuple(time.write(table[category]["without_patient_min"]) for table in tables),
            lower=tuple(time.write(table[category]["below_target_patient_min"]) for table in tables),
        )
        for category, row in tables[0].items()
    )
