"""What the figures of a drill show, as plain records."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from mci.report.drill_controllers import told_injects
from mci.report.drill_key import plan_names
from mci.scenario.model import CATEGORIES

if TYPE_CHECKING:
    from mci.drills.result import Drill
    from mci.scenario.model import Scenario

__all__ = ["CoverLines", "Line", "TimelineData", "cover_lines", "timeline_data"]


@dataclass(frozen=True, slots=True)
class TimelineData:
    """Moments [min] of an exercise.

    Parameters
    ----------
    arrivals
        By category on arrival: moment, and whether the casualty is unannounced.
    injects
        Moment and number of the event.
    deliveries
        Name, when players are told that it comes, and when it really does.
    """

    arrivals: tuple[tuple[str, tuple[tuple[float, bool], ...]], ...]
    injects: tuple[tuple[float, str], ...]
    deliveries: tuple[tuple[str, float, float], ...]
    horizon: float
    start: int | None


@dataclass(frozen=True, slots=True)
class Line:
    """A step line: ``values`` hold from each of ``times`` [min] to the next; the last to the horizon."""

    kind: str
    title: str
    times: tuple[float, ...]
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class CoverLines:
    """Casualties in need, and how much of that each plan meets [casualties]; ``injects`` as in the timeline."""

    need: Line
    plans: tuple[Line, ...]
    injects: tuple[tuple[float, str], ...]


def timeline_data(drill: Drill) -> TimelineData:
    """Return arrivals, injects and deliveries over time."""
    told, real = _deliveries(drill.briefed), _deliveries(drill.actual)
    return TimelineData(
        arrivals=tuple(
            (category, dots)
            for category in CATEGORIES
            if (dots := tuple(sorted((c.arrive, c.unannounced) for c in drill.casualties if c.needs[0][1] == category)))
        ),
        injects=_injects(drill),
        deliveries=tuple((name, at, real.get(name, at)) for name, at in told.items()),
        horizon=drill.actual.horizon,
        start=drill.actual.start,
    )


def _injects(drill: Drill) -> tuple[tuple[float, str], ...]:
    return tuple((event.minute, str(event.number)) for event in told_injects(drill))


def _deliveries(scenario: Scenario) -> dict[str, float]:
    """Return when each delivery comes [min], in the order of time."""
    pairs = [(lot.delivery, lot.available_from) for lot in scenario.lots]
    pairs += [(stock.delivery, stock.available_from) for stock in scenario.regulators]
    pairs += [(devices.delivery, devices.available_from) for devices in scenario.devices]
    found = {name: at for name, at in pairs if name}
    return dict(sorted(found.items(), key=lambda item: (item[1], item[0])))


def cover_lines(drill: Drill) -> CoverLines:
    """Return need and what each plan meets of it over time."""
    frame = drill.over_time
    plans = []
    need = Line("need", "need", (0.0,), (0.0,))
    for kind, title, name in plan_names(drill):
        mine = frame[frame["plan"] == name]
        if mine.empty:
            continue
        times = tuple(float(value) for value in mine["time_min"])
        plans.append(Line(kind, title, times, tuple(float(value) for value in mine["credit"])))
        need = Line("need", "need", times, tuple(float(value) for value in mine["need"]))
    return CoverLines(need, tuple(plans), _injects(drill))
