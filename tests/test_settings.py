"""Settings and provenance: out of range is refused, the record tells what was set."""

from __future__ import annotations

import pytest

from mci.errors import UsageError
from mci.provenance import Provenance
from mci.settings import Settings


@pytest.mark.parametrize(
    "wrong",
    [
        {"priority": "fair"},
        {"max_period": 0},
        {"time_limit": -1},
        {"hold_tolerance": 0.02},
        {"hold_tolerance": -1e-9},
        {"threads": 0},
        {"whole_gap": -0.1},
        {"whole_gap": 1.1},
        {"whole_time_limit": 0},
    ],
)
def test_out_of_range_is_refused(wrong: dict[str, object]) -> None:
    """No setting outside its bounds makes it into a run."""
    with pytest.raises(UsageError):
        Settings(**wrong)  # type: ignore[arg-type]


def test_timings_can_be_left_out() -> None:
    """Without timings the record holds only what equal runs share."""
    record = Provenance("a.yaml", "0" * 64, {"priority": "weighted"}, {"status": "optimal"}, {"solve_s": 1.0})
    assert "timings" not in record.to_dict(timings=False)
    assert record.to_dict()["timings"] == {"solve_s": 1.0}
    assert record.to_dict(timings=False).items() <= record.to_dict().items()
