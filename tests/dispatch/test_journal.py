"""The journal: what differs before and after a moment becomes the fewest orders that say it, with the right reason."""

from __future__ import annotations

from incidents import cylinders, ladder, patients, piped, regulator, scenario

from mci.demand.people import name_people
from mci.dispatch.floor import Floor, Link, Source
from mci.dispatch.hands import Booking
from mci.dispatch.journal import Journal
from mci.dispatch.policy import Here
from mci.plan.orders import Action, Order
from mci.scenario.model import Scenario, Spell

DISCONNECT, CHANGE, MOVE, STEP_DOWN, SET_FLOW, CONNECT = Action


def incident() -> Scenario:
    """Return one patient whose need changes at 20 min and who moves to ``b`` at 40 min."""
    return scenario(
        horizon=60,
        ladders=[
            ladder("l", ("mask", 10, 1.0), ("mask", 6, 0.7), ("cannula", 4, 0.4)),
            ladder("m", ("mask", 6, 1.0), ("cannula", 4, 0.5)),
        ],
        patients=[patients(1, "l", then=(Spell(20, "a", "delayed", "m"), Spell(40, "b", "delayed", "m")))],
        lots=[cylinders(2, 300, key="cyl", change=2), piped(1), piped(1, area="b", key="wall")],
        regulators=[regulator(2)],
        areas=("a", "b"),
    )


class Scene:
    """A floor with the patient at a moment, and the orders that a change makes."""

    def __init__(self) -> None:
        self.floor = Floor(incident())
        self.journal = Journal(incident(), self.floor)
        (self.person,) = name_people(incident())
        for tool, source in zip(self.floor.tools["a"], self.floor.sources["a"], strict=False):
            self.floor.put_on(tool, source)

    def at(self, minute: float) -> dict[str, Here]:
        """Return who is there then."""
        stay = self.person.stay_at(minute)
        return {self.person.key: Here(self.person, stay)} if stay else {}

    def source(self, key: str) -> Source:
        """Return a source by its name."""
        return next(each for area in "ab" for each in self.floor.sources[area] if each.supply.key == key)

    def put(self, key: str, rung: int, ladder_key: str = "l") -> None:
        """Put the patient on a rung at a source."""
        found = incident().ladders[ladder_key].rungs[rung]
        self.floor.connect("batch", Link(rung, found.device.key, found.flow_lpm, False, found.credit, self.source(key)))

    def write(self, after: float) -> list[tuple[object, ...]]:
        """Write down what differs; return it in short."""
        self.journal.write(after, self.at(after), lambda here: f"{here.person.key} gets less")
        return [_short(order) for order in self.journal.orders]


def _short(order: Order) -> tuple[object, ...]:
    return order.action, order.area, order.device, order.flow_lpm, order.supply, order.regulator, order.reason


def _scene(key: str, rung: int, minute: float) -> Scene:
    scene = Scene()
    scene.put(key, rung)
    scene.journal.begin(scene.at(minute))
    return scene


def test_nothing_changed_is_no_order() -> None:
    """Also where the need changed and the same device and flow still do."""
    assert _scene("cyl 1", 0, 5).write(10) == []
    scene = _scene("cyl 1", 1, 15)
    scene.put("cyl 1", 0, "m")  # the mask at 6 L/min is the top rung now
    assert scene.write(20) == []


def test_connected() -> None:
    """Device, flow, supply and regulator are named."""
    scene = Scene()
    scene.journal.begin(scene.at(5))
    scene.put("cyl 2", 0)
    assert scene.write(5) == [(CONNECT, "a", "mask", 10, "cyl 2", "a-reg 2", "")]


def test_lowered_at_the_same_outlet() -> None:
    """A step-down, and why; raised again it is a new flow."""
    scene = _scene("cyl 1", 0, 5)
    scene.put("cyl 1", 1)
    assert scene.write(5) == [(STEP_DOWN, "a", "mask", 6, "cyl 1", "a-reg 1", "batch gets less")]
    scene = _scene("cyl 1", 1, 5)
    scene.put("cyl 1", 0)
    assert scene.write(5) == [(SET_FLOW, "a", "mask", 10, "cyl 1", "a-reg 1", "")]


def test_moved() -> None:
    """A move says device and flow, so no second order is needed."""
    scene = _scene("cyl 1", 1, 5)
    scene.put("cyl 2", 0)
    assert scene.write(5) == [(MOVE, "a", "mask", 10, "cyl 2", "a-reg 2", "")]
    scene = _scene("cyl 1", 1, 5)
    scene.put("pipe", 1)
    assert scene.write(5) == [(MOVE, "a", "mask", 6, "pipe", "", "")]


def test_moved_and_lowered() -> None:
    """A move on the old device and flow, then a step-down with its reason: nothing falls silently."""
    scene = _scene("cyl 1", 0, 5)
    scene.put("cyl 2", 2)
    assert scene.write(5) == [
        (MOVE, "a", "mask", 10, "cyl 2", "a-reg 2", ""),
        (STEP_DOWN, "a", "cannula", 4, "cyl 2", "a-reg 2", "batch gets less"),
    ]


def test_a_new_need_met_with_less_is_no_step_down() -> None:
    """Where the ladder changes, credits of before and after do not compare."""
    scene = _scene("cyl 1", 0, 15)
    scene.put("cyl 1", 1, "m")
    assert scene.write(20) == [(SET_FLOW, "a", "cannula", 4, "cyl 1", "a-reg 1", "")]


def test_withdrawn() -> None:
    """Who stays and comes off gets the policy's reason."""
    scene = _scene("cyl 1", 0, 5)
    scene.floor.disconnect("batch")
    assert scene.write(5) == [(DISCONNECT, "a", "", 0, "cyl 1", "a-reg 1", "batch gets less")]


def test_moved_to_another_area() -> None:
    """Off where the patient was, saying where to, and on again there."""
    scene = _scene("cyl 1", 1, 35)
    scene.floor.disconnect("batch")
    scene.put("wall", 0, "m")
    assert scene.write(40) == [
        (DISCONNECT, "a", "", 0, "cyl 1", "a-reg 1", "moves to b"),
        (CONNECT, "b", "mask", 6, "wall", "", ""),
    ]


def test_left() -> None:
    """Who is gone has left."""
    scene = _scene("wall", 0, 50)
    scene.floor.disconnect("batch")
    assert scene.write(60)[0][-1] == "leaves"


def test_a_change_of_cylinder_takes_patients_along_without_orders_for_them() -> None:
    """One order for everybody on the regulator, with who does it from when on."""
    scene = _scene("cyl 1", 0, 5)
    tool, fresh = scene.floor.tools["a"][0], scene.source("cyl 2")
    scene.floor.put_on(tool, fresh)
    scene.journal.changed(tool, fresh, Booking("s-a 1", 3, 5))
    assert scene.write(5) == [(CHANGE, "a", "", 0, "cyl 2", "a-reg 1", "")]
    (order,) = scene.journal.orders
    assert (order.begin, order.minute, order.by) == (3, 5, "s-a 1")
