"""Moments as people write them: ``T+12``, ``T+1:05``, ``14:47``, ``1447``, ``14.47``, ``12`` or ``12 min``."""

from __future__ import annotations

import datetime
import math
import re
from dataclasses import dataclass

from mci.units import UnitError, parse_duration

__all__ = ["Clock", "NoStartError", "NotAMomentError"]

_DAY = 1440.0
_BEFORE = 120.0  # min: a clock time up to so long before T+0 is one of that day, not of the next

_SINCE = re.compile(r"[Tt]\s*([+-]?)\s*(\d.*)")
_HOURS = re.compile(r"(\d{1,3}):([0-5]\d)(?::([0-5]\d))?")
_TIME_OF_DAY = re.compile(
    r"(?:(?P<date>\d{4}-\d\d-\d\d)[ T])?(?P<hour>[01]?\d|2[0-3])(?P<sign>[:.h])(?P<minute>[0-5]\d)"
    r"(?:[:.](?P<second>[0-5]\d)(?:\.\d+)?)?\s*(?P<half>[ap]\.?m\.?)?\s*h?(?:\s*\+(?P<days>\d{1,3}) d)?",
    re.IGNORECASE,
)
_FOUR = re.compile(r"([01]\d|2[0-3])([0-5]\d)(\s*h(?:rs?)?)?", re.IGNORECASE)
_BARE = re.compile(r"\d{1,6}(?:[.,]\d+)?")


class NotAMomentError(ValueError):
    """Text that is no moment, or may be two."""


class NoStartError(NotAMomentError):
    """A clock time, where nobody knows the clock time of T+0."""


@dataclass(slots=True)
class Clock:
    """Reads the moments of one log, line after line.

    Parameters
    ----------
    start
        Clock time of T+0 [min after midnight], or ``None``.
    horizon
        End of the incident [min].
    dotted
        Whether ``14.47`` is a clock time where it can be one; otherwise it is minutes.
    plain
        Whether bare numbers are always minutes after T+0, as in a column of that name.
    last
        The moment read last [min]; on the second day and later the clock time nearest to it is meant.
    """

    start: int | None
    horizon: float
    dotted: bool = True
    plain: bool = False
    last: float = math.nan
    _day_one: datetime.date | None = None

    def read(self, text: str) -> float:
        """Return a moment [min after T+0]; it may lie before T+0 or after the end.

        Raises
        ------
        NotAMomentError
            It is none, or may be two; :class:`NoStartError` where only the clock time of T+0 is missing.
        """
        self.last = self._read(" ".join(text.replace("−", "-").split()))
        return self.last

    def may_be_clock(self, text: str) -> bool:
        """Tell whether a number such as ``14.47`` can be a clock time of the incident."""
        clock = _TIME_OF_DAY.fullmatch(text.replace(",", "."))
        if not self.dotted or self.start is None or clock is None:
            return False
        return 0 <= self._near(60.0 * int(clock["hour"]) + int(clock["minute"])) <= self.horizon

    def _read(self, text: str) -> float:
        since = _SINCE.fullmatch(text)
        if since:
            return -_length(since[2], text) if since[1] == "-" else _length(since[2], text)
        four = _FOUR.fullmatch(text)
        if four and not self.plain:
            return self._four(four)
        if _BARE.fullmatch(text) and (self.plain or not self.may_be_clock(text)):
            return float(text.replace(",", "."))
        clock = _TIME_OF_DAY.fullmatch(text.replace(",", ".") if _BARE.fullmatch(text) else text)
        if clock:
            return self._time_of_day(clock)
        if _HOURS.fullmatch(text):
            raise NotAMomentError(f"'{text}' is no time of day: after T+0 write T+{text}")
        return _length(text, text)

    def _four(self, four: re.Match[str]) -> float:
        """Read ``1447``: a clock time, unless it can only be minutes."""
        minutes = float(four[1] + four[2])
        if four[3] or four[1].startswith("0"):
            return self._near(60.0 * int(four[1]) + int(four[2]))
        if self.start is None:
            if minutes <= self.horizon:
                return minutes
            raise NoStartError
        clock = self._near(60.0 * int(four[1]) + int(four[2]))
        if 0 <= clock <= self.horizon and minutes <= self.horizon:
            text = f"{four[1]}{four[2]}"
            raise NotAMomentError(f"'{text}' may be a clock time or minutes: write {four[1]}:{four[2]} or T+{text}")
        return minutes if minutes <= self.horizon else clock

    def _time_of_day(self, clock: re.Match[str]) -> float:
        hour = int(clock["hour"])
        if clock["half"]:
            if not 1 <= hour <= 12:
                raise NotAMomentError("is no time of day")
            hour = hour % 12 + (12 if clock["half"][0] in "pP" else 0)
        minute = 60.0 * hour + int(clock["minute"]) + int(clock["second"] or 0) / 60
        if clock["days"] and self.start is not None:
            return _DAY * int(clock["days"]) + minute - self.start
        if clock["date"]:
            return self._dated(datetime.date.fromisoformat(clock["date"]), minute)
        return self._near(minute)

    def _dated(self, day: datetime.date, minute: float) -> float:
        """Read a time of day with its date; the first date of a log is that of the day on which it is near T+0."""
        if self.start is None:
            raise NoStartError
        if self._day_one is None:
            back = round((self._near(minute) - (minute - self.start)) / _DAY)
            self._day_one = day - datetime.timedelta(days=back)
        return _DAY * (day - self._day_one).days + minute - self.start

    def _near(self, minute: float) -> float:
        """Return a clock time [min after midnight] as a moment: the one nearest to the last, the first at first."""
        if self.start is None:
            raise NoStartError
        first = (minute - self.start) % _DAY
        if first > self.horizon and first >= _DAY - _BEFORE:
            return first - _DAY
        if math.isnan(self.last) or self.horizon <= _DAY:
            return first
        days = range(math.ceil(self.horizon / _DAY) + 1)
        return min((first + _DAY * day for day in days), key=lambda each: abs(each - self.last))


def _length(text: str, whole: str) -> float:
    """Return a length of time [min]: ``12``, ``12.5``, ``1:05``, ``1 h 05`` or ``65 min``."""
    hours = _HOURS.fullmatch(text)
    if hours:
        return 60.0 * int(hours[1]) + int(hours[2]) + int(hours[3] or 0) / 60
    if _BARE.fullmatch(text):
        return float(text.replace(",", "."))
    try:
        return parse_duration(text.replace("minutes", "min").replace("mins", "min"))
    except UnitError:
        raise NotAMomentError(f"'{whole}' is no moment: write T+12, T+1:05, 14:47, or minutes after T+0") from None
