"""A linear or integer programme for GLPK, written row by row: the oracles must not share the package's solver."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping

import swiglpk

__all__ = ["Glpk"]

#: Tolerance on bounds and reduced costs, tighter than GLPK's own 1e-7, so that answers compare to 1e-7.
TOLERANCE = 1e-9


class Glpk:
    """Columns at least 0, named by anything hashable; rows ``low <= sum(value * column) <= high``."""

    def __init__(self) -> None:
        self._places: dict[Hashable, int] = {}
        self._rows: list[tuple[dict[int, float], float | None, float | None]] = []

    def _place(self, name: Hashable) -> int:
        return self._places.setdefault(name, len(self._places) + 1)

    def row(self, terms: Mapping[Hashable, float], *, low: float | None = None, high: float | None = None) -> None:
        """Add a row; a limit that is ``None`` or infinite does not limit."""
        finite = {name: value for name, value in terms.items() if value}
        self._rows.append(({self._place(name): value for name, value in finite.items()}, low, high))

    def maximise(self, earns: Mapping[Hashable, float], whole: Iterable[Hashable] = ()) -> float:
        """Return the optimum; the columns named in ``whole`` take whole numbers only."""
        for name in earns:
            self._place(name)
        problem = swiglpk.glp_create_prob()
        try:
            best = self._solve(problem, earns)
            places = [self._place(name) for name in whole]
            return self._branch(problem, places) if places else best
        finally:
            swiglpk.glp_delete_prob(problem)

    @staticmethod
    def _branch(problem: object, places: list[int]) -> float:
        """Go on from the divisible optimum to that with whole columns."""
        for place in places:
            swiglpk.glp_set_col_kind(problem, place, swiglpk.GLP_IV)
        options = swiglpk.glp_iocp()
        swiglpk.glp_init_iocp(options)
        options.msg_lev = swiglpk.GLP_MSG_OFF
        failed = swiglpk.glp_intopt(problem, options)
        if failed or swiglpk.glp_mip_status(problem) != swiglpk.GLP_OPT:
            raise AssertionError(f"GLPK found no whole optimum ({failed}, {swiglpk.glp_mip_status(problem)})")
        return float(swiglpk.glp_mip_obj_val(problem))

    def _solve(self, problem: object, earns: Mapping[Hashable, float]) -> float:
        swiglpk.glp_set_obj_dir(problem, swiglpk.GLP_MAX)
        swiglpk.glp_add_cols(problem, len(self._places))
        for place in self._places.values():
            swiglpk.glp_set_col_bnds(problem, place, swiglpk.GLP_LO, 0.0, 0.0)
        for name, value in earns.items():
            swiglpk.glp_set_obj_coef(problem, self._places[name], float(value))
        swiglpk.glp_add_rows(problem, len(self._rows))
        for number, (terms, low, high) in enumerate(self._rows, start=1):
            swiglpk.glp_set_row_bnds(problem, number, *_bounds(low, high))
            columns, values = swiglpk.intArray(len(terms) + 1), swiglpk.doubleArray(len(terms) + 1)
            for place, (column, value) in enumerate(terms.items(), start=1):
                columns[place], values[place] = column, float(value)
            swiglpk.glp_set_mat_row(problem, number, len(terms), columns, values)
        options = swiglpk.glp_smcp()
        swiglpk.glp_init_smcp(options)
        options.msg_lev = swiglpk.GLP_MSG_OFF
        options.tol_bnd = options.tol_dj = TOLERANCE
        failed = swiglpk.glp_simplex(problem, options)
        if failed or swiglpk.glp_get_status(problem) != swiglpk.GLP_OPT:
            raise AssertionError(f"GLPK found no optimum ({failed}, {swiglpk.glp_get_status(problem)})")
        return float(swiglpk.glp_get_obj_val(problem))


def _bounds(low: float | None, high: float | None) -> tuple[int, float, float]:
    below = None if low is None or low == -float("inf") else float(low)
    above = None if high is None or high == float("inf") else float(high)
    if below is None and above is None:
        return swiglpk.GLP_FR, 0.0, 0.0
    if below is None:
        return swiglpk.GLP_UP, 0.0, above
    if above is None:
        return swiglpk.GLP_LO, below, 0.0
    return (swiglpk.GLP_FX if below == above else swiglpk.GLP_DB), below, above
