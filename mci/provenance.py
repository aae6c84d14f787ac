"""Where a result comes from: version, inputs, settings, solver and timings, carried by every output."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from importlib.metadata import version
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["FORMAT_VERSION", "Provenance", "software_version"]

#: Version of the layout of the files that are written; raised when a reader would break.
FORMAT_VERSION = 1


def software_version() -> str:
    """Return name and version of this program."""
    return f"mci {version('mci')}"


@dataclass(frozen=True, slots=True)
class Provenance:
    """One run's record.

    Parameters
    ----------
    scenario_file, scenario_sha256
        Name of the file (without its folder) and the hash over it and the files that it names.
    settings
        Every setting with its value.
    solver
        Solver, version, status, sizes.
    timings
        Seconds per stage; the only part that may differ between two equal runs.
    """

    scenario_file: str
    scenario_sha256: str
    settings: Mapping[str, Any]
    solver: Mapping[str, Any]
    timings: Mapping[str, float]
    format_version: int = FORMAT_VERSION
    software: str = dataclasses.field(default_factory=software_version)

    def to_dict(self, *, timings: bool = True) -> dict[str, Any]:
        """Return the record as plain data, without timings where bytes must be equal."""
        record = dataclasses.asdict(self)
        if not timings:
            del record["timings"]
        return record
