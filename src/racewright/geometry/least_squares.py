"""Linear least squares for a handful of unknowns, by Householder QR, in plain Python.

  J x = y, already weighted so that every row has unit variance; covariance of x = (J' J)^-1 = R^-1 R^-T
The condition number is that of J with its columns scaled to unit length, so units do not matter.
"""

from __future__ import annotations

from math import copysign, hypot, inf, sqrt

Matrix = list[list[float]]


def condition_number(rows: Matrix) -> float:
    """Largest over smallest singular value of the column-scaled matrix; inf where a column is zero or depends."""
    size = len(rows[0])
    if len(rows) < size:
        return inf
    norms = [hypot(*(row[j] for row in rows)) for j in range(size)]
    if min(norms) == 0.0:
        return inf
    scaled = [[row[j] / norms[j] for j in range(size)] for row in rows]
    triangle, _ = _qr(scaled, [0.0] * len(rows))
    gram = [[sum(triangle[k][i] * triangle[k][j] for k in range(size)) for j in range(size)] for i in range(size)]
    values = _symmetric_eigenvalues(gram)
    low, high = min(values), max(values)
    return sqrt(high / low) if low > 1e-15 * high else inf


def solve(rows: Matrix, right: list[float]) -> tuple[list[float], Matrix]:
    """Least-squares solution and covariance (unit variance of every row). The caller checks the condition first.

    Raises ZeroDivisionError for a matrix whose columns depend exactly.
    """
    size = len(rows[0])
    triangle, turned = _qr([list(row) for row in rows], list(right))
    solution = [0.0] * size
    for i in reversed(range(size)):
        rest = sum(triangle[i][j] * solution[j] for j in range(i + 1, size))
        solution[i] = (turned[i] - rest) / triangle[i][i]
    inverse = [[0.0] * size for _ in range(size)]
    for column in range(size):
        for i in reversed(range(column + 1)):
            rest = sum(triangle[i][j] * inverse[j][column] for j in range(i + 1, column + 1))
            inverse[i][column] = ((1.0 if i == column else 0.0) - rest) / triangle[i][i]
    covariance = [[sum(inverse[i][k] * inverse[j][k] for k in range(size)) for j in range(size)] for i in range(size)]
    return solution, covariance


def _qr(rows: Matrix, right: list[float]) -> tuple[Matrix, list[float]]:
    count, size = len(rows), len(rows[0])
    for j in range(min(size, count)):
        norm = hypot(*(rows[i][j] for i in range(j, count)))
        if norm == 0.0:
            continue
        pivot = -copysign(norm, rows[j][j])
        mirror = [rows[i][j] for i in range(j, count)]
        mirror[0] -= pivot
        square = sum(value * value for value in mirror)
        for k in range(j, size):
            _reflect_column(rows, mirror, square, j, k)
        scale = 2.0 * sum(mirror[i] * right[j + i] for i in range(count - j)) / square
        for i in range(count - j):
            right[j + i] -= scale * mirror[i]
    return rows, right


def _reflect_column(rows: Matrix, mirror: list[float], square: float, first: int, column: int) -> None:
    scale = 2.0 * sum(value * rows[first + i][column] for i, value in enumerate(mirror)) / square
    for i, value in enumerate(mirror):
        rows[first + i][column] -= scale * value


def _symmetric_eigenvalues(matrix: Matrix) -> list[float]:
    """Cyclic Jacobi rotations; at most 50 sweeps (a 4 x 4 needs about 6)."""
    a = [list(row) for row in matrix]
    size = len(a)
    for _ in range(50):
        off = sum(a[i][j] ** 2 for i in range(size) for j in range(size) if i != j)
        if off < 1e-30 * sum(a[i][i] ** 2 for i in range(size)):
            break
        for p in range(size - 1):
            for q in range(p + 1, size):
                if a[p][q] == 0.0:
                    continue
                theta = (a[q][q] - a[p][p]) / (2.0 * a[p][q])
                t = copysign(1.0, theta) / (abs(theta) + sqrt(theta * theta + 1.0))
                c = 1.0 / sqrt(t * t + 1.0)
                s = t * c
                for k in range(size):
                    a[k][p], a[k][q] = c * a[k][p] - s * a[k][q], s * a[k][p] + c * a[k][q]
                for k in range(size):
                    a[p][k], a[q][k] = c * a[p][k] - s * a[q][k], s * a[p][k] + c * a[q][k]
    return [a[i][i] for i in range(size)]
