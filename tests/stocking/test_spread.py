"""Incidents answered by other processes say what they say here."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from distributed import Client, LocalCluster
from small_stocking import POST, STREETS, counts, draft_of, sampled

from mci.errors import InputError, UsageError
from mci.lp.decompose import Decomposition
from mci.stocking.spread import Sampled, Staff, categories_of, staff_of, stocking_of
from mci.surge.means import Means

PATIENTS = ((1, 1), (3, 3), (5, 2), (2, 6), (4, 9))
LAX = POST.replace("coverage: 90 %", "coverage: 70 %")


@pytest.fixture(scope="module")
def staff() -> Iterator[Staff]:
    """Give two worker processes."""
    with (
        LocalCluster(
            n_workers=2,
            threads_per_worker=1,
            host="127.0.0.1",
            dashboard_address="127.0.0.1:0",
            scheduler_kwargs={"dashboard": False},
            silence_logs=60,
            memory_limit=0,
        ) as cluster,
        Client(cluster, set_as_default=False) as client,
    ):
        yield Staff(client)


def test_two_processes_say_what_one_says(staff: Staff) -> None:
    """To the last digit: each incident is asked the same questions in the same order, wherever it is."""
    made = sampled(STREETS, *PATIENTS)
    here, there = Staff().take(made), staff.take(made)
    layout, targets = made.layout, made.targets
    assert np.array_equal(here.chances, there.chances)
    assert np.array_equal(here.least, there.least)
    rng = np.random.default_rng(5)
    for _ in range(3):
        plan = np.floor(rng.uniform(0, 1, len(layout.plan.upper)) * (layout.plan.upper + 1))
        allowed = rng.uniform(0, 0.3, (len(PATIENTS), len(targets.harms)))
        one, other = here.ask(plan, allowed), there.ask(plan, allowed)
        for name in ("excess", "attained", "by_plan", "by_harm"):
            assert np.array_equal(getattr(one, name), getattr(other, name)), name
        assert np.array_equal(here.harms(plan), there.harms(plan))


def test_search_is_the_same(staff: Staff) -> None:
    """Bounds, list, and how often it asked."""
    made = sampled(LAX, *PATIENTS)
    layout, targets = made.layout, made.targets
    found = [
        Decomposition(layout.plan, each.take(made), targets.tails).solve(targets.cheapest(layout))
        for each in (Staff(), staff)
    ]
    assert found[0].plan.tolist() == found[1].plan.tolist()
    assert (found[0].upper, found[0].lower, found[0].rounds) == (found[1].upper, found[1].lower, found[1].rounds)
    assert np.array_equal(found[0].harms, found[1].harms)


def test_incidents_known_beforehand_come_in_the_order_asked(staff: Staff) -> None:
    """Whoever they were dealt to; the worst without a list is told as none."""
    made = sampled(LAX, (1, 1), (3, 3), (60, 1), (2, 6), (4, 9))
    layout, targets = made.layout, made.targets
    numbers = [3, 0, 4, 2, 1]
    here, there = (each.take(made).known(targets.cheapest(layout), numbers, 1e-4) for each in (Staff(), staff))
    assert [each is None for each in here] == [False, False, False, True, False]
    assert [each and each.upper for each in here] == [each and each.upper for each in there]
    assert here[0] is not None
    assert here[1] is not None
    assert here[1].upper < here[0].upper  # one patient needs less than two


def test_one_incident_needs_no_other_process(staff: Staff) -> None:
    """And more workers than incidents are no trouble."""
    one = staff.take(sampled(POST, (3, 3)))
    assert one.harms(np.ones(3)).shape == (1, 3)
    two = staff.take(sampled(POST, (3, 3), (1, 1)))
    assert two.harms(np.ones(3))[0] == pytest.approx(one.harms(np.ones(3))[0])


def test_mistake_in_an_incident_is_told_as_it_is(staff: Staff) -> None:
    """Here or there, not as a worker that was lost."""
    made = Sampled(draft_of(POST), counts((3, 3), (-1, 1)))
    for each in (Staff(), staff):
        with pytest.raises(InputError, match=r"patients\.stand\.count: must not be negative"):
            each.take(made)


def test_incidents_are_dealt_out() -> None:
    """Every so-manieth, all of them once, with as many patients."""
    made = sampled(POST, *PATIENTS)
    made = Sampled(made.draft, made.values, 1.5)
    parts = [made.part(n, 2) for n in range(2)]
    assert [len(part.values) for part in parts] == [3, 2]
    assert parts[1].values == made.values[1::2]
    assert {part.patients for part in parts} == {1.5}


def test_alone_nobody_else_is_asked() -> None:
    """One worker and no cluster is this process."""
    with staff_of(Means()) as alone:
        assert alone.client is None


def test_what_is_asked_must_be_there() -> None:
    """Caches, and no reserve besides; categories are those that occur, in the order of treatment."""
    without = POST.partition("stocking:")[0]
    with pytest.raises(UsageError, match=r"made\.yaml does not say what caches may hold: add a section `stocking:`"):
        stocking_of(draft_of(without))
    kept = POST.replace("staff:", "reserve: {field: 100 L}\nstaff:")
    with pytest.raises(UsageError, match="remove the reserve of field"):
        stocking_of(draft_of(kept))
    assert categories_of(draft_of(STREETS)) == ("immediate", "minimal")
