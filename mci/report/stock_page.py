"""What the page of a packing list says, as words in frozen records: the one source of HTML page and terminal."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Bag", "Compared", "Contents", "FrontierRow", "LimitRow", "PackRow", "PackSheet", "PatientsRow"]
__all__ += ["StockBody", "TargetBlock", "ValidRow", "WorstRow"]


@dataclass(frozen=True, slots=True)
class PackRow:
    """One line to tick: so many packs of something, what that comes to, and how many of them are there already."""

    packs: str
    what: str
    pieces: str
    owned: str
    new: str
    mass: str
    volume: str


@dataclass(frozen=True, slots=True)
class Bag:
    """A bag or shelf with its lines."""

    name: str
    rows: tuple[PackRow, ...]
    packs: str
    mass: str
    volume: str


@dataclass(frozen=True, slots=True)
class LimitRow:
    """How much of what a cache may carry, hold or store is used; ``part`` from 0 to 1, none without a limit."""

    what: str
    used: str
    allowed: str
    left: str
    part: float | None


@dataclass(frozen=True, slots=True)
class PackSheet:
    """The list of one cache, for its door; the weight also in pounds, people are not among the packs in all."""

    cache: str
    station: str
    when: str
    bags: tuple[Bag, ...]
    total: Bag
    weight: str
    gas: str
    limits: tuple[LimitRow, ...]


@dataclass(frozen=True, slots=True)
class FrontierRow:
    """One best list for some money; ``chosen`` where it is the one to be packed."""

    cost: str
    weighted: str
    bound: str
    step: str
    coverages: tuple[str, ...]
    tails: tuple[str, ...]
    added: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class TargetBlock:
    """How the cheapest list changes with one goal: a column per target, rows of packs that change."""

    goal: str
    targets: tuple[tuple[str, bool], ...]
    costs: tuple[str, ...]
    surely: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]
    same: str


@dataclass(frozen=True, slots=True)
class Contents:
    """What is in each list, in one cache: a row per candidate, a column per list."""

    cache: str
    rows: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Compared:
    """Lists side by side; the first is the chosen one.

    ``sums`` are rows of words, one cell a list.  ``brief`` is a row a list: name, cost, weight, weighted coverage,
    whether limits are kept, goals met in the incidents drawn, whether all at once, and goals met on fresh ones.
    """

    names: tuple[str, ...]
    brief: tuple[tuple[str, ...], ...]
    sums: tuple[tuple[str, tuple[str, ...]], ...]
    contents: tuple[Contents, ...]


@dataclass(frozen=True, slots=True)
class WorstRow:
    """One incident that breaks the list; ``file`` can be planned."""

    name: str
    file: str
    patients: str
    weighted: str
    without: str
    why: str
    one_more: str
    values: str


@dataclass(frozen=True, slots=True)
class PatientsRow:
    """The list with more or fewer patients, and what the cheapest list for so many costs."""

    factor: str
    patients: str
    weighted: str
    goals: tuple[str, ...]
    together: str
    cost: str
    written: bool


@dataclass(frozen=True, slots=True)
class ValidRow:
    """One goal of the list: target, as chosen for, and per policy mean, interval and verdict on fresh incidents.

    ``short`` names the goal in a narrow column.
    """

    goal: str
    short: str
    target: str
    in_sample: str
    cells: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class StockBody:
    """What only the page of a packing list has.

    Amounts of money stand with their currency.  ``marks`` are how lists look in figures: kind, letter, name.
    """

    sheets: tuple[PackSheet, ...]
    cost: str
    categories: tuple[tuple[str, str], ...]
    marks: tuple[tuple[str, str, str], ...]
    frontier: tuple[FrontierRow, ...]
    step: str
    next_step: str
    goals: tuple[str, ...]
    targets: tuple[TargetBlock, ...]
    compared: Compared
    worst: tuple[WorstRow, ...]
    patients: tuple[PatientsRow, ...]
    policies: tuple[tuple[str, str], ...]
    fresh: str
    validity: tuple[ValidRow, ...]
    worth: tuple[tuple[str, str], ...]
    method: tuple[tuple[str, str], ...]
