"""What a what-if study found: the contract between who evaluates the cases and who shows them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

    from mci.provenance import Provenance
    from mci.scenario.model import Scenario
    from mci.scenario.numbers import Number

__all__ = ["BREAK_COLUMNS", "GOAL_SHARE", "SLACK", "SWING_COLUMNS", "WhatIf"]

#: So much less than a goal, as a share, still meets it: what solvers leave.
SLACK = 1e-6
#: Coverage at which a category counts as fully covered, as a share.
GOAL_SHARE = 1.0 - SLACK
#: Columns of ``WhatIf.swings`` and ``WhatIf.breaks``.
SWING_COLUMNS = ("number", "low", "high", "at_low", "at_high", "as_written")
BREAK_COLUMNS = ("number", "category", "goal", "kept_to", "lost_at", "direction", "binds")


@dataclass(frozen=True, slots=True)
class WhatIf:
    """Cases of one scenario side by side.

    Parameters
    ----------
    scenario
        As written.
    numbers
        What was varied, in the order asked for.
    how
        How the cases were made: ``all combinations``, ``pairs``, ``one by one``, ``cases of a file``.
    table
        One row a case, in order:

        ``case``
            Name, used once.
        ``role``
            :class:`mci.surge.cases.Role`; the scenario as written (``Role.AS_WRITTEN``) is one of the rows.
        one column per path of ``numbers``
            The value of the number in this case, in ``Number.unit``; the value as written where the case does not
            change it; a word (``str``) where the kind is ``NumberKind.WORD``.
        all of :data:`mci.surge.measures.MEASURES`, in their order
            ``status`` is ``planned``, or the reason why there is no result; then the measures are NaN or empty.
    swings
        One row per number that was moved to both ends of its range with all others as written, largest swing first:
        ``number`` (path), ``low, high`` (values, in its unit), ``at_low, at_high, as_written`` (``best_share``, 0 to 1;
        NaN where a case has no result).  Words have no ends and do not occur.
    breaks
        One row per number and category where coverage is lost as the number moves from one end of its range to the
        other with all others as written: ``number``, ``category`` (lower case, or ``all``), ``goal`` (share),
        ``kept_to`` (last value at which coverage is at the goal), ``lost_at`` (first value at which it is not; the
        break lies between the two), ``direction`` (``up`` or ``down``: as the number grows or falls), ``binds`` (words:
        what binds at ``lost_at``; may be empty).  ``kept_to`` is NaN where the goal is met nowhere in the range,
        ``lost_at`` is NaN where it is met everywhere.
    notes
        What a reader should know, as whole sentences.
    provenance
        With the overrides and everything that was chosen among the settings.
    """

    scenario: Scenario
    numbers: tuple[Number, ...]
    how: str
    table: pd.DataFrame
    swings: pd.DataFrame
    breaks: pd.DataFrame
    notes: tuple[str, ...]
    provenance: Provenance
