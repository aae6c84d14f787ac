"""Studies made by hand on an invented incident, for tests of what shows them; no programme is solved for them."""

from __future__ import annotations

import dataclasses
import functools
import itertools
import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

import mci
from mci.provenance import Provenance
from mci.scenario.model import Scenario
from mci.scenario.numbers import Number, NumberKind
from mci.scenario.uncertain import Correlation, Empirical, OneOf, Poisson, Triangular, Uncertain, Uncertainty
from mci.surge.cases import Role
from mci.surge.drivers import COLUMNS
from mci.surge.measures import MEASURES, POLICIES
from mci.surge.risk_result import Risk
from mci.surge.statistics import convergence, exceedance, summary
from mci.surge.whatif_result import BREAK_COLUMNS, SWING_COLUMNS, WhatIf

__all__ = ["ARRIVALS", "DELAY", "NUMBERS", "PATTERN", "STOCK", "made_risk", "made_whatif"]

ARRIVALS = Number("patients.immediate.count", NumberKind.COUNT, "14", 14.0, "", "Immediate patients who come, in all")
DELAY = Number(
    "deliveries.valley depot van.delay", NumberKind.DELAY, "0 min", 0.0, "min", "how much later than written it comes"
)
STOCK = Number(
    "supplies.share", NumberKind.SHARE, "100 %", 1.0, "", "share of the supplies that is there, rounded down"
)
PATTERN = Number(
    "patients.south, badly affected.arrive.pattern", NumberKind.WORD, "early", math.nan, "", "how they arrive"
)
NUMBERS = (ARRIVALS, DELAY, STOCK, PATTERN)
_RANGES: Mapping[str, tuple[float, ...]] = {
    ARRIVALS.path: (5.0, 10.0, 14.0, 20.0, 25.0, 30.0, 40.0),
    DELAY.path: (0.0, 30.0, 60.0, 90.0),
    STOCK.path: (0.5, 0.75, 1.0),
}
_PATTERNS = {"early": 0.03, "evenly": 0.0, "late": -0.01}
_SENSITIVE = {ARRIVALS.path: 23.0, DELAY.path: 45.0, STOCK.path: 0.8}
_PROVENANCE = Provenance(
    "tunnel-fire.yaml", "ab" * 32, {"vary": "made by hand", "seed": 7}, {"name": "none"}, {"all_s": 1.5}
)


@functools.cache
def incident() -> Scenario:
    """Return the tunnel of the examples."""
    return mci.read_scenario(Path(mci.__file__).parents[1] / "scenarios" / "tunnel-fire.yaml")


def _measured(values: Mapping[str, float | str]) -> dict[str, float | str]:
    """Invent what is found: worse with more arrivals, later deliveries, less stock."""
    many = float(values.get(ARRIVALS.path, 14.0))
    late = float(values.get(DELAY.path, 0.0))
    stock = float(values.get(STOCK.path, 1.0))
    early = _PATTERNS[str(values.get(PATTERN.path, "evenly"))]
    strain = max(0.0, many - 23) / 40 + max(0.0, late - 45) / 300 + max(0.0, 0.8 - stock) / 2 + max(early, 0.0)
    load = many / 400 + late / 900 + (1 - stock) / 3 + 0.02
    row: dict[str, float | str] = {measure.name: math.nan for measure in MEASURES}
    row |= {"status": "planned", "need_weighted_min": 900 + 60 * many, "bound_weighted_min": 880 + 50 * many}
    for place, (policy, worse) in enumerate(zip(POLICIES, (1.0, 1.35, 1.7, 2.6), strict=True)):
        immediate = 1 - min(1.0, strain * worse + 0.03 * place * (strain > 0))
        row |= {
            f"{policy}_share": 1 - min(1.0, (strain + load * 0.4) * worse),
            f"{policy}_all": 1 - min(1.0, (strain + load * 0.5) * worse),
            f"{policy}_immediate": immediate,
            f"{policy}_delayed": 1 - min(1.0, load * worse),
            f"{policy}_minimal": 1 - min(1.0, load * 1.5 * worse),
            f"{policy}_without_min": 2400 * (strain + load * 0.3) * worse,
            f"{policy}_without_immediate_min": max(0.0, 900 * (1 - immediate) - 20),
            f"{policy}_without_delayed_min": 900 * load * worse * 0.6,
            f"{policy}_without_minimal_min": 600 * load * worse,
        }
    return row | {
        "first_short_min": math.nan if load < 0.06 else 90 - 60 * min(1.0, strain + load),
        "short_min": 2000 * load,
        "last_safe_min": max(20.0, 140 - 2 * many),
        "last_safe_delivery": "valley depot van",
        "binding": "regulators at North portal" if strain else "oxygen at South portal",
        "one_more": "threaded regulator 0-15 L/min at North portal",
        "one_more_gain": min(0.09, strain / 3 + 0.004),
    }


def _row(
    case: str, role: Role, numbers: Sequence[Number], values: Mapping[str, float | str], **found: object
) -> dict[str, object]:
    written = {number.path: number.text if number.kind is NumberKind.WORD else number.value for number in numbers}
    return {"case": case, "role": role, **written, **values, **_measured({**written, **values}), **found}


def _failed(row: dict[str, object], reason: str) -> dict[str, object]:
    blank = {measure.name: math.nan if measure.unit else "" for measure in MEASURES}
    return {**row, **blank, "status": reason}


def _range(number: Number) -> tuple[float | str, ...]:
    return tuple(_PATTERNS) if number.kind is NumberKind.WORD else _RANGES[number.path]


def _moved(numbers: Sequence[Number], rows: list[dict[str, object]]) -> tuple[list[tuple[Any, ...]], ...]:
    """Invent swings and breaks of each number by itself; their cases are added to the rows."""
    swings: list[tuple[Any, ...]] = []
    breaks: list[tuple[Any, ...]] = []
    for number in numbers:
        if number.kind is NumberKind.WORD:
            continue
        low, high = _RANGES[number.path][0], _RANGES[number.path][-1]
        at = {}
        for end, value in (("low", low), ("high", high)):
            row = _row(f"{number.path} {end}", Role.SWING, numbers, {number.path: value})
            rows.append(row)
            at[end] = row["best_share"]
        swings.append((number.path, low, high, at["low"], at["high"], rows[0]["best_share"]))
        limit = _SENSITIVE[number.path]
        down = number is STOCK
        kept, lost = (limit, limit - 0.05) if down else (limit, limit + 1)
        for role_value in (kept, lost):
            rows.append(_row(f"{number.path} between {role_value:g}", Role.BETWEEN, numbers, {number.path: role_value}))
        direction = "down" if down else "up"
        breaks.append((number.path, "immediate", 1.0, kept, lost, direction, "regulators, not oxygen"))
        breaks.append((number.path, "delayed", 1.0, math.nan, low, direction, "oxygen at South portal"))
    swings.sort(key=lambda row: -abs(row[4] - row[3]))
    return swings, breaks


def made_whatif(
    numbers: Sequence[Number] = (ARRIVALS,), how: str = "all combinations", *, failing: bool = True
) -> WhatIf:
    """Invent a study: every combination of the values of a few numbers, one of them without a result."""
    rows = [_row("as written", Role.AS_WRITTEN, numbers, {})]
    if how == "one by one":
        asked = [{number.path: value} for number in numbers for value in _range(number)]
    else:
        grid = itertools.product(*map(_range, numbers))
        asked = [dict(zip((n.path for n in numbers), values, strict=True)) for values in grid]
    for values in asked if numbers else []:
        name = ", ".join(f"{path}={value}" for path, value in values.items())
        rows.append(_row(name, Role.CASE, numbers, values))
    if failing and len(rows) > 4:
        rows[3] = _failed(rows[3], "no plan within the time limit of 60 s")
    swings, breaks = _moved(numbers, rows)
    return WhatIf(
        scenario=incident(),
        numbers=tuple(numbers),
        how=how,
        table=pd.DataFrame(rows),
        swings=pd.DataFrame(swings, columns=list(SWING_COLUMNS)),
        breaks=pd.DataFrame(breaks, columns=list(BREAK_COLUMNS)),
        notes=("Break-evens were searched to the next whole number.",),
        provenance=_PROVENANCE,
    )


def _uncertainty() -> Uncertainty:
    return Uncertainty(
        numbers=(
            Uncertain(DELAY.path, Triangular(0.0, 20.0, 90.0)),
            Uncertain(STOCK.path, Empirical((0.7, 0.8, 0.9, 0.9, 1.0), "stock counts.csv, column share")),
            Uncertain(PATTERN.path, OneOf(("early", "evenly", "late"), (0.5, 0.3, 0.2))),
            Uncertain(ARRIVALS.path, Poisson(18.0)),
        ),
        correlations=(Correlation(DELAY.path, ARRIVALS.path, 0.4),),
    )


_DRAWN = (DELAY, STOCK, PATTERN, ARRIVALS)


def _samples(samples: int, *, failing: bool) -> pd.DataFrame:
    """Draw incidents from laws like those of the uncertainty."""
    rng = np.random.default_rng(7)
    rows = []
    for number in range(1, samples + 1):
        values: dict[str, float | str] = {
            DELAY.path: float(5 * round(rng.triangular(0, 20, 90) / 5)),
            STOCK.path: float(rng.choice([0.7, 0.8, 0.9, 0.9, 1.0])),
            PATTERN.path: str(rng.choice(["early", "evenly", "late"], p=[0.5, 0.3, 0.2])),
            ARRIVALS.path: float(max(1, rng.poisson(18))),
        }
        row = _row(str(number), Role.SAMPLE, _DRAWN, values)
        if failing and number % 101 == 7:
            row = _failed(row, "no plan within the time limit of 60 s")
        rows.append({**row, "replicate": (number - 1) % 16})
    columns = [
        "case",
        "role",
        *(number.path for number in _DRAWN),
        *(measure.name for measure in MEASURES),
        "replicate",
    ]
    return pd.DataFrame(rows, columns=columns)


@functools.cache
def made_risk(samples: int = 512, *, rolling: bool = True, drivers: bool = True, failing: bool = True) -> Risk:
    """Invent a study of some hundred incidents, a few of them without a result."""
    table = _samples(samples, failing=failing)
    if not rolling:
        table.loc[:, [name for name in table if str(name).startswith("rolling_")]] = math.nan
    keyed = table.rename(columns={"case": "key"})
    numeric = [measure.name for measure in MEASURES if measure.unit]
    shares = [f"{policy}_share" for policy in POLICIES if rolling or policy != "rolling"]
    harms = [name for name in numeric if "_without_" in name and (rolling or not name.startswith("rolling"))]
    return Risk(
        scenario=incident(),
        uncertainty=_uncertainty(),
        numbers=_DRAWN,
        way="sobol",
        seed=7,
        table=table,
        summary=summary(keyed, numeric, "sobol"),
        compared=summary(keyed, numeric, "sobol"),
        convergence=_together(convergence(keyed, name, "sobol").assign(measure=name) for name in shares),
        exceedance=_together(exceedance(keyed, name, larger_is_worse=True).assign(measure=name) for name in harms),
        drivers=_drivers() if drivers else pd.DataFrame(columns=list(COLUMNS)),
        rolling_every=15.0 if rolling else None,
        failed=int((table["status"] != "planned").sum()),
        notes=("Moments are rounded to 5 min.",),
        provenance=_PROVENANCE,
    )


def _together(frames: object) -> pd.DataFrame:
    made = pd.concat(frames, ignore_index=True)  # type: ignore[call-overload]
    return made[["measure", *(column for column in made.columns if column != "measure")]]


def _drivers() -> pd.DataFrame:
    told = {
        DELAY.path: (0.32, 0.38),
        STOCK.path: (0.22, 0.30),
        PATTERN.path: (-0.01, 0.04),
        ARRIVALS.path: (0.31, 0.42),
    }
    rows = [
        (measure, path, 256, first, first - 0.05, first + 0.06, total, total - 0.04, total + 0.05)
        for measure in ("best_share", "rolling_without_immediate_min")
        for path, (first, total) in told.items()
    ]
    return pd.DataFrame(rows, columns=list(COLUMNS))


def renamed(found: WhatIf, name: str) -> WhatIf:
    """Return the study of an incident, its first number and its first case by another name."""
    scenario = dataclasses.replace(found.scenario, name=name, summary=name)
    return dataclasses.replace(found, scenario=scenario, notes=(name,), how=name)
