"""Outlets as the planner writes them: how many patients, at what flow."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from mci.scenario.fields import MostFlow, Outlets
from mci.scenario.known import Wrong
from mci.scenario.written import Written

__all__ = ["OutletNumbers"]


class OutletNumbers(Written):
    """Whatever has outlets: a regulator, a machine, piped outlets, a vessel."""

    outlets: Annotated[Outlets, Field(description="Flow outlets: patients served at once through flowmeters.")]
    high_pressure_outlets: Annotated[
        Outlets, Field(description="Further 50 psi (4 bar) outlets for ventilators and the like; without it none.")
    ] = 0
    outlet_flow: Annotated[MostFlow, Field(description="Largest flow of one flow outlet, such as 15 L/min.")]
    total_flow: Annotated[MostFlow, Field(description="Largest flow of all its outlets together, such as 60 L/min.")]

    @model_validator(mode="after")
    def _serves(self) -> Self:
        if self.outlets + self.high_pressure_outlets == 0:
            raise Wrong("has no outlet", "Give outlets, or high pressure outlets.")
        if self.outlets and self.outlet_flow > self.total_flow:
            raise Wrong("one outlet gives more than all together", "Let 'outlet flow' be at most 'total flow'.")
        return self
