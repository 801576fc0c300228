"""Asks the processor to fetch weather from memory before it is needed; changes no result.

The days of a block lie far apart on a grid, too far for the processor to foresee the next, and between two of them
there is much to compute: time enough to fetch what comes.
"""

from __future__ import annotations

from typing import Any

from llvmlite import ir
from numba.core import cgutils, types
from numba.extending import intrinsic

from chillplan.physics.lanes import LANES, part

__all__ = ["fetch_ahead"]

LINE = 64  # bytes of a cache line


@intrinsic
def _fetch_line(typing_context: Any, array: Any, row: Any, column: Any) -> Any:
    """Fetch the line that holds an element of a two-dimensional array; no element has to be there."""

    def write(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        values = context.make_array(signature.args[0])(context, builder, arguments[0])
        steps = cgutils.unpack_tuple(builder, values.strides, 2)
        offset = builder.add(builder.mul(arguments[1], steps[0]), builder.mul(arguments[2], steps[1]))
        address = builder.add(builder.ptrtoint(values.data, offset.type), offset)
        pointer = builder.inttoptr(address, cgutils.voidptr_t)
        number = ir.IntType(32)
        kind = ir.FunctionType(ir.VoidType(), [pointer.type, number, number, number])
        fetch = cgutils.get_or_insert_function(builder.module, kind, "llvm.prefetch.p0")
        to_read, keep, data = number(0), number(3), number(1)
        builder.call(fetch, [pointer, to_read, keep, data])
        return context.get_dummy_value()

    return types.void(array, types.intp, types.intp), write


@part
def fetch_ahead(values, row, first):
    """Fetch the lanes from `first` on of a row of float32."""
    for line in range(0, LANES, LINE // 4):
        _fetch_line(values, row, first + line)  # type: ignore[call-arg]
