"""Incidents here, or spread over workers that keep theirs loaded from question to question."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
import numpy.typing as npt

from mci.errors import NoPlanError, PlannerError, UsageError
from mci.lp.decompose import Decomposition, Found
from mci.lp.two_stage import Answers, Recourse
from mci.scenario.model import CATEGORIES
from mci.stocking.fill import scaled
from mci.stocking.goals import Targets, make_targets
from mci.stocking.incidents import Incidents
from mci.stocking.layout import Layout, lay_out

if TYPE_CHECKING:
    from distributed import Client

    from mci.lp.two_stage import Aim
    from mci.scenario.draft import Draft
    from mci.scenario.stocking import Stocking
    from mci.surge.means import Means

__all__ = ["Asked", "Sampled", "Staff", "categories_of", "staff_of", "stocking_of"]

Floats = npt.NDArray[np.float64]
Values = Mapping[str, str]


@dataclass(frozen=True)
class Sampled:
    """Incidents that are asked together; plain data, so that it can be sent to other processes.

    Parameters
    ----------
    draft
        The scenario as written, with caches.
    values
        What differs, per incident.
    patients
        Factor on the number of patients.
    """

    draft: Draft
    values: tuple[Values, ...]
    patients: float = 1.0

    @property
    def layout(self) -> Layout:
        """What can be packed."""
        return lay_out(stocking_of(self.draft))

    @property
    def targets(self) -> Targets:
        """What is counted."""
        return make_targets(stocking_of(self.draft), categories_of(self.draft))

    def load(self) -> Incidents:
        """Load all of them in this process."""
        scenarios = [scaled(self.draft.scenario(each), self.patients) for each in self.values]
        return Incidents(scenarios, self.layout, self.targets.harms)

    def part(self, first: int, step: int) -> Sampled:
        """Return every so-manieth of them."""
        return Sampled(self.draft, self.values[first::step], self.patients)


def stocking_of(draft: Draft) -> Stocking:
    """Return the caches of a scenario.

    Raises
    ------
    UsageError
        If there are none, or a reserve is to be kept besides.
    """
    scenario = draft.scenario()
    if scenario.stocking is None:
        raise UsageError(f"{draft.file} does not say what caches may hold: add a section `stocking:`")
    kept = [area for area, litres in scenario.reserve.items() if litres > 0]
    if kept:
        raise UsageError(f"{draft.file}: stocking knows no reserve; remove the reserve of {', '.join(kept)}")
    return scenario.stocking


def categories_of(draft: Draft) -> tuple[str, ...]:
    """Return the categories that occur in the scenario as written, in the order of treatment."""
    occurring = {spell.category for patients in draft.scenario().patients for spell in patients.course}
    return tuple(category for category in CATEGORIES if category in occurring)


class Asked(Recourse, Protocol):
    """Loaded incidents, here or elsewhere."""

    def harms(self, plan: Floats) -> Floats:
        """As :meth:`mci.stocking.incidents.Incidents.harms`."""

    def known(self, aim: Aim, numbers: Sequence[int], gap: float) -> list[Found | None]:
        """Return the best list for single incidents that are known beforehand; ``None`` where none meets the goals."""


class _Loaded:
    """Incidents loaded in one process; in a worker it stays there."""

    def __init__(self, sampled: Sampled) -> None:
        self._incidents = sampled.load()
        self._plan, self._tails = sampled.layout.plan, sampled.targets.tails
        self.chances, self.least = self._incidents.chances, self._incidents.least

    def ask(self, plan: Floats, allowed: Floats) -> Answers:
        return self._incidents.ask(plan, allowed)

    def harms(self, plan: Floats) -> Floats:
        return self._incidents.harms(plan)

    def known(self, aim: Aim, numbers: Sequence[int], gap: float) -> list[Found | None]:
        return [self._known(aim, number, gap) for number in numbers]

    def _known(self, aim: Aim, number: int, gap: float) -> Found | None:
        try:
            return Decomposition(self._plan, self._incidents.alone(number), self._tails).solve(aim, gap=gap)
        except NoPlanError:
            return None


class _Spread:
    """Incidents dealt out to workers, one share each."""

    def __init__(self, client: Client, sampled: Sampled) -> None:
        addresses = sorted(client.scheduler_info(n_workers=-1)["workers"])
        self._shares = min(len(addresses), len(sampled.values))
        futures = [
            client.submit(_Loaded, sampled.part(n, self._shares), actor=True, workers=[addresses[n]], pure=False)
            for n in range(self._shares)
        ]
        self._futures, self._count = futures, len(sampled.values)
        with client.as_current():  # an actor asks through the client that is current when it is made
            self._actors = [_from_worker(future.result) for future in futures]
        self.chances = np.full(self._count, 1.0 / self._count)
        self.least = np.zeros(len(sampled.targets.harms))

    def ask(self, plan: Floats, allowed: Floats) -> Answers:
        flying = [a.ask(plan, allowed[n :: self._shares]) for n, a in enumerate(self._actors)]
        found = [_from_worker(each.result) for each in flying]
        return Answers(
            self._dealt_back([each.excess for each in found]),
            self._dealt_back([each.attained for each in found]),
            self._dealt_back([each.by_plan for each in found]),
            self._dealt_back([each.by_harm for each in found]),
        )

    def harms(self, plan: Floats) -> Floats:
        flying = [actor.harms(plan) for actor in self._actors]
        return self._dealt_back([_from_worker(each.result) for each in flying])

    def known(self, aim: Aim, numbers: Sequence[int], gap: float) -> list[Found | None]:
        mine = [
            [number // self._shares for number in numbers if number % self._shares == n] for n in range(self._shares)
        ]
        flying = [actor.known(aim, part, gap) for actor, part in zip(self._actors, mine, strict=True)]
        found = [iter(_from_worker(each.result)) for each in flying]
        return [next(found[number % self._shares]) for number in numbers]

    def _dealt_back(self, parts: Sequence[Floats]) -> Floats:
        whole = np.zeros((self._count, *parts[0].shape[1:]))
        for number, part in enumerate(parts):
            whole[number :: self._shares] = part
        return whole


def _from_worker(result: Callable[[], Any]) -> Any:
    """Return what a worker answers.

    Raises
    ------
    PlannerError
        If it is lost, and its incidents with it.
    """
    try:
        return result()
    except PlannerError:
        raise
    except Exception as error:
        raise PlannerError(f"a worker was lost with its share of the incidents ({error}); start again") from error


@dataclass(frozen=True, slots=True)
class Staff:
    """Who answers questions about incidents: this process, or a client's workers."""

    client: Any = None

    def take(self, sampled: Sampled) -> Asked:
        """Load incidents."""
        if self.client is None or len(sampled.values) < 2:
            return _Loaded(sampled)
        return _Spread(self.client, sampled)


@contextlib.contextmanager
def staff_of(means: Means) -> Iterator[Staff]:
    """Give who answers; worker processes end with it.

    Raises
    ------
    UsageError
        The cluster cannot be used.
    """
    if not means.cluster and means.workers == 1:
        yield Staff()
        return
    from mci.surge.runner_cluster import at_cluster, on_processes

    with at_cluster(means.cluster) if means.cluster else on_processes(means.workers) as client:
        yield Staff(client)
