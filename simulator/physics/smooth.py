"""Small C1 shapes used to round corners that would make a stiff solver stumble. Own constructions (cubic
Hermite)."""

from __future__ import annotations

import math

from simulator.compiled import compiled


@compiled
def positive_part(x: float, width: float) -> float:
    """x where it is above ``width``, 0 where it is below 0, a cubic between [unit of x]; C1, monotone.

    Examples
    --------
    >>> positive_part(-1.0, 0.1), positive_part(0.5, 0.1)
    (0.0, 0.5)
    >>> round(positive_part(0.05, 0.1), 6)
    0.0375
    """
    if x <= 0.0:
        return 0.0
    if x >= width:
        return x
    t = x / width
    return width * t * t * (2.0 - t)


@compiled
def smooth_step(t: float) -> float:
    """0 below t = 0, 1 above t = 1, ``3 t2 - 2 t3`` between [-]; C1, monotone.

    Examples
    --------
    >>> smooth_step(-1.0), smooth_step(0.5), smooth_step(2.0)
    (0.0, 0.5, 1.0)
    """
    if t <= 0.0:
        return 0.0
    if t >= 1.0:
        return 1.0
    return t * t * (3.0 - 2.0 * t)


@compiled
def signed_root(x: float, width: float) -> float:
    """Square root with the sign of x, ``sign(x) sqrt(|x|)``, with a finite slope inside ``|x| < width``;
    C1, odd.

    Inside the width ``y (1.5 - 0.5 y)`` times ``sqrt(width)`` stands for the root, y = |x| / width [-].

    Examples
    --------
    >>> signed_root(4.0, 0.01), signed_root(-4.0, 0.01)
    (2.0, -2.0)
    >>> round(signed_root(0.005, 0.01), 6)
    0.0625
    """
    size = abs(x)
    if size >= width:
        root = math.sqrt(size)
    elif width > 0.0:
        y = size / width
        root = math.sqrt(width) * y * (1.5 - 0.5 * y)
    else:
        root = 0.0
    return root if x >= 0.0 else -root
