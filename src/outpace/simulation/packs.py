"""Sixteen members side by side: the number the compiled kernel counts with.

A pack is some vector registers (two to eight, by machine) with the same quantity of sixteen members: two of the
widest, so that one is worked on while the other waits for its last result. Code that uses
packs reads like the equations of one member and leaves nothing to the compiler's luck in turning loops into vectors.
No lane ever looks at another, so a member's numbers do not depend on its neighbours.

``get(a, i, j)`` reads the pack that stands at ``a[i, j, :]``, ``put(a, i, j, pack)`` writes it, ``add`` adds to it; the
last axis of such an array is `WIDTH` long. ``load(a, row, lo)`` and ``save(a, row, lo, pack)`` do the same at members
``lo`` to ``lo + WIDTH`` of a long row. Indices are not checked.
"""

from __future__ import annotations

import operator
from collections.abc import Callable
from typing import Any, ClassVar

import numba.core.cgutils
import numba.core.imputils
import numba.core.typing.templates
import numba.extending
import numba.types
from llvmlite import ir  # type: ignore[import-untyped]

# The compiler's own parts, which carry no types.
cgutils: Any = numba.core.cgutils
types: Any = numba.types
templates: Any = numba.core.typing.templates
extending: Any = numba.extending
lower_builtin: Any = numba.core.imputils.lower_builtin

WIDTH = 16

Pack = Any
"""Sixteen float64; known to compiled code alone."""


class PackType(types.Type):  # type: ignore[misc]
    """The type of a pack in compiled code."""

    def __init__(self) -> None:
        super().__init__(name="pack")


class MaskType(types.Type):  # type: ignore[misc]
    """The type of sixteen truth values in compiled code."""

    def __init__(self) -> None:
        super().__init__(name="pack_mask")


PACK, MASK, FLOAT = PackType(), MaskType(), types.float64
DOUBLES = ir.VectorType(ir.DoubleType(), WIDTH)
LONGS = ir.VectorType(ir.IntType(64), WIDTH)
SHORTS = ir.VectorType(ir.IntType(32), WIDTH)
TRUTHS = ir.VectorType(ir.IntType(1), WIDTH)
FUSED = ("contract",)  # a product and a sum may become one instruction
COLUMNS = 8
"""Of a table that `rows_at` reads."""
ROW = ir.VectorType(ir.DoubleType(), COLUMNS)
ALIGNED = 8  # bytes: what numpy promises


@extending.register_model(PackType)
class PackModel(extending.models.PrimitiveModel):  # type: ignore[misc]
    """A pack is a vector of doubles."""

    def __init__(self, manager: Any, kind: Any) -> None:
        super().__init__(manager, kind, DOUBLES)


@extending.register_model(MaskType)
class MaskModel(extending.models.PrimitiveModel):  # type: ignore[misc]
    """A mask is a vector of bits."""

    def __init__(self, manager: Any, kind: Any) -> None:
        super().__init__(manager, kind, TRUTHS)


def instruction(function: Callable[..., Any]) -> Callable[..., Any]:
    """Let compiled code call what this function emits."""
    emitted: Callable[..., Any] = extending.intrinsic(function)
    return emitted


def _spread(builder: Any, number: Any) -> Any:
    nothing = ir.Constant(DOUBLES, ir.Undefined)
    first = builder.insert_element(nothing, number, ir.Constant(ir.IntType(32), 0))
    return builder.shuffle_vector(first, nothing, ir.Constant(SHORTS, [0] * WIDTH))


def _all(kind: Any, number: float) -> Any:
    return ir.Constant(kind, [number] * WIDTH)


def _define(operation: Callable[..., Any], result: Any, emit: Callable[[Any, Any, Any], Any]) -> None:
    """Let compiled code use an operator between packs, and between a pack and a number."""
    sides = ((PACK, PACK), (PACK, FLOAT), (FLOAT, PACK))

    @templates.infer_global(operation)
    class Typing(templates.ConcreteTemplate):  # type: ignore[misc]
        cases: ClassVar[list[Any]] = [templates.signature(result, *side) for side in sides]

    for side in sides:

        def lower(_: Any, builder: Any, sig: Any, args: Any) -> Any:
            both = [
                a if kind == PACK else _spread(builder, a) for a, kind in zip(args, sig.args, strict=True)
            ]
            return emit(builder, *both)

        lower_builtin(operation, *side)(lower)


for _names, _emit in {
    ("add", "iadd"): lambda b, x, y: b.fadd(x, y, flags=FUSED),
    ("sub", "isub"): lambda b, x, y: b.fsub(x, y, flags=FUSED),
    ("mul", "imul"): lambda b, x, y: b.fmul(x, y, flags=FUSED),
    ("truediv", "itruediv"): lambda b, x, y: b.fdiv(x, y),
}.items():
    for _name in _names:
        _define(getattr(operator, _name), PACK, _emit)


def _compare(sign: str) -> Callable[[Any, Any, Any], Any]:
    return lambda builder, x, y: builder.fcmp_ordered(sign, x, y)


for _name, _sign in {"lt": "<", "le": "<=", "gt": ">", "ge": ">="}.items():
    _define(getattr(operator, _name), MASK, _compare(_sign))


def _place(context: Any, builder: Any, array_type: Any, array: Any, index_types: Any, indices: Any) -> Any:
    """Return the pointer to the pack at these indices of an array in C order.

    One index for each axis, or for each but the last: then the last axis is one pack long.
    """
    view = context.make_array(array_type)(context, builder, array)
    shape = cgutils.unpack_tuple(builder, view.shape, array_type.ndim)
    flat = ir.Constant(ir.IntType(64), 0)
    for size, index, kind in zip(shape, indices, index_types, strict=False):
        flat = builder.add(builder.mul(flat, size), context.cast(builder, index, kind, types.intp))
    if len(indices) < array_type.ndim:
        flat = builder.mul(flat, ir.Constant(flat.type, WIDTH))
    return builder.bitcast(builder.gep(view.data, [flat]), DOUBLES.as_pointer())


def _reader(spared: int) -> Callable[[Any, Any, Any], Any]:
    def read(_: Any, array: Any, index: Any) -> Any:
        if array.layout != "C" or array.dtype != FLOAT or len(index) != array.ndim - spared:
            return None

        def codegen(context: Any, builder: Any, sig: Any, args: Any) -> Any:
            indices = cgutils.unpack_tuple(builder, args[1], len(index))
            at = _place(context, builder, sig.args[0], args[0], list(index), indices)
            return builder.load(at, align=ALIGNED)

        return PACK(array, types.Tuple(index)), codegen

    return read


def _writer(spared: int, adding: bool) -> Callable[[Any, Any, Any], Any]:
    def write(_: Any, array: Any, rest: Any) -> Any:
        *index, value = rest
        if array.layout != "C" or array.dtype != FLOAT or len(index) != array.ndim - spared:
            return None
        if value != PACK:
            return None

        def codegen(context: Any, builder: Any, sig: Any, args: Any) -> Any:
            *indices, new = cgutils.unpack_tuple(builder, args[1], len(rest))
            at = _place(context, builder, sig.args[0], args[0], index, indices)
            if adding:
                new = builder.fadd(builder.load(at, align=ALIGNED), new, flags=FUSED)
            builder.store(new, at, align=ALIGNED)
            return context.get_dummy_value()

        return types.void(array, types.Tuple(rest)), codegen

    return write


@instruction
def get(context: Any, array: Any, *index: Any) -> Any:
    """Return the pack at ``array[index]``."""
    return _reader(1)(context, array, index)


@instruction
def put(context: Any, array: Any, *index_and_pack: Any) -> Any:
    """Write a pack to ``array[index]``."""
    return _writer(1, False)(context, array, index_and_pack)


@instruction
def add(context: Any, array: Any, *index_and_pack: Any) -> Any:
    """Add a pack to ``array[index]``."""
    return _writer(1, True)(context, array, index_and_pack)


@instruction
def load(context: Any, array: Any, *index: Any) -> Any:
    """Return members ``lo`` to ``lo + WIDTH``; ``lo`` is the last index."""
    return _reader(0)(context, array, index)


@instruction
def save(context: Any, array: Any, *index_and_pack: Any) -> Any:
    """Write members ``lo`` to ``lo + WIDTH``; ``lo`` is the last index."""
    return _writer(0, False)(context, array, index_and_pack)


@instruction
def spread(_: Any, number: Any) -> Any:
    """Return a pack with the same number for all."""

    def codegen(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        return _spread(builder, args[0])

    return PACK(FLOAT), codegen


@instruction
def least(_: Any, a: Any, b: Any) -> Any:
    """Return the lesser of two packs, member by member."""

    def codegen(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        return builder.select(builder.fcmp_ordered("<", *args), *args)

    return PACK(PACK, PACK), codegen


@instruction
def most(_: Any, a: Any, b: Any) -> Any:
    """Return the greater of two packs, member by member."""

    def codegen(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        return builder.select(builder.fcmp_ordered(">", *args), *args)

    return PACK(PACK, PACK), codegen


@instruction
def select(_: Any, mask: Any, a: Any, b: Any) -> Any:
    """Return ``a`` where the mask is true, else ``b``."""

    def codegen(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        return builder.select(*args)

    return PACK(MASK, PACK, PACK), codegen


@instruction
def any_of(_: Any, mask: Any) -> Any:
    """Return whether the mask is true for any member."""

    def codegen(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        bits = builder.bitcast(args[0], ir.IntType(WIDTH))
        return builder.icmp_unsigned("!=", bits, ir.Constant(bits.type, 0))

    return types.boolean(MASK), codegen


@instruction
def root(_: Any, pack: Any) -> Any:
    """Return the square root."""

    def codegen(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        kind = ir.FunctionType(DOUBLES, [DOUBLES])
        function = cgutils.get_or_insert_function(builder.module, kind, f"llvm.sqrt.v{WIDTH}f64")
        return builder.call(function, args)

    return PACK(PACK), codegen


@instruction
def whole_part(_: Any, pack: Any) -> Any:
    """Return the whole part of numbers between -2**31 and 2**31, towards nil."""

    def codegen(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        return builder.sitofp(builder.fptosi(args[0], SHORTS), DOUBLES)

    return PACK(PACK), codegen


@instruction
def times_power_of_two(_: Any, pack: Any, shifted: Any) -> Any:
    """Return pack × 2ⁿ for whole n, which stands in the lowest bits of ``shifted`` = n + 1.5 × 2⁵²."""

    def codegen(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        exponent = builder.shl(builder.bitcast(args[1], LONGS), _all(LONGS, 52))
        return builder.bitcast(builder.add(builder.bitcast(args[0], LONGS), exponent), DOUBLES)

    return PACK(PACK, PACK), codegen


@instruction
def exponent_and_fraction(_: Any, pack: Any) -> Any:
    """Return n and f of x = f × 2ⁿ with f from √½ to √2, for x above the least normal number."""

    def codegen(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        low = 0x3FE6A09E667F3BCD  # the bits of √½
        bits = builder.sub(builder.bitcast(args[0], LONGS), _all(LONGS, low))
        exponent = builder.ashr(bits, _all(LONGS, 52))
        fraction = builder.bitcast(
            builder.add(builder.and_(bits, _all(LONGS, (1 << 52) - 1)), _all(LONGS, low)), DOUBLES
        )
        # 64-bit whole numbers become doubles on any machine through the bits of a large one.
        large = builder.bitcast(_all(DOUBLES, 1.5 * 2.0**52), LONGS)
        number = builder.fsub(
            builder.bitcast(builder.add(exponent, large), DOUBLES), _all(DOUBLES, 1.5 * 2.0**52)
        )
        return context.make_tuple(builder, sig.return_type, (number, fraction))

    return types.UniTuple(PACK, 2)(PACK), codegen


@instruction
def rows_at(_: Any, table: Any, place: Any) -> Any:
    """Return the eight columns of a table, each member at its own row: the whole part of ``place``."""
    if table.layout != "C" or table.dtype != FLOAT or table.ndim != 2:
        return None

    def codegen(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        data = context.make_array(sig.args[0])(context, builder, args[0]).data
        cells = builder.fptosi(args[1], SHORTS)
        columns: list[Any] = []
        for first in range(0, WIDTH, COLUMNS):
            rows = []
            for lane in range(first, first + COLUMNS):
                cell = builder.extract_element(cells, ir.Constant(ir.IntType(32), lane))
                start = builder.mul(builder.zext(cell, ir.IntType(64)), ir.Constant(ir.IntType(64), COLUMNS))
                at = builder.bitcast(builder.gep(data, [start]), ROW.as_pointer())
                rows.append(builder.load(at, align=ALIGNED))
            turned = _turn(builder, rows)
            columns = (
                [_join(builder, *both) for both in zip(columns, turned, strict=True)] if columns else turned
            )
        return context.make_tuple(builder, sig.return_type, columns)

    return types.UniTuple(PACK, COLUMNS)(table, PACK), codegen


def _turn(builder: Any, rows: list[Any]) -> list[Any]:
    """Turn eight rows into eight columns by three rounds of exchanging halves, quarters and neighbours."""
    for distance in (4, 2, 1):
        turned: list[Any] = [None] * COLUMNS
        for i in range(COLUMNS):
            if i & distance:
                continue
            low = [k if not k & distance else k - distance + COLUMNS for k in range(COLUMNS)]
            high = [k + distance if not k & distance else k + COLUMNS for k in range(COLUMNS)]
            for place, choice in ((i, low), (i | distance, high)):
                turned[place] = builder.shuffle_vector(
                    rows[i], rows[i | distance], ir.Constant(ir.VectorType(ir.IntType(32), COLUMNS), choice)
                )
        rows = turned
    return rows


def _join(builder: Any, first: Any, second: Any) -> Any:
    """Return two vectors of one length as one."""
    both = 2 * first.type.count
    return builder.shuffle_vector(
        first, second, ir.Constant(ir.VectorType(ir.IntType(32), both), list(range(both)))
    )
