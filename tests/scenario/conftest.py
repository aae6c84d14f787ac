"""A small scenario that is right, and a way to change one thing in it."""

from __future__ import annotations

import pathlib
import textwrap
from collections.abc import Callable

import pytest

import mci.scenario

RIGHT = """\
incident:
  name: Quay fire
  start: 14:35
  horizon: 4 h
  inspection date: 2026-05-01
areas: {west: West portal, east: East portal}
patients:
  - {patient: A, category: immediate, area: west, ladder: low need, arrive: T+10, leave: 16:40}
  - {batch: walking, count: 20, category: minimal, area: east, ladder: low need, arrive: T+5, stay: 1 h 30}
supplies:
  - {cylinder: US E aluminium, count: 12, pressure: 2000 psi, area: west}
  - {concentrator: concentrator 5 L/min, count: 3, area: east}
regulators:
  - {regulator: yoke regulator 0-15 L/min, count: 4, area: west}
devices:
  - {device: nasal cannula, count: unlimited, area: west}
  - {device: nasal cannula, count: 30, area: east}
staff: [{people: 2, area: west}, {people: unlimited, area: east}]
power: [{power: 2 kW, area: east}]
resupply: {cylinder: US M60, regulator: threaded regulator 0-15 L/min}
"""

PATIENTS = "patient,category,area,ladder,arrive\nr1,delayed,west,low need,T+20\n"
GAUGES = "share\n100 %\n0.93\n"
CYLINDERS = "id,cylinder,pressure,area,test date\n101,US E,1900 psi,west,2023-05\n102,US E,400 psi,west,2023-05\n"


Write = Callable[..., pathlib.Path]


@pytest.fixture
def right() -> str:
    """Return the text of a small scenario without mistakes."""
    return RIGHT


@pytest.fixture
def write(tmp_path: pathlib.Path) -> Write:
    """Write a scenario and the files beside it; return its path."""

    def writer(text: str, **beside: str | bytes) -> pathlib.Path:
        for name, content in beside.items():
            target = tmp_path / name.replace("__", ".")
            target.write_bytes(content.encode() if isinstance(content, str) else content)
        path = tmp_path / "scenario.yaml"
        path.write_text(text, encoding="utf-8")
        return path

    return writer


@pytest.fixture
def example() -> str:
    """Return the YAML of the docstring with its '(and so on)' filled in."""
    assert mci.scenario.__doc__ is not None
    block = mci.scenario.__doc__.split("needed)::\n\n")[1].split("\nPressures are")[0]
    devices = ("non-rebreather", "partial rebreather", "simple mask", "high-flow cannula", "transport ventilator")
    devices += ("child non-rebreather", "child simple mask", "child cannula")
    lines = [
        f"  - {{device: {device}, count: unlimited, area: {area}}}"
        for area in ("west", "east")
        for device in devices
        if (area, device) != ("west", "non-rebreather")
    ]
    return textwrap.dedent(block).replace("  # (and so on)", "\n".join(lines))


@pytest.fixture
def beside() -> dict[str, str]:
    """Return the files that the example of the docstring names."""
    return {"patients__csv": PATIENTS, "cylinders__csv": CYLINDERS, "gauges__csv": GAUGES}
