"""Pressures at which a cylinder counts as empty or as fit to start, each with its source [psi gauge]."""

from __future__ import annotations

__all__ = ["IN_SERVICE_PSI", "IN_SERVICE_SOURCE", "RESIDUAL_PSI", "RESIDUAL_SOURCE"]

#: Pressure that is kept in the cylinder.
RESIDUAL_PSI = 200.0
RESIDUAL_SOURCE = "US Army course MD0542, attributed to AAOS; your own procedures may set another"

#: Below this pressure a cylinder does not go into service.
IN_SERVICE_PSI = 500.0
IN_SERVICE_SOURCE = "Oregon OAR 333-255-0072; Arizona R9-25 table 10.2"
