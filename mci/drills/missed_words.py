"""Words for decisions that would have gained much: what was seen and done, and what would have been better."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.drills.debriefed import Cause
from mci.drills.decision_words import order_words
from mci.plan.orders import Action
from mci.units import format_moment

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from mci.drills.missed import Wait
    from mci.plan.marks import Marks
    from mci.plan.orders import Order

__all__ = ["better_words", "did_words", "join_names"]

#: So many orders or patients are named; of more it is said how many more there are.
_ORDERS, _NAMES = 6, 4

#: What was seen, with who and how many patient-minutes.
_SEEN: Mapping[Cause, str] = {
    Cause.RECOGNITION: "{who} had not been on oxygen yet ({minutes}), while an outlet with oxygen was free",
    Cause.IDLE_OXYGEN: "{who} had none or less than prescribed ({minutes}), while an outlet with oxygen was free",
    Cause.IDLE_REGULATOR: "{who} went without or had less than prescribed ({minutes}), while a regulator and a "
    "cylinder for it were not in use",
    Cause.EMPTY: "{who} stayed connected to something that gave nothing ({minutes})",
    Cause.LEAST_FLOW: "{who} had a flow below what the device or the need asks for ({minutes})",
    Cause.HIGH_FLOW: "{who} drew more than prescribed, or all that is prescribed while somebody more urgent went "
    "without ({minutes})",
    Cause.DELIVERY: "{who} went without or had less than prescribed ({minutes}), and what was announced had not come",
    Cause.SHORTAGE: "{who} went without or had less than prescribed ({minutes}), and nothing else was free: it was how "
    "things were shared",
    Cause.OTHER: "Everybody had what was prescribed, and oxygen was used that was missing later",
}


def join_names(names: Sequence[str], most: int = _NAMES) -> str:
    """Write names in words, some of them and how many more."""
    if len(names) > most:
        return f"{', '.join(names[:most])} and {len(names) - most} more"
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1]))) if names else "Somebody"


def did_words(wait: Wait, orders: Sequence[Order], marks: Marks) -> str:
    """Say what was seen in a stretch, and what was done in it for those who are concerned."""
    start, end = wait.stretch.start, wait.stretch.end
    minutes = sum(each.minutes(start, end) for each in wait.symptoms)
    seen = _SEEN[wait.cause].format(who=join_names(wait.patients), minutes=f"{minutes:.1f} patient-min")
    then = "for them then" if wait.patients else "then"
    done = f"Done {then}: {_told(orders, marks)}." if orders else f"Nothing was done {then}."
    return f"{seen}. {done}"


def better_words(orders: Sequence[Order], marks: Marks) -> str:
    """Say what better orders do in a stretch for those who are concerned."""
    short = _in_short(orders)
    if not short:
        return "Leave everything as it stood."
    told = _told(short, marks, _first_of(short))
    return f"{told[0].upper()}{told[1:]}."


def _in_short(orders: Sequence[Order]) -> list[Order]:
    """Leave out who is taken off only to be connected to something else, which says it, and who leaves anyway."""
    last = {each.patient: n for n, each in enumerate(orders) if each.action is Action.CONNECT}
    return [
        each
        for n, each in enumerate(orders)
        if each.action is not Action.DISCONNECT or (last.get(each.patient, -1) < n and each.reason != "leaves")
    ]


def _first_of(orders: Sequence[Order]) -> list[Order]:
    """Return the orders that are told where there is room for few: who gets something, before who is taken off."""
    ranked = sorted(range(len(orders)), key=lambda n: (orders[n].action is Action.DISCONNECT, n))
    return [orders[n] for n in sorted(ranked[:_ORDERS])]


def _told(orders: Sequence[Order], marks: Marks, named: Sequence[Order] = ()) -> str:
    parts: list[str] = []
    moment = ""
    for order in named or orders[:_ORDERS]:
        words, now = order_words(order, marks), format_moment(order.minute)
        parts.append(words if now == moment else f"at {now} {words}")
        moment = now
    more = len(orders) - _ORDERS
    return "; ".join(parts) + (f"; and {more} more" if more > 0 else "")
