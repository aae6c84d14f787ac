"""Litres and gauge of a cylinder, by the gas model of its lot: recomputed here, not taken from the scenario."""

from __future__ import annotations

import bisect
import functools
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.catalogue.usable import usable_litres

if TYPE_CHECKING:
    from mci.catalogue.model import Cylinder, GasModel
    from mci.plan.things import Supply

__all__ = ["Scale", "find_scale", "litres_at_start"]

_STEPS = 64  # straight pieces from residual to full: far finer than anybody reads a gauge


@dataclass(frozen=True, slots=True)
class Scale:
    """Gauges [psi] and the usable litres at each [L], both rising from the residual pressure."""

    gauges: tuple[float, ...]
    litres: tuple[float, ...]
    full_psi: float

    def gauge(self, litres: float) -> float:
        """Return the gauge [psi] at which so many usable litres are left."""
        held = min(max(litres, 0.0), self.litres[-1])
        piece = min(max(bisect.bisect_right(self.litres, held), 1), len(self.litres) - 1)
        low, high = self.litres[piece - 1], self.litres[piece]
        share = (held - low) / (high - low) if high > low else 0.0
        return self.gauges[piece - 1] + share * (self.gauges[piece] - self.gauges[piece - 1])


def litres_at_start(supply: Supply) -> float:
    """Return the usable litres of a supply at hand-over [L]: by physics where its gauge says, else as stated."""
    lot = supply.lot
    if lot.cylinder is None or lot.residual_psi is None or supply.gauge_psi is None:
        return supply.litres
    return usable_litres(lot.cylinder, supply.gauge_psi, lot.residual_psi, lot.temperature_c, lot.gas_model)


def find_scale(supply: Supply) -> Scale | None:
    """Return the scale of a supply, or ``None`` where it has no gauge."""
    lot = supply.lot
    if lot.cylinder is None or lot.residual_psi is None or supply.gauge_psi is None:
        return None
    return _scale(lot.cylinder, supply.gauge_psi, lot.residual_psi, lot.temperature_c, lot.gas_model)


@functools.lru_cache(maxsize=1024)
def _scale(
    cylinder: Cylinder, gauge: float, residual: float, temperature: float | None, model: GasModel | None
) -> Scale:
    gauges = tuple(residual + (gauge - residual) * step / _STEPS for step in range(_STEPS + 1))
    litres = tuple(usable_litres(cylinder, each, residual, temperature, model) for each in gauges)
    return Scale(gauges, litres, cylinder.full_psi)
