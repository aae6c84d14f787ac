"""Density of oxygen gas, from a bundled table of its compressibility factor.

    density = p / (Z(p, T) R T)

with the absolute pressure ``p`` and ``Z`` interpolated linearly in pressure and temperature in
``oxygen_compressibility.csv``.  The table was computed from the reference equation of state
(Schmidt and Wagner, Fluid Phase Equilibria 19, 1985, 175-200, as implemented in CoolProp 6) and
rounded to five decimals; interpolation adds less than 0.1 % between -30 and 60 °C.  Why not the
ideal gas law: a full cylinder holds 6 to 7 % more than that, and its gauge moves by 9.6 psi per
°C instead of 6.9.

Gauges are taken to read against 1 atm.  This module imports only the units.
"""

from __future__ import annotations

import bisect
import csv
import functools
from dataclasses import dataclass
from importlib import resources

from mci.units import KPA_PER_PSI

__all__ = ["ATMOSPHERE_PSI", "TABLE_C", "compressibility", "density", "free_density", "gauge_at"]

#: One standard atmosphere [psi].
ATMOSPHERE_PSI = 101.325 / KPA_PER_PSI
#: Temperatures that the table covers [°C].
TABLE_C = (-50.0, 80.0)

_KELVIN = 273.15
_GAS_CONSTANT = 8.314462618 / 31.9988  # [kPa m3 / (kg K)], CODATA 2018 over the molar mass of oxygen


@dataclass(frozen=True, slots=True)
class _Table:
    pressures_mpa: tuple[float, ...]
    temperatures_c: tuple[float, ...]
    z: tuple[tuple[float, ...], ...]


@functools.cache
def _table() -> _Table:
    file = resources.files("mci.physics") / "oxygen_compressibility.csv"
    header, *rows = csv.reader(file.read_text(encoding="utf-8").splitlines())
    return _Table(
        pressures_mpa=tuple(float(row[0]) for row in rows),
        temperatures_c=tuple(float(cell.removesuffix(" C")) for cell in header[1:]),
        z=tuple(tuple(float(cell) for cell in row[1:]) for row in rows),
    )


def _locate(axis: tuple[float, ...], value: float, what: str, unit: str) -> tuple[int, float]:
    if not axis[0] <= value <= axis[-1]:
        raise ValueError(
            f"{what} of {value:.1f} {unit} is outside the oxygen table ({axis[0]:g} to {axis[-1]:g} {unit})"
        )
    at = min(bisect.bisect_right(axis, value), len(axis) - 1) - 1
    return at, (value - axis[at]) / (axis[at + 1] - axis[at])


def compressibility(gauge_psi: float, temperature_c: float) -> float:
    """Return the compressibility factor of oxygen at a gauge pressure [psi] and temperature [°C].

    Raises
    ------
    ValueError
        Outside 0 to 40 MPa absolute or -50 to 80 °C.
    """
    table = _table()
    row, up = _locate(table.pressures_mpa, (gauge_psi + ATMOSPHERE_PSI) * KPA_PER_PSI / 1000, "a pressure", "MPa")
    column, right = _locate(table.temperatures_c, temperature_c, "a temperature", "C")
    low, high = (z[column] + right * (z[column + 1] - z[column]) for z in table.z[row : row + 2])
    return low + up * (high - low)


def density(gauge_psi: float, temperature_c: float) -> float:
    """Return the density of oxygen [kg/m3] at a gauge pressure [psi] and temperature [°C].

    Raises
    ------
    ValueError
        Outside the table, as for :func:`compressibility`.
    """
    kpa = (gauge_psi + ATMOSPHERE_PSI) * KPA_PER_PSI
    return kpa / (compressibility(gauge_psi, temperature_c) * _GAS_CONSTANT * (temperature_c + _KELVIN))


def free_density(reference_c: float) -> float:
    """Return the density of free oxygen [kg/m3], at 1 atm and the reference temperature [°C]."""
    return density(0.0, reference_c)


def gauge_at(gauge_psi: float, temperature_c: float, reference_c: float) -> float:
    """Return what the gauge of a closed cylinder would read at the reference temperature [psi].

    Parameters
    ----------
    gauge_psi
        Reading [psi] at ``temperature_c``.
    temperature_c, reference_c
        The cylinder's temperature, and the other one [°C].

    Raises
    ------
    ValueError
        If either reading lies outside the table.

    Notes
    -----
    The density stays, so the reading ``p`` at ``reference_c`` solves
    ``density(p, reference_c) = density(gauge_psi, temperature_c)``; density rises with pressure,
    so halving the interval finds it.
    """
    if temperature_c == reference_c:
        return gauge_psi
    wanted = density(gauge_psi, temperature_c)
    low, high = -ATMOSPHERE_PSI, _table().pressures_mpa[-1] * 1000 / KPA_PER_PSI - ATMOSPHERE_PSI - 1e-9
    if density(high, reference_c) < wanted:
        raise ValueError(f"a gauge of {gauge_psi:.0f} psi at {temperature_c:.0f} C is outside the oxygen table")
    for _ in range(60):
        middle = (low + high) / 2
        if density(middle, reference_c) < wanted:
            low = middle
        else:
            high = middle
    return (low + high) / 2
