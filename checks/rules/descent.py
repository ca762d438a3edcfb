"""Quasi-Newton minimisation of a smooth function of few parameters, stopped by the Newton decrement.

A likelihood of many readings carries rounding of about 1e-16 of itself, below which a line search cannot see; the
exact gradient still can. So the end is judged by the decrement g'Hg / 2, the gain that is still to be had.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from checks.rules.epochs import Floats


@dataclass(frozen=True, slots=True)
class Minimum:
    """``curve`` approximates the inverse Hessian; ``decrement`` is the gain still to be had by the last step."""

    x: Floats
    gradient: Floats
    curve: Floats
    decrement: float
    evaluations: int


def descend(
    function: Callable[[Floats], tuple[float, Floats]],
    x: Floats,
    *,
    curve: Floats | None = None,
    enough: float = 1e-8,
    most: int = 200,
) -> Minimum:
    """Minimise by BFGS with backtracking (Nocedal and Wright 2006, Numerical Optimization, algorithm 6.1).

    Parameters
    ----------
    function : returns the value and the exact gradient, shape (p,).
    x : start, shape (p,). ``curve``: inverse Hessian there, if known, shape (p, p).
    enough : decrement at which to stop, in units of the function.
    """
    value, slope = function(x)
    known, spent = curve is not None, 1
    h = curve if curve is not None else np.eye(len(x)) / max(float(np.linalg.norm(slope)), 1e-12)
    while spent < most:
        step = -h @ slope
        decrement = float(-slope @ step) / 2
        if known and decrement < enough:
            break
        share, noise = 1.0, 1e-13 * abs(value)
        while True:
            new_value, new_slope = function(x + share * step)
            spent += 1
            if new_value <= value - 1e-4 * share * 2 * decrement + noise or share < 1e-10:
                break
            share /= 2
        moved, turned = share * step, new_slope - slope
        x, value, slope = x + moved, new_value, new_slope
        bend = float(moved @ turned)
        if bend > 1e-12 * float(np.linalg.norm(moved) * np.linalg.norm(turned)):
            if not known:
                h, known = np.eye(len(x)) * bend / float(turned @ turned), True
            left = np.eye(len(x)) - np.outer(moved, turned) / bend
            h = left @ h @ left.T + np.outer(moved, moved) / bend
        elif share < 1e-10:
            break
    return Minimum(x, slope, h, float(slope @ h @ slope) / 2, spent)
