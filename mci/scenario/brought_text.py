"""What caches bring to an incident, in lines as a planner would write them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from mci import units
from mci.catalogue.load import load_catalogue
from mci.physics.constants import RESIDUAL_PSI
from mci.scenario.cache_reach import arrivals
from mci.scenario.exact_text import duration_text, exact_text, moment_text, pressure_text
from mci.scenario.stocking import Candidate, CandidateKind

if TYPE_CHECKING:
    from mci.scenario.model import Lot, Scenario
    from mci.scenario.stocking import Stocking

__all__ = ["Brought", "Said", "brought_by", "delivery_lines", "power_lines", "said_in", "staff_lines", "told"]


@dataclass(frozen=True, slots=True)
class Brought:
    """What one cache brings to one area.

    Parameters
    ----------
    moment
        When it is there [min after T+0].
    units
        Candidates, each with how many units, not packs; of staff, how many people.
    """

    cache: str
    area: str
    moment: float
    units: tuple[tuple[Candidate, int], ...]

    @property
    def when(self) -> str:
        """The moment as a planner writes it."""
        return moment_text(self.moment)


@dataclass(frozen=True, slots=True)
class Said:
    """What an incident says already, so that lines need not say it again.

    Parameters
    ----------
    bar
        Whether pressures are written in bar.
    residual
        Pressure at which cylinders are taken out of use unless a line says otherwise [psi].
    connect
        Per kind of machine, the time to connect one unless a line says otherwise [min].
    staffed, powered
        Areas with a line of staff, and of power.
    horizon
        End of the plan [min].
    """

    bar: bool
    residual: float
    connect: Mapping[str, float]
    staffed: frozenset[str]
    powered: frozenset[str]
    horizon: float


def brought_by(
    scenario: Scenario, stocking: Stocking, parcels: Mapping[tuple[str, str, str], Mapping[str, int]]
) -> tuple[Brought, ...]:
    """Return what parcels bring to an incident.

    Parameters
    ----------
    parcels
        Units of each candidate, by cache, station and area.
    """
    stations = {(cache.key, station.place): station for cache in stocking.caches for station in cache.stations}
    candidates = {candidate.key: candidate for candidate in stocking.candidates}
    return tuple(
        Brought(
            cache,
            area,
            arrivals(stations[cache, place], scenario.network)[area],
            tuple((candidates[key], count) for key, count in held.items() if count),
        )
        for (cache, place, area), held in parcels.items()
    )


def said_in(scenario: Scenario, tree: Mapping[str, Any]) -> Said:
    """Return what an incident says already; ``tree`` is how it is written."""
    written = tree.get("residual")
    own = {key.strip(): kind.get("connect") for key, kind in (tree.get("machine kinds") or {}).items()}
    catalogue = {key: machine.connect_min for key, machine in load_catalogue().machines.items()}
    return Said(
        bar=scenario.pressures_in_bar,
        residual=RESIDUAL_PSI if written is None else units.parse_pressure(written),
        connect={**catalogue, **{key: units.parse_duration(text) if text else 0.0 for key, text in own.items()}},
        staffed=frozenset(shift.area for shift in scenario.staff),
        powered=frozenset(supply.area for supply in scenario.power),
        horizon=scenario.horizon,
    )


def delivery_lines(brought: Brought, said: Said) -> list[dict[str, str]]:
    """Return what a delivery brings; people are no part of it."""
    lines = [_line(candidate, count, said) for candidate, count in brought.units if count]
    return [line for line in lines if line]


def staff_lines(brought: Sequence[Brought], said: Said, notes: dict[int, str]) -> list[dict[str, str]]:
    """Return the people who come with caches, and a line that says where nobody is who could connect what comes."""
    lines = []
    needed: dict[str, None] = {}
    staffed = set(said.staffed)
    for each in brought:
        for candidate, count in each.units:
            if candidate.kind is CandidateKind.STAFF and count:
                lines.append({"people": str(count), "area": each.area, "from": each.when})
                notes[id(lines[-1])] = f"with {each.cache}"
                staffed.add(each.area)
            elif candidate.lot is not None and candidate.lot.change_min > 0 and count:
                needed[each.area] = None
    for area in needed:
        if area not in staffed:
            lines.append({"people": "1", "area": area, "from": moment_text(said.horizon)})
            notes[id(lines[-1])] = "nobody is there to connect what comes"
    return lines


def power_lines(brought: Sequence[Brought], said: Said, notes: dict[int, str]) -> list[dict[str, str]]:
    """Return a line for each area to which machines come and that has no power."""
    areas = {
        each.area: None
        for each in brought
        for candidate, count in each.units
        if count and candidate.lot is not None and candidate.lot.watts_each > 0 and each.area not in said.powered
    }
    lines = [{"power": "0 W", "area": area} for area in areas]
    notes.update({id(line): "no power is there for the machines that come" for line in lines})
    return lines


def told(brought: Brought, scenario: Scenario) -> str:
    """Say where and when a cache comes."""
    clock = units.format_clock(brought.moment, scenario.start)
    return f"{brought.cache} comes to {brought.area} at {brought.when}" + (f" ({clock})" if clock else "")


def _line(candidate: Candidate, count: int, said: Said) -> dict[str, str]:
    """Return one line of what a delivery brings; none for people."""
    number = {"count": str(count)}
    match candidate.kind:
        case CandidateKind.REGULATOR if candidate.outlets is not None:
            return {"regulator": candidate.outlets.key, **number}
        case CandidateKind.DEVICE:
            return {"device": candidate.device, **number}
        case CandidateKind.CYLINDER if candidate.lot is not None:
            return _cylinders(candidate.lot, number, said)
        case CandidateKind.MACHINE if candidate.lot is not None:
            key = candidate.lot.label.partition(" x ")[2]
            same = candidate.lot.change_min == said.connect.get(key)
            return {"concentrator": key, **number} | (
                {} if same else {"change": duration_text(candidate.lot.change_min)}
            )
    return {}


def _cylinders(lot: Lot, number: dict[str, str], said: Said) -> dict[str, str]:
    cylinder, gauge = lot.cylinder, lot.gauge_psi
    if cylinder is None or gauge is None:
        return {}
    line = {"cylinder": cylinder.key, **number}
    line["pressure"] = "full" if gauge == cylinder.full_psi else pressure_text(gauge, bar=said.bar)
    if lot.residual_psi is not None and lot.residual_psi != said.residual:
        line["residual"] = pressure_text(lot.residual_psi, bar=said.bar)
    if lot.temperature_c is not None:
        line["temperature"] = exact_text(
            units.parse_temperature, lot.temperature_c, {"C": lot.temperature_c, "F": 1.8 * lot.temperature_c + 32}
        )
    if lot.gas_model is not None and lot.gas_model is not cylinder.gas_model:
        line["gas model"] = lot.gas_model.value
    if lot.change_min != cylinder.change_min:
        line["change"] = duration_text(lot.change_min)
    return line
