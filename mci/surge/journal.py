"""The journal of a study: every finished case is a line on the disk before the next one is shown.

The first line says which study it is; a study that goes on after a stop must be the same one.  JSON lines, with
``NaN`` and ``Infinity`` as Python writes them.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
import os
import time
from collections.abc import Mapping, Sequence
from types import TracebackType
from typing import TYPE_CHECKING, Any, BinaryIO, Self

from mci.errors import UsageError
from mci.provenance import software_version
from mci.surge.runner import Finished

if TYPE_CHECKING:
    from pathlib import Path

    from mci.surge.cases import Case, Row

__all__ = ["JOURNAL_NAME", "Journal", "identity_of"]

JOURNAL_NAME = "cases.jsonl"

_FORMAT = "mci cases"
_VERSION = 1  # of the layout; raised when an older reader would break
_SYNC = 1.0  # s between two calls that make the disk itself write


def identity_of(scenario_sha256: str, settings: Mapping[str, Any], cases: Sequence[Case]) -> dict[str, str]:
    """Return what makes two studies the same, in parts that can be read.

    Parameters
    ----------
    scenario_sha256
        Hash over the scenario and the files that it names.
    settings
        Every setting on which rows depend.
    cases
        All of them, with their roles.
    """
    content = json.dumps([dataclasses.asdict(case) for case in cases], sort_keys=True)
    return {
        "software": software_version(),
        "scenario": scenario_sha256,
        **{f"setting {name}": str(value) for name, value in sorted(settings.items())},
        "cases": f"{len(cases)}, {hashlib.sha256(content.encode()).hexdigest()}",
    }


class Journal:
    """Finished cases of one study in a file that survives a crash.

    Use it as a context manager.

    Parameters
    ----------
    folder
        Of the results; made where it does not exist.
    identity
        What makes the study (:func:`identity_of`).
    resume
        Go on with the journal that is there, if there is one.

    Raises
    ------
    UsageError
        There is a journal and it shall not be resumed, it is of another study, or the disk refuses.
    """

    def __init__(self, folder: Path, identity: Mapping[str, str], *, resume: bool = False) -> None:
        self.file = folder / JOURNAL_NAME
        #: What was finished before, by key.
        self.rows: dict[str, Row] = {}
        try:
            folder.mkdir(parents=True, exist_ok=True)
            whole = self._read(identity, resume=resume) if self.file.exists() else 0
            self._stream: BinaryIO = self.file.open("r+b" if whole else "wb")
            self._stream.seek(whole)
            self._stream.truncate()
            self._synced = time.monotonic() - _SYNC
            if not whole:
                self._write(_header(identity))
        except OSError as error:
            raise self._refused(error) from error

    def append(self, case: Finished) -> None:
        """Keep a finished case.

        Raises
        ------
        UsageError
            If the disk refuses.
        """
        try:
            self._write({"key": case.key, "seconds": round(case.seconds, 6), "row": dict(case.row)})
        except OSError as error:
            raise self._refused(error) from error

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, _: TracebackType | None) -> None:
        with self._stream:
            os.fsync(self._stream.fileno())

    def _write(self, record: Mapping[str, Any]) -> None:
        self._stream.write(_line(record))
        self._stream.flush()  # what the system has survives the end of this process
        now = time.monotonic()
        if now - self._synced >= _SYNC:
            os.fsync(self._stream.fileno())  # and what the disk has, that of the machine
            self._synced = now

    def _read(self, identity: Mapping[str, str], *, resume: bool) -> int:
        """Read what is there; return the bytes up to the first line that is not whole."""
        content = self.file.read_bytes()
        lines = content.split(b"\n")[:-1]  # a line that was torn off has no end
        if not lines and _line(_header(identity)).startswith(content):
            return 0  # it was stopped before it began
        if not resume:
            raise UsageError(
                f"{self.file} holds cases of a study already; --resume goes on with it, or give another folder"
            )
        self._check(lines[0] if lines else b"", identity)
        whole = len(lines[0]) + 1
        for line in lines[1:]:
            try:
                record = json.loads(line)
                self.rows[record["key"]] = record["row"]
            except (ValueError, KeyError, TypeError):
                break  # whatever follows is evaluated again
            whole += len(line) + 1
        return whole

    def _check(self, line: bytes, identity: Mapping[str, str]) -> None:
        try:
            header = json.loads(line)
            there = dict(header["parts"])
            known = header["format"] == _FORMAT and header["version"] == _VERSION
        except (ValueError, KeyError, TypeError):
            known, there = False, {}
        if not known:
            raise UsageError(f"{self.file} is no journal of cases that this version can read; give another folder")
        names = [name for name in {**there, **identity} if there.get(name) != identity.get(name)]
        if names:
            told = "; ".join(_difference(name, there.get(name, "none"), identity.get(name, "none")) for name in names)
            raise UsageError(f"{self.file} is of another study and cannot be resumed: {told}. Give another folder.")

    def _refused(self, error: OSError) -> UsageError:
        return UsageError(f"cannot write {self.file}: {error.strerror or error}")


def _line(record: Mapping[str, Any]) -> bytes:
    return json.dumps(record).encode() + b"\n"


def _header(identity: Mapping[str, str]) -> dict[str, Any]:
    whole = hashlib.sha256(json.dumps(identity, sort_keys=True).encode()).hexdigest()
    return {"format": _FORMAT, "version": _VERSION, "identity": whole, "parts": dict(identity)}


def _difference(name: str, there: str, here: str) -> str:
    """Say how a part differs; of hashes only that they do."""
    if max(len(there), len(here)) > 60:
        return f"the {name} {'are' if name.endswith('s') else 'is'} not the same"
    return f"the {name} was {there}, now {here}"
