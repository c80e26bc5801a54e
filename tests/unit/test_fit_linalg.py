"""Plain-Python linear algebra against hand cases and against numpy."""

import random

import pytest

from racewright.geometry.linalg import least_norm, principal, svd, transpose


def test_singular_values_of_a_diagonal() -> None:
    parts = svd([[3.0, 0.0], [0.0, -2.0], [0.0, 0.0]])
    assert parts.values == pytest.approx([3.0, 2.0], abs=1e-15)
    assert parts.rank() == 2
    assert parts.condition() == pytest.approx(1.5)


def test_a_wide_matrix_has_rank_of_its_rows() -> None:
    parts = svd([[1.0, 2.0, 3.0]])
    assert parts.rank() == 1
    assert parts.condition() > 1e12


def test_least_norm_of_one_equation_is_along_its_row() -> None:
    assert least_norm([[3.0, 4.0]], [5.0]) == pytest.approx([0.6, 0.8], abs=1e-14)


def test_nothing_in_nothing_out() -> None:
    assert least_norm([], []) == []
    assert svd([]).values == []
    assert svd([[0.0, 0.0]]).rank() == 0


def test_principal_axes() -> None:
    large, small, turn = principal(2.0, 1.0, 2.0)
    assert (large, small) == pytest.approx((3.0, 1.0))
    assert turn == pytest.approx(0.7853981633974483)
    assert principal(0.0, 0.0, 0.0)[:2] == (0.0, 0.0)


@pytest.mark.oracle
@pytest.mark.parametrize("shape", [(6, 10), (10, 6), (5, 5), (1, 4), (4, 1)])
def test_agrees_with_numpy(shape: tuple[int, int]) -> None:
    numpy = pytest.importorskip("numpy")
    draw = random.Random(hash(shape))
    m = [[draw.uniform(-5.0, 5.0) for _ in range(shape[1])] for _ in range(shape[0])]
    right = [draw.uniform(-5.0, 5.0) for _ in range(shape[0])]
    least = min(shape)
    wanted = numpy.linalg.svd(numpy.array(m), compute_uv=False)
    assert svd(m).values[:least] == pytest.approx(list(wanted), rel=1e-12)
    assert least_norm(m, right) == pytest.approx(list(numpy.linalg.pinv(numpy.array(m)) @ right), rel=1e-9)
    assert transpose(transpose(m)) == m


@pytest.mark.oracle
@pytest.mark.parametrize("shape", [(3, 9), (9, 3), (6, 6)])
@pytest.mark.parametrize("rank", [2, 3])
def test_least_norm_is_that_of_the_pseudoinverse_where_rows_depend_on_others_too(
    shape: tuple[int, int], rank: int
) -> None:
    numpy = pytest.importorskip("numpy")
    draw = numpy.random.default_rng(7)
    m = draw.normal(size=(shape[0], rank)) @ draw.normal(size=(rank, shape[1]))
    # rows that weigh ten thousand times others, as held ones do
    m *= 10.0 ** numpy.linspace(0.0, 4.0, shape[0])[:, None]
    right = draw.normal(size=shape[0])
    wanted = numpy.linalg.pinv(m, rcond=1e-9) @ right
    assert least_norm(m.tolist(), right.tolist()) == pytest.approx(wanted.tolist(), rel=1e-8, abs=1e-10)


def test_least_norm_leaves_directions_below_the_cut_alone() -> None:
    # the second singular value is 1e-8 of the first: within the cut of 1e-9, below that of 1e-7
    m = [[1.0, 1.0, 0.0], [1.0, 1.0, 2e-8]]
    assert least_norm(m, [1.0, 1.0], 1e-7) == pytest.approx([0.5, 0.5, 0.0], abs=1e-7)
    assert least_norm(m, [1.0, 2.0], 1e-9)[2] == pytest.approx(5e7, rel=1e-6)
    assert abs(least_norm(m, [1.0, 2.0], 1e-7)[2]) < 1.0
