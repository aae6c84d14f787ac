"""One line on a terminal that says what is being done; nothing where the output goes to a file or a pipe."""

from __future__ import annotations

import contextlib
import shutil
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

__all__ = ["progress"]


@contextlib.contextmanager
def progress(*, shown: bool) -> Iterator[Callable[[str], None]]:
    """Give a function that shows what is being done on one line of stderr, wiped at the end.

    It writes plain text and carriage returns only, and nothing at all where stderr is no terminal.
    """
    if not (shown and sys.stderr.isatty()):
        yield lambda _: None
        return
    width = shutil.get_terminal_size().columns - 1

    def show(words: str) -> None:
        sys.stderr.write(f"\r{words[:width]:<{width}}\r")
        sys.stderr.flush()

    try:
        yield lambda words: show(f"mci: {words} ...")
    finally:
        show("")
