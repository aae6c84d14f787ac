"""Engines give the same rows, and lose nothing when something dies."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from distributed import Client, LocalCluster
from made_cases import made_cases, square

from mci.errors import UsageError
from mci.surge.cases import Case
from mci.surge.engine import choose_engine, run_cases
from mci.surge.interrupts import left_alone
from mci.surge.journal import JOURNAL_NAME, Journal
from mci.surge.runner import attempt, run_here
from mci.surge.runner_worker import LeaveInterrupts

if TYPE_CHECKING:
    from collections.abc import Iterator

    from mci.surge.cases import Row

WORK = {"factor": 2.5}


@pytest.fixture(scope="module")
def cluster() -> Iterator[str]:
    """Give the address of a cluster of two workers that somebody else has started."""
    with LocalCluster(
        n_workers=2,
        threads_per_worker=1,
        host="127.0.0.1",
        dashboard_address="127.0.0.1:0",
        scheduler_kwargs={"dashboard": False, "allowed_failures": 1},
        silence_logs=60,
        memory_limit=0,
    ) as there:
        yield there.scheduler_address


def _serial(cases: list[Case]) -> list[Row]:
    return run_cases(square, WORK, cases)


def test_rows_are_the_same_whatever_the_engine(cluster: str) -> None:
    """One process, two and a cluster give the same rows, to the last digit and in the order of the cases."""
    cases = made_cases(150, case4="refuse", case9="mistakes", case150="bug")
    here = repr(_serial(cases))
    assert repr(run_cases(square, WORK, cases, workers=2)) == here
    assert repr(run_cases(square, WORK, cases, cluster=cluster)) == here
    assert repr(run_cases(square, WORK, cases[::-1], cluster=cluster)[::-1]) == here


def test_failed_case_is_a_row_with_its_reason() -> None:
    """What the planner refuses and what is a bug both become one line of words; the other cases go on."""
    rows = _serial(made_cases(4, case1="refuse", case2="bug", case3="mistakes"))
    assert rows[:3] == [
        {"status": "no plan can meet every hard requirement: a limit that; nobody can meet"},
        {"status": "failed with ZeroDivisionError: over nothing"},
        {"status": "f:1: is too large; f:2: is too small"},
    ]
    assert rows[3]["square"] == 2.5 * 16


def test_worker_that_dies_loses_nothing(cluster: str, tmp_path: Path) -> None:
    """A worker is killed in the middle: its cases are evaluated again, and every row is there."""
    cases = made_cases(60, sleep="0.01", case17="die once")
    rows = run_cases(square, {**WORK, "marks": str(tmp_path)}, cases, cluster=cluster)
    assert (tmp_path / "died").exists()
    assert repr(rows) == repr(_serial(made_cases(60)))


def test_case_that_kills_every_worker_fails_alone(cluster: str, tmp_path: Path) -> None:
    """A case that takes down every worker becomes a failed row; all others have the rows that they have without it."""
    rows = run_cases(square, {**WORK, "marks": str(tmp_path)}, made_cases(30, case11="die"), cluster=cluster)
    assert rows[10] == {"status": "failed: it ended every worker process that tried it"}
    others = _serial(made_cases(30))
    assert repr(rows[:10] + rows[11:]) == repr(others[:10] + others[11:])


def test_one_function_chooses() -> None:
    """One worker, or one case, needs no other process, and nothing of the library for many."""
    assert choose_engine(500) is run_here
    assert choose_engine(1, workers=2) is run_here
    assert choose_engine(0, workers=2, cluster="tcp://127.0.0.1:1") is run_here
    assert choose_engine(2, workers=2) is not run_here
    assert choose_engine(1, cluster="tcp://127.0.0.1:1") is not run_here
    code = (
        "import sys; from made_cases import *; from mci.surge.engine import run_cases;"
        "run_cases(square, {'factor': 1.0}, made_cases(3)); print({'distributed', 'dask'} & set(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=_environment())
    assert done.stdout.strip() == "set()"


def test_numbers_are_plain() -> None:
    """Numbers of numpy become those of Python, which rows of a journal are too."""
    row = attempt(lambda _, case: {"key": case.key, "n": np.int64(3), "x": np.float64(0.1)}, None, Case("1")).row
    assert [type(value) for value in row.values()] == [str, int, float]


def test_interrupt_is_left_to_the_first_process(cluster: str) -> None:
    """Ctrl-C reaches neither what starts while it is left alone, nor workers that start later; then it works again."""
    ignored = "import signal; print(signal.getsignal(signal.SIGINT) is signal.SIG_IGN)"
    with left_alone():
        done = subprocess.run([sys.executable, "-c", ignored], capture_output=True, text=True, check=True)
        signal.raise_signal(signal.SIGINT)
    assert done.stdout.strip() == "True"
    with pytest.raises(KeyboardInterrupt):
        signal.raise_signal(signal.SIGINT)
    with Client(cluster, set_as_default=False) as client:
        client.register_plugin(LeaveInterrupts())
        assert set(client.run(_interrupt_is_ignored).values()) == {True}


def _interrupt_is_ignored() -> bool:
    return signal.getsignal(signal.SIGINT) is signal.SIG_IGN


def test_progress_counts_every_case(tmp_path: Path) -> None:
    """The number of finished cases is told from the first one on, those of a journal included."""
    cases, told = made_cases(5), []
    with Journal(tmp_path, {}) as journal:
        run_cases(square, WORK, cases[:2], journal=journal)
    with Journal(tmp_path, {}, resume=True) as journal:
        run_cases(square, WORK, cases, journal=journal, tell=lambda done, total: told.append((done, total)))
    assert told == [(2, 5), (3, 5), (4, 5), (5, 5)]


@pytest.mark.parametrize("address", ["nonsense://x:1", "tcp://127.0.0.1:notaport", "127.0.0.1", "tcp://127.0.0.1:1"])
def test_cluster_that_is_not_there_is_told(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A wrong address is a clear error, not a traceback."""
    monkeypatch.setattr("mci.surge.runner_cluster._CONNECT", 0.5)
    with pytest.raises(UsageError, match=f"no cluster answers at {address}|{address} is no address of a cluster"):
        run_cases(square, WORK, made_cases(2), cluster=address)


_SCRIPT = """
import sys
from pathlib import Path
from made_cases import made_cases, square
from mci.surge.engine import run_cases
from mci.surge.journal import Journal

if __name__ == "__main__":
    folder, workers = Path(sys.argv[1]), int(sys.argv[2])
    with Journal(folder, {"study": "this"}, resume=True) as journal:
        work = {"factor": 2.5, "marks": str(folder)}
        run_cases(square, work, made_cases(60, sleep="0.05"), journal=journal, workers=workers)
"""


def _environment() -> dict[str, str]:
    tests = str(Path(__file__).parents[1])
    return {**os.environ, "PYTHONPATH": tests}


def _start(folder: Path, workers: int) -> subprocess.Popen[bytes]:
    """Start the study in a process group of its own, as a shell does."""
    script = folder / "study.py"
    script.write_text(_SCRIPT, encoding="utf-8")
    return subprocess.Popen(
        [sys.executable, str(script), str(folder), str(workers)],
        env=_environment(),
        stderr=subprocess.PIPE,
        start_new_session=True,
    )


def _lines(folder: Path) -> int:
    file = folder / JOURNAL_NAME
    return file.read_bytes().count(b"\n") if file.exists() else 0


def _wait_for(condition: object, seconds: float = 60) -> None:
    until = time.monotonic() + seconds
    while not condition():  # type: ignore[operator]
        assert time.monotonic() < until
        time.sleep(0.02)


def _group_is_gone(group: int) -> bool:
    try:
        os.killpg(group, 0)
    except ProcessLookupError:
        return True
    return False


@pytest.mark.skipif(sys.platform == "win32", reason="signals of Unix")
@pytest.mark.parametrize(("workers", "how"), [(1, "kill"), (2, "kill"), (1, "interrupt"), (2, "interrupt")])
def test_study_that_is_stopped_goes_on(tmp_path: Path, workers: int, how: str) -> None:
    """Killed or interrupted in the middle: nothing goes on running, and the rest alone is evaluated afterwards."""
    study = _start(tmp_path, workers)
    _wait_for(lambda: _lines(tmp_path) > 10)
    if how == "kill":
        study.kill()
    else:
        os.killpg(study.pid, signal.SIGINT)  # a terminal sends it to all processes
    error = study.communicate(timeout=30)[1].decode()
    assert study.returncode == (-signal.SIGKILL if how == "kill" else -signal.SIGINT)
    assert how == "kill" or (error.count("Traceback") == 1 and error.rstrip().endswith("KeyboardInterrupt"))
    _wait_for(lambda: _group_is_gone(study.pid))
    kept = _lines(tmp_path) - 1
    assert 10 <= kept < 60
    before = Counter((tmp_path / "evaluated").read_text(encoding="utf-8").split())
    (tmp_path / "evaluated").write_text("", encoding="utf-8")
    with Journal(tmp_path, {"study": "this"}, resume=True) as journal:
        finished = set(journal.rows)
        work = {**WORK, "marks": str(tmp_path)}
        rows = run_cases(square, work, made_cases(60), journal=journal)
    after = Counter((tmp_path / "evaluated").read_text(encoding="utf-8").split())
    assert finished <= set(before)
    assert set(after) == {str(n) for n in range(1, 61)} - finished
    assert repr(rows) == repr(_serial(made_cases(60)))
