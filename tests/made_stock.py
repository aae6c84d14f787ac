"""Packing lists made by hand on an invented incident, for tests of what shows them; no programme is solved for them."""

from __future__ import annotations

import dataclasses
import functools
import math
from collections.abc import Mapping
from pathlib import Path

import pandas as pd

import mci
from mci.provenance import Provenance
from mci.scenario.model import Scenario
from mci.scenario.stocking import Cache, Candidate, CandidateKind, Goal, RuleOfThumb, Station, Stocking
from mci.stocking.result import AVERAGE, CHOSEN, OWNED, Stock, Validity, Worth

__all__ = ["STEP", "made_stock"]

#: Money between two lists of the curve.
STEP = 1000.0
_YEARS = 5.0
_ADDED = (
    "+2 US E aluminium, full, +2 yoke regulator 0-15 L/min",
    "+4 US D aluminium, full, +4 yoke regulator 0-15 L/min, -2 US E aluminium, full",
    "+1 non-rebreather, box of 10",
)
_THUMB, _SECOND_THUMB = "a cylinder for each patient", "half of everything"
_CATEGORIES = ("immediate", "delayed", "minimal")
_GOALS = (Goal("immediate", coverage=0.985), Goal("delayed", coverage=0.9), Goal("immediate", None, 60.0, 0.05))
# name, kind, units, buy, yearly, kg, L, slot, slots, bag, at most, litres of gas
_THINGS = (
    ("US E aluminium, full", "cylinder", 1, 65.0, 12.0, 3.6, 7.0, "rack", 1.0, "cylinder rack", 40, 660.0),
    ("US D aluminium, full", "cylinder", 1, 48.0, 12.0, 2.4, 4.5, "rack", 1.0, "cylinder rack", 40, 410.0),
    ("yoke regulator 0-15 L/min", "regulator", 1, 45.0, 2.0, 0.45, 0.5, "", 0.0, "regulator box", 99, 0.0),
    ("non-rebreather, box of 10", "device", 10, 18.0, 3.6, 0.9, 10.0, "drawer", 1.0, "mask shelf", 12, 0.0),
    ("simple mask, box of 10", "device", 10, 14.0, 2.8, 0.8, 9.0, "drawer", 1.0, "mask shelf", 12, 0.0),
    ("concentrator 5 L/min", "machine", 1, 900.0, 50.0, 14.0, 60.0, "", 0.0, "floor", 4, 0.0),
    ("a person who comes with it", "staff", 1, 0.0, 400.0, 0.0, 0.0, "", 0.0, "", 3, 0.0),
)
_KEYS = tuple(str(each[0]) for each in _THINGS)
_OWN = {_KEYS[0]: 6, _KEYS[2]: 6}
_FIRST = {_KEYS[0]: 18, _KEYS[1]: 4, _KEYS[2]: 20, _KEYS[3]: 3, _KEYS[4]: 1, _KEYS[6]: 1}
_SECOND = {_KEYS[0]: 8, _KEYS[2]: 8, _KEYS[3]: 1, _KEYS[5]: 1}


@functools.cache
def _tunnel() -> Scenario:
    return mci.read_scenario(Path(mci.__file__).parents[1] / "scenarios" / "tunnel-fire.yaml")


def _candidate(key: str, kind: str, units: int, *rest: object) -> Candidate:
    buy, yearly, mass, volume, slot, slots, bag, most, _ = rest
    sizes = (float(str(buy)), float(str(yearly)), float(str(mass)), float(str(volume)))
    return Candidate(key, CandidateKind(kind), units, None, None, "", *sizes, str(slot), float(str(slots)), str(bag),
                     int(str(most)))  # fmt: skip


def _stocking(caches: int, mode: str, *, own: bool, limits: bool, rules: bool) -> Stocking:
    no = math.inf
    first = Cache(
        "quay trailer",
        (Station("valley", 300.0, 5.0, {"north": 12.0, "south": 25.0}),),
        *((400.0, 900.0, 84950.0) if limits else (no, no, no)),
        {"rack": 24.0, "drawer": 8.0} if limits else {"rack": no, "drawer": no},
        _OWN if own else {},
    )
    second = Cache("school cupboard", (Station("school yard", 0.0, 20.0, {"south": 4.0}),), no, no, no,
                   {"rack": no, "drawer": no}, {})  # fmt: skip
    there = (first, second)[:caches]
    packs = {cache.key: {_KEYS[0]: 20, _KEYS[2]: 20, _KEYS[3]: 2} for cache in there}
    half = {cache.key: dict.fromkeys(_KEYS[:5], 4) for cache in there}
    return Stocking(
        money="$",
        years=_YEARS,
        budget=6000.0 if mode == "budget" else no,
        caches=there,
        candidates=tuple(_candidate(*each) for each in _THINGS),
        goals=_GOALS if mode == "goals" else (),
        rules=(RuleOfThumb(_THUMB, packs), RuleOfThumb(_SECOND_THUMB, half)) if rules else (),
    )


def _packed(stocking: Stocking) -> dict[str, Mapping[str, int]]:
    return {cache.key: packs for cache, packs in zip(stocking.caches, (_FIRST, _SECOND), strict=False)}


def _packing(stocking: Stocking) -> pd.DataFrame:
    rows = []
    for cache in stocking.caches:
        mine = _packed(stocking)[cache.key]
        for thing, told in zip(stocking.candidates, _THINGS, strict=True):
            packs, owned = mine.get(thing.key, 0), cache.owned.get(thing.key, 0)
            if packs:
                buy, yearly = (packs - owned) * thing.buy, packs * thing.yearly
                rows.append(
                    (cache.key, cache.stations[0].place, thing.bag, thing.key, str(thing.kind), packs,
                     packs * thing.units, owned, packs - owned, buy, yearly, buy + _YEARS * yearly,
                     packs * thing.mass_kg, packs * thing.volume_l, thing.slot, packs * thing.slots,
                     packs * float(told[-1]))
                )  # fmt: skip
    names = "cache station bag candidate kind packs units owned new buy yearly cost mass_kg volume_l slot slots gas_l"
    return pd.DataFrame(rows, columns=names.split()).astype({"packs": int})


def _usage(stocking: Stocking, packing: pd.DataFrame) -> pd.DataFrame:
    rows = []
    for cache in stocking.caches:
        mine = packing[packing["cache"] == cache.key]
        where = (cache.key, cache.stations[0].place)
        rows.append((*where, "payload", mine["mass_kg"].sum(), cache.payload_kg, "kg"))
        rows.append((*where, "volume", mine["volume_l"].sum(), cache.volume_l, "L"))
        rows.append((*where, "oxygen stored", mine["gas_l"].sum(), cache.gas_l, "L of free gas"))
        for slot, there in cache.slots.items():
            rows.append((*where, f"slots: {slot}", mine.loc[mine["slot"] == slot, "slots"].sum(), there, "slots"))
    return pd.DataFrame(rows, columns=["cache", "station", "limit", "used", "allowed", "unit"])


def _goals_of(stocking: Stocking, values: tuple[float, float, float]) -> dict[str, float]:
    return {f"goal_{number}": value for number, value in enumerate(values[: len(stocking.goals)], start=1)}


def _lists(stocking: Stocking, *, own: bool) -> tuple[pd.DataFrame, pd.DataFrame]:
    chosen = _packed(stocking)
    packs = {
        CHOSEN: chosen,
        **({OWNED: {cache.key: cache.owned for cache in stocking.caches}} if own else {}),
        AVERAGE: {key: {k: (n + 1) // 2 for k, n in mine.items()} for key, mine in chosen.items()},
        **{rule.key: rule.packs for rule in stocking.rules},
    }
    reached = {
        CHOSEN: (0.9714, (0.9872, 0.9315, 52.0)),
        OWNED: (0.8142, (0.842, 0.771, 611.0)),
        AVERAGE: (0.9203, (0.941, 0.884, 233.0)),
        _THUMB: (0.9581, (0.979, 0.902, 96.0)),
        _SECOND_THUMB: (0.9316, (0.952, 0.871, 187.0)),
    }
    rows, contents = [], []
    things = {each.key: each for each in stocking.candidates}
    for name, mine in packs.items():
        buy = yearly = mass = 0.0
        for cache in stocking.caches:
            yearly += cache.stations[0].yearly
            for key, count in mine[cache.key].items():
                buy += max(count - cache.owned.get(key, 0), 0) * things[key].buy
                yearly, mass = yearly + count * things[key].yearly, mass + count * things[key].mass_kg
                contents.append((name, cache.key, cache.stations[0].place, key, count))
        weighted, values = reached[name]
        met = sum(
            value >= goal.coverage if goal.coverage is not None else value <= (goal.without_min or 0.0)
            for goal, value in zip(stocking.goals, values, strict=False)
        )
        rows.append({"list": name, "cost": buy + _YEARS * yearly, "buy": buy, "yearly": yearly, "mass_kg": mass,
                     "weighted": weighted, "limits_kept": name != _THUMB, "goals_met": met,
                     "together": name == CHOSEN, **_goals_of(stocking, values)})  # fmt: skip
    return pd.DataFrame(rows), pd.DataFrame(contents, columns=["list", "cache", "station", "candidate", "packs"])


def _frontier(chosen_cost: float, mode: str) -> pd.DataFrame:
    rows = []
    first = 2
    for number in range(first, round(1.4 * chosen_cost / STEP) + 1):
        budget = STEP * number
        missed = 0.14 * math.exp(-1.7 * budget / chosen_cost) + 0.001
        row = {"cost": budget - 40 * (number % 3), "budget": budget, "weighted": 1 - missed,
               "lower": 1 - missed, "upper": 1 - missed * 0.97, "gap": 0.03}  # fmt: skip
        for category, worse, tail in zip(_CATEGORIES, (0.6, 1.2, 2.1), (900.0, 640.0, 450.0), strict=True):
            row[f"coverage_{category}"] = 1 - min(1.0, missed * worse)
            row[f"without_{category}_min"] = tail * missed
            row[f"tail_{category}_min"] = tail * missed * 5
        row["added"] = "" if number == first else _ADDED[number % 3]
        rows.append(row)
    rows[-1]["added"] = ""
    rows[-1] |= {"cost": rows[-2]["cost"], "weighted": rows[-2]["weighted"]}
    frame = pd.DataFrame(rows)
    if mode == "budget":  # the chosen list is one of the curve
        place = (frame["budget"] - chosen_cost).abs().idxmin()
        frame.loc[place, ["cost", "weighted", "lower", "upper"]] = (chosen_cost, 0.9714, 0.9714, 0.9729)
    return frame.sort_values("cost", ignore_index=True)


def _targets(stocking: Stocking, cost: float) -> pd.DataFrame:
    rows = []
    packs = {key: sum(mine.get(key, 0) for mine in _packed(stocking).values()) for key in _KEYS}
    for number, goal in enumerate(stocking.goals, start=1):
        for place, factor in enumerate((4.0, 2.0, 1.0, 0.25)):
            target = factor * (goal.without_min or 0.0) if goal.coverage is None else 1 - factor * (1 - goal.coverage)
            more = {key: packs[key] + (place - 2) * (2 if place < 3 else 3) * (key in _KEYS[:3]) for key in _KEYS}
            none = place == 3 and number == 3
            rows.append({"goal": number, "target": target, "cost": math.nan if none else cost + 420.0 * (place - 2),
                         "lower": cost + 400.0 * (place - 2), "gap": 0.004, "proven": place != 3,
                         **{f"packs: {key}": math.nan if none else count for key, count in more.items()}})  # fmt: skip
    names = ["goal", "target", "cost", "lower", "gap", "proven", *(f"packs: {key}" for key in _KEYS)]
    return pd.DataFrame(rows, columns=names)


def _patients(stocking: Stocking, cost: float) -> pd.DataFrame:
    rows = []
    for factor in (0.5, 0.75, 1.0, 1.25, 1.5, 2.0):
        values = (min(1.0, 1.02 - 0.0328 * factor**2), min(1.0, 1.0 - 0.0685 * factor), 52.0 * factor**3)
        met = sum((values[0] >= 0.985, values[1] >= 0.9, values[2] <= 60)) if stocking.goals else 0
        rows.append({"factor": factor, "patients": 33.4 * factor, "weighted": min(1.0, 1 - 0.0286 * factor**1.4),
                     "goals_met": met, "together": factor <= 1, **_goals_of(stocking, values),
                     "cost": math.nan if factor > 1.9 else cost * factor})  # fmt: skip
    return pd.DataFrame(rows)


def _worst() -> pd.DataFrame:
    short = "Immediate at North portal below target from T+20 to T+45, 6 at once; short of: Regulators"
    told = (
        (112, "worst 1: 61 patients, incident 112", 61.0, 0.811, 402.5, short, "yoke regulator 0-15 L/min", 0.021,
         "patients.immediate.count 14; deliveries.valley depot van.delay 72 min"),
        (407, "worst 2: 54 patients, incident 407", 54.0, 0.836, 318.0, "oxygen in cylinders at South portal",
         "US E aluminium, full", 0.017, "patients.delayed.stay 2 h 10"),
        (31, "worst 3: 49 patients, incident 31", 49.0, 0.862, 204.0, "staff who change cylinders", "", math.nan,
         "patients.delayed.count 19"),
    )  # fmt: skip
    names = "incident name patients weighted without_min why one_more gain values"
    return pd.DataFrame(told, columns=names.split())


def _validity(stocking: Stocking) -> Validity:
    rows: list[tuple[object, ...]] = []
    measured = [
        ("weighted", "coverage", 1.0, math.nan, 0.9714, {"best": 0.9698, "orders": 0.958, "usual": 0.884}),
        *(
            (goal.category, "coverage" if goal.coverage is not None else "without_min", goal.worst,
             goal.coverage or goal.without_min or 0.0, value, fresh)
            for goal, value, fresh in zip(
                stocking.goals,
                (0.9872, 0.9315, 52.0),
                ({"best": 0.9862, "orders": 0.981, "usual": 0.93}, {"best": 0.9304, "orders": 0.914, "usual": 0.842},
                 {"best": 66.0, "orders": 121.0, "usual": 402.0}),
                strict=False,
            )
        ),
    ]  # fmt: skip
    for category, measure, worst, target, sample, fresh in measured:
        for policy, mean in fresh.items():
            wide = 0.003 if measure == "coverage" else 14.0
            low, high = mean - wide, mean + wide
            met = sure = None
            if not math.isnan(target):
                fits = [x >= target if measure == "coverage" else x <= target for x in (mean, low, high)]
                met, sure = fits[0], all(fits)
            rows.append((CHOSEN, policy, category, measure, worst, target, sample if policy == "best" else math.nan,
                         mean, low, high, met, sure))  # fmt: skip
    rows += [
        (OWNED, *row[1:7], row[7] * 0.8, row[8], row[9], None if row[10] is None else False, row[11])
        for row in rows[:1]
    ]
    names = "list policy category measure worst target in_sample mean low high met sure"
    return Validity(2000, 200, pd.DataFrame(rows, columns=names.split()))


def made_stock(
    mode: str = "goals", caches: int = 1, *, own: bool = True, limits: bool = True, rules: bool = True
) -> Stock:
    """Invent a chosen list of a mode for so many caches; with or without what is owned, limits and rules of thumb."""
    stocking = _stocking(caches, mode, own=own, limits=limits, rules=rules)
    packing = _packing(stocking)
    lists, contents = _lists(stocking, own=own)
    cost = float(lists["cost"][0])
    goals = mode == "goals"
    worth = Worth(
        chosen_cost=cost, average_cost=float(lists.set_index("list")["cost"][AVERAGE]), chosen_coverage=0.9714,
        average_coverage=0.9203, chosen_goals=3 if goals else 0, average_goals=0, goals=len(stocking.goals),
        known_cost=cost * 0.61 if goals else math.nan, known_coverage=math.nan if goals else 0.9833,
        known_incidents=64, known_unmet=3 if goals else 0, same_money_coverage=0.9418,
    )  # fmt: skip
    budget = math.nan if goals else STEP * math.ceil(cost / STEP)
    lower, upper = (cost * 0.985, cost) if goals else (0.0271, 0.0286)
    trace = pd.DataFrame(
        {"round": range(1, 13), "seconds": [0.4 * n for n in range(1, 13)],
         "lower": [lower * (1 - 0.5 / n**1.5) for n in range(1, 12)] + [lower],
         "upper": [math.nan, *(upper * (1 + 0.6 / n**2) for n in range(2, 12)), upper]}
    )  # fmt: skip
    worst = _worst()
    scenario = dataclasses.replace(_tunnel(), stocking=stocking)
    return Stock(
        scenario=scenario, stocking=stocking, mode=mode, budget=budget, incidents=512, seed=3,
        packing=packing, usage=_usage(stocking, packing), lists=lists, contents=contents,
        frontier=_frontier(cost, mode), targets=_targets(stocking, cost), step=STEP,
        patients=_patients(stocking, cost), worst=worst,
        worst_scenarios={
            name: {f"{rank:02d}-incident-{number}.yaml": f"incident: {{name: {name}}}\n"}
            for rank, (name, number) in enumerate(zip(worst["name"], worst["incident"], strict=True), start=1)
        },
        worth=worth, validity=_validity(stocking), lower=lower, upper=upper, gap=(upper - lower) / upper, rounds=12,
        cuts=431, seconds=4.8, proven=False, trace=trace,
        notes=("The rule of thumb 'a cylinder for each patient' goes beyond a limit of quay trailer.",),
        provenance=Provenance("tunnel-fire.yaml", "ab" * 32, {"seed": 3, "samples": 512}, {"name": "none"},
                              {"all_s": 4.8}),
    )  # fmt: skip
