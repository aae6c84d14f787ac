"""Programmes in two stages written out as small matrices: a farmer, a newsvendor, and any other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import highspy
import numpy as np
import numpy.typing as npt

from mci.lp.two_stage import Answers, Plan

__all__ = ["Linear", "LinearIncident", "bounded", "farmer", "newsvendor"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class LinearIncident:
    """``W x <= rhs + T y`` with ``0 <= x <= upper``, and the harms ``base + G x``; any ``y`` leaves some ``x``.

    Parameters
    ----------
    matrix, rhs, by_plan
        ``W``, the right-hand sides and ``T``; shapes ``(rows, columns)``, ``(rows,)`` and ``(rows, decisions)``.
    harms, base
        ``G`` and ``base``; shapes ``(harms, columns)`` and ``(harms,)``.
    upper
        Upper bounds of ``x``, shape ``(columns,)``.
    """

    matrix: Floats
    rhs: Floats
    by_plan: Floats
    harms: Floats
    base: Floats
    upper: Floats


class Linear:
    """Such incidents as the second stage (:class:`mci.lp.two_stage.Recourse`)."""

    def __init__(self, incidents: Sequence[LinearIncident], chances: Sequence[float], least: Sequence[float]) -> None:
        self.incidents = tuple(incidents)
        self.chances, self.least = np.array(chances, dtype=float), np.array(least, dtype=float)
        self.asked = 0
        self._loaded = [self._load(each) for each in self.incidents]

    def _load(self, incident: LinearIncident) -> highspy.Highs:
        """Load ``minimise t`` where ``base + G x - scale t`` may be no more than is allowed."""
        rows, columns = incident.matrix.shape
        harms = len(incident.base)
        scale = np.maximum(1.0, np.abs(incident.base))
        whole = np.block([[incident.matrix, np.zeros((rows, 1))], [incident.harms, -scale[:, None]]])
        model = highspy.HighsLp()
        model.num_col_, model.num_row_ = columns + 1, rows + harms
        model.col_cost_ = np.array([0.0] * columns + [1.0])
        model.col_lower_ = np.array([0.0] * columns + [-math.inf])
        model.col_upper_ = np.append(incident.upper, math.inf)
        model.row_lower_, model.row_upper_ = np.full(rows + harms, -math.inf), np.full(rows + harms, math.inf)
        model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        model.a_matrix_.start_ = np.arange(rows + harms + 1, dtype=np.int32) * (columns + 1)
        model.a_matrix_.index_ = np.tile(np.arange(columns + 1, dtype=np.int32), rows + harms)
        model.a_matrix_.value_ = whole.ravel()
        highs = highspy.Highs()
        highs.setOptionValue("output_flag", False)
        highs.passModel(model)
        return highs

    def ask(self, plan: Floats, allowed: Floats) -> Answers:
        """Ask every incident."""
        self.asked += 1
        found = [self._ask(number, plan, allowed[number]) for number in range(len(self.incidents))]
        excess, attained, by_plan, by_harm = zip(*found, strict=True)
        return Answers(np.array(excess), np.array(attained), np.array(by_plan), np.array(by_harm))

    def _ask(self, number: int, plan: Floats, allowed: Floats) -> tuple[float, Floats, Floats, Floats]:
        incident, highs = self.incidents[number], self._loaded[number]
        upper = np.concatenate([incident.rhs + incident.by_plan @ plan, allowed - incident.base])
        places = np.arange(len(upper), dtype=np.int32)
        highs.changeRowsBounds(len(upper), places, np.full(len(upper), -math.inf), upper)
        highs.run()
        assert highs.getModelStatus() == highspy.HighsModelStatus.kOptimal
        solution, rows = highs.getSolution(), len(incident.rhs)
        duals, values = np.array(solution.row_dual), np.array(solution.col_value)
        attained = incident.base + incident.harms @ values[:-1]
        return values[-1], attained, duals[:rows] @ incident.by_plan, -duals[rows:]


def bounded(upper: Sequence[float], *, whole: bool = False, most: float | None = None) -> Plan:
    """Return decisions from 0 up to a bound each; their sum is limited by the aim where ``most`` is given."""
    size = len(upper)
    matrix = np.ones((1, size)) if most is not None else np.zeros((0, size))
    return Plan(np.zeros(size), np.array(upper, dtype=float), np.full(size, whole), matrix)


#: Tons per acre of wheat, corn and sugar beet in an average year, and by how much a year is better or worse.
YIELDS, YEARS = np.array([2.5, 3.0, 20.0]), (1.2, 1.0, 0.8)


def farmer(years: Sequence[float] = YEARS, acres: float = 1.0) -> Linear:
    """Return the farmer of Birge and Louveaux, Introduction to Stochastic Programming, section 1.1.

    200 t of wheat and 240 t of corn are needed as feed; they are bought at 238 and 210 $/t and sold at 170 and 150;
    sugar beet is sold at 36 $/t, beyond the quota of 6000 t at 10.  The harm is the money that a year costs.

    Parameters
    ----------
    years
        Factors on the yields, equally likely.
    acres
        How many acres one unit of a decision is.
    """
    #           buy wheat, buy corn, sell wheat, sell corn, beet within and beyond the quota
    prices = np.array([[238.0, 210.0, -170.0, -150.0, -36.0, -10.0]])
    matrix = np.array([[-1.0, 0, 1, 0, 0, 0], [0, -1, 0, 1, 0, 0], [0, 0, 0, 0, 1, 1]])
    upper = np.array([math.inf] * 4 + [6000.0, math.inf])
    need = np.array([-200.0, -240.0, 0.0])
    incidents = [LinearIncident(matrix, need, np.diag(YIELDS * y * acres), prices, np.zeros(1), upper) for y in years]
    return Linear(incidents, [1 / len(years)] * len(years), [-1e6])


def newsvendor(demands: Sequence[float], chances: Sequence[float], price: float, salvage: float) -> Linear:
    """Return a newsvendor's day: the harms are what is earned, negated, and what is asked for in vain.

    Columns are what is sold and what is given back.
    """
    matrix = np.array([[1.0, 1.0]])
    harms = np.array([[-price, -salvage], [-1.0, 0.0]])
    incidents = [
        LinearIncident(matrix, np.zeros(1), np.ones((1, 1)), harms, np.array([0.0, each]), np.array([each, math.inf]))
        for each in demands
    ]
    return Linear(incidents, chances, [-price * max(demands) - salvage * 100, 0.0])
