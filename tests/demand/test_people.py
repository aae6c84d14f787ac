"""Every patient by name."""

from __future__ import annotations

import numpy as np
from incidents import cylinders, ladder, patients, scenario

from mci.demand.groups import count_demand
from mci.demand.people import name_people
from mci.scenario.model import Spell


def _incident(*batches):
    return scenario(
        horizon=60, ladders=[ladder("l", ("mask", 10, 1.0))], patients=list(batches), lots=[cylinders(1, 9)]
    )


def test_people_are_as_many_as_are_counted() -> None:
    """Summed over people, who is there in each period is what the care groups count."""
    change = Spell(10, "a", "delayed", "l")
    incident = _incident(patients(3, "l", over=20, step=5, stay=25), patients(2, "l", arrive=7, then=(change,)))
    demand = count_demand(incident)
    people = name_people(incident)
    for number, group in enumerate(demand.groups):
        stays = [person.stay_at(moment) for person in people for moment in demand.grid.starts]
        here = [stay is not None and stay.category == group.category for stay in stays]
        assert np.array(here).reshape(len(people), -1).sum(axis=0).tolist() == demand.present[number].tolist()


def test_names_are_used_once() -> None:
    """A batch is numbered, also over two batches of one name; a single patient keeps the name."""
    keys = [person.key for person in name_people(_incident(patients(2, "l"), patients(1, "l")))]
    assert keys == ["batch 1", "batch 2", "batch 3"]
    assert [person.key for person in name_people(_incident(patients(1, "l")))] == ["batch"]


def test_a_course_is_one_person() -> None:
    """A patient whose need changes has two stays, one after the other, and comes and goes once."""
    (person,) = name_people(_incident(patients(1, "l", arrive=5, stay=30, then=(Spell(10, "a", "delayed", "l"),))))
    assert [(stay.start, stay.end) for stay in person.stays] == [(5, 15), (15, 35)]
    assert (person.arrive, person.leave) == (5, 35)
    assert person.stay_at(35) is None
