"""How far a study is, told on stderr."""

from __future__ import annotations

import re

import pytest

from mci.cli._progress import count_up


class _Stream:
    def __init__(self, *, terminal: bool) -> None:
        self.text, self._terminal = "", terminal

    def isatty(self) -> bool:
        return self._terminal

    def write(self, text: str) -> None:
        self.text += text

    def flush(self) -> None:
        pass


class _Clock:
    def __init__(self) -> None:
        self.now = 100.0

    def monotonic(self) -> float:
        return self.now


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> _Clock:
    clock = _Clock()
    monkeypatch.setattr("mci.cli._progress.time", clock)
    return clock


def _run(stream: _Stream, clock: _Clock, monkeypatch: pytest.MonkeyPatch, *, seconds: float) -> str:
    """Do 400 of 1000 cases, 200 of them before; each takes some seconds."""
    monkeypatch.setattr("sys.stderr", stream)
    with count_up(shown=True) as tell:
        tell(200, 1000)
        for done in range(201, 401):
            clock.now += seconds
            tell(done, 1000)
        return stream.text


def test_terminal_shows_one_line(monkeypatch: pytest.MonkeyPatch, clock: _Clock) -> None:
    """Bar, number, rate and time left are on one line as wide as the terminal, plain, and wiped at the end."""
    monkeypatch.setenv("COLUMNS", "90")
    terminal = _Stream(terminal=True)
    text = _run(terminal, clock, monkeypatch, seconds=0.5)
    pictures = [part for part in text.split("\r") if part]
    assert {len(picture) for picture in pictures} == {89}
    assert pictures[0].rstrip() == "mci: [####................] 200 of 1000 cases"
    assert pictures[-1].rstrip() == "mci: [########............] 400 of 1000 cases, 2/s, 5 min left"
    assert not re.search(r"[^\r -~]", terminal.text)
    assert terminal.text.endswith(f"\r{'':89}\r")


def test_narrow_terminal_is_not_overrun(monkeypatch: pytest.MonkeyPatch, clock: _Clock) -> None:
    """A line that is too long is cut, so that it never wraps."""
    monkeypatch.setenv("COLUMNS", "30")
    text = _run(_Stream(terminal=True), clock, monkeypatch, seconds=0.5)
    assert {len(part) for part in text.split("\r") if part} == {29}


def test_quick_cases_are_not_all_drawn(monkeypatch: pytest.MonkeyPatch, clock: _Clock) -> None:
    """A picture is drawn ten times in a second at most."""
    text = _run(_Stream(terminal=True), clock, monkeypatch, seconds=0.001)
    assert len([part for part in text.split("\r") if part]) <= 1 + 3


def test_file_gets_few_lines(monkeypatch: pytest.MonkeyPatch, clock: _Clock) -> None:
    """Elsewhere plain lines come, at most one in 10 s and one in 10 %."""
    slow = _run(_Stream(terminal=False), clock, monkeypatch, seconds=30)
    assert slow.splitlines() == [
        "mci: 300 of 1000 cases, 2/min, 5 h 50 min left",
        "mci: 400 of 1000 cases, 2/min, 5 h 00 min left",
    ]
    quick = _run(_Stream(terminal=False), clock, monkeypatch, seconds=0.06)
    assert quick.splitlines() == ["mci: 367 of 1000 cases, 16.7/s, 38 s left"]


def test_nothing_is_shown_where_it_is_not_wanted(monkeypatch: pytest.MonkeyPatch) -> None:
    """``--quiet`` is quiet."""
    stream = _Stream(terminal=True)
    monkeypatch.setattr("sys.stderr", stream)
    with count_up(shown=False) as tell:
        tell(1, 2)
    assert stream.text == ""
