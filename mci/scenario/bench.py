"""What every builder needs at hand: the catalogue with the planner's own kinds, limits, and where to note things."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from mci.catalogue.model import Basis, Source
from mci.scenario.fitness import is_above_full, is_too_low
from mci.scenario.model import Assumption
from mci.units import format_pressure

if TYPE_CHECKING:
    from collections.abc import Mapping

    from mci.catalogue.model import Cylinder, Device, Ladder, Machine, OutletSet
    from mci.errors import Mistake
    from mci.scenario.defaults import Defaults
    from mci.scenario.model import LeftOut
    from mci.scenario.schema import ScenarioFile
    from mci.scenario.table import Table
    from mci.scenario.yaml_positions import Positions, Where

__all__ = ["PLANNER", "Bench", "Keys", "ladder_assumption"]

#: The source of whatever the planner writes.
PLANNER = Source("the planner, in the scenario file", Basis.ASSUMPTION)


@dataclass(slots=True)
class Bench:
    """The work bench of one build.

    Parameters
    ----------
    file, positions
        The scenario as written and where its lines are.
    tables
        Rosters and inventories by the path of the line that names them.
    cylinders, regulators, machines, devices, ladders
        By key: the catalogue's and the planner's own.
    horizon, residual, minimum
        Length of the plan [min], residual pressure and in-service minimum [psi gauge].
    mistakes, left_out, assumptions
        Filled by the builders; assumptions by what they say, so that none is there twice.
    """

    file: ScenarioFile
    positions: Positions
    tables: Mapping[Where, Table]
    cylinders: Mapping[str, Cylinder]
    regulators: Mapping[str, OutletSet]
    machines: Mapping[str, Machine]
    devices: Mapping[str, Device]
    ladders: Mapping[str, Ladder]
    defaults: Defaults
    horizon: float
    residual: float
    minimum: float
    mistakes: list[Mistake] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)
    assumptions: dict[tuple[str, str], Assumption] = field(default_factory=dict)

    def wrong(self, path: Where, rule: str, fix: str = "", value: str | None = None) -> None:
        """Note a mistake at a place of the scenario file."""
        self.mistakes.append(self.positions.mistake(path, rule, fix, value))

    def misread(self, cylinder: Cylinder, gauge: float) -> bool:
        """Return whether a gauge [psi] is too far above full to be this kind of cylinder."""
        return is_above_full(cylinder, gauge, self.defaults.most_above_full)

    def too_low(self, gauge: float, residual: float) -> str:
        """Return why a gauge [psi] is too low to start a patient on, or an empty text."""
        return is_too_low(gauge, self.minimum, residual, metric=self.bar)

    def pressure(self, psi: float) -> str:
        """Write a pressure [psi] in the unit that the planner wants."""
        return format_pressure(psi, metric=self.bar)

    @property
    def bar(self) -> bool:
        """Whether pressures are written in bar, not in psi."""
        return self.file.incident.pressures_in == "bar"

    def assume(self, what: str, value: str, source: Source) -> None:
        """Note what the plan rests on."""
        self.assumptions.setdefault((what, value), Assumption(what, value, source))


def ladder_assumption(key: str) -> str:
    """Return what the assumption about a ladder is called."""
    return f"ladder '{key}'"


class Keys:
    """Makes short keys, each used once: a second ``west US E aluminium`` gets `` #2``."""

    def __init__(self) -> None:
        self._used: dict[str, int] = {}

    def make(self, *parts: str) -> str:
        """Return a key from parts."""
        key = " ".join(part for part in parts if part)
        self._used[key] = self._used.get(key, 0) + 1
        return key if self._used[key] == 1 else self.make(f"{key} #{self._used[key]}")
