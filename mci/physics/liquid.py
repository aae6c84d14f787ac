"""Oxygen gas from liquid oxygen, at a stated temperature.

    litres of gas per kg = 1000 / free density,      per litre of liquid = 1000 x liquid density / free density

The well-known 860 litres of gas per litre of liquid holds at 21.1 °C (70 °F) only: it is 843 at
15 °C and 799 at 0 °C.  Liquid density: saturated liquid at 1 atm (-182.96 °C), Schmidt and Wagner
1985; the 2018 International Fire Code, appendix G, table G101.2 has 1.142 kg/L.
"""

from __future__ import annotations

from mci.physics.gas import free_density

__all__ = [
    "UNUSABLE_SHARE",
    "UNUSABLE_SOURCE",
    "litres_per_kg",
    "litres_per_lb",
    "litres_per_litre",
    "usable_liquid_litres",
]

#: Share of the liquid that cannot be drawn for patients.
UNUSABLE_SHARE = 0.10
UNUSABLE_SOURCE = "upper end of 5-10 % unusable in bulk liquid systems: beckershospitalreview.com"

_LIQUID_KG_PER_L = 1.1412
_KG_PER_LB = 0.45359237


def litres_per_kg(reference_c: float) -> float:
    """Return litres of free gas at ``reference_c`` [°C] from one kg of oxygen [L/kg]."""
    return 1000 / free_density(reference_c)


def litres_per_lb(reference_c: float) -> float:
    """Return litres of free gas at ``reference_c`` [°C] from one pound of oxygen [L/lb]."""
    return litres_per_kg(reference_c) * _KG_PER_LB


def litres_per_litre(reference_c: float) -> float:
    """Return litres of free gas at ``reference_c`` [°C] from one litre of liquid [L/L]."""
    return litres_per_kg(reference_c) * _LIQUID_KG_PER_L


def usable_liquid_litres(gas_litres: float, unusable_share: float = UNUSABLE_SHARE) -> float:
    """Return the litres of gas that patients can have from the gas held as liquid [L].

    Raises
    ------
    ValueError
        If the share does not lie between 0 and 1.
    """
    if not 0 <= unusable_share <= 1:
        raise ValueError(f"an unusable share lies between 0 and 1, not at {unusable_share:g}")
    return gas_litres * (1 - unusable_share)
