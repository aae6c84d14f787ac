"""What is done, in the words of crews; all are common practice, no source, and edited here."""

from __future__ import annotations

from collections.abc import Mapping

from mci.drills.book import Book, Entry, Found, How
from mci.plan.orders import Action

__all__ = ["ACTION_WORDS", "WEAK_WORDS", "find_action"]

#: Words of each action besides its own name.
ACTION_WORDS: Mapping[Action, tuple[str, ...]] = {
    Action.CONNECT: ("connect", "connected", "on", "on oxygen", "put on", "start", "started", "give", "given"),
    Action.DISCONNECT: (
        "disconnected",
        "off",
        "off oxygen",
        "take off",
        "taken off",
        "put off",
        "stop",
        "stopped",
        "remove",
        "removed",
        "leaves",
        "left",
    ),
    Action.CHANGE: (
        "change",
        "changed",
        "cylinder change",
        "swap",
        "swap cylinder",
        "swapped",
        "new cylinder",
        "open",
        "open cylinder",
        "opened",
        "replace",
        "replaced",
        "fit",
        "fitted",
    ),
    Action.MOVE: ("moved", "transfer", "transferred"),
    Action.STEP_DOWN: (
        "step-down",
        "stepped down",
        "reduce",
        "reduced",
        "reduce flow",
        "decrease",
        "decreased",
        "lower",
        "turn down",
        "wean",
        "down",
    ),
    Action.SET_FLOW: (
        "flow",
        "set",
        "flow change",
        "change flow",
        "change device",
        "change mask",
        "increase",
        "increased",
        "increase flow",
        "step up",
        "stepped up",
        "turn up",
        "up",
    ),
}

#: Words that may also be mere links between others: ``change R2 on C5``.
WEAK_WORDS = frozenset({"on", "off", "set", "flow", "up", "down", "left", "start", "given", "give", "open"})

_BOOK = Book(tuple(Entry(action.value, short=words) for action, words in ACTION_WORDS.items()))


def find_action(text: str) -> Found:
    """Return the action that is meant, under its value."""
    found = _BOOK.find(text)
    return Found("", How.NOT, found.near) if found.how is How.PART else found
