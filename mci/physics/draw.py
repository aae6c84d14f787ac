"""Oxygen drawn from the supply by devices whose gas is not all oxygen [L/min].

A blender or an entraining device mixes oxygen with room air.  With ``F`` the inspired
fraction, oxygen conserved in the mixture gives

    oxygen = total (F - 0.21) / (1 - 0.21),      air : oxygen = (1 - F) / (F - 0.21)

Standard algebra with 21 % oxygen in air and pure oxygen in the supply.  One published rule
(frcemexam.com) counts the oxygen of the room air as supplied, ``minute volume x F``; it asks
for more than is drawn (22 % more at F = 0.6) and agrees at F = 1.

This module imports nothing of ``mci``.
"""

from __future__ import annotations

__all__ = ["AIR_FRACTION", "air_ratio", "blended_draw", "entrained_total", "ventilator_draw"]

#: Oxygen in room air.
AIR_FRACTION = 0.21


def blended_draw(total_lpm: float, fio2: float) -> float:
    """Return the oxygen drawn [L/min] at a total flow [L/min] and inspired fraction.

    Raises
    ------
    ValueError
        If ``fio2`` is not between room air and 1.
    """
    if not AIR_FRACTION <= fio2 <= 1:
        raise ValueError(f"an inspired oxygen fraction lies between {AIR_FRACTION} and 1, not at {fio2:g}")
    return total_lpm * (fio2 - AIR_FRACTION) / (1 - AIR_FRACTION)


def ventilator_draw(minute_volume_lpm: float, fio2: float, driving_lpm: float) -> float:
    """Return the oxygen drawn by a ventilator [L/min]: blended minute volume plus driving gas.

    Parameters
    ----------
    minute_volume_lpm
        What the patient is given per minute [L/min].
    fio2
        Inspired oxygen fraction.
    driving_lpm
        Oxygen that drives the ventilator and does not reach the patient [L/min].

    Raises
    ------
    ValueError
        If ``fio2`` is not between room air and 1.
    """
    return blended_draw(minute_volume_lpm, fio2) + driving_lpm


def air_ratio(fio2: float) -> float:
    """Return the litres of air entrained per litre of oxygen, ``(1 - F) / (F - 0.21)``.

    Raises
    ------
    ValueError
        If ``fio2`` is not above room air and up to 1.
    """
    if not AIR_FRACTION < fio2 <= 1:
        raise ValueError(f"an entrained mixture lies above {AIR_FRACTION} and up to 1, not at {fio2:g}")
    return (1 - fio2) / (fio2 - AIR_FRACTION)


def entrained_total(oxygen_lpm: float, fio2: float) -> float:
    """Return the total flow [L/min] that an air-entrainment mask gives from an oxygen flow [L/min]."""
    return oxygen_lpm * (1 + air_ratio(fio2))
