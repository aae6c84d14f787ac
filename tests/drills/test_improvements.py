"""The improvement plan: a line per cause with a noticeable loss, and per objective that was not met."""

from __future__ import annotations

import pandas as pd
import pytest

from mci.drills.debriefed import Cause, Reached, Status
from mci.drills.improvements import improvements
from mci.drills.symptoms import Symptom
from mci.scenario.exercise import Measure, Objective


def _causes(*rows: tuple[Cause, float, float, float]) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=["cause", "lost", "share", "patient_min"])


def test_a_line_says_what_was_seen_what_to_do_and_how_it_shows() -> None:
    """Numbers with units, patients, and no owner."""
    seen = (Symptom(0, 9, Cause.EMPTY, "P2", "immediate", 1.0), Symptom(0, 3, Cause.EMPTY, "P1", "delayed", 0.5))
    (line,) = improvements(_causes((Cause.EMPTY, 10.5, 1.0, 12.0)), seen, ())
    assert line.seen == (
        "Empty cylinder unnoticed: 10.5 weighted credit-min (100.0 % of the loss), seen in 2 patients (P1 and P2) for "
        "12.0 patient-min."
    )
    assert line.cause is Cause.EMPTY
    assert line.action
    assert line.measure


@pytest.mark.parametrize(("lost", "share", "lines"), [(10, 0.05, 1), (10, 0.049, 0), (0.4, 0.9, 0)])
def test_small_losses_have_no_line(lost: float, share: float, lines: int) -> None:
    """Below a share, or below half a credit-minute, nothing has to be improved."""
    assert len(improvements(_causes((Cause.SHORTAGE, lost, share, 30.0)), (), ())) == lines


def test_a_late_delivery_has_a_line_though_nothing_was_lost_to_it() -> None:
    """Nobody could help it, so nothing possible was lost; what to do about it is said all the same."""
    (line,) = improvements(_causes((Cause.DELIVERY, 0.0, 0.0, 25.0)), (), ())
    assert line.cause is Cause.DELIVERY
    assert "no loss against what was possible" in line.seen


@pytest.mark.parametrize("cause", Cause)
def test_every_cause_has_its_line(cause: Cause) -> None:
    """None is left without advice."""
    (line,) = improvements(_causes((cause, 10.0, 1.0, 30.0)), (), ())
    assert line.cause is cause


@pytest.mark.parametrize("measure", Measure)
def test_objectives_not_met_have_a_line(measure: Measure) -> None:
    """Met ones have none."""
    objective = Objective("O2", "Something is shown.", measure, minutes=5, share=0.9)
    found = [Reached(objective, status, 0.4, "2 of 5 patients") for status in Status]
    lines = improvements(_causes(), (), found)
    assert [line.seen for line in lines] == [
        "O2 partly met: Something is shown. Found: 2 of 5 patients.",
        "O2 not met: Something is shown. Found: 2 of 5 patients.",
    ]
    assert {line.cause for line in lines} == {None}
