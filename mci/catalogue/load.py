"""The catalogue from its data files, checked as a whole: all mistakes at once, each with file and line."""

from __future__ import annotations

import functools
from importlib import resources
from types import MappingProxyType
from typing import TYPE_CHECKING, Protocol, TypeVar

from mci.catalogue.ladders import read_ladders
from mci.catalogue.model import (
    Catalogue,
    Cylinder,
    Device,
    DrawRule,
    GasModel,
    Machine,
    MachineKind,
    OutletSet,
)
from mci.catalogue.table import read_rows
from mci.catalogue.usable import applicable_models
from mci.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from importlib.resources.abc import Traversable

    from mci.catalogue.table import Row
    from mci.errors import Mistake

    class _Keyed(Protocol):
        @property
        def key(self) -> str: ...

    Entry = TypeVar("Entry", bound=_Keyed)

__all__ = ["load_catalogue", "read_catalogue"]

_CYLINDER_COLUMNS = (
    "region",
    "letter",
    "variant",
    "also_called",
    "default",
    "water_volume [L]",
    "content [L]",
    "reference [C]",
    "full_gauge [psi]",
    "factor [L/psi]",
    "gas_model",
    "valve",
    "built_in",
    "change [person-min]",
    "full_mass [kg]",
    "source",
    "basis",
)
_OUTLET_COLUMNS = (
    "key",
    "fits",
    "outlets",
    "high_pressure_outlets",
    "outlet_max [L/min]",
    "total_max [L/min]",
    "source",
    "basis",
)
_DEVICE_COLUMNS = (
    "key",
    "title",
    "draw",
    "min_flow [L/min]",
    "max_flow [L/min]",
    "fio2_low",
    "fio2_high",
    "single_use",
    "high_pressure",
    "driving_gas [L/min]",
    "below_min_risk",
    "source",
    "basis",
)
_MACHINE_COLUMNS = (
    "key",
    "kind",
    "max_flow [L/min]",
    "power [W]",
    "oxygen_share_low",
    "outlets",
    "connect [person-min]",
    "mass [kg]",
    "source",
    "basis",
)


@functools.cache
def load_catalogue() -> Catalogue:
    """Return the catalogue that comes with the program."""
    return read_catalogue(resources.files("mci.catalogue") / "data")


def read_catalogue(folder: Traversable) -> Catalogue:
    """Return the catalogue in a folder of data files.

    Raises
    ------
    InputError
        With every mistake in every file.
    """
    mistakes: list[Mistake] = []

    def table(file: str, columns: Iterable[str], build: Callable[[Row], Entry]) -> Mapping[str, Entry]:
        entries: dict[str, Entry] = {}
        for row in read_rows(file, (folder / file).read_text(encoding="utf-8"), columns, mistakes):
            entry = build(row)
            if entry.key in entries:
                row.wrong("key", f"{entry.key!r} is there twice")
            entries[entry.key] = entry
        return MappingProxyType(entries)

    outlet_sets = table("outlet_sets.csv", _OUTLET_COLUMNS, _outlet_set)
    devices = table("devices.csv", _DEVICE_COLUMNS, _device)
    machines = table("machines.csv", _MACHINE_COLUMNS, lambda row: _machine(row, outlet_sets))
    named: set[str] = set()
    cylinders = table("cylinders.csv", _CYLINDER_COLUMNS, lambda row: _cylinder(row, outlet_sets, named))
    text = (folder / "ladders.yaml").read_text(encoding="utf-8")
    ladders = read_ladders("ladders.yaml", text, devices, mistakes)
    if mistakes:
        raise InputError(mistakes)
    return Catalogue(cylinders, outlet_sets, devices, machines, MappingProxyType(ladders))


def _cylinder(row: Row, outlet_sets: Mapping[str, OutletSet], named: set[str]) -> Cylinder:
    region, letter, variant = row.text("region"), row.text("letter"), row.text("variant")
    cylinder = Cylinder(
        key=f"{region} {letter} {variant}",
        region=region,
        letter=letter,
        variant=variant,
        water_volume_l=row.optional_number("water_volume [L]"),
        content_l=row.number("content [L]", above=True),
        reference_c=row.number("reference [C]", 0, 30),
        full_psi=row.number("full_gauge [psi]", 500, 5000),
        factor_l_per_psi=row.optional_number("factor [L/psi]"),
        gas_model=row.choice("gas_model", GasModel),
        valve=row.optional_text("valve"),
        built_in=_built_in(row, outlet_sets),
        change_min=row.number("change [person-min]"),
        full_kg=row.optional_number("full_mass [kg]"),
        source=row.source(),
        also_called=row.words("also_called"),
        default=row.optional_text("default") != "" and row.yes_no("default"),
    )
    if cylinder.gas_model not in applicable_models(cylinder):
        row.wrong("gas_model", "needs a number that this row does not have")
    _check_names(row, cylinder, named)
    return cylinder


def _built_in(row: Row, outlet_sets: Mapping[str, OutletSet]) -> OutletSet | None:
    key = row.optional_text("built_in")
    if bool(key) == bool(row.optional_text("valve")):
        row.wrong("valve", "a cylinder has either a valve for a regulator or built-in outlets")
    if key and key not in outlet_sets:
        row.wrong("built_in", "is not in outlet_sets.csv")
    return outlet_sets.get(key)


def _check_names(row: Row, cylinder: Cylinder, named: set[str]) -> None:
    """Hold that region and letter alone, and region and every further name, mean one variant."""
    names = {f"{cylinder.region} {name}".casefold() for name in (cylinder.letter, *cylinder.also_called)}
    if cylinder.default and names & named:
        row.wrong("default", f"{' and '.join(sorted(names & named))} already means another cylinder")
    if cylinder.default:
        named |= names


def _outlet_set(row: Row) -> OutletSet:
    outlet_set = OutletSet(
        key=row.text("key"),
        fits=frozenset(row.words("fits")),
        outlets=row.count("outlets"),
        high_pressure_outlets=row.count("high_pressure_outlets"),
        outlet_max_lpm=row.number("outlet_max [L/min]"),
        total_max_lpm=row.number("total_max [L/min]", above=True),
        source=row.source(),
    )
    if outlet_set.outlets + outlet_set.high_pressure_outlets == 0:
        row.wrong("outlets", "there must be at least one outlet")
    if outlet_set.outlets and not 0 < outlet_set.outlet_max_lpm <= outlet_set.total_max_lpm:
        row.wrong("outlet_max [L/min]", "must be above 0 and at most the total")
    return outlet_set


def _device(row: Row) -> Device:
    device = Device(
        key=row.text("key"),
        title=row.text("title"),
        rule=row.choice("draw", DrawRule),
        min_lpm=row.number("min_flow [L/min]"),
        max_lpm=row.number("max_flow [L/min]", above=True),
        fio2_low=row.number("fio2_low", 0.21, 1),
        fio2_high=row.number("fio2_high", 0.21, 1),
        single_use=row.yes_no("single_use"),
        high_pressure=row.yes_no("high_pressure"),
        driving_lpm=row.number("driving_gas [L/min]"),
        below_min_risk=row.optional_text("below_min_risk"),
        source=row.source(),
    )
    if device.min_lpm > device.max_lpm:
        row.wrong("min_flow [L/min]", "must not be above max_flow")
    if device.fio2_low > device.fio2_high:
        row.wrong("fio2_low", "must not be above fio2_high")
    return device


def _machine(row: Row, outlet_sets: Mapping[str, OutletSet]) -> Machine:
    outlets = outlet_sets.get(row.text("outlets"))
    if outlets is None:
        row.wrong("outlets", "is not in outlet_sets.csv")
        outlets = next(iter(outlet_sets.values()))
    return Machine(
        key=row.text("key"),
        kind=row.choice("kind", MachineKind),
        max_lpm=row.number("max_flow [L/min]", above=True),
        watts=row.number("power [W]"),
        oxygen_share_low=row.number("oxygen_share_low", 0.5, 1),
        outlets=outlets,
        connect_min=row.number("connect [person-min]"),
        mass_kg=row.optional_number("mass [kg]"),
        source=row.source(),
    )
