"""Risk: the main function of a study of sampled incidents."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from mci.errors import UsageError
from mci.scenario.model import CATEGORIES
from mci.settings import Settings
from mci.surge.cases import PLANNED, Role
from mci.surge.cube import REPLICATES
from mci.surge.drivers import COLUMNS as DRIVER_COLUMNS
from mci.surge.drivers import FEWEST, driver_design, driver_indices
from mci.surge.means import Means, evaluator
from mci.surge.measures import MEASURES, POLICIES
from mci.surge.risk_result import Risk
from mci.surge.sampling import draw
from mci.surge.statistics import convergence, exceedance, summary
from mci.surge.study import Study, refuse_idle, spread
from mci.surge.table import case_table

if TYPE_CHECKING:
    from mci.scenario.draft import Draft
    from mci.scenario.uncertain import Uncertainty
    from mci.surge.cases import Case, Row
    from mci.surge.cube import Way
    from mci.surge.drivers import DriverDesign

__all__ = ["run_risk", "what_varies"]

_NUMERIC = tuple(measure.name for measure in MEASURES if measure.unit)


def run_risk(
    draft: Draft,
    uncertainty: Uncertainty | None = None,
    samples: int = 2000,
    seed: int = 0,
    settings: Settings | None = None,
    *,
    way: Way = "sobol",
    orders: int = 0,
    rolling_every: float | None = None,
    drivers: int = 0,
    trips: bool = False,
    means: Means | None = None,
) -> Risk:
    """Draw incidents from what is uncertain in a scenario, evaluate each, and say how bad it can be.

    Parameters
    ----------
    draft
        The scenario as written.
    uncertainty
        What is uncertain; what the scenario itself says if not given.
    samples
        How many incidents, 1 or more.
    seed
        Any whole number of 0 or more; the same seed gives the same incidents.
    settings
        How to plan; the defaults if not given.
    way
        How points are drawn.
    orders
        For how many of the samples, the first ones, orders are made and judged.
    rolling_every
        How often a crew that expects the scenario as written plans again in those samples [min]; ``None`` to leave
        that out.
    drivers
        Base points of the design that shows which input drives the result; 0 to leave that out.
    trips
        Whether the trips of the resupply network are planned in every sample; else only listed deliveries come.
    means
        How it is carried out.

    Returns
    -------
    Risk
        The same whatever the means.

    Raises
    ------
    UsageError
        Nothing is uncertain, a number of the network is without trips, or the means cannot be used.
    """
    begin = time.perf_counter()
    means, settings = means or Means(), settings or Settings()
    if 0 < drivers < FEWEST:
        raise UsageError(f"{drivers} base points say nothing of what drives the result: give {FEWEST} or more")
    uncertainty = what_varies(draft, uncertainty)
    refuse_idle(uncertainty.paths, trips=trips)
    numbers = tuple(draft.find(path) for path in uncertainty.paths)
    drawn = draw(uncertainty, draft.numbers, samples, seed, way)
    cases = tuple(replace(case, orders=n < orders) for n, case in enumerate(drawn.cases))
    design = driver_design(uncertainty, draft.numbers, drivers, seed) if drivers else None
    study = Study(draft, settings, spread([{}, *(case.values for case in cases)]), rolling_every, trips)
    whole = (*cases, *(design.cases if design else ()))
    with evaluator(study, whole, means, {"study": "risk"}) as evaluate:
        rows = evaluate(whole)
    table = case_table(cases, rows[: len(cases)], numbers, study.as_written.start)
    table["replicate"] = [n % REPLICATES if way == "sobol" else n for n in range(len(cases))]
    keyed = table.rename(columns={"case": "key"})
    there = [name for name in _NUMERIC if keyed[name].notna().any()]
    chosen = {"samples": samples, "seed": seed, "way": way, "orders": orders, "drivers": drivers}
    return Risk(
        scenario=study.as_written,
        uncertainty=uncertainty,
        numbers=numbers,
        way=way,
        seed=seed,
        table=table,
        summary=summary(keyed, there, way),
        compared=summary(_comparable(keyed), there, way),
        convergence=_by_measure(
            [f"{policy}_share" for policy in POLICIES], there, lambda name: convergence(keyed, name, way)
        ),
        exceedance=_by_measure(_harms(there), there, lambda name: exceedance(keyed, name, larger_is_worse=True)),
        drivers=_drivers(design, whole, rows),
        rolling_every=rolling_every,
        failed=int((table["status"] != PLANNED).sum()),
        notes=(*drawn.notes, *(design.notes if design else ()), *_orders_note(orders, samples), *study.notes),
        provenance=study.provenance(chosen, time.perf_counter() - begin),
    )


def what_varies(draft: Draft, uncertainty: Uncertainty | None = None) -> Uncertainty:
    """Return what is uncertain: what is given, else what the scenario itself says.

    Raises
    ------
    UsageError
        If nothing is.
    """
    found = uncertainty or draft.uncertainty
    if found is None or not found.paths:
        raise UsageError(f"{draft.file} does not say what is uncertain: add a section `uncertain:`, or --uncertain")
    return found


def _comparable(keyed: pd.DataFrame) -> pd.DataFrame:
    """Return the samples in which every policy has a result."""
    shares = [f"{policy}_share" for policy in POLICIES]
    return keyed.dropna(subset=[name for name in shares if keyed[name].notna().any()])


def _harms(there: Sequence[str]) -> list[str]:
    return [name for name in there if "_without_" in name]


def _by_measure(wanted: Sequence[str], there: Sequence[str], tell: Callable[[str], pd.DataFrame]) -> pd.DataFrame:
    """Return what is told of each measure that there is, one below the other, the measure in front."""
    told = []
    for name in wanted:
        if name in there:
            frame = tell(name)
            frame.insert(0, "measure", name)
            told.append(frame)
    return pd.concat(told, ignore_index=True) if told else pd.DataFrame(columns=["measure"])


def _drivers(design: DriverDesign | None, cases: Sequence[Case], rows: Sequence[Row]) -> pd.DataFrame:
    """Return which input drives the best possible: coverage, and who is without oxygen at all."""
    if design is None:
        return pd.DataFrame(columns=list(DRIVER_COLUMNS))
    of_design = [(case.key, row) for case, row in zip(cases, rows, strict=True) if case.role is Role.DRIVER]
    table = pd.DataFrame([{"key": key, **row} for key, row in of_design])
    harms = [f"best_without_{category}_min" for category in CATEGORIES]
    return driver_indices(table, design, [name for name in ("best_share", "best_without_min", *harms) if name in table])


def _orders_note(orders: int, samples: int) -> tuple[str, ...]:
    if not 0 < orders < samples:
        return ()
    return (f"Orders were made for the first {orders:,} of the {samples:,} samples; policies are compared over those.",)
