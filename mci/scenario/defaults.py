"""What is assumed where the planner says nothing, with a source each; the numbers are in ``defaults.yaml``."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from types import MappingProxyType

from mci.catalogue.model import Basis, Source
from mci.scenario.yaml_positions import parse_yaml
from mci.units import parse_duration, parse_number, parse_share

__all__ = ["Defaults", "load_defaults"]


@dataclass(frozen=True, slots=True)
class Defaults:
    """The numbers in force unless the planner says otherwise.

    Parameters
    ----------
    weights
        Weight per triage category.
    arrival_step
        [min]
    most_above_full
        Share of the full pressure, 0 to 1.
    test_years, starred_test_years
        Years between hydrostatic tests.
    what, sources
        Per key of ``defaults.yaml``.
    """

    weights: Mapping[str, float]
    arrival_step: float
    test_years: int
    starred_test_years: int
    most_above_full: float
    what: Mapping[str, str]
    sources: Mapping[str, Source]


@functools.cache
def load_defaults() -> Defaults:
    """Read ``defaults.yaml``."""
    name = "defaults.yaml"
    tree, _, _ = parse_yaml(resources.files("mci.scenario").joinpath(name).read_bytes(), name)
    return Defaults(
        weights=MappingProxyType({c: parse_number(w) for c, w in tree["weights"]["values"].items()}),
        arrival_step=parse_duration(tree["arrival step"]["value"]),
        test_years=int(tree["test interval"]["value"]),
        starred_test_years=int(tree["starred test interval"]["value"]),
        most_above_full=parse_share(tree["most above full"]["value"]),
        what=MappingProxyType({key: entry["what"] for key, entry in tree.items()}),
        sources=MappingProxyType({key: Source(entry["source"], Basis(entry["basis"])) for key, entry in tree.items()}),
    )
