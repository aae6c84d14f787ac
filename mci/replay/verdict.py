"""What the judge says of a plan."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    import pandas as pd

__all__ = ["Finding", "Holding", "Service", "Validity", "Verdict", "validity_of"]


class Validity(StrEnum):
    """Whether orders can be carried out; only ``VALID`` is true."""

    VALID = "VALID"
    INVALID = "INVALID"
    UNKNOWN = "UNKNOWN"  # the orders leave out what a law needs, and break no other

    def __bool__(self) -> bool:
        return self is Validity.VALID


@dataclass(frozen=True, slots=True)
class Finding:
    """One law that orders break, or that cannot be judged.

    Parameters
    ----------
    law
        Name of the law, such as ``content`` or ``outlets``.
    row
        Number of the offending order, counted from 1 in the order of time; 0 where no single order is to blame.
    minute
        When [min].
    reason
        What is wrong, as a sentence without a full stop, with numbers and units.
    judged
        False where the orders leave out what the law needs, so that nobody knows whether it is broken.
    """

    law: str
    row: int
    minute: float
    reason: str
    judged: bool = True


def validity_of(findings: Collection[Finding]) -> Validity:
    """Return what findings amount to: one that is judged makes INVALID, one that cannot be judged UNKNOWN."""
    if any(finding.judged for finding in findings):
        return Validity.INVALID
    return Validity.UNKNOWN if findings else Validity.VALID


@dataclass(frozen=True, slots=True)
class Service:
    """A patient on one device at one flow from one supply, from ``start`` to ``end`` [min].

    ``credit`` is the share of the need that this meets; ``at_target`` whether it is the top rung's.
    """

    patient: str
    area: str
    category: str
    ladder: str
    device: str
    flow_lpm: float
    credit: float
    at_target: bool
    supply: str
    regulator: str
    start: float
    end: float


@dataclass(frozen=True, slots=True)
class Holding:
    """A regulator on a supply (or a supply with outlets of its own in service), from ``start`` to ``end`` [min].

    ``litres_before`` and ``litres_after`` are what it holds above the residual pressure then [L].
    """

    supply: str
    regulator: str
    area: str
    start: float
    end: float
    litres_before: float
    litres_after: float


@dataclass(frozen=True, slots=True)
class Verdict:
    """The judgement of one plan.

    Parameters
    ----------
    validity
        VALID, INVALID or UNKNOWN.
    findings
        Everything found, the first offence first; what cannot be judged comes last.
    services, holdings
        The trace: who got what from where, and which regulator was on which supply, up to the horizon or, where
        the orders are invalid, as far as they make sense.
    left
        Litres left in every supply that can run empty [L].
    weighted
        Weighted coverage achieved [weighted credit-minutes]; comparable with the bound.
    coverage
        One row per category that occurs, then ``all``: ``category, patients, needed_patient_min, credit_min, coverage,
        at_target_patient_min, below_target_patient_min`` (on a lower rung), ``without_patient_min``.
    """

    validity: Validity
    findings: tuple[Finding, ...]
    services: tuple[Service, ...]
    holdings: tuple[Holding, ...]
    left: Mapping[str, float]
    weighted: float
    coverage: pd.DataFrame
