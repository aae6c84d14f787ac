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
    """Return usable litres by a published cylinder factor.

    Parameters
    ----------
    factor
        Litres of free gas per psi of gauge [L/psi].
    gauge_psi, residual_psi
        Reading now, and the reading at which the cylinder is changed [psi].

    References
    ----------
    US Army course MD0542, lesson 3.
    """
    return factor * max(0.0, gauge_psi - residual_psi)


def rated_litres(content_l: float, full_psi: float, gauge_psi: float, residual_psi: float) -> float:
    """Return usable litres by the content on the collar, in proportion to pressure.

    Parameters
    ----------
    content_l
        Free gas in a full cylinder [L].
    full_psi
        Gauge of a full cylinder [psi].
    gauge_psi, residual_psi
        Reading now, and the reading at which the cylinder is changed [psi].

    Notes
    -----
    Real oxygen is not quite in proportion: this over-states by about 1 % of a full cylinder at most.
    """
    return content_l * max(0.0, gauge_psi - residual_psi) / full_psi


def real_gas_litres(
    water_volume_l: float, gauge_psi: float, residual_psi: float, temperature_c: float, reference_c: float
) -> float:
    """Return usable litres by the density of oxygen.

    Parameters
    ----------
    water_volume_l
        Volume of the cylinder [L].
    gauge_psi, residual_psi
        Reading now, and the reading at which the cylinder is changed [psi].
    temperature_c
        The cylinder's temperature at both readings [°C].
    reference_c
        Temperature at which litres of free gas are counted, at 1 atm [°C].

    Raises
    ------
    ValueError
        Outside the oxygen table (:func:`mci.physics.gas.compressibility`).
    """
    if gauge_psi <= residual_psi:
        return 0.0
    drawn = density(gauge_psi, temperature_c) - density(residual_psi, temperature_c)
    return water_volume_l * drawn / free_density(reference_c)
