"""Ctrl-C while processes start or end."""

from __future__ import annotations

import contextlib
import signal
import threading
from collections.abc import Iterator

__all__ = ["left_alone"]


@contextlib.contextmanager
def left_alone() -> Iterator[None]:
    """Let nothing be interrupted for a moment, not even the processes that are started in it.

    A terminal sends Ctrl-C to every process of a command, and one that is just starting or ending tells its own end in
    many lines.
    """
    if threading.current_thread() is not threading.main_thread():
        yield  # only the main thread is ever interrupted
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
