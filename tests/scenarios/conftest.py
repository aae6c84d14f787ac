"""The bundled scenarios, each read and planned once."""

from __future__ import annotations

import functools
import pathlib

import pytest

from mci.pipeline import Run, run
from mci.scenario import read_scenario
from mci.settings import Settings

FOLDER = pathlib.Path(__file__).parents[2] / "scenarios"
NAMES = sorted(path.stem for path in FOLDER.glob("*.yaml"))


@functools.cache
def planned(name: str) -> Run:
    """Return the plan of a bundled scenario; longer steps on more than a day, which change no optimum."""
    scenario = read_scenario(FOLDER / f"{name}.yaml")
    return run(scenario, Settings(max_period=120.0) if scenario.horizon > 1440 else None)


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Give every test that asks for ``name`` each bundled scenario in turn."""
    if "name" in metafunc.fixturenames:
        metafunc.parametrize("name", NAMES)


@pytest.fixture
def text(name: str) -> str:
    """Return a bundled scenario as written."""
    return (FOLDER / f"{name}.yaml").read_text(encoding="utf-8")


@pytest.fixture
def plan(name: str) -> Run:
    """Return the plan of a bundled scenario; do not change it."""
    return planned(name)


@pytest.fixture
def by_hand() -> Run:
    """Two cylinders on a jetty."""
    return planned("by-hand")


@pytest.fixture
def ferry() -> Run:
    """Ferry fire, one area."""
    return planned("ferry-fire")


@pytest.fixture
def tunnel() -> Run:
    """Tunnel fire, two portals."""
    return planned("tunnel-fire")


@pytest.fixture
def care_home() -> Run:
    """Care home on generators."""
    return planned("care-home-smoke")


@pytest.fixture
def hospital() -> Run:
    """Hospital without its oxygen main."""
    return planned("hospital-main-failure")


@pytest.fixture
def heatwave() -> Run:
    """Heatwave and smoke in twelve halls, three days."""
    return planned("heatwave-smoke-week")


@pytest.fixture
def fair() -> Run:
    """Stand collapse at a county fair, one trailer."""
    return planned("county-fair")


@pytest.fixture
def trailers() -> Run:
    """Smoke over three towns, two trailers."""
    return planned("two-trailers")
