"""Usable litres of free gas in a cylinder, from its gauge, by three models.

========================  ==========================================================================
published factor          ``factor [L/psi] x (gauge - residual)``
rated content             ``content x (gauge - residual) / full gauge``
real gas                  ``water volume x (density at gauge - density at residual) / free density``
========================  ==========================================================================

The first two take gauge readings at the reference temperature.  Where the cylinder's own
temperature is known, both readings are first brought to the reference temperature along constant
real-gas density (:func:`mci.physics.gas.gauge_at`).  Scaling absolute pressure by absolute
temperature instead would err by 5 % at -20 °C and 3 % at 50 °C, because the gauge of a full
cylinder moves faster than that law says.

All return 0 where the gauge is at or below the residual.
"""

from __future__ import annotations

from mci.physics.gas import density, free_density

__all__ = ["factor_litres", "rated_litres", "real_gas_litres"]


def factor_litres(factor: float, gauge_psi: float, residual_psi: float) -> float:
    """Return usable litres by a published cylinder factor [L/psi] (US Army course MD0542)."""
    return factor * max(0.0, gauge_psi - residual_psi)


def rated_litres(content_l: float, full_psi: float, gauge_psi: float, residual_psi: float) -> float:
    """Return usable litres by the content on the collar [L], in proportion to pressure.

    Real oxygen is not quite in proportion: this over-states by less than 1 % of a full cylinder.
    """
    return content_l * max(0.0, gauge_psi - residual_psi) / full_psi


def real_gas_litres(
    water_volume_l: float, gauge_psi: float, residual_psi: float, temperature_c: float, reference_c: float
) -> float:
    """Return usable litres at ``reference_c`` and 1 atm, from the water volume [L].

    Both readings are taken at ``temperature_c``, the cylinder's temperature [°C].
    """
    if gauge_psi <= residual_psi:
        return 0.0
    drawn = density(gauge_psi, temperature_c) - density(residual_psi, temperature_c)
    return water_volume_l * drawn / free_density(reference_c)
