"""From the uncertain numbers as written to distributions, and what they must be together."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from pydantic import TypeAdapter, ValidationError

from mci.errors import Mistake
from mci.scenario.entries import Entry, hint
from mci.scenario.fields import Count
from mci.scenario.laws_as_written import Desk, LawReader, read_step
from mci.scenario.numbers import WHOLE, NumberKind, plain_path
from mci.scenario.schema_uncertain import CorrelatedLine, MixLine, NumberLine
from mci.scenario.uncertain import Correlation, Fixed, Mix, Uncertain, Uncertainty

if TYPE_CHECKING:
    from mci.scenario.known import Known
    from mci.scenario.table import Table
    from mci.scenario.yaml_positions import Where

__all__ = ["build_uncertainty"]

_COUNT: TypeAdapter[int] = TypeAdapter(Count)


def build_uncertainty(
    lines: Sequence[NumberLine | MixLine | CorrelatedLine],
    entries: Mapping[str, Entry],
    known: Known,
    tables: Mapping[Where, Table],
    place: Callable[..., Mistake],
) -> tuple[Uncertainty, list[Mistake]]:
    """Return what is uncertain, and every mistake in it.

    Parameters
    ----------
    lines
        As written, in order.
    entries
        The numbers of the scenario.
    known
        What is needed to read their values.
    tables
        What the files that lines name hold, by place of the line.
    place
        Returns a mistake at a place of the file, as ``Positions.mistake`` does.
    """
    bench = _Bench(entries, known, tables, place)
    numbers: list[Uncertain | None] = []
    mixes: list[Mix | None] = []
    for index, line in enumerate(lines):
        if isinstance(line, NumberLine):
            numbers.append(bench.number(index, line))
        elif isinstance(line, MixLine):
            mixes.append(bench.mix(index, line))
    pairs = [(index, line) for index, line in enumerate(lines) if isinstance(line, CorrelatedLine)]
    correlations = bench.correlations(pairs)
    return Uncertainty(tuple(filter(None, numbers)), tuple(filter(None, mixes)), correlations), bench.told


@dataclass(slots=True)
class _Bench:
    """What reading the lines needs at hand; ``taken`` says which number sets which place."""

    entries: Mapping[str, Entry]
    known: Known
    tables: Mapping[Where, Table]
    place: Callable[..., Mistake]
    told: list[Mistake] = field(default_factory=list)
    taken: dict[Where, str] = field(default_factory=dict)
    mixed: set[str] = field(default_factory=set)
    named: set[str] = field(default_factory=set)
    fixed: set[str] = field(default_factory=set)

    def number(self, index: int, line: NumberLine) -> Uncertain | None:
        desk = self._desk(index)
        entry = self._take(desk, ("number",), line.number)
        if entry is None:
            return None
        kind, path = entry.number.kind, entry.number.path
        reader = LawReader(kind, lambda text: entry.read(text, self.known), self.tables.get(desk.where), desk)
        law = reader.law(line)
        step = None if line.step is None else read_step(kind, line.step, desk)
        if isinstance(law, Fixed):
            self.fixed.add(path)
        return None if law is None else Uncertain(path, law, step)

    def mix(self, index: int, line: MixLine) -> Mix | None:
        desk = self._desk(index)
        taken = [self._take(desk, ("mix", n), path) for n, path in enumerate(line.mix)]
        for number, entry in enumerate(taken):
            if entry is not None and entry.number.kind not in WHOLE:
                desk.wrong(("mix", number), f"only counts can be mixed, and this is a {entry.number.kind.value}")
        paths = tuple(entry.number.path for entry in taken if entry is not None)
        self.mixed.update(paths)
        total = LawReader(NumberKind.COUNT, _count, self.tables.get(desk.where), desk).law(line.total, ("total",))
        return None if total is None else Mix(paths, tuple(line.dirichlet), total)

    def correlations(self, lines: Sequence[tuple[int, CorrelatedLine]]) -> tuple[Correlation, ...]:
        pairs: dict[frozenset[str], Correlation] = {}
        for index, line in lines:
            desk = self._desk(index)
            paths = [self._uncertain(desk, ("correlated", n), path) for n, path in enumerate(line.correlated)]
            one, other = paths
            if one is None or other is None:
                continue
            if one == other:
                desk.wrong(("correlated",), "names the same number twice", "Name two.")
            elif frozenset(paths) in pairs:
                desk.wrong(("correlated",), "says again how these two go together", "Keep one of the lines.")
            else:
                pairs[frozenset((one, other))] = Correlation(one, other, line.rank)
        if _contradict(list(pairs.values())):
            rule = "these correlations contradict each other and those above"
            fix = "Bring them closer to 0, or say how the other pairs go together."
            self._desk(lines[-1][0]).wrong(("rank",), rule, fix)
        return tuple(pairs.values())

    def _desk(self, index: int) -> Desk:
        return Desk(self.told, self.place, ("uncertain", index))

    def _entry(self, desk: Desk, below: Where, path: str) -> Entry | None:
        entry = self.entries.get(plain_path(path))
        if entry is None:
            desk.wrong(below, "there is no number of this path", hint(path, self.entries), path)
        return entry

    def _take(self, desk: Desk, below: Where, path: str) -> Entry | None:
        """Return a number that varies, which no other line may set."""
        entry = self._entry(desk, below, path)
        if entry is None:
            return None
        others = {self.taken[where] for where in entry.touches if where in self.taken}
        if entry.number.path in self.named:
            desk.wrong(below, "this number is named twice", "Keep one of the lines.", path)
        elif others:
            desk.wrong(below, f"sets the same as {' and '.join(sorted(others))}", "Let one of them vary.", path)
        self.named.add(entry.number.path)
        self.taken.update(dict.fromkeys(entry.touches, entry.number.path))
        return entry

    def _uncertain(self, desk: Desk, below: Where, path: str) -> str | None:
        entry = self._entry(desk, below, path)
        if entry is None:
            return None
        named = entry.number.path
        if named in self.mixed:
            desk.wrong(below, "is in a mix, which says already how its counts go together", "", path)
        elif named in self.fixed:
            desk.wrong(below, "always has the same value, so it goes with nothing", "", path)
        elif named not in self.named:
            desk.wrong(below, "is not uncertain", "Add a line that says how this number varies.", path)
        else:
            return named
        return None


def _count(text: str) -> float:
    try:
        return _COUNT.validate_python(text)
    except ValidationError as error:
        raise error.errors()[0]["ctx"]["error"] from None


def _contradict(correlations: Sequence[Correlation]) -> bool:
    """Return whether no numbers can go together like this.

    They can where the matrix of normal correlations, 2 sin(pi rank / 6), has no negative eigenvalue
    (:mod:`mci.surge.copula` draws from it).
    """
    import numpy as np  # a scenario without correlations does without

    if len(correlations) <= 1:
        return False
    paths = sorted({path for each in correlations for path in (each.one, each.other)})
    matrix = np.eye(len(paths))
    for each in correlations:
        one, other = paths.index(each.one), paths.index(each.other)
        matrix[one, other] = matrix[other, one] = 2 * np.sin(np.pi * each.rank / 6)
    return bool(np.linalg.eigvalsh(matrix)[0] < -1e-9)
