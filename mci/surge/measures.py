"""What is measured for every case, in one flat row: names, units and words of the columns."""

from __future__ import annotations

from dataclasses import dataclass

from mci.scenario.model import CATEGORIES

__all__ = ["MEASURES", "POLICIES", "Measure"]

#: Whose result it is: the best possible with everything known beforehand (divisible; no plan can beat it), the orders
#: made with everything known beforehand, the orders of a crew that plans again and again, usual practice.
POLICIES = {
    "best": "best possible",
    "orders": "orders, everything known beforehand",
    "rolling": "orders, planned again and again",
    "usual": "usual practice",
}


@dataclass(frozen=True, slots=True)
class Measure:
    """One column of a table of cases.

    ``unit`` is ``share`` (0 to 1), ``min`` (a moment or time), ``patient-min``, ``weighted patient-min``,
    ``litres`` or empty (words).
    """

    name: str
    title: str
    unit: str


def _of_policy(policy: str, words: str) -> tuple[Measure, ...]:
    return (
        Measure(f"{policy}_share", f"weighted coverage, {words}", "share"),
        Measure(f"{policy}_all", f"coverage of all, {words}", "share"),
        *(Measure(f"{policy}_{c}", f"coverage of {c.capitalize()}, {words}", "share") for c in CATEGORIES),
        Measure(f"{policy}_without_min", f"without oxygen, all, {words}", "patient-min"),
        *(
            Measure(f"{policy}_without_{c}_min", f"{c.capitalize()} without oxygen, {words}", "patient-min")
            for c in CATEGORIES
        ),
    )


#: Columns in order.  A category that does not occur, a policy that was not asked for and a moment that never comes
#: are NaN; ``status`` is ``planned``, or says why there is no result.
MEASURES: tuple[Measure, ...] = (
    Measure("status", "status", ""),
    Measure("need_weighted_min", "weighted need", "weighted patient-min"),
    Measure("bound_weighted_min", "bound", "weighted patient-min"),
    *_of_policy("best", POLICIES["best"]),
    Measure("first_short_min", "first shortage", "min"),
    Measure("short_min", "below target, at best", "patient-min"),
    Measure("last_safe_min", "last safe arrival of a delivery", "min"),
    Measure("last_safe_delivery", "that delivery", ""),
    Measure("binding", "what binds", ""),
    Measure("one_more", "one more that would help most", ""),
    Measure("one_more_gain", "worth of one more, of weighted need", "share"),
    *_of_policy("usual", POLICIES["usual"]),
    *_of_policy("orders", POLICIES["orders"]),
    *_of_policy("rolling", POLICIES["rolling"]),
)
