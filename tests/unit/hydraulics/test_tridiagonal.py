import numpy as np
import pytest

from evenrow.hydraulics._tridiagonal import solve_symmetric


@pytest.mark.parametrize("n", [1, 2, 3, 39, 40, 41, 42, 81, 163, 1000])
@pytest.mark.parametrize("batch", [(), (3,)])
def test_equals_a_dense_solve(n, batch):
    rng = np.random.default_rng(n)
    coupling = rng.random((*batch, n))
    coupling[..., 0] = 0.0
    diagonal = coupling + 0.01 + rng.random((*batch, n))
    diagonal[..., :-1] += coupling[..., 1:]
    rhs = rng.normal(size=(*batch, n))
    got = solve_symmetric(diagonal, coupling, rhs)
    assert got.shape == (*batch, n)
    for d, e, b, x in zip(*(a.reshape(-1, n) for a in (diagonal, coupling, rhs, got)), strict=True):
        dense = np.diag(d) - np.diag(e[1:], 1) - np.diag(e[1:], -1)
        np.testing.assert_allclose(x, np.linalg.solve(dense, b), rtol=1e-9, atol=1e-9)
