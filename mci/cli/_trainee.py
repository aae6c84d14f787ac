"""A drill played at the keyboard: lines are read, answers printed, the session is saved; then comes the debrief."""

from __future__ import annotations

import contextlib
import sys
from typing import TYPE_CHECKING

import click

from mci.cli._terminal import make_console, say
from mci.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from mci.drills.result import Drill
    from mci.drills.table_top import TableTop
    from mci.settings import Settings

__all__ = ["Trainee"]


class Trainee:
    """Whoever plays, with the files that were named; those are looked at before any work is done.

    Parameters
    ----------
    script
        File with the lines; without one they come from standard input.
    save, resume
        Where the session is saved, and the session that is gone on with.
    output
        Folder for the debrief.
    force
        Replace an earlier session.

    Raises
    ------
    UsageError
        If a file cannot be read, or one would be replaced that is not gone on with.
    """

    def __init__(
        self,
        script: Path | None,
        save: Path | None,
        resume: Path | None,
        output: Path | None,
        *,
        force: bool,
        settings: Settings,
    ) -> None:
        self._lines = _read(script) if script is not None else None
        self._begun = _read(resume) if resume is not None else None
        self._save, self._resume, self._output, self._settings = save, resume, output, settings
        self._console = make_console()
        if save is not None and save.is_dir():
            raise UsageError(f"{save} is a folder; name a file for the session")
        same = save is not None and resume is not None and save.resolve() == resume.resolve()
        if save is not None and save.exists() and not (force or same):
            raise UsageError(f"{save} is there already; name another file, or --force to replace it")
        self.told_when_stopped = "nothing is kept"

    def play(self, drill: Drill) -> None:
        """Play a drill to its end, or as far as there are lines."""
        from mci.drills.table_top import TableTop

        if self._begun is None:
            session = TableTop(drill)
            self._print(session.opening())
        else:
            session = TableTop.resume(drill, self._begun, str(self._resume))
            self._print((f"Gone on with {self._resume}.", *session.type_line("state")))
        try:
            self._read_on(session)
        finally:
            self._keep(session)
        if session.finished:
            self._debrief(drill, session)
        else:
            kept = f"saved in {self._save}; --resume goes on" if self._save else "nothing is saved without --save"
            click.echo(f"\nStopped at {session.prompt.split()[0]}: {kept}.")

    def _print(self, lines: Iterable[str]) -> None:
        for line in lines:
            place = len(line) - len(line.lstrip(" ")) + 2  # what does not fit stands a little to the right
            say(self._console, line[place:], bullet=line[:place])

    def _read_on(self, session: TableTop) -> None:
        """Read and answer lines until the end of the exercise or of the lines."""
        script = None if self._lines is None else iter(self._lines.splitlines())
        echo = script is not None or not sys.stdin.isatty()
        while not session.finished:
            click.echo(session.prompt, nl=False)
            line = _typed() if script is None else next(script, None)
            if line is None:
                return
            if echo:
                click.echo(line)
            self._print(session.type_line(line))
            if session.wants_saving:
                self._keep(session)
                told = f"Saved in {self._save}." if self._save else "Name a file with --save when you begin."
                self._print((told,))

    def _keep(self, session: TableTop) -> None:
        """Save the session, whole or not at all, where a file was named."""
        if self._save is None:
            return
        try:
            _replace(self._save, session.save())
        except OSError as error:
            raise UsageError(f"cannot save the session in {self._save}: {error.strerror or error}") from error
        self.told_when_stopped = f"the session is saved in {self._save}; the same command with --resume goes on"

    def _debrief(self, drill: Drill, session: TableTop) -> None:
        from mci.cli._debrief_words import show_debrief_page
        from mci.cli._progress import progress
        from mci.drills.debrief import run_debrief
        from mci.report.debrief_build import build_debrief_page

        self._console.print()
        with progress(shown=True) as tell:
            found = run_debrief(drill.briefed, session.log(), self._settings, tell)
        show_debrief_page(build_debrief_page(found), self._console, written=self._output is not None)
        if self._output is not None:
            from mci.report.debrief_files import debrief_files
            from mci.report.files import put_files

            folder = put_files(debrief_files(found), self._output)
            click.echo(f"Written to {folder}: report.html, orders, and tables in data.")


def _typed() -> str | None:
    """Return the next line of standard input; ``None`` at its end."""
    try:
        line = sys.stdin.readline()
    except UnicodeDecodeError:
        return "?"  # a line that nobody can read is not understood
    return line.rstrip("\r\n") if line else None


def _read(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8-sig", errors="replace")
    except OSError as error:
        raise UsageError(f"cannot read {file}: {error.strerror or error}") from error


def _replace(file: Path, text: str) -> None:
    """Write a file beside the wanted one and move it there."""
    beside = file.with_name(f".{file.name}-new")
    try:
        beside.write_text(text, encoding="utf-8", newline="\n")
        beside.replace(file)
    except BaseException:
        with contextlib.suppress(OSError):
            beside.unlink()
        raise
