"""Runs the cases of a study here, on processes of this machine or on a cluster; a finished row is kept at once."""

from __future__ import annotations

import contextlib
import functools
from collections.abc import Callable, Generator, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

from mci.surge.runner import Finished, run_here

if TYPE_CHECKING:
    from mci.surge.cases import Case, Row
    from mci.surge.journal import Journal

__all__ = ["choose_engine", "run_cases"]

W = TypeVar("W")
Engine = Callable[[Callable[[W, "Case"], "Row"], W, Sequence["Case"]], Generator[Finished, None, None]]


def choose_engine(cases: int, *, workers: int = 1, cluster: str = "") -> Engine[Any]:
    """Return what evaluates cases, in any order.

    Parameters
    ----------
    cases
        How many there are; one alone needs no second process.
    workers
        Processes on this machine.
    cluster
        Address of a Dask scheduler, instead of processes here.
    """
    if cluster and cases:
        from mci.surge.runner_cluster import run_at

        return functools.partial(run_at, address=cluster)
    if min(workers, cases) > 1:
        from mci.surge.runner_cluster import run_on_processes

        return functools.partial(run_on_processes, workers=min(workers, cases))
    return run_here


def run_cases(
    evaluate: Callable[[W, Case], Row],
    work: W,
    cases: Sequence[Case],
    *,
    journal: Journal | None = None,
    workers: int = 1,
    cluster: str = "",
    tell: Callable[[int, int], None] | None = None,
) -> list[Row]:
    """Evaluate cases and return their rows in the order of the cases, the same whatever the engine.

    Parameters
    ----------
    evaluate
        An importable function of the work and a case.  What it raises becomes the ``status`` of the row.
    work
        What all cases share; it is pickled and sent to each worker once.
    cases
        Each with a key of its own.
    journal
        Where finished rows are kept; cases that it holds already are not evaluated again.
    workers
        Processes on this machine; with 1 everything happens in this process.
    cluster
        Address of a Dask scheduler, instead of processes here.
    tell
        Called with the number of finished cases and of all cases, first before anything is evaluated.

    Raises
    ------
    UsageError
        The cluster or the journal cannot be used.
    KeyboardInterrupt
        After everything was stopped; what is finished is in the journal.
    """
    rows: dict[str, Row] = {} if journal is None else dict(journal.rows)
    open_cases = [case for case in cases if case.key not in rows]
    done = len(cases) - len(open_cases)
    say = tell or (lambda _done, _all: None)
    say(done, len(cases))
    engine = choose_engine(len(open_cases), workers=workers, cluster=cluster)
    with contextlib.closing(engine(evaluate, work, open_cases)) as finished:
        for each in finished:
            if journal is not None:
                journal.append(each)
            rows[each.key] = each.row
            done += 1
            say(done, len(cases))
    return [rows[case.key] for case in cases]
