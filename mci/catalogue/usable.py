"""Usable litres in a cylinder of the catalogue, by the model that is asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.catalogue.model import GasModel
from mci.physics.constants import RESIDUAL_PSI
from mci.physics.contents import factor_litres, rated_litres, real_gas_litres
from mci.physics.gas import gauge_at

if TYPE_CHECKING:
    from mci.catalogue.model import Cylinder

__all__ = ["applicable_models", "usable_litres"]


def applicable_models(cylinder: Cylinder) -> tuple[GasModel, ...]:
    """Return the models that the numbers of a cylinder allow, in the order of ``GasModel``."""
    has = {
        GasModel.FACTOR: cylinder.factor_l_per_psi is not None,
        GasModel.RATED: True,
        GasModel.REAL_GAS: cylinder.water_volume_l is not None,
    }
    return tuple(model for model in GasModel if has[model])


def usable_litres(
    cylinder: Cylinder,
    gauge_psi: float,
    residual_psi: float = RESIDUAL_PSI,
    temperature_c: float | None = None,
    model: GasModel | None = None,
) -> float:
    """Return the litres of free gas above the residual pressure [L].

    Parameters
    ----------
    gauge_psi, residual_psi
        Reading now, and the reading at which the cylinder is changed [psi].
    temperature_c
        The cylinder's temperature [°C]; ``None`` means its reference temperature.
    model
        ``None`` means the model of the cylinder's own entry.

    Raises
    ------
    ValueError
        If the cylinder's entry lacks the number that the model needs, or the readings
        lie outside the oxygen table.
    """
    model = model or cylinder.gas_model
    at_c = cylinder.reference_c if temperature_c is None else temperature_c
    if model is GasModel.REAL_GAS and cylinder.water_volume_l is not None:
        return real_gas_litres(cylinder.water_volume_l, gauge_psi, residual_psi, at_c, cylinder.reference_c)
    gauge, residual = (gauge_at(psi, at_c, cylinder.reference_c) for psi in (gauge_psi, residual_psi))
    if model is GasModel.FACTOR and cylinder.factor_l_per_psi is not None:
        return factor_litres(cylinder.factor_l_per_psi, gauge, residual)
    if model is GasModel.RATED:
        return rated_litres(cylinder.content_l, cylinder.full_psi, gauge, residual)
    raise ValueError(f"{cylinder.key} has no number for the model {model.value!r}")
