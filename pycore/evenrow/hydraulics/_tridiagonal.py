"""A symmetric tridiagonal solver for NumPy alone, batched over leading axes."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from evenrow.hydraulics._check import FloatArray

# What costs least was measured. Below this size one dense solve costs less than another level of
# elimination, for so many systems of it or for more of a smaller size.
_DENSE, _MANY = 40, 8
_DENSE_OF_MORE, _MORE = 16, 64
_COPIED = 10_000  # numbers up to which it pays to lay them out with the unknowns first
_FEW = 40  # the same for one system, where plain numbers cost less than a dense solve


def solve_symmetric(diagonal: FloatArray, coupling: FloatArray, rhs: FloatArray) -> FloatArray:
    """Solve a diagonally dominant symmetric tridiagonal system by cyclic reduction.

    Row i reads ``diagonal[i] x[i] - coupling[i] x[i-1] - coupling[i+1] x[i+1] = rhs[i]``.

    Parameters
    ----------
    diagonal : numpy.ndarray
        Diagonal [any], shape (..., n).
    coupling : numpy.ndarray
        Coupling of unknown i to unknown i-1 [same unit], shape (..., n); entry 0 must be 0.
    rhs : numpy.ndarray
        Right-hand side, shape (..., n).

    Returns
    -------
    numpy.ndarray
        x, shape (..., n).

    Raises
    ------
    numpy.linalg.LinAlgError, ZeroDivisionError
        If the system is singular.

    Notes
    -----
    Odd-even reduction (Hockney 1965, J. ACM 12, 95; from memory) halves the system in a
    fixed number of array operations until it is small enough for a dense solve.
    """
    if diagonal.ndim == 1:
        return _reduce(diagonal, coupling, rhs, _FEW, _one_by_one)
    # The unknowns come first inside: one plain slice then serves one system or many.
    b, e, d = diagonal.T, coupling.T, rhs.T
    if diagonal.size <= _DENSE * _MANY:
        return _reduce(b, e, d, _DENSE, _dense).T
    if diagonal.size <= _COPIED:
        b, e, d = np.ascontiguousarray(b), np.ascontiguousarray(e), np.ascontiguousarray(d)
    systems = diagonal.size // diagonal.shape[-1]
    return _reduce(b, e, d, _DENSE_OF_MORE if systems <= _MORE else 1, _dense).T


Solver = Callable[[FloatArray, FloatArray, FloatArray], FloatArray]


def _reduce(b: FloatArray, e: FloatArray, d: FloatArray, few: int, solve_few: Solver) -> FloatArray:
    """Solve with the unknowns along the first axis; `solve_few` does the last `few`."""
    levels: list[tuple[FloatArray, FloatArray, FloatArray, FloatArray]] = []
    while len(b) > few:
        even_e, odd_e, even_d = e[0::2], e[1::2], d[0::2]
        inverse = 1.0 / b[0::2]
        half = len(odd_e)
        after = len(even_e) - 1
        right_e = even_e[1:]
        left = odd_e * inverse[:half]
        right = right_e * inverse[1:]
        levels.append((inverse, even_e, odd_e, even_d))
        b = b[1::2] - left * odd_e
        right_e = right * right_e
        d = d[1::2] + left * even_d[:half]
        right *= even_d[1:]
        if after == half:
            b -= right_e
            d += right
        else:
            b[:after] -= right_e
            d[:after] += right
        left *= even_e[:half]
        e = left
    x = solve_few(b, e, d)
    for inverse, even_e, odd_e, even_d in reversed(levels):
        half = len(odd_e)
        full = np.empty((half + len(even_e), *x.shape[1:]))
        even = even_d.copy()
        even[1:] += even_e[1:] * x[: len(even_e) - 1]
        even[:half] += odd_e * x
        np.multiply(even, inverse, out=full[0::2])
        full[1::2] = x
        x = full
    return x


def _one_by_one(b: FloatArray, e: FloatArray, d: FloatArray) -> FloatArray:
    """Solve one reduced system by elimination in plain numbers (Thomas)."""
    diagonal, coupling, right = b.tolist(), e.tolist(), d.tolist()
    for i in range(1, len(diagonal)):
        factor = coupling[i] / diagonal[i - 1]
        diagonal[i] -= factor * coupling[i]
        right[i] += factor * right[i - 1]
    x = right[-1] / diagonal[-1]
    right[-1] = x
    for i in range(len(diagonal) - 2, -1, -1):
        x = (right[i] + coupling[i + 1] * x) / diagonal[i]
        right[i] = x
    return np.array(right, dtype=np.float64)


def _dense(b: FloatArray, e: FloatArray, d: FloatArray) -> FloatArray:
    """Solve several reduced systems with the dense solver."""
    b, e, d = b.T, e.T, d.T
    n = b.shape[-1]
    if n == 1:
        return (d / b).T
    matrix = np.zeros((*b.shape[:-1], n * n))
    matrix[..., :: n + 1] = b
    matrix[..., 1 :: n + 1] = -e[..., 1:]
    matrix[..., n :: n + 1] = -e[..., 1:]
    matrix = matrix.reshape(*b.shape[:-1], n, n)
    return np.asarray(np.linalg.solve(matrix, d[..., None])[..., 0], dtype=np.float64).T
