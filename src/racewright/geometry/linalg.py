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


#: A vector whose part that others do not span is less than this of the longest one's length is taken as spanned.
_SPANNED = 1e-13


def least_norm(m: Matrix, right: Row, relative: float = 1e-9) -> Row:
    """The x of least length among those that make |m x - right| least. Directions whose singular value is below
    `relative` times the largest are left alone.

    By orthogonal vectors of the narrow side (m = C Q, or its transpose) where the bounds of C's singular values leave
    no doubt of the rank; by the singular values of C, which are those of m, where they do.
    """
    if not m or not m[0]:
        return [0.0] * (len(m[0]) if m else 0)
    wide = len(m) < len(m[0])
    basis, order, lower = _orthogonal(m if wide else transpose(m))
    if not basis:
        return [0.0] * len(m[0])
    square = len(basis) == len(lower)
    if wide:
        right = [right[k] for k in order]
    else:
        right = [sum(map(mul, way, right)) for way in basis]
    if 1.0 / _inverse_size(lower, len(basis)) <= relative * hypot(*(part for row in lower for part in row)):
        x = _by_values(lower if wide else transpose(lower), right, relative)
    elif not square:
        x = least_norm(lower if wide else transpose(lower), right, relative)
    else:
        x = _forward(lower, right) if wide else _backward(lower, right)
    if wide:
        return [sum(map(mul, x, column)) for column in zip(*basis, strict=True)]
    out = [0.0] * len(order)
    for k, value in zip(order, x, strict=True):
        out[k] = value
    return out


def _orthogonal(vectors: Matrix) -> tuple[Matrix, list[int], Matrix]:
    """Unit vectors square to each other that span these, by Gram and Schmidt's way with the longest rest first; the
    order in which the vectors were taken; and each vector, in that order, in terms of the unit vectors (a lower
    triangle, with rows of the spanned ones below)."""
    rests, order = list(vectors), list(range(len(vectors)))
    parts: Matrix = [[] for _ in vectors]
    basis: Matrix = []
    least = 0.0
    for k in range(min(len(vectors), len(vectors[0]))):
        sizes = [sum(map(mul, rest, rest)) for rest in rests[k:]]
        at = k + sizes.index(max(sizes))
        rests[k], rests[at] = rests[at], rests[k]
        order[k], order[at] = order[at], order[k]
        parts[k], parts[at] = parts[at], parts[k]
        rest = rests[k]
        # what rounding left along those taken before is taken out once more
        for j, way in enumerate(basis):
            again = sum(map(mul, way, rest))
            rest = [a - again * b for a, b in zip(rest, way, strict=True)]
            parts[k][j] += again
        size = hypot(*rest)
        least = least or _SPANNED * size
        if size <= least:
            break
        way = [a / size for a in rest]
        basis.append(way)
        parts[k].append(size)
        for i in range(k + 1, len(rests)):
            along = sum(map(mul, way, rests[i]))
            parts[i].append(along)
            rests[i] = [a - along * b for a, b in zip(rests[i], way, strict=True)]
    return basis, order, [row + [0.0] * (len(basis) - len(row)) for row in parts]


def _forward(lower: Matrix, right: Row) -> Row:
    """The x of L x = right."""
    x: Row = []
    for k, (row, value) in enumerate(zip(lower, right, strict=True)):
        x.append((value - sum(map(mul, row, x))) / row[k])
    return x


def _backward(lower: Matrix, right: Row) -> Row:
    """The x of L^T x = right."""
    x = list(right)
    for k in reversed(range(len(lower))):
        x[k] /= lower[k][k]
        for j, part in enumerate(lower[k][:k]):
            x[j] -= part * x[k]
    return x


def _inverse_size(lower: Matrix, count: int) -> float:
    """The root of the sum of squares of the inverse of the first `count` rows: no singular value is below one over
    it."""
    inverse: Matrix = []
    for k, row in enumerate(lower[:count]):
        line = [0.0] * count
        for part, other in zip(row, inverse, strict=False):
            line = [a - part * b for a, b in zip(line, other, strict=True)]
        line[k] += 1.0
        inverse.append([a / row[k] for a in line])
    return hypot(*(part for line in inverse for part in line))


def _by_values(m: Matrix, right: Row, relative: float) -> Row:
    """`least_norm` by singular values."""
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
