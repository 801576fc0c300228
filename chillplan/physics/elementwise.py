"""The three selections that the day steps use, so that one source serves arrays and compiled scalars.

numpy evaluates them on whole arrays; :mod:`chillplan.physics.compiled` tells numba to treat them as plain branches.
"""

from __future__ import annotations

from typing import Any

import numpy as np

__all__ = ["choose", "greater", "lesser"]


def choose(condition: Any, where_true: Any, where_false: Any) -> Any:
    """One of two values, element by element."""
    return np.where(condition, where_true, where_false)


def lesser(first: Any, second: Any) -> Any:
    """The smaller of two values, element by element."""
    return np.minimum(first, second)


def greater(first: Any, second: Any) -> Any:
    """The larger of two values, element by element."""
    return np.maximum(first, second)
