"""Stocking: the decomposition against the extensive form, many incidents against few, two workers against one."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import mci
from mci.lp.decompose import Decomposition
from mci.stocking.spread import Sampled, staff_of
from mci.surge.means import Means
from mci.surge.sampling import draw

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from extensive import solve_extensive

__all__ = ["ratio_of_incidents", "ratio_of_stocking_workers", "ratio_to_extensive"]

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
_GAP = 0.005
_LIMIT = 3600.0  # s for the extensive form


def _sampled(count: int, name: str = "county-fair") -> Sampled:
    draft = mci.read_draft(SCENARIOS / f"{name}.yaml")
    cases = draw(draft.uncertainty, draft.numbers, count, 0).cases
    return Sampled(draft, tuple(dict(case.values) for case in cases))


def _choose(sampled: Sampled, workers: int = 1) -> tuple[float, float, float, float]:
    """Return cost, gap, and the seconds of loading and of the search."""
    layout, targets = sampled.layout, sampled.targets
    with staff_of(Means(workers)) as staff:
        begin = time.perf_counter()
        asked = staff.take(sampled)
        loaded = time.perf_counter()
        found = Decomposition(layout.plan, asked, targets.tails).solve(targets.cheapest(layout), gap=_GAP)
        return found.upper, found.gap, loaded - begin, time.perf_counter() - loaded


def ratio_to_extensive(count: int = 50) -> None:
    """Print (n), in seconds of the processor, since both run on one; the second takes a quarter of an hour."""
    for name in ("county-fair", "two-trailers"):
        sampled = _sampled(count, name)
        layout, targets, aim = sampled.layout, sampled.targets, sampled.targets.cheapest(sampled.layout)
        loaded = sampled.load()
        begin = time.process_time()
        found = Decomposition(layout.plan, loaded, targets.tails).solve(aim, gap=_GAP)
        middle = time.process_time()
        cares = sampled.load()._cares
        again = time.process_time()
        whole = solve_extensive(cares, layout.units, layout.plan, targets.tails, aim, _GAP, _LIMIT)
        ours, theirs = middle - begin, time.process_time() - again
        print(
            f"n  {count} incidents of {name}: {ours:.1f} s, {found.upper:,.0f} to {100 * found.gap:.2f} %; extensive "
            f"form in HiGHS {theirs:.0f} s ({whole.status}, {whole.value:,.0f}): {theirs / ours:.0f} x"
        )


def ratio_of_incidents(few: int = 50, many: int = 1000) -> None:
    """Print (o)."""
    one, other = _choose(_sampled(few), 2), _choose(_sampled(many), 2)
    seconds = [each[2] + each[3] for each in (one, other)]
    print(
        f"o  on two workers {few} incidents {seconds[0]:.1f} s, {many:,} incidents {seconds[1]:.0f} s: "
        f"{seconds[1] / seconds[0]:.1f} x for {many / few:.0f} x as many (to {100 * other[1]:.2f} %)"
    )


def ratio_of_stocking_workers(count: int = 400) -> None:
    """Print (p)."""
    sampled = _sampled(count)
    one, two = _choose(sampled), _choose(sampled, 2)
    seconds = [each[2] + each[3] for each in (one, two)]
    print(
        f"p  {count} incidents of the fair: {seconds[0]:.0f} s here, {seconds[1]:.0f} s on two workers: "
        f"{seconds[0] / seconds[1]:.2f} x (the search alone {one[3] / two[3]:.2f} x)"
    )
