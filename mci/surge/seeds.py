"""Random numbers that belong to a case, not to the order in which cases happen to run."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

__all__ = ["seed_of"]


def seed_of(seed: int, number: int) -> np.random.Generator:
    """Return the random numbers of one case of a study.

    Parameters
    ----------
    seed
        Of the study.
    number
        Of the case, 0 or more; different numbers give independent streams.
    """
    import numpy as np  # heavy, and only needed where something is drawn

    return np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(number,)))
