"""What is being done, on stderr: one line on a terminal, wiped at the end; a few plain lines elsewhere, or nothing."""

from __future__ import annotations

import contextlib
import shutil
import sys
import time
from typing import TYPE_CHECKING

from mci.units import format_duration

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

__all__ = ["count_up", "progress"]

_REDRAW = 0.1  # s between two pictures of a bar
_LINE_EVERY = 10.0  # s, and as many percent, between two lines where there is no terminal
_BAR = 20  # signs


@contextlib.contextmanager
def progress(*, shown: bool) -> Iterator[Callable[[str], None]]:
    """Give a function that shows what is being done on one line of stderr, wiped at the end.

    It writes plain text and carriage returns only, and nothing at all where stderr is no terminal.
    """
    if not (shown and sys.stderr.isatty()):
        yield lambda _: None
        return
    try:
        yield lambda words: _show(f"mci: {words} ...")
    finally:
        _show("")


@contextlib.contextmanager
def count_up(*, shown: bool, what: str = "cases") -> Iterator[Callable[[int, int], None]]:
    """Give a function that is called with how many are done, and of how many, first before anything is done.

    On a terminal it shows a bar, the rate and the time left on one line of stderr, wiped at the end.  Elsewhere it
    writes the same in plain lines, one in 10 s and one in 10 % at most.
    """
    if not shown:
        yield lambda _done, _total: None
        return
    terminal = sys.stderr.isatty()
    meter = _Meter(what)
    try:
        yield meter.draw if terminal else meter.write
    finally:
        if terminal:
            _show("")


class _Meter:
    """Counts since when how many were done."""

    def __init__(self, what: str) -> None:
        self._what = what
        self._began, self._first = time.monotonic(), -1  # what was done before does not count for the rate
        self._told, self._told_done = self._began, 0

    def draw(self, done: int, total: int) -> None:
        now = self._now(done)
        if done in (self._first, total) or now - self._told >= _REDRAW:
            filled = _BAR * done // max(total, 1)
            _show(f"mci: [{'#' * filled}{'.' * (_BAR - filled)}] {self._words(done, total, now)}")
            self._told = now

    def write(self, done: int, total: int) -> None:
        now = self._now(done)
        if now - self._told >= _LINE_EVERY and 100 * (done - self._told_done) >= _LINE_EVERY * total:
            sys.stderr.write(f"mci: {self._words(done, total, now)}\n")
            sys.stderr.flush()
            self._told, self._told_done = now, done

    def _now(self, done: int) -> float:
        now = time.monotonic()
        if self._first < 0:
            self._began, self._first, self._told_done = now, done, done
        return now

    def _words(self, done: int, total: int, now: float) -> str:
        words = f"{done} of {total} {self._what}"
        if done == self._first or now <= self._began:
            return words
        rate = (done - self._first) / (now - self._began)  # per s
        left = (total - done) / rate
        speed = f"{rate:.3g}/s" if rate >= 1 else f"{60 * rate:.3g}/min"
        return f"{words}, {speed}, {format_duration(left / 60) if left >= 60 else f'{left:.0f} s'} left"


def _show(words: str) -> None:
    """Write over the line of the terminal, as wide as it is now."""
    width = shutil.get_terminal_size().columns - 1
    sys.stderr.write(f"\r{words[:width]:<{width}}\r")
    sys.stderr.flush()
