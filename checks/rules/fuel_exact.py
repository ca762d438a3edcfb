"""The same regression from the trips themselves, for terms so alike that sums of products lose their digits.

Sums of products square the condition of the terms: of the sixteen digits of a float about log10 of that square are
lost (`FuelFit.digits`). Orthogonal factors keep them: a triangle is carried from truck to truck, so that no more than
one truck's trips are held at a time.
"""

from collections.abc import Iterable

import numpy as np
from scipy.linalg import solve_triangular

from checks.rules.epochs import Floats


def slopes_from_rows(blocks: Iterable[tuple[Floats, Floats, Floats]]) -> Floats:
    """Coefficients of weighted least squares with a level for each block.

    Parameters
    ----------
    blocks : (y (n,), terms (n, k), weight (n,)) of one truck after the other.

    Raises
    ------
    ValueError
        Where the terms do not vary within blocks, or are one another's sums.

    Source: Golub and Van Loan, Matrix Computations, 5.3 (least squares by orthogonal factors) and 6.5 (adding rows).
    """
    triangle: Floats | None = None
    for y, terms, weight in blocks:
        block = np.concatenate([terms, y[:, None]], axis=1)
        # Twice, since the mean of large values is itself rounded.
        for _ in range(2):
            block = block - weight @ block / weight.sum()
        block = np.sqrt(weight)[:, None] * block
        block = block if triangle is None else np.concatenate([triangle, block])
        triangle = np.asarray(np.linalg.qr(block, mode="r"))
    if triangle is None:
        raise ValueError("there are no rows to fit")
    r, z = triangle[:-1, :-1], triangle[:-1, -1]
    size = np.linalg.norm(r, axis=0)
    if len(r) < r.shape[1] or (np.abs(np.diag(r)) <= 1e-14 * size).any():
        raise ValueError("the terms do not vary within trucks, or are one another's sums")
    return np.asarray(solve_triangular(r / size, z) / size)
