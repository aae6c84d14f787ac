"""Caches, what they may be filled with, and what they should achieve, as tables."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mci.scenario.cache_reach import arrivals
from mci.scenario.columns import Column, Table, show_litres, show_when
from mci.units import format_litres

if TYPE_CHECKING:
    from collections.abc import Mapping

    from mci.scenario.model import Scenario
    from mci.scenario.stocking import Goal, Stocking

__all__ = ["format_money", "stocking_headline", "stocking_tables"]


def stocking_tables(scenario: Scenario) -> tuple[Table, ...]:
    """Return the tables of what may be stocked, none where the planner wrote nothing about it."""
    stocking = scenario.stocking
    if stocking is None:
        return ()
    return (
        _caches(stocking),
        _stations(scenario, stocking),
        _candidates(stocking),
        _sizes(stocking),
        _goals(stocking),
        _rules(stocking),
    )


def stocking_headline(stocking: Stocking) -> str:
    """Return what may be stocked in one sentence."""
    years = f"{stocking.years:g} year{'s' if stocking.years != 1 else ''}"
    limited = math.isfinite(stocking.budget)
    budget = f"a budget of {format_money(stocking.budget, stocking.money)}" if limited else "no budget"
    return (
        f"Stocking: {_number(len(stocking.caches), 'cache')}, "
        f"{_number(len(stocking.candidates), 'thing')} that may be packed, {_number(len(stocking.goals), 'goal')}, "
        f"{budget} over {years}."
    )


def format_money(amount: float, money: str) -> str:
    """Write an amount of money with its currency behind it, to the cent where it is not whole."""
    digits = 0 if amount == round(amount) else 2
    return f"{amount:,.{digits}f}".replace(",", " ") + f" {money}"


def _number(count: int, what: str) -> str:
    return f"{count} {what}{'s' if count != 1 else ''}"


def _packs(packs: Mapping[str, int]) -> str:
    return ", ".join(f"{count} x {key}" for key, count in packs.items())


def _caches(stocking: Stocking) -> Table:
    rows = [
        (
            cache.key,
            cache.payload_kg,
            cache.volume_l,
            cache.gas_l,
            dict(cache.slots),
            ", ".join(f"{number:g} {slot}" for slot, number in cache.slots.items() if math.isfinite(number)),
            dict(cache.owned),
            _packs(cache.owned),
        )
        for cache in stocking.caches
    ]
    columns = (
        Column("cache", "cache"),
        Column("payload", "payload_kg", lambda kg: "no limit" if math.isinf(kg) else f"{kg:.1f} kg", right=True),
        Column("room", "volume_litres", show_litres, right=True),
        Column("oxygen kept", "gas_litres", show_litres, right=True),
        Column("", "slots"),
        Column("slots", ""),
        Column("", "owned"),
        Column("packs it holds already", ""),
    )
    return Table("Caches, and the most that they may carry, hold and keep", "caches", columns, tuple(rows))


def _stations(scenario: Scenario, stocking: Stocking) -> Table:
    when = show_when(scenario)
    rows = [
        (
            cache.key,
            station.place,
            station.sets_off,
            when(station.sets_off),
            there,
            ", ".join(f"{area} {_arrives(scenario, moment)}" for area, moment in there.items()) or "none",
            station.yearly,
        )
        for cache in stocking.caches
        for station in cache.stations
        for there in [dict(arrivals(station, scenario.network))]
    ]
    columns = (
        Column("cache", "cache", once=True),
        Column("may stand at", "at"),
        Column("", "sets_off_min"),
        Column("sets off", ""),
        Column("", "arrives_min"),
        Column("is at an area by", ""),
        Column("a year", "yearly", lambda amount: format_money(amount, stocking.money), right=True),
    )
    return Table("Where caches may stand; each stands at one place", "cache_stations", columns, tuple(rows))


def _arrives(scenario: Scenario, moment: float) -> str:
    return "after the end" if moment >= scenario.horizon else show_when(scenario)(moment)


def _candidates(stocking: Stocking) -> Table:
    rows = [(c.key, c.kind.value, c.units, c.buy, c.yearly, c.at_most) for c in stocking.candidates]
    columns = (
        Column("thing", "candidate"),
        Column("kind", "kind"),
        Column("in a pack", "units", right=True, usual="1"),
        Column("buy", "buy", lambda amount: format_money(amount, stocking.money), right=True),
        Column("a year", "yearly", lambda amount: format_money(amount, stocking.money), right=True),
        Column("at most", "at_most", right=True),
    )
    title = "What may be packed, and what a pack costs; at most so many packs in one cache"
    return Table(title, "candidates", columns, tuple(rows))


def _sizes(stocking: Stocking) -> Table:
    rows = [
        (
            each.key,
            each.mass_kg,
            each.volume_l,
            each.gas_l,
            each.slot,
            each.slots,
            f"{each.slots:g} {each.slot}" if each.slot else "",
            each.bag,
        )
        for each in stocking.candidates
    ]
    columns = (
        Column("thing", "candidate"),
        Column("weight", "kg", lambda kg: f"{kg:.1f} kg" if kg else "", right=True),
        Column("room", "volume_litres", lambda litres: f"{litres:.1f} L" if litres else "", right=True),
        Column("oxygen", "gas_litres", lambda litres: format_litres(litres) if litres else "", right=True),
        Column("", "slot"),
        Column("", "slots"),
        Column("slots", ""),
        Column("bag", "bag"),
    )
    return Table("What a pack takes, and the oxygen kept in it", "candidate_sizes", columns, tuple(rows))


def _goals(stocking: Stocking) -> Table:
    rows = [(g.category, _goal(g), g.coverage, g.without_min, g.worst) for g in stocking.goals]
    columns = (
        Column("category", "category"),
        Column("what caches should achieve", ""),
        Column("", "coverage"),
        Column("", "without_oxygen_patient_min"),
        Column("", "worst_share"),
    )
    return Table("Goals of stocking", "stocking_goals", columns, tuple(rows))


def _goal(goal: Goal) -> str:
    if goal.without_min is None:
        return f"coverage of at least {100 * (goal.coverage or 0.0):g} % in the mean of all incidents"
    of = "all incidents" if goal.worst == 1 else f"the worst {100 * goal.worst:g} % of incidents"
    return f"at most {goal.without_min:g} patient-minutes without oxygen in the mean of {of}"


def _rules(stocking: Stocking) -> Table:
    rows = [
        (rule.key, cache, thing, count)
        for rule in stocking.rules
        for cache, packs in rule.packs.items()
        for thing, count in packs.items()
    ]
    columns = (
        Column("rule", "rule", once=True),
        Column("cache", "cache"),
        Column("thing", "candidate"),
        Column("packs", "packs", right=True),
    )
    title = "Packing lists by rules of thumb, to be compared; what a cache holds already among them"
    return Table(title, "rules_of_thumb", columns, tuple(rows))
