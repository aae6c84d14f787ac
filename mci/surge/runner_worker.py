"""What runs inside a worker process: cases of a study whose work was sent there once.

The work is kept for as long as the process lives or another study comes; tasks name it by its hash.
"""

from __future__ import annotations

import pickle
import signal
from collections.abc import Sequence
from typing import Any

from distributed import WorkerPlugin

from mci.surge.cases import Case
from mci.surge.runner import Evaluate, attempt

__all__ = ["LeaveInterrupts", "Luggage", "run_chunk"]

_packed: dict[str, bytes] = {}
_open: dict[str, tuple[Evaluate, Any]] = {}


class Luggage(WorkerPlugin):
    """The work of a study; also brought to every worker that starts later, such as one after a crash.

    Parameters
    ----------
    token
        Hash that names it.
    packed
        Function and work, pickled.
    """

    def __init__(self, token: str, packed: bytes) -> None:
        self.name = f"mci-{token}"
        self.token, self.packed = token, packed

    def setup(self, worker: Any) -> None:  # noqa: ARG002
        """Put it down; it is unpacked by the first task, so that what goes wrong there is told."""
        _packed[self.token] = self.packed

    def teardown(self, worker: Any) -> None:  # noqa: ARG002
        """Take it away after the study."""
        _packed.pop(self.token, None)
        _open.pop(self.token, None)


class LeaveInterrupts(WorkerPlugin):
    """Leaves Ctrl-C, which a terminal sends to every process, to the one that started the study; it ends the others."""

    name = "mci-leave-interrupts"

    def setup(self, worker: Any) -> None:  # noqa: ARG002
        """Ignore it from now on."""
        signal.signal(signal.SIGINT, signal.SIG_IGN)


def run_chunk(token: str, packed_cases: bytes) -> bytes:
    """Evaluate some cases of a study, in order.

    Cases come and go pickled as one: the library would send and look into each of them by itself, which takes longer
    than a cheap case.
    """
    if token not in _open:
        _open[token] = pickle.loads(_packed[token])  # noqa: S301 - it comes from the process that started the study
    evaluate, work = _open[token]
    cases: Sequence[Case] = pickle.loads(packed_cases)  # noqa: S301 - likewise
    return pickle.dumps([attempt(evaluate, work, case) for case in cases])
