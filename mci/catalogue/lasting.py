"""How long a cylinder of the catalogue lasts at a flow, by every gas model that applies to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.catalogue.model import GasModel
from mci.catalogue.usable import applicable_models, usable_litres
from mci.physics.constants import RESIDUAL_PSI
from mci.physics.duration import duration_min, whole_minutes

if TYPE_CHECKING:
    from mci.catalogue.model import Cylinder

__all__ = ["Lasting", "lasting"]


@dataclass(frozen=True, slots=True)
class Lasting:
    """What one gas model says.

    Parameters
    ----------
    litres
        Free gas above the residual pressure [L].
    minutes
        Time until the gauge falls to the residual pressure [min], rounded down.
    """

    model: GasModel
    litres: float
    minutes: int


def lasting(
    cylinder: Cylinder,
    gauge_psi: float,
    flow_lpm: float,
    residual_psi: float = RESIDUAL_PSI,
    temperature_c: float | None = None,
) -> tuple[Lasting, ...]:
    """Return litres and minutes by each model, in the order of ``GasModel``.

    Parameters
    ----------
    gauge_psi, residual_psi
        Reading now, and the reading at which the cylinder is changed [psi].
    flow_lpm
        Oxygen flow, above 0 [L/min].
    temperature_c
        The cylinder's temperature [°C]; ``None`` means its reference temperature.

    Raises
    ------
    ValueError
        If the flow is not above 0, or the readings lie outside the oxygen table.
    """
    answers = []
    for model in applicable_models(cylinder):
        litres = usable_litres(cylinder, gauge_psi, residual_psi, temperature_c, model)
        answers.append(Lasting(model, litres, whole_minutes(duration_min(litres, flow_lpm))))
    return tuple(answers)
