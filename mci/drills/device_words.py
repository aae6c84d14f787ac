"""Short forms of devices as crews write them.

All are common practice, no source; they differ from place to place, so edit them here.  Where a short form may mean
several devices, the first is meant unless the patient's ladder has just one of the others.
"""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["DEVICE_WORDS"]

#: Devices of the catalogue by short form.
DEVICE_WORDS: Mapping[str, tuple[str, ...]] = {
    "NC": ("nasal cannula", "child cannula"),
    "cannula": ("nasal cannula", "child cannula"),
    "nasal": ("nasal cannula", "child cannula"),
    "prongs": ("nasal cannula", "child cannula", "infant prongs", "neonate prongs"),
    "nasal prongs": ("nasal cannula", "child cannula", "infant prongs", "neonate prongs"),
    "nasal specs": ("nasal cannula", "child cannula"),
    "child NC": ("child cannula",),
    "paediatric cannula": ("child cannula",),
    "pediatric cannula": ("child cannula",),
    "infant cannula": ("infant prongs",),
    "neonatal prongs": ("neonate prongs",),
    "SM": ("simple mask", "child simple mask"),
    "SFM": ("simple mask", "child simple mask"),
    "simple face mask": ("simple mask", "child simple mask"),
    "simple": ("simple mask", "child simple mask"),
    "paediatric simple mask": ("child simple mask",),
    "pediatric simple mask": ("child simple mask",),
    "PRB": ("partial rebreather",),
    "partial rebreather mask": ("partial rebreather",),
    "partial rebreathing mask": ("partial rebreather",),
    "NRB": ("non-rebreather", "child non-rebreather"),
    "NRBM": ("non-rebreather", "child non-rebreather"),
    "NRM": ("non-rebreather", "child non-rebreather"),
    "nonrebreather mask": ("non-rebreather", "child non-rebreather"),
    "non-rebreathing mask": ("non-rebreather", "child non-rebreather"),
    "reservoir mask": ("non-rebreather", "child non-rebreather"),
    "high concentration mask": ("non-rebreather", "child non-rebreather"),
    "child NRB": ("child non-rebreather",),
    "paediatric non-rebreather": ("child non-rebreather",),
    "pediatric non-rebreather": ("child non-rebreather",),
    "BVM": ("bag-valve-mask",),
    "bag mask": ("bag-valve-mask",),
    "bag valve": ("bag-valve-mask",),
    "CPAP": ("CPAP flow driven", "CPAP with blender"),
    "HFNC": ("high-flow cannula",),
    "high-flow nasal cannula": ("high-flow cannula",),
    "high flow": ("high-flow cannula",),
    "vent": ("transport ventilator", "turbine ventilator"),
    "ventilator": ("transport ventilator", "turbine ventilator"),
    "trach mask": ("tracheostomy mask",),
    "trachy mask": ("tracheostomy mask",),
    "venturi 24 %": ("air-entrainment mask 24 %",),
    "venturi 28 %": ("air-entrainment mask 28 %",),
    "venturi 31 %": ("air-entrainment mask 31 %",),
    "venturi 35 %": ("air-entrainment mask 35 %",),
    "venturi 40 %": ("air-entrainment mask 40 %",),
    "venturi 50 %": ("air-entrainment mask 50 %",),
    "venturi 60 %": ("air-entrainment mask 60 %",),
    "blow by": ("blow-by",),
    "headbox": ("head box",),
}
