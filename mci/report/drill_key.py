"""The answer key in words: how hard the drill is, what was possible, which decisions matter, the key's orders."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.compared import weighted_need
from mci.report.drill_page import CategoryRow, CoverageFigures, DecisionRow, KeyBody, KeyLine, KeySheet
from mci.report.drill_words import drill_page, find_drill_marks, handling_cautions
from mci.report.order_sheets import order_lines
from mci.report.series import records
from mci.report.study_words import amount
from mci.report.words import NOISE, category_word, join_words, moment, share
from mci.units import format_moment

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from mci.drills.result import Decision, Difficulty, Drill
    from mci.replay.judged import Judged
    from mci.report.drill_page import DrillPage
    from mci.report.order_sheets import OrderLine

__all__ = ["best_usual", "build_key", "lost_words", "plan_names"]

_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_STANDING = (
    "The best orders know everything beforehand, every inject too; no crew can know that much. They show what was "
    "possible, not what a team should have guessed. The bound lies higher still: it counts casualties and cylinders as "
    "divisible, and no orders whatsoever can beat it. A weighted credit-minute is a minute of met need, a lower option "
    "by its credit, times the weight of the category."
)


def build_key(drill: Drill) -> DrillPage[KeyBody]:
    """Put the answer key into words."""
    body = KeyBody(
        headline=tuple(_headline(drill)),
        standing=_STANDING,
        legend=tuple((kind, name) for kind, name, _ in _columns(drill)),
        coverage=_coverage(drill),
        decisions=tuple(_decision(at, each, drill) for at, each in enumerate(drill.decisions)),
        sheets=_sheets(drill),
        notes=drill.notes,
        cautions=handling_cautions(),
        provenance=_provenance(drill),
    )
    hard = drill.difficulty
    facts = (("Difficulty", _level(hard)), ("Usual practice loses", lost_words(hard)))
    return drill_page(drill, "Answer key", "controllers only", body, facts)


def best_usual(drill: Drill) -> Judged | None:
    """Return usual practice in the better of its ways."""
    return max(drill.usual, key=lambda each: each.verdict.weighted, default=None)


def plan_names(drill: Drill) -> tuple[tuple[str, str, str], ...]:
    """Return the plans that are compared: kind in figures, what they are called here, and their own name."""
    return tuple((kind, title, judged.name) for kind, title, judged in _columns(drill))


def _columns(drill: Drill) -> list[tuple[str, str, Judged]]:
    usual = best_usual(drill)
    columns = [] if usual is None else [("usual", f"usual practice: {usual.name}", usual)]
    if drill.again is not None:
        columns.append(("rolling", "planned again and again", drill.again))
    return [*columns, ("best", "best orders, everything known", drill.best)]


def _headline(drill: Drill) -> Iterator[str]:
    hard = drill.difficulty
    yield f"{_level(hard)}: usual practice loses {lost_words(hard)} of what the best orders reach."
    yield (
        f"Usual practice reaches {amount(hard.usual)} weighted credit-minutes, the best orders {amount(hard.best)}; "
        f"no orders can beat {amount(hard.bound)}."
    )
    if drill.again is not None and hard.best > NOISE:
        again = drill.again.verdict.weighted
        yield (
            "A crew that plans again and again, and knows only what has happened, reaches "
            f"{amount(again)}: {share(again / hard.best)} of the best orders."
        )
    if hard.asked is not None:
        yield f"Draws that were looked at: {hard.tried}."


def lost_words(hard: Difficulty) -> str:
    """Write the share that usual practice loses: ``12.3 %``."""
    return f"{100 * max(hard.lost, 0.0):.1f} %"


def _level(hard: Difficulty) -> str:
    reached = "Below the easiest band" if hard.level is None else hard.level.value.capitalize()
    if hard.asked is None:
        return reached
    return f"{reached}, as asked" if hard.asked is hard.level else f"{reached}, though {hard.asked.value} was asked"


def _coverage(drill: Drill) -> CoverageFigures:
    columns = _columns(drill)
    tables = [{row["category"]: row for row in records(judged.verdict.coverage)} for _, _, judged in columns]
    rows = tuple(
        CategoryRow(
            category=category,
            word="All" if category == "all" else category_word(category),
            need=amount(row["needed_patient_min"]),
            cells=tuple(
                (
                    share(table[category]["coverage"]),
                    f"{amount(round(table[category]['without_patient_min'], 6))} min without",
                )
                for table in tables
            ),
        )
        for category, row in tables[-1].items()
    )
    return CoverageFigures(tuple(title for _, title, _ in columns), (*rows, _by_weight(drill)))


def _by_weight(drill: Drill) -> CategoryRow:
    """Return the row that difficulty is measured by; by number of patients the best orders may look worse."""
    judged = [each for _, _, each in _columns(drill)]
    need = weighted_need(drill.actual, drill.best.verdict.coverage)
    cells = (
        (share(each.verdict.weighted / need if need > NOISE else 1.0), f"{amount(each.verdict.weighted)} by weight")
        for each in judged
    )
    return CategoryRow("weighted", "All, by weight", f"{amount(need)} by weight", tuple(cells))


def _letter(at: int) -> str:
    return _LETTERS[at] if at < len(_LETTERS) else f"Z{at - len(_LETTERS) + 2}"


def _decision(at: int, decision: Decision, drill: Drill) -> DecisionRow:
    best = drill.difficulty.best
    return DecisionRow(
        letter=_letter(at),
        when=moment(decision.minute, drill.briefed.start),
        what=_without_moment(decision),
        why=decision.why,
        worth=amount(decision.worth),
        share=share(decision.worth / best) if best > NOISE else "",
        immediate=f"{round(decision.immediate_min, 1):+.10g}".replace("-", "−"),
        rows=_ranges(decision.rows),
    )


def _without_moment(decision: Decision) -> str:
    """Return what is decided; the moment stands before it already."""
    what = decision.what.removeprefix(f"{format_moment(decision.minute)} ")
    return what[:1].upper() + what[1:]


def _ranges(rows: Sequence[int]) -> str:
    """Write numbers of orders, neighbours as ranges: ``3, 7 to 9``."""
    runs: list[list[int]] = []
    for row in sorted(rows):
        if runs and runs[-1][-1] == row - 1:
            runs[-1].append(row)
        else:
            runs.append([row])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs)


def _sheets(drill: Drill) -> tuple[KeySheet, ...]:
    """Return the key's orders by area; numbers are those of the file of orders."""
    marks = find_drill_marks(drill)
    letters: dict[int, str] = {}
    for at, decision in enumerate(drill.decisions):
        for row in decision.rows:
            letters[row] = f"{letters.get(row, '')} {_letter(at)}".strip()
    lines = order_lines(drill.actual, drill.best.plan, marks)
    made = []
    for area in drill.actual.areas:
        mine = tuple(
            _line(number, line, letters.get(number, ""))
            for number, (order, line) in enumerate(lines, start=1)
            if order.area == area.key
        )
        if mine:
            made.append(KeySheet(area.title, tuple(marks.legends.get(area.key, ())), mine))
    return tuple(made)


def _line(number: int, line: OrderLine, letters: str) -> KeyLine:
    what = f"{line.change.what} ({line.who})" if line.change and line.who else line.change.what if line.change else ""
    return KeyLine(
        number=str(number),
        when=line.when,
        clock=line.clock,
        action=line.action,
        patient=line.patient,
        gives=what or line.gives,
        source="" if line.change else line.source,
        gauge=line.gauge,
        reason=line.reason,
        letters=letters,
    )


def _provenance(drill: Drill) -> tuple[tuple[str, str], ...]:
    record, names = drill.provenance, [judged.name for judged in drill.usual]
    return (
        ("Software", record.software),
        ("Scenario file", record.scenario_file),
        ("Scenario SHA-256", record.scenario_sha256),
        ("Seed", str(drill.seed)),
        ("Difficulty", "share of the best orders’ weighted coverage that usual practice loses, the better of its ways"),
        ("Usual practice", join_words(names) if names else "none was judged"),
    )
