"""How a study is carried out: by how many processes, and where finished cases are kept; no result depends on it."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

from mci.surge.engine import run_cases
from mci.surge.journal import Journal, identity_of
from mci.surge.measure import measure

if TYPE_CHECKING:
    from pathlib import Path

    from mci.surge.cases import Case, Row
    from mci.surge.study import Study

__all__ = ["Evaluate", "Means", "evaluator"]

#: Gives the rows of some cases, in order; with ``here``, in this process.
Evaluate = Callable[..., list["Row"]]


@dataclass(frozen=True, slots=True)
class Means:
    """How a study is carried out.

    Parameters
    ----------
    workers
        Processes on this machine; with 1 everything happens in this one.
    cluster
        Address of a Dask scheduler, instead of processes here.
    folder
        Where each case is kept as soon as it is finished; without one nothing is kept.
    resume
        Go on with what that folder holds of the same study.
    tell
        Called with the number of finished cases and of all cases.
    """

    workers: int = 1
    cluster: str = ""
    folder: Path | None = None
    resume: bool = False
    tell: Callable[[int, int], None] | None = None


@contextlib.contextmanager
def evaluator(study: Study, cases: Sequence[Case], means: Means, more: Mapping[str, object]) -> Iterator[Evaluate]:
    """Give what evaluates cases of a study.

    Parameters
    ----------
    study
        What all cases share.
    cases
        Those that make the study what it is; others may be evaluated as well.
    means
        How it is carried out.
    more
        What else makes it what it is, to be compared where it is resumed.

    Raises
    ------
    UsageError
        The folder, or the cluster, cannot be used.
    """
    identity = identity_of(
        study.draft.sha256,
        {**asdict(study.settings), "rolling_every": study.rolling_every, "trips": study.trips, **more},
        cases,
    )
    with contextlib.ExitStack() as stack:
        journal = None
        if means.folder is not None:
            journal = stack.enter_context(Journal(means.folder, identity, resume=means.resume))

        def evaluate(wanted: Sequence[Case], *, here: bool = False) -> list[Row]:
            workers, cluster = (1, "") if here else (means.workers, means.cluster)
            tell = None if here else means.tell
            return run_cases(measure, study, wanted, journal=journal, workers=workers, cluster=cluster, tell=tell)

        yield evaluate
