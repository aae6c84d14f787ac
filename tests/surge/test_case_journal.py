"""The journal of a study survives a crash, and belongs to one study only."""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mci.errors import UsageError
from mci.surge.cases import Case, Role
from mci.surge.journal import JOURNAL_NAME, Journal, identity_of
from mci.surge.runner import Finished

if TYPE_CHECKING:
    from pathlib import Path

IDENTITY = {"software": "mci 1", "scenario": "ab" * 32, "setting gap": "0.01"}
ROWS = {
    "1": {"status": "planned", "share": 0.1 + 0.2, "none": math.nan},
    "2": {"status": "Größe: „x“\u2028", "many": math.inf, "less": -math.inf, "whole": 3},
    "a = 5 min": {"status": "failed"},
}


def _fill(folder: Path) -> bytes:
    with Journal(folder, IDENTITY) as journal:
        for key, row in ROWS.items():
            journal.append(Finished(key, 0.25, row))
    return (folder / JOURNAL_NAME).read_bytes()


def _again(folder: Path) -> str:
    with Journal(folder, IDENTITY, resume=True) as journal:
        return repr(journal.rows)


def test_rows_come_back_as_they_were(tmp_path: Path) -> None:
    """Every float, also NaN and infinity, every word and the order come back exactly."""
    _fill(tmp_path / "new" / "folder")
    assert _again(tmp_path / "new" / "folder") == repr(ROWS)


def test_row_is_on_the_disk_at_once(tmp_path: Path) -> None:
    """A finished case can be read by others before the next one is finished."""
    with Journal(tmp_path, IDENTITY) as journal:
        journal.append(Finished("1", 0.0, ROWS["1"]))
        assert _again(tmp_path) == repr({"1": ROWS["1"]})


@given(st.data())
def test_torn_line_is_written_over(tmp_path_factory: pytest.TempPathFactory, data: st.DataObject) -> None:
    """Wherever a crash tears the file, the whole lines before are kept, and new ones follow them."""
    folder = tmp_path_factory.mktemp("torn")
    content = _fill(folder)
    end = data.draw(st.integers(0, len(content)))
    (folder / JOURNAL_NAME).write_bytes(content[:end])
    whole = max(content[:end].count(b"\n") - 1, 0)
    kept = dict(list(ROWS.items())[:whole])
    assert _again(folder) == repr(kept)
    with Journal(folder, IDENTITY, resume=True) as journal:
        journal.append(Finished("later", 0.0, {"status": "planned"}))
    assert _again(folder) == repr({**kept, "later": {"status": "planned"}})


def test_unreadable_line_ends_what_is_kept(tmp_path: Path) -> None:
    """What a failing disk left in the middle is evaluated again, with all that follows."""
    lines = _fill(tmp_path).splitlines(keepends=True)
    (tmp_path / JOURNAL_NAME).write_bytes(b"".join([*lines[:2], b"\0" * 20 + b"\n", lines[3]]))
    assert _again(tmp_path) == repr({"1": ROWS["1"]})
    assert (tmp_path / JOURNAL_NAME).read_bytes() == b"".join(lines[:2])


def test_other_study_is_refused(tmp_path: Path) -> None:
    """A journal of another study is left as it is, and what differs is named, long hashes left away."""
    content = _fill(tmp_path)
    other = {**IDENTITY, "scenario": "cd" * 32, "setting gap": "0.02", "setting more": "1"}
    with pytest.raises(UsageError) as caught:
        Journal(tmp_path, other, resume=True)
    assert "the scenario is not the same; the setting gap was 0.01, now 0.02; the setting more was none" in str(
        caught.value
    )
    assert (tmp_path / JOURNAL_NAME).read_bytes() == content


def test_existing_journal_is_not_overwritten(tmp_path: Path) -> None:
    """Without being asked to go on, nothing that was found before is lost."""
    content = _fill(tmp_path)
    with pytest.raises(UsageError, match="--resume goes on with it"):
        Journal(tmp_path, IDENTITY)
    assert (tmp_path / JOURNAL_NAME).read_bytes() == content


@pytest.mark.parametrize(
    "content", [b"something else\n", b"{}\n", b'{"format": "mci cases", "version": 99, "parts": {}}\n']
)
def test_foreign_file_is_refused(tmp_path: Path, content: bytes) -> None:
    """A file that only has the name of a journal, or a newer layout, is left alone."""
    (tmp_path / JOURNAL_NAME).write_bytes(content)
    with pytest.raises(UsageError, match="no journal of cases that this version can read"):
        Journal(tmp_path, IDENTITY, resume=True)
    assert (tmp_path / JOURNAL_NAME).read_bytes() == content


def test_disk_that_refuses_is_told(tmp_path: Path) -> None:
    """A folder that cannot be made is a clear error."""
    (tmp_path / "file").touch()
    with pytest.raises(UsageError, match="cannot write"):
        Journal(tmp_path / "file", IDENTITY)


def test_identity_says_what_defines_a_study() -> None:
    """Scenario, settings, cases, their roles and their order make the identity; equal studies have equal ones."""
    cases = [Case("1", {"a": "1"}), Case("2", {"a": "2"})]
    one = identity_of("ab", {"gap": 0.1}, cases)
    assert one == identity_of("ab", {"gap": 0.1}, list(cases))
    assert json.loads(json.dumps(one)) == one
    others = [
        identity_of("cd", {"gap": 0.1}, cases),
        identity_of("ab", {"gap": 0.2}, cases),
        identity_of("ab", {"gap": 0.1}, cases[::-1]),
        identity_of("ab", {"gap": 0.1}, [cases[0], Case("2", {"a": "2"}, Role.SWING)]),
        identity_of("ab", {"gap": 0.1}, [cases[0], Case("2", {"a": "2"}, orders=True)]),
    ]
    assert all(other != one for other in others)
