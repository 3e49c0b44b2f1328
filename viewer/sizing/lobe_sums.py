"""The sum for width, height and longest diagonal, step by step (see ``three_lobes``)."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from viewer.sizing.roots import Between, Root, decimal_up, plain, root_of
from viewer.sizing.three_lobes import (
    LobeBound,
    at_corner_parts,
    box_side_parts,
    two_full_parts,
    widest_lobes,
)


def lobe_lines(width_mm: Fraction, height_mm: Fraction, diagonal_mm: Fraction) -> Iterator[str]:
    """How the largest circle comes about. Steps are rounded for reading, the end is rounded up."""
    bound = widest_lobes(width_mm, height_mm, diagonal_mm)
    w, h, d = min(width_mm, diagonal_mm), min(height_mm, diagonal_mm), diagonal_mm
    yield f"{_squared(w)}; {_squared(h)}; {_squared(d)}"
    if bound.case == "diagonal":
        yield "the longest diagonal is the box's own: no circle need be larger"
    elif bound.case == "jung":
        yield "the box has room for three equal sides of the longest diagonal"
        yield f"{plain(d * d)} x 4 / 3 = {plain(d * d * 4 / 3)}"
    else:
        yield "the widest three points that box and diagonal leave room for:"
        yield from _three_points(bound, *((h, w) if bound.is_exchanged else (w, h)), d)
    yield _end(bound.up)


def _three_points(bound: LobeBound, a: Fraction, b: Fraction, d: Fraction) -> Iterator[str]:
    """Side ``a`` is the one that a diagonal uses in full; ``b`` the other."""
    full = d * d
    y = _read(Between.root(full - a * a))
    yield f"y: root of {plain(full)} - {plain(a * a)} = root of {plain(full - a * a)} = {y}"
    if bound.case == "box-side":
        part, square = box_side_parts(a, b, d)
        yield f"({plain(full)} - {plain(b)} x y) / {plain(a)} = {_read(part)}"
        yield f"that squared + {plain(b * b)} = {_read(square)}"
        return
    if bound.case == "two-full":
        z_square, below, square = two_full_parts(a, b, d)
        z = _read(Between.root(z_square))
        yield f"z: root of {plain(a * a)} - {plain(b * b)} + 2 x {plain(b)} x y = {z}"
        yield (
            f"2 x {plain(full)} - {plain(a * a)} - {plain(b)} x y + {plain(a)} x z = {_read(below)}"
        )
    else:
        below, square = at_corner_parts(a, b, d)
        x = _read(Between.root(full - b * b))
        yield f"x: root of {plain(full)} - {plain(b * b)} = {x}"
        yield f"{plain(full)} + {plain(b)} x y + {plain(a)} x x = {_read(below)}"
    yield f"2 x {plain(full)} x {plain(full)} divided by that = {_read(square)}"


def _end(high: Root) -> str:
    square = high.square or high.whole * high.whole
    root = root_of(square)
    if root.is_fraction:
        return f"root of {plain(square)} = {plain(root.whole)}, exactly"
    return f"root of {_read(Between.of(square))} = {decimal_up(root.up())}, rounded up"


def _read(value: Between) -> str:
    """Four decimals at most, rounded up."""
    return plain(value.high, decimals=4)


def _squared(length: Fraction) -> str:
    return f"{plain(length)} x {plain(length)} = {plain(length * length)}"
