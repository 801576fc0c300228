"""What compiled loops are made of: selections that serve arrays and compiled numbers alike, and places in lanes.

numpy evaluates the three selections on whole arrays; :mod:`chillplan.physics.compiled` tells numba to treat them as
plain branches, so that the day steps have one source.

Every kernel works on a block of `LANES` places, so that one instruction serves many. Values of one kind lie in rows of
`LANES` in a flat array, and the innermost loop always runs over the lanes; its length is a constant, which lets the
compiler see that rows never overlap. Fast-math stays off: each lane gives what numpy gives, bit for bit.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray

__all__ = ["LANES", "aligned", "choose", "greater", "kernel", "lesser", "loop", "part"]


def choose(condition: Any, where_true: Any, where_false: Any) -> Any:
    """One of two values, element by element."""
    return np.where(condition, where_true, where_false)


def lesser(first: Any, second: Any) -> Any:
    """The smaller of two values, element by element."""
    return np.minimum(first, second)


def greater(first: Any, second: Any) -> Any:
    """The larger of two values, element by element."""
    return np.maximum(first, second)


LANES = 128
"""Places of a block."""

part: Callable[..., Any] = numba.njit(nogil=True, error_model="numpy", forceinline=True)
"""Compiles a function that only kernels call, and writes it out in place."""

loop: Callable[..., Any] = numba.njit(nogil=True, error_model="numpy")
"""Compiles a loop over lanes that only kernels call, as a function of its own, where the compiler arranges it best."""


def aligned(values: NDArray[Any]) -> NDArray[Any]:
    """The same values in rows that begin where the processor's cache lines do, as its widest loads like them."""
    line = 64
    room = np.empty(values.nbytes + line, np.uint8)
    begin = -room.ctypes.data % line
    found = room[begin : begin + values.nbytes].view(values.dtype).reshape(values.shape)
    found[...] = values
    return found


def _stamp() -> int:
    """A number that changes with the sources that kernels are compiled from."""
    physics = Path(__file__).parent
    compiled = [*physics.glob("*.py"), *physics.with_name("region").glob("*kernel.py")]
    constants = [physics.with_name("seasons") / name for name in ("chill.py", "cut.py", "response.py", "summary.py")]
    seeds = [physics.with_name("seeds") / name for name in ("passage.py", "search.py")]
    sources = sorted([*compiled, *constants, *seeds, physics.with_name("region") / "places.py"])
    return zlib.crc32(b"".join(source.read_bytes() for source in sources))


STAMP = _stamp()


def kernel(function: Callable[..., Any]) -> Callable[..., Any]:
    """Compiles a function that Python calls, once for all runs; it leaves Python's lock, so threads run side by side.

    What is compiled is kept beside the source, or in the user's cache folder, under a name that changes with any source
    it rests on: numba looks at the function's own file alone, and stumbles over what an older version kept.
    """
    function.__qualname__ += f"-{STAMP:x}"
    compiled: Callable[..., Any] = numba.njit(nogil=True, error_model="numpy", cache=True)(function)
    return compiled
