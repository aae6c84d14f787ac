"""From a few cases to their page in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.beside_cases import check_chosen
from mci.report.beside_facts import OURS, find_facts
from mci.report.beside_groups import categories_of, make_groups, need_of
from mci.report.beside_page import BesideBody, Column
from mci.report.beside_rows import share_row
from mci.report.beside_series import need_rows, stock_rows
from mci.report.beside_tables import need_table, stock_table
from mci.report.build import provenance_rows
from mci.report.cautions import AID_STATEMENT, read_cautions
from mci.report.compared import BEST
from mci.report.page import KeyFigure
from mci.report.study_page import StudyPage
from mci.report.study_tables import behind
from mci.report.words import NOISE, category_word, join_words, share

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mci.report.beside_cases import Chosen
    from mci.report.beside_facts import Facts
    from mci.report.beside_page import Cell

__all__ = ["build_beside_page"]

#: What the page is called above its name.
_KIND = "Cases side by side"
_STANDING = (
    "Every case is compared with the first: what differs carries its sign, such as +3.0 points, or ≠ where it is no "
    "number. Points are hundredths of the need; each case is measured by its own need. "
    "“This plan” is the one that replay finds can be carried out; “at best” and “best possible” count patients and "
    "cylinders as divisible, which no plan can beat."
)


def build_beside_page(name: str, chosen: Sequence[Chosen]) -> StudyPage[BesideBody]:
    """Put two to six cases side by side, in words.

    Parameters
    ----------
    name
        What heads the page, such as the name of the incident.
    chosen
        The cases; all are compared with the first.

    Raises
    ------
    UsageError
        If there are too few or too many, or two of one name.
    """
    check_chosen(chosen)
    facts, unit = find_facts(chosen)
    first = chosen[0].run
    return StudyPage(
        kind=_KIND,
        name=name,
        summary=first.scenario.summary,
        headline=_headline(facts),
        standing=_STANDING,
        key_figures=_key_figures(facts),
        body=BesideBody(
            columns=tuple(Column(case.key, case.title, case.href) for case in chosen),
            groups=make_groups(facts, unit),
            needs=tuple(row.key for row in need_rows(chosen)),
            stocks=tuple(row.key for row in stock_rows(chosen)),
        ),
        behind={"need": (behind(need_table(chosen)),), "stock": (behind(stock_table(chosen)),)},
        failed=(),
        notes=(),
        assumptions=_assumptions(chosen),
        statement=AID_STATEMENT,
        cautions=read_cautions(),
        provenance=_provenance(chosen),
        provenance_line=f"{first.provenance.software} · scenario {first.provenance.scenario_sha256[:12]}",
    )


def _headline(facts: Sequence[Facts]) -> tuple[str, ...]:
    """Say how far this plan gets in each case: as a whole, then for the most urgent category."""
    need = need_of(facts)
    said = [_extremes(facts, [each.weighted(OURS) for each in facts], f"of the {need} is met by this plan")]
    for urgent in categories_of(facts)[:1]:
        covered = [each.reached(OURS, urgent, "coverage") for each in facts]
        said.append(_extremes(facts, covered, f"of the need of {category_word(urgent)} patients is met"))
    without = [f"“{each.case.title}”" for each in facts if OURS not in each.measured]
    if without:
        said.append(f"No orders that can be carried out were found for {join_words(without)}.")
    return tuple(sentence for sentence in said if sentence)


def _extremes(facts: Sequence[Facts], values: Sequence[float | None], what: str) -> str:
    """Say the share of the first that has one, then the least and the most of the others; empty where none has."""
    having = [(value, f"“{each.case.title}”") for each, value in zip(facts, values, strict=True) if value is not None]
    if not having:
        return ""
    cells = share_row("", [value for value, _ in having]).cells
    known = [(value, title, cell) for (value, title), cell in zip(having, cells, strict=True)]
    (_, title, cell), *others = known
    begin = f"{title}: {cell.lines[0]} {what}"
    if not others:
        return f"{begin}."
    least, most = min(others, key=lambda each: each[0]), max(others, key=lambda each: each[0])
    if least[2].lines == most[2].lines:
        where = least[1] if len(others) == 1 else "in every other case"
        return f"{begin}; {where}: {_with_change(least[2])}."
    return f"{begin}; least in {least[1]}: {_with_change(least[2])}; most in {most[1]}: {_with_change(most[2])}."


def _with_change(cell: Cell) -> str:
    return f"{cell.lines[0]} ({cell.change})" if cell.change else f"{cell.lines[0]}, the same"


def _key_figures(facts: Sequence[Facts]) -> tuple[KeyFigure, ...]:
    """Return what each case's plan meets, or what it can meet at best where there is no plan."""
    need = need_of(facts)
    figures = []
    for each in facts:
        planned = OURS in each.measured
        met = each.measured[OURS if planned else BEST].weighted
        whose = "by this plan" if planned else "at best"
        figures.append(KeyFigure(share(met), f"of the {need} met {whose}, {each.case.title}", met < 1 - NOISE))
    return tuple(figures)


def _assumptions(chosen: Sequence[Chosen]) -> tuple[tuple[str, str, str, str], ...]:
    """Return the assumptions of all cases, each once."""
    every = (each for case in chosen for each in case.run.scenario.assumptions)
    return tuple(dict.fromkeys((a.what, a.value, str(a.source.basis), a.source.text) for a in every))


def _provenance(chosen: Sequence[Chosen]) -> tuple[tuple[str, str], ...]:
    """Say where the cases come from: what they share once, what differs for each, but for how each was solved."""
    rows = []
    for same in zip(*(provenance_rows(case.run) for case in chosen), strict=True):
        label = same[0][0]
        if len(set(same)) == 1:
            rows.append(same[0])
        elif label != "Solver":
            rows += [(f"{label}, {case.title}", value) for case, (_, value) in zip(chosen, same, strict=True)]
    return tuple(rows)
