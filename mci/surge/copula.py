"""Uncertain numbers that go together: coordinates of points correlated by a Gaussian copula."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from mci.errors import InputError, Mistake

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from mci.scenario.uncertain import Correlation

__all__ = ["correlate"]

Floats = npt.NDArray[np.float64]


def correlate(points: Floats, columns: Mapping[str, int], correlations: Sequence[Correlation]) -> Floats:
    """Return the points with some coordinates correlated, each still uniform.

    The coordinates become standard normal, z, then L z, where L L' is their correlation, then uniform again.  A
    normal correlation of r = 2 sin(pi rho / 6) gives Spearman's rank correlation rho; for counts and other laws
    with steps it comes out a little weaker.  Source: K. Pearson, On further methods of determining correlation
    (1907); W. H. Kruskal, Ordinal measures of association, J. Am. Stat. Assoc. 53 (1958) 814-861.

    Parameters
    ----------
    points
        Points in the unit cube, off its faces, shape ``(samples, dimensions)``.
    columns
        Which coordinate belongs to each path that is correlated.
    correlations
        Which go together, and how closely.

    Raises
    ------
    InputError
        If no numbers can be correlated like this, as where A goes with B and B with C, but A against C.
    """
    from scipy import special  # heavy, and only needed where something is drawn

    if not correlations:
        return points
    paths = sorted({path for each in correlations for path in (each.one, each.other)})
    which = [columns[path] for path in paths]
    root = _root(_normal_correlation(paths, correlations), paths)
    correlated = points.copy()
    correlated[:, which] = special.ndtr(special.ndtri(points[:, which]) @ root)
    return correlated


def _normal_correlation(paths: Sequence[str], correlations: Sequence[Correlation]) -> Floats:
    matrix = np.eye(len(paths))
    for each in correlations:
        one, other = paths.index(each.one), paths.index(each.other)
        matrix[one, other] = matrix[other, one] = 2 * np.sin(np.pi * each.rank / 6)
    return matrix


def _root(matrix: Floats, paths: Sequence[str]) -> Floats:
    """Return the symmetric square root; unlike Cholesky's it exists for correlations of exactly 1 too."""
    variances, axes = np.linalg.eigh(matrix)
    if variances[0] < -1e-9:
        raise InputError(
            [
                Mistake(
                    rule=f"these correlations contradict each other: {', '.join(paths)}",
                    fix="Bring them closer to 0, or say how the other pairs go together.",
                    path="correlations",
                )
            ]
        )
    root: Floats = axes * np.sqrt(np.maximum(variances, 0)) @ axes.T
    return root
