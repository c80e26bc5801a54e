"""Small dense linear algebra in plain Python: singular values, least squares, 2 x 2 principal axes.

Matrices are lists of rows. Sizes here are at most a few dozen, where one-sided Jacobi rotations are quick
enough and give every singular value to nearly full relative accuracy.
"""

from __future__ import annotations

from math import atan2, hypot, inf, sqrt
from operator import mul
from typing import NamedTuple

Matrix = list[list[float]]
Row = list[float]


class Svd(NamedTuple):
    """M = U diag(values) V^T; `u[k]` and `v[k]` are the k-th left and right singular vectors; values descend."""

    u: Matrix
    values: Row
    v: Matrix

    def rank(self, relative: float = 1e-9) -> int:
        """How many singular values are above `relative` times the largest."""
        if not self.values or self.values[0] == 0.0:
            return 0
        return sum(1 for value in self.values if value > relative * self.values[0])

    def condition(self) -> float:
        """Largest over smallest singular value; inf where the smallest is zero or there are none."""
        if not self.values or self.values[-1] == 0.0:
            return inf
        return self.values[0] / self.values[-1]

    def solution(self, right: Row, count: int | None = None) -> Row:
        """The x of least length among those that make |M x - right| least, by the first `count` directions (all)."""
        out = [0.0] * len(self.v[0])
        for left, value, direction in list(zip(self.u, self.values, self.v, strict=True))[:count]:
            share = sum(a * b for a, b in zip(left, right, strict=True)) / value
            out = [x + share * part for x, part in zip(out, direction, strict=True)]
        return out

    def covariance(self) -> Matrix:
        """Of the least-squares x where every row of M has unit variance: (M^T M)^-1."""
        scaled = [[part / value for part in direction] for direction, value in zip(self.v, self.values, strict=True)]
        columns = transpose(scaled)
        return [[sum(a * b for a, b in zip(x, y, strict=True)) for y in columns] for x in columns]


def transpose(m: Matrix) -> Matrix:
    """Rows to columns."""
    return [list(column) for column in zip(*m, strict=True)]


def svd(m: Matrix) -> Svd:
    """Singular value decomposition by one-sided Jacobi rotations of the columns.

    Gives as many values as the matrix has columns; where there are fewer rows than columns the last ones are 0.
    """
    count = len(m[0]) if m else 0
    columns = transpose(m) if m else []
    basis = [[1.0 if i == j else 0.0 for j in range(count)] for i in range(count)]
    for _ in range(60):
        turned = False
        for p in range(count - 1):
            for q in range(p + 1, count):
                turned = _rotate(columns, basis, p, q) or turned
        if not turned:
            break
    values = [hypot(*column) if column else 0.0 for column in columns]
    order = sorted(range(count), key=lambda k: -values[k])
    left = [[x / values[k] for x in columns[k]] if values[k] > 0.0 else columns[k] for k in order]
    return Svd(left, [values[k] for k in order], [basis[k] for k in order])


def _rotate(columns: Matrix, basis: Matrix, p: int, q: int) -> bool:
    a, b = columns[p], columns[q]
    alpha, beta, gamma = sum(map(mul, a, a)), sum(map(mul, b, b)), sum(map(mul, a, b))
    if abs(gamma) <= 1e-15 * sqrt(alpha * beta) or gamma == 0.0:
        return False
    zeta = (beta - alpha) / (2.0 * gamma)
    t = (1.0 if zeta >= 0.0 else -1.0) / (abs(zeta) + hypot(1.0, zeta))
    c = 1.0 / hypot(1.0, t)
    s = c * t
    for pair in (columns, basis):
        x, y = pair[p], pair[q]
        pair[p] = [c * i - s * j for i, j in zip(x, y, strict=True)]
        pair[q] = [s * i + c * j for i, j in zip(x, y, strict=True)]
    return True


def least_norm(m: Matrix, right: Row, relative: float = 1e-9) -> Row:
    """The x of least length among those that make |m x - right| least. Directions whose singular value is below
    `relative` times the largest are left alone."""
    if not m or not m[0]:
        return [0.0] * (len(m[0]) if m else 0)
    if len(m) < len(m[0]):
        # fewer rotations on the narrow side: m^T = U S V^T gives m = V S U^T
        flat = svd(transpose(m))
        parts = Svd(flat.v, flat.values, flat.u)
    else:
        parts = svd(m)
    return parts.solution(right, parts.rank(relative))


def condition_number(rows: Matrix) -> float:
    """Of the matrix with its columns scaled to unit length, so that units do not matter; inf where a column is zero or
    depends on others."""
    norms = [hypot(*column) for column in zip(*rows, strict=True)]
    if min(norms) == 0.0:
        return inf
    parts = svd([[value / norm for value, norm in zip(row, norms, strict=True)] for row in rows])
    return parts.condition() if parts.rank(3e-8) == len(norms) else inf


def principal(a: float, b: float, c: float) -> tuple[float, float, float]:
    """Of the symmetric [[a, b], [b, c]]: the larger eigenvalue, the smaller one, and the angle of the larger
    one's axis from the first axis (rad). Eigenvalues below zero by rounding are given as 0."""
    mean, half = (a + c) / 2.0, hypot((a - c) / 2.0, b)
    # the smaller one through the determinant, which keeps its digits
    large = mean + half
    small = (a * c - b * b) / large if large > 0.0 else 0.0
    return max(large, 0.0), max(small, 0.0), 0.5 * atan2(2.0 * b, a - c)
