"""The names of an incident: what a written patient, cylinder, regulator, device or person can mean."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import TYPE_CHECKING

from mci.catalogue.load import load_catalogue
from mci.demand.people import name_people
from mci.drills.book import Book, Entry, Found, How
from mci.drills.device_words import DEVICE_WORDS
from mci.drills.spelling import words_of
from mci.plan.marks import find_marks
from mci.plan.things import find_handlers, find_regulators, find_supplies

if TYPE_CHECKING:
    from mci.demand.people import Person
    from mci.demand.stays import Stay
    from mci.scenario.model import Scenario

__all__ = ["Names"]


def _sorted(text: str) -> tuple[str, ...]:
    """Return the words of a text in an order of their own."""
    return tuple(sorted(words_of(text)))


class Names:
    """Names as written, looked up: each comes with how it was found, and two things are never guessed between.

    Parameters
    ----------
    scenario
        The incident as it happens: whoever comes in a second wave must be known too; marks are those that were told.
    """

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self.marks = find_marks(scenario)
        self.supplies = {each.key: each for each in find_supplies(scenario)}
        self.regulators = {each.key: each for each in find_regulators(scenario)}
        self.handlers = {each.key: each for each in find_handlers(scenario)}
        self.people: dict[str, Person] = {each.key: each for each in name_people(scenario)}
        self._supplies = self._book((key, each.lot.area) for key, each in self.supplies.items())
        self._regulators = self._book((key, each.area) for key, each in self.regulators.items())
        self._handlers = self._book((key, each.area) for key, each in self.handlers.items())
        self._patients = Book(tuple(Entry(key) for key in self.people))
        self._areas = Book(tuple(Entry(each.key, others=(each.title,)) for each in scenario.areas))
        own = {rung.device.key: rung.device.title for each in scenario.ladders.values() for rung in each.rungs}
        own |= {each.device: each.device for each in scenario.devices if each.device not in own}
        self._own_devices = Book(tuple(Entry(key, others=(title,)) for key, title in own.items()))
        self._devices = Book(tuple(Entry(each.key, others=(each.title,)) for each in load_catalogue().devices.values()))
        self._any_order = {_sorted(name): key for key, title in own.items() for name in (key, title)}
        self._short = Book(tuple(Entry(word) for word in DEVICE_WORDS))

    def _book(self, things: Iterable[tuple[str, str]]) -> Book:
        """Make the book of things by name and area; it may be named with or without its area."""
        marks = self.marks.by_name
        return Book(
            tuple(
                Entry(key, area, marks.get(key, ""), (key.removeprefix(f"{area} "), f"{area} {key}"))
                for key, area in things
            )
        )

    def patient(self, text: str) -> Found:
        """Return the patient that is meant."""
        return self._patients.find(text)

    def supply(self, text: str, area: str = "") -> Found:
        """Return the cylinder or other supply that is meant, where several have the mark the one at the area."""
        return self._supplies.find(text, area)

    def regulator(self, text: str, area: str = "") -> Found:
        """Return the regulator or manifold that is meant, where several have the mark the one at the area."""
        return self._regulators.find(text, area)

    def handler(self, text: str, area: str = "") -> Found:
        """Return who changes cylinders, where several have the mark the one at the area."""
        return self._handlers.find(text, area)

    def area(self, text: str) -> Found:
        """Return the area that is meant, by its key or its title."""
        return self._areas.find(text)

    def device(self, text: str, prescribed: Collection[str] = ()) -> Found:
        """Return the device that is meant.

        Parameters
        ----------
        prescribed
            Devices of the patient's ladder: a short form that means devices for adults and for children is the one
            that is prescribed.
        """
        own, short = self._own_devices.find(text), self._short.find(text)
        if own.how in (How.WRITTEN, How.SPELLED):
            return own
        if short.is_sure:
            return Found(self._meant(DEVICE_WORDS[short.name], prescribed), How.SHORT)
        every = self._devices.find(text)
        if every.how in (How.WRITTEN, How.SPELLED):
            return every
        if turned := self._any_order.get(_sorted(text)):  # ``simple mask, child``
            return Found(turned, How.NEAR)
        return self._one_device((own, every, short), prescribed)

    def _meant(self, devices: tuple[str, ...], prescribed: Collection[str]) -> str:
        on_ladder = [each for each in devices if each in prescribed]
        known = [each for each in devices if self._own_devices.find(each).how is How.WRITTEN]
        return on_ladder[0] if len(on_ladder) == 1 else known[0] if known else devices[0]

    def _one_device(self, found: tuple[Found, Found, Found], prescribed: Collection[str]) -> Found:
        """Read a slip of the pen, or a part, where all lists of words come to the same."""
        *names, short = found
        read = {each.name for each in names if each.name}
        if short.name:
            read.add(self._meant(DEVICE_WORDS[short.name], prescribed))
        several = tuple(dict.fromkeys(each for one in names for each in one.near))
        if len(read) == 1:
            return Found(read.pop(), How.NEAR)
        return Found("", How.SEVERAL if read else How.NOT, tuple(sorted(read)) or several)

    def stay(self, patient: str, minute: float) -> Stay | None:
        """Return the stay of a patient at a moment; ``None`` where nobody is there."""
        person = self.people.get(patient)
        return person.stay_at(minute + 1e-5) if person is not None else None

    def prescribed(self, patient: str, minute: float) -> frozenset[str]:
        """Return the devices of a patient's ladder at a moment, or on arrival where the patient is not there."""
        person = self.people.get(patient)
        if person is None:
            return frozenset()
        stay = self.stay(patient, minute) or person.stays[0]
        return frozenset(rung.device.key for rung in self.scenario.ladders[stay.ladder].rungs)

    def area_of(self, patient: str, minute: float) -> str:
        """Return where a patient is at a moment, or was last, or will be first."""
        person = self.people.get(patient)
        if person is None:
            return ""
        begun = [stay for stay in person.stays if stay.start <= minute + 1e-5]
        return (begun or person.stays)[-1 if begun else 0].area

    def on_paper(self, name: str) -> str:
        """Return the mark of a name, or the name itself where it has none."""
        return self.marks.of(name)
