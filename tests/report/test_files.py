"""Results appear whole or not at all, and never over something else."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from mci.errors import UsageError
from mci.report import files
from mci.report.files import result_files, write_results
from mci.report.target import RESULT_NAMES

if TYPE_CHECKING:
    from pathlib import Path

    from mci.pipeline import Run


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file below a folder by name."""
    return {entry.name: entry.read_bytes() for entry in folder.rglob("*") if entry.is_file()}


def test_writes_every_file_and_nothing_else(run: Run, tmp_path: Path) -> None:
    """The folder, made with its parents, holds the announced files; nothing is left beside it."""
    write_results(run, tmp_path / "a" / "b")
    assert sorted(contents(tmp_path / "a" / "b")) == sorted(RESULT_NAMES)
    assert [entry.name for entry in (tmp_path / "a").iterdir()] == ["b"]


def test_equal_runs_give_equal_files(run: Run, tmp_path: Path) -> None:
    """Two writes of the same run agree byte for byte."""
    write_results(run, tmp_path / "a")
    write_results(run, tmp_path / "b")
    assert contents(tmp_path / "a") == contents(tmp_path / "b")


def test_existing_results_need_force(run: Run, calm_run: Run, tmp_path: Path) -> None:
    """Without --force earlier results stay; with it they are replaced whole."""
    folder = tmp_path / "out"
    write_results(run, folder)
    before = contents(folder)
    with pytest.raises(UsageError, match="--force"):
        write_results(calm_run, folder)
    assert contents(folder) == before
    write_results(calm_run, folder, force=True)
    assert contents(folder) != before
    assert [entry.name for entry in tmp_path.iterdir()] == ["out"]


def test_force_never_deletes_what_is_not_ours(run: Run, tmp_path: Path) -> None:
    """A folder with other files is refused even with --force."""
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "thesis.txt").write_text("x", encoding="utf-8")
    with pytest.raises(UsageError, match=r"thesis\.txt"):
        write_results(run, folder, force=True)
    write_results(run, tmp_path / "mixed")
    (tmp_path / "mixed" / "notes.csv").write_text("x", encoding="utf-8")
    with pytest.raises(UsageError, match=r"notes\.csv"):
        write_results(run, tmp_path / "mixed", force=True)
    assert (tmp_path / "mixed" / "notes.csv").exists()


def test_a_file_in_the_way_is_refused(run: Run, tmp_path: Path) -> None:
    """A file where the folder should be is named, not replaced."""
    (tmp_path / "out").write_text("x", encoding="utf-8")
    with pytest.raises(UsageError, match="is a file"):
        write_results(run, tmp_path / "out", force=True)


@pytest.mark.parametrize("earlier", [False, True])
def test_a_failure_in_the_middle_leaves_nothing(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, earlier: bool
) -> None:
    """A full disk after some files: no new folder, no leftovers, earlier results untouched."""
    folder = tmp_path / "out"
    if earlier:
        write_results(run, folder)
    before = contents(tmp_path)
    texts = result_files(run)
    bad = {**dict(list(texts.items())[:3]), f"{next(iter(texts))}/plan.json": "x"}  # that is a file, not a folder
    monkeypatch.setattr(files, "result_files", lambda _, **_options: bad)
    with pytest.raises(UsageError, match="cannot write"):
        write_results(run, folder, force=True)
    assert contents(tmp_path) == before
    assert [entry.name for entry in tmp_path.iterdir()] == (["out"] if earlier else [])


def test_a_failure_of_the_last_rename_puts_the_old_folder_back(
    run: Run, calm_run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """If the new folder cannot take the place, the old results are back and nothing is beside them."""
    folder = tmp_path / "out"
    write_results(run, folder)
    before = contents(folder)
    kind = type(folder)
    rename = kind.rename

    def refuse(self: Path, target: Path) -> Path:
        if target.name == "out" and not self.name.endswith("-old"):
            raise PermissionError(13, "Permission denied")
        return rename(self, target)

    monkeypatch.setattr(kind, "rename", refuse)
    with pytest.raises(UsageError, match="Permission denied"):
        write_results(calm_run, folder, force=True)
    assert contents(folder) == before
    assert [entry.name for entry in tmp_path.iterdir()] == ["out"]
