"""The first sentences of a what-if study: where coverage breaks, how far the cases lie apart, what moves them most."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.report.page import KeyFigure
from mci.report.series import records
from mci.report.study_words import category_title, number_words, planned, plural
from mci.report.words import share
from mci.scenario.model import CATEGORIES
from mci.surge.cases import PLANNED, Role
from mci.surge.whatif_result import GOAL_SHARE

if TYPE_CHECKING:
    import pandas as pd

    from mci.report.series import Record
    from mci.report.whatif_page import BreakRow
    from mci.surge.whatif_result import WhatIf

__all__ = ["asked_cases", "break_sentence", "sorted_breaks", "whatif_headline", "whatif_key_figures"]


def asked_cases(found: WhatIf) -> pd.DataFrame:
    """Return the scenario as written and the cases that were asked for."""
    return found.table[found.table["role"].isin([Role.AS_WRITTEN, Role.CASE])]


def sorted_breaks(found: WhatIf) -> list[Record]:
    """Return the breaks, those within a range first, the most urgent category first, then as numbers were given."""
    order = {name: place for place, name in enumerate((*CATEGORIES, "all"))}
    paths = [number.path for number in found.numbers]

    def rank(row: Record) -> tuple[bool, int, int]:
        within = not math.isnan(row["kept_to"]) and not math.isnan(row["lost_at"])
        return not within, order.get(row["category"], len(order)), paths.index(row["number"])

    return sorted(records(found.breaks), key=rank)


def break_sentence(found: WhatIf, row: Record) -> str:
    """Say one break: ``Coverage of Immediate stays at 100 % up to 23 (arrivals); at 24 it does not.``"""
    number = next(number for number in found.numbers if number.path == row["number"])
    who = "all patients" if row["category"] == "all" else category_title(row["category"])
    goal = f"{100 * row['goal']:.4g} %"
    kept_at = goal if row["goal"] >= GOAL_SHARE else f"{goal} or more"
    way = "up" if row["direction"] == "up" else "down"
    if math.isnan(row["kept_to"]):
        return f"Coverage of {who} is below {goal} at every value of {number.path} that was looked at."
    kept = number_words(number, row["kept_to"], found.scenario)
    if math.isnan(row["lost_at"]):
        return f"Coverage of {who} stays at {kept_at} over all values of {number.path}, {way} to {kept}."
    lost = number_words(number, row["lost_at"], found.scenario)
    binds = f" What binds then: {row['binds']}." if row["binds"] else ""
    return f"Coverage of {who} stays at {kept_at} {way} to {kept} ({number.path}); at {lost} it does not.{binds}"


def whatif_headline(found: WhatIf, breaks: tuple[BreakRow, ...]) -> tuple[str, ...]:
    """Return the sentences of the headline; the first stands alone."""
    within = [row.sentence for row in breaks if row.kept_to and row.lost_at]
    said = [*within[:2], _spread(found), _swing(found), _failed(found)]
    return tuple(sentence for sentence in said if sentence)


def _spread(found: WhatIf) -> str:
    """Say how far the cases lie apart, with the scenario as written beside them."""
    cases = planned(asked_cases(found))
    if cases.empty:
        return "No case has a result."
    shares, usual = cases["best_share"], cases["usual_share"].dropna()
    count, written = plural(len(cases), "case"), _written(found)
    said = f"In {count}, weighted coverage is at best {_between(shares, 'between', 'and')}"
    if len(cases) == 1:
        said = f"In the one case with a result, weighted coverage is at best {share(shares.iloc[0])}"
    if len(usual):
        said += f"; usual practice reaches {_between(usual, '', 'to')}"
    return said + (f". As written it is at best {written}." if written else ".")


def _between(shares: pd.Series, before: str, sign: str) -> str:
    low, high = share(shares.min()), share(shares.max())
    return low if low == high else f"{before} {low} {sign} {high}".strip()


def _written(found: WhatIf) -> str:
    rows = planned(found.table)
    rows = rows[rows["role"] == Role.AS_WRITTEN]
    return share(rows.iloc[0]["best_share"]) if len(rows) else ""


def _swing(found: WhatIf) -> str:
    """Say what moves the result most, where several numbers do."""
    whole = found.swings.dropna(subset=["at_low", "at_high"])
    if len(whole) < 2:
        return ""
    row = whole.iloc[0]
    number = next(number for number in found.numbers if number.path == row["number"])
    low, high = (number_words(number, row[end], found.scenario) for end in ("low", "high"))
    return (
        f"By itself, {number.path} moves weighted coverage most: {share(row['at_low'])} at {low}, "
        f"{share(row['at_high'])} at {high}."
    )


def _failed(found: WhatIf) -> str:
    failed = int((found.table["status"] != PLANNED).sum())
    return f"{plural(failed, 'case')} without a result, see the reasons below." if failed else ""


def whatif_key_figures(found: WhatIf) -> tuple[KeyFigure, ...]:
    """Choose the six numbers that a reader should take away."""
    asked = asked_cases(found)
    cases = planned(asked)
    covered = int((cases["best_all"] >= GOAL_SHARE).sum())
    least, most = (share(end(cases["best_share"])) if len(cases) else "none" for end in (min, max))
    failed = len(asked) - len(cases)
    return (
        KeyFigure(str(len(asked)), "case" if len(asked) == 1 else "cases, the scenario as written among them", False),
        KeyFigure(_written(found) or "none", "weighted coverage at best, as written", short=False),
        KeyFigure(most, "weighted coverage at best, best case", short=False),
        KeyFigure(least, "weighted coverage at best, worst case", short=bool(len(cases)) and least != "100.0 %"),
        KeyFigure(str(covered), "of them with everybody covered at best", short=False),
        KeyFigure(str(failed), "of them without a result", short=failed > 0),
    )
