"""What the gauge of a cylinder should read when so many litres are left."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.catalogue.model import GasModel
from mci.catalogue.usable import usable_litres

if TYPE_CHECKING:
    from mci.plan.things import Supply

__all__ = ["expected_gauge"]

_STEPS = 30  # halvings: far finer than any gauge


def expected_gauge(supply: Supply, litres: float) -> float | None:
    """Return the gauge at which a supply holds that many usable litres [psi]; ``None`` where it has no gauge.

    Published factor and rated content are linear in the gauge; real gas, and any model with a temperature, is
    inverted by bisection.
    """
    lot, full = supply.lot, supply.gauge_psi
    if full is None or lot.cylinder is None or lot.residual_psi is None or supply.litres <= 0:
        return None
    if lot.gas_model is not GasModel.REAL_GAS and lot.temperature_c is None:
        return lot.residual_psi + (full - lot.residual_psi) * litres / supply.litres
    low, high = lot.residual_psi, full
    for _ in range(_STEPS):
        middle = (low + high) / 2
        held = usable_litres(lot.cylinder, middle, lot.residual_psi, lot.temperature_c, lot.gas_model)
        low, high = (middle, high) if held < litres else (low, middle)
    return (low + high) / 2
