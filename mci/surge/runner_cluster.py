"""Cases on several workers: processes started here, or a Dask cluster that is there already.

A worker that dies loses nothing: its tasks run again elsewhere.  A task that takes every worker down with it is set
aside and run at the end, alone and case by case, so that the one case at fault is known and the others have rows.
"""

from __future__ import annotations

import asyncio
import contextlib
import hashlib
import logging
import pickle
import re
import time
from collections import deque
from collections.abc import Generator, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from distributed import Client, Future, KilledWorker, LocalCluster, wait

from mci.errors import PlannerError, UsageError
from mci.provenance import software_version
from mci.surge.interrupts import left_alone
from mci.surge.pace import Pace
from mci.surge.runner import Evaluate, Finished, failed
from mci.surge.runner_worker import LeaveInterrupts, Luggage, run_chunk

if TYPE_CHECKING:
    from mci.surge.cases import Case

__all__ = ["at_cluster", "on_processes", "refuse_absent", "run_at", "run_on_processes"]

_Rows = Generator[Finished, None, None]

_AHEAD = 2  # tasks of each worker that are on their way: one is worked on, the next one waits beside it
_CONNECT = 10.0  # s
_LOOK = 2.0  # s after which the number of workers is asked for anew
_NOBODY = 60.0  # s without any worker after which nobody is expected any more
_CLOSING = 1.0  # s that a worker gets to end by itself
_DEATHS = 1  # of a worker under a task before it is set aside


def run_on_processes(evaluate: Evaluate, work: Any, cases: Sequence[Case], workers: int) -> _Rows:
    """Evaluate cases on worker processes of this machine, which end when the generator does."""
    with on_processes(workers) as client:
        yield from _Study(client, evaluate, work).run(cases)


@contextlib.contextmanager
def on_processes(workers: int) -> Iterator[Client]:
    """Give a client of new worker processes of this machine, which end with it."""
    with _local(workers) as cluster, Client(cluster, set_as_default=False) as client:
        client.register_plugin(LeaveInterrupts())
        yield client


@contextlib.contextmanager
def at_cluster(address: str) -> Iterator[Client]:
    """Give a client of the cluster whose scheduler has this address.

    Raises
    ------
    UsageError
        As :func:`run_at`.
    """
    with _connect(address) as client:
        _check_workers(client, address)
        yield client


def refuse_absent(address: str) -> None:
    """Refuse a cluster that cannot be used, before anything depends on it.

    Raises
    ------
    UsageError
        As :func:`run_at`.
    """
    with at_cluster(address):
        pass


def run_at(evaluate: Evaluate, work: Any, cases: Sequence[Case], address: str) -> _Rows:
    """Evaluate cases on the cluster whose scheduler has this address.

    Raises
    ------
    UsageError
        If nobody answers there, it has no workers, or these have another version of the program.
    """
    with at_cluster(address) as client:
        yield from _Study(client, evaluate, work).run(cases)


@contextlib.contextmanager
def _local(workers: int) -> Iterator[LocalCluster]:
    """Start workers of one thread each that can be reached from this machine only."""
    cluster = None
    try:
        with left_alone():
            cluster = LocalCluster(
                n_workers=workers,
                threads_per_worker=1,
                processes=True,
                host="127.0.0.1",
                dashboard_address="127.0.0.1:0",  # a port is opened even without one; without a host, open to all
                scheduler_kwargs={"dashboard": False, "allowed_failures": _DEATHS},
                silence_logs=logging.CRITICAL,
                memory_limit=0,  # a worker is not killed for its memory
            )
        yield cluster
    finally:
        if cluster is not None:
            with left_alone():
                cluster.sync(_end_workers, cluster)
                cluster.close()


async def _end_workers(cluster: LocalCluster) -> None:
    """End the workers, soon even in the middle of a long case, which the cluster itself would wait for."""
    await asyncio.gather(*(nanny.close(timeout=_CLOSING) for nanny in cluster.workers.values()))


@contextlib.contextmanager
def _connect(address: str) -> Iterator[Client]:
    if re.fullmatch(r"tcp://[^/\s]+:\d{1,5}", address) is None:  # the library would never come back from others
        raise UsageError(f"{address} is no address of a cluster (such as tcp://127.0.0.1:8786)")
    try:
        client = Client(address, timeout=_CONNECT, set_as_default=False)
    except OSError:
        raise UsageError(f"no cluster answers at {address}") from None
    try:
        yield client
    finally:
        client.close()


def _check_workers(client: Client, address: str) -> None:
    try:
        client.wait_for_workers(1, timeout=_CONNECT)
        versions = client.run(software_version)
    except TimeoutError:
        raise UsageError(f"the cluster at {address} has no workers") from None
    except Exception as error:  # whatever a worker without this program says
        raise UsageError(f"the workers at {address} cannot run {software_version()}: {error}") from None
    others = sorted({version for version in versions.values() if version != software_version()})
    if others:
        raise UsageError(f"the workers at {address} have {', '.join(others)}, here is {software_version()}")


class _Study:
    """The tasks of one study on one cluster."""

    def __init__(self, client: Client, evaluate: Evaluate, work: Any) -> None:
        packed = pickle.dumps((evaluate, work))
        self._client = client
        self._luggage = Luggage(hashlib.sha256(packed).hexdigest(), packed)
        self._pace = Pace()
        self._slots, self._looked, self._seen = 1, -_LOOK, time.monotonic()
        self._flying: dict[Future[bytes], Sequence[Case]] = {}
        self._aside: list[Case] = []

    def run(self, cases: Sequence[Case]) -> Iterator[Finished]:
        """Yield the cases as they are finished, in any order."""
        self._client.register_plugin(self._luggage)
        try:
            yield from self._side_by_side(cases)
            for case in self._aside:
                yield from self._alone(case)
        finally:
            with contextlib.suppress(Exception):  # on the way out, perhaps of a cluster that is gone
                self._client.cancel(list(self._flying), force=True)
                self._flying.clear()
                self._client.unregister_worker_plugin(self._luggage.name)

    def _side_by_side(self, cases: Sequence[Case]) -> Iterator[Finished]:
        waiting = deque(cases)
        while waiting or self._flying:
            self._look_for_workers()
            while waiting and len(self._flying) < _AHEAD * self._slots:
                size = self._pace.size(len(waiting), self._slots)
                self._send([waiting.popleft() for _ in range(size)])
            for chunk, found in self._landed():
                if isinstance(found, KilledWorker):
                    self._aside += chunk
                    continue
                self._pace.learn(len(found), sum(each.seconds for each in found))
                yield from found

    def _alone(self, case: Case) -> Iterator[Finished]:
        """Run a case with nothing beside it that could be taken for what kills the worker."""
        self._send([case])
        while self._flying:
            self._look_for_workers()
            for _, found in self._landed():
                if isinstance(found, KilledWorker):
                    yield Finished(case.key, 0.0, failed("failed: it ended every worker process that tried it"))
                else:
                    yield from found

    def _send(self, chunk: Sequence[Case]) -> None:
        future = self._client.submit(run_chunk, self._luggage.token, pickle.dumps(chunk), pure=False)
        self._flying[future] = chunk

    def _landed(self) -> Iterator[tuple[Sequence[Case], list[Finished] | KilledWorker]]:
        """Wait for a while, and yield what came back; nothing of it stays on the cluster."""
        with contextlib.suppress(TimeoutError), self._client.as_current():
            wait(list(self._flying), timeout=_LOOK, return_when="FIRST_COMPLETED")
        for future in [each for each in self._flying if each.done()]:
            chunk = self._flying.pop(future)
            if future.status in ("cancelled", "lost"):
                self._send(chunk)
                continue
            error = future.exception() if future.status == "error" else None
            if error is not None and not isinstance(error, KilledWorker):
                raise error
            yield chunk, error or pickle.loads(future.result())  # noqa: S301 - from a worker of ours

    def _look_for_workers(self) -> None:
        now = time.monotonic()
        if now - self._looked < _LOOK:
            return
        self._looked = now
        threads = sum(self._client.nthreads().values())
        if threads:
            self._slots, self._seen = threads, now
        elif now - self._seen > _NOBODY:
            raise PlannerError(f"no worker is left for {_NOBODY:.0f} s; what is finished is kept")
