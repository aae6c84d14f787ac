"""What may be packed into a cache: each thing once, with one unit of it as the areas would use it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from mci.catalogue.model import Basis, Source
from mci.scenario import schema_stocking as written
from mci.scenario.build_resources import fits_something
from mci.scenario.build_supplies import concentrator_lot, cylinder_lot
from mci.scenario.schema_supplies import BroughtConcentrators, BroughtCylinders
from mci.scenario.stocking import Candidate, CandidateKind

if TYPE_CHECKING:
    from mci.scenario.bench import Bench
    from mci.scenario.model import Lot
    from mci.scenario.yaml_positions import Where

__all__ = ["AT_MOST", "build_candidates"]

#: The most packs of a candidate in one cache unless the planner says how many: an assumption, so that each has a limit.
AT_MOST = 99

_ASSUMED = Source("a limit for the search, where the planner gave none", Basis.ASSUMPTION)


def build_candidates(bench: Bench, part: written.StockingPart) -> tuple[Candidate, ...]:
    """Return what may be packed, in the order written; what cannot be is left away and noted."""
    found: dict[str, Candidate] = {}
    for index, line in enumerate(part.candidates):
        path: Where = ("stocking", "candidates", index)
        key = line.name or _thing(line)
        if key in found:
            fix = "Give one of the two a name of its own, such as name: full one."
            bench.wrong((*path, "name" if line.name else _word(line)), "this is offered twice", fix, key)
        candidate = _candidate(bench, path, part, line, key)
        found.setdefault(key, candidate)
    return tuple(found.values())


def _word(line: written.CandidateLine) -> str:
    match line:
        case written.CandidateCylinders():
            return "cylinder"
        case written.CandidateRegulators():
            return "regulator"
        case written.CandidateDevices():
            return "device"
        case written.CandidateConcentrators():
            return "concentrator"
    return "people"


def _thing(line: written.CandidateLine) -> str:
    """Return what a candidate without a name of its own is called."""
    return "people" if isinstance(line, written.CandidatePeople) else str(getattr(line, _word(line)))


def _candidate(
    bench: Bench, path: Where, part: written.StockingPart, line: written.CandidateLine, key: str
) -> Candidate:
    if line.at_most is None:
        bench.assume("most packs of one thing in one cache, where none is written", str(AT_MOST), _ASSUMED)
    return Candidate(
        key=key,
        units=line.people if isinstance(line, written.CandidatePeople) else line.units,
        buy=line.buy or 0.0,
        yearly=line.yearly or 0.0,
        mass_kg=_mass(bench, path, part, line, key),
        volume_l=_volume(bench, path, part, line),
        slot=line.slot or "",
        slots=0.0 if line.slot is None else 1.0 if line.slots is None else line.slots,
        bag=line.bag or "",
        at_most=AT_MOST if line.at_most is None else line.at_most,
        **_use(bench, path, line),
    )


def _use(bench: Bench, path: Where, line: written.CandidateLine) -> dict[str, Any]:
    """Return the fields of a candidate that say what one unit is good for."""
    use: dict[str, Any] = {"lot": None, "outlets": None, "device": ""}
    match line:
        case written.CandidateCylinders():
            return {**use, "kind": CandidateKind.CYLINDER, "lot": _cylinder(bench, path, line)}
        case written.CandidateConcentrators():
            one = BroughtConcentrators.model_construct(concentrator=line.concentrator, count=1, change=line.change)
            return {**use, "kind": CandidateKind.MACHINE, "lot": concentrator_lot(bench, path, one, "", 0.0, math.inf)}
        case written.CandidateRegulators():
            fits_something(bench, line.regulator, (*path, "regulator"))
            return {**use, "kind": CandidateKind.REGULATOR, "outlets": bench.regulators[line.regulator]}
        case written.CandidateDevices():
            return {**use, "kind": CandidateKind.DEVICE, "device": line.device}
    return {**use, "kind": CandidateKind.STAFF}


def _cylinder(bench: Bench, path: Where, line: written.CandidateCylinders) -> Lot | None:
    """Return one cylinder as a lot; note a mistake where it would not be brought into service."""
    cylinder = bench.cylinders[line.cylinder]
    gauge = cylinder.full_psi if line.pressure == "full" else line.pressure
    why = bench.too_low(gauge, bench.residual if line.residual is None else line.residual)
    if why:
        fix = "Write the pressure at which it is kept, such as full, or check 'residual' and 'in service minimum'."
        bench.wrong((*path, "pressure"), why, fix, bench.pressure(gauge))
        return None
    one = BroughtCylinders.model_construct(
        cylinder=line.cylinder,
        count=1,
        pressure=line.pressure,
        residual=line.residual,
        temperature=line.temperature,
        gas_model=line.gas_model,
        change=line.change,
    )
    return cylinder_lot(bench, path, one, "")


def _mass(bench: Bench, path: Where, part: written.StockingPart, line: written.CandidateLine, key: str) -> float:
    """Return what a pack weighs [kg]; note a mistake where that is not known and a payload is limited."""
    if line.weight is not None or isinstance(line, written.CandidatePeople):
        return line.weight or 0.0
    if isinstance(line, written.CandidateCylinders):
        one, source = _cylinder_mass(bench, line.cylinder)
        if one is not None:
            bench.assume(f"weight of one pack of {key}", f"{one * line.units:g} kg, full", source)
            return one * line.units
    _needed(bench, path, "weight", "8 lb", [cache.cache for cache in part.caches if cache.payload is not None])
    return 0.0


def _cylinder_mass(bench: Bench, kind: str) -> tuple[float | None, Source]:
    """Return what a full cylinder weighs [kg], ``None`` where nobody knows, and who says so."""
    network = bench.file.network
    if network is not None and kind in network.cylinder_masses:
        return network.cylinder_masses[kind], Source("the planner, in the network", Basis.ASSUMPTION)
    cylinder = bench.cylinders[kind]
    return cylinder.full_kg, Source(cylinder.source.text, Basis.MEMORY)


def _volume(bench: Bench, path: Where, part: written.StockingPart, line: written.CandidateLine) -> float:
    """Return the room that a pack takes [L]; note a mistake where that is not known and the room is limited."""
    if line.volume is not None or isinstance(line, written.CandidatePeople):
        return line.volume or 0.0
    _needed(bench, path, "volume", "7 L", [cache.cache for cache in part.caches if cache.volume is not None])
    return 0.0


def _needed(bench: Bench, path: Where, word: str, example: str, caches: list[str]) -> None:
    if caches:
        limit = "payload" if word == "weight" else "volume"
        rule = f"has no {word}, and the {limit} of '{caches[0]}' is limited"
        bench.wrong(path, rule, f"Add what a pack takes, such as {word}: {example}.")
