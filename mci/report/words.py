"""Numbers put into words, the same way on the terminal and on the page.

Moments are minutes after the start of the incident.  Numbers of patients come from a
fluid programme and may be fractions: a shortage is rounded up to whole people and says
"about".  Gains and coverage are rounded down.  This module knows nothing of tables,
figures or files.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from mci.units import format_clock, format_moment

__all__ = ["PatientTime", "about", "at_most", "category_word", "count", "join_words", "moment", "patients", "share"]
__all__ += ["span", "tie"]

#: Differences below this are the solver's arithmetic, not people, litres or minutes.
NOISE = 1e-6
TIED = "\u00a0"  # no-break space
_SHARE_NOISE = 0.05  # [0.1 %]: more than a solver may give away while it tidies a plan up
_HOUR_UNIT_FROM = 1200.0  # patient-minutes; below that, tenths of a patient-hour would hide too much


def category_word(category: str) -> str:
    """Write a triage category as the trade does: ``Immediate``."""
    return category.capitalize()


def share(value: float) -> str:
    """Write a share from 0 to 1 as a percentage, rounded down so that 100 % means all: ``82.9 %``."""
    return f"{math.floor(value * 1000 + _SHARE_NOISE) / 10:.1f} %"


def at_most(value: float) -> str:
    """Write a share that cannot be passed, rounded up."""
    return f"{math.ceil(value * 1000 - NOISE) / 10:.1f} %"


def patients(number: float) -> str:
    """Write a number of patients that may be a fraction: ``6`` or ``4.5``."""
    return f"{round(number, 1):.10g}"


def about(number: float) -> str:
    """Write a shortage in whole people, rounded up: ``6``, or ``about 5`` for 4.5."""
    whole = math.ceil(number - NOISE)
    return f"{whole}" if abs(number - whole) <= NOISE else f"about {whole}"


def count(number: float) -> str:
    """Write a number of things that must be there, rounded up, thin groups: ``1 200``."""
    return f"{math.ceil(number - NOISE):,}".replace(",", " ")


def moment(minutes: float, start: int | None) -> str:
    """Write a moment, with clock time where the incident has a start: ``T+38 (14:38)``."""
    clock = format_clock(minutes, start)
    return format_moment(minutes) + (f" ({clock})" if clock else "")


def span(begin: float, end: float, start: int | None) -> str:
    """Write a stretch of time, widened to whole minutes: ``T+38 to T+71 (14:38 to 15:11)``."""
    last = math.ceil(end - NOISE)
    words = f"{format_moment(begin)} to {format_moment(last)}"
    return words if start is None else f"{words} ({format_clock(begin, start)} to {format_clock(last, start)})"


def tie(text: str) -> str:
    """Tie the groups of a number to each other and to its unit by a space at which no line is broken."""
    return re.sub(r"(?<=\d) (?=\d{3}(?!\d)|(?:L|L/min|min|psi|bar|k?W|°C|%)(?![\w/]))", TIED, text)


def join_words(parts: list[str]) -> str:
    """Join words with commas and a last ``and``."""
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1]


@dataclass(frozen=True, slots=True)
class PatientTime:
    """The unit in which one report gives patient time, so that its numbers compare.

    Parameters
    ----------
    unit
        ``patient-hours`` or, for a small incident, ``patient-minutes``.
    minutes_each
        Patient-minutes in one unit.
    """

    unit: str
    minutes_each: float

    @classmethod
    def for_total(cls, patient_min: float) -> PatientTime:
        """Choose the unit that suits a total need [patient-min]."""
        return cls("patient-hours", 60.0) if patient_min >= _HOUR_UNIT_FROM else cls("patient-minutes", 1.0)

    def write(self, patient_min: float) -> str:
        """Write an amount [patient-min] to a tenth; what is there never reads as nothing."""
        amount = round(patient_min / self.minutes_each, 1)
        if amount == 0 and abs(patient_min) > NOISE:
            return "< 0.1" if patient_min > 0 else "> −0.1"
        return f"{amount:,.1f}".replace(",", " ").replace("-", "−")

    def signed(self, patient_min: float) -> str:
        """Write a change with its sign, to two figures that matter: ``+1.2`` or ``−0.03``."""
        amount = patient_min / self.minutes_each
        decimals = 0 if abs(amount) >= 10 else 1 if abs(amount) >= 1 else 2
        return f"{amount:+.{decimals}f}".replace("-", "−")
