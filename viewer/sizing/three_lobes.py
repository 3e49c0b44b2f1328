"""The largest smallest-circle of a shape of which width, height and longest diagonal are known.

Given: width at most W, height at most H, no two points farther apart than D, with
max(W, H) <= D <= root(W W + H H). Wanted: the greatest diameter d that the smallest
circle around such a shape can have.

1. The circle is held by two points (then d <= D) or by three, so only triangles with
   corners in a W x H box and sides <= D need be looked at. The corner of such a triangle
   that lies in a corner of its own box goes to O = (0, 0), by mirroring; the others, P and
   Q, then lie in [0, W] x [0, H].
2. d is a convex function of (P, Q): it is the least over centers of the greatest distance,
   and distances are convex. The allowed (P, Q) form a convex set. So the greatest d is
   taken at an extreme point of it. Circles are strictly convex, so at an extreme point
   either two of |OP|, |OQ|, |PQ| are D, or one is and box edges hold what is left.
3. Write y = root(D D - W W), x = root(D D - H H): how high (wide) the far end of a diagonal
   stands that uses the full width (height).

   a. All three sides D (Jung's case): d = 2 D / root 3. The box has room for it exactly if
      arccos(W/D) + arccos(H/D) <= 30 degrees: at angle t its own box is D cos t by
      D cos(30 - t). Squared: W H - x y >= D D root(3) / 2.
   b. |OP| = |PQ| = D, P = (W, y), Q on the edge of height H. The angle t at P satisfies
      sin(t - a) + sin a <= H/D with a the angle of OP, so t is greatest for the least a,
      which the width sets; Q stays in the box if 2 y <= H. d = D / cos(t/2), that is
      d d = 2 D^4 / (2 D D - W W - H y + W z) with z z = W W - H H + 2 H y.
   c. |OP| = D, P = (W, y), Q = (0, H): where 2 y >= H. With side H to the left and the
      third corner in P, d d = H H + ((D D - H y) / W)^2. P farther in gives less:
      the bracket grows with W as long as |PQ| <= D.
   d. |OP| = |OQ| = D, P = (W, y), Q = (x, H): d d = 2 D^4 / (D D + H y + W x).
   e. |PQ| = D alone, P = (W, p), Q = (q, H). d = D / sin(angle at O), and the angles of OP
      and OQ from the box edges have the sum s <= 30 degrees. Lines of equal s are hyperbolas
      (q + H cot s)(p + W cot s) = W H / (sin s)^2; their radius of curvature, at least
      2 root(2 W H), and at least 0.65 W W / H for W > H, is more than D <= root(W W + H H).
      So s has no inner maximum along the circle |PQ| = D: its ends are cases b and c.

   Cases b and c also with W and H exchanged. The answer is a where there is room for it,
   else the greatest of b or c, of the same exchanged, and of d.
4. Each of these triangles has sides <= D and lies in the box, so the bound is reached: b and
   c fill the box exactly. More room (any of W, H, D greater) never makes it less.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from viewer.sizing.roots import Between, Root, root_of

LobeCase = Literal["jung", "two-full", "box-side", "two-at-corner", "diagonal"]


@dataclass(frozen=True)
class LobeBound:
    """The greatest diameter: it lies from ``down`` to ``up``, the same where it is exact.

    ``case`` says which triangle has it. ``is_exchanged``: width and height change places
    in the formula of the case.
    """

    down: Root
    up: Root
    case: LobeCase
    is_exchanged: bool = False


def widest_lobes(width_mm: Fraction, height_mm: Fraction, diagonal_mm: Fraction) -> LobeBound:
    """The greatest smallest-circle diameter for W, H, D, by the derivation above.

    A diagonal beyond the box's is taken as the box's, a side beyond the diagonal as the
    diagonal. All must be more than zero.
    """
    width, height = min(width_mm, diagonal_mm), min(height_mm, diagonal_mm)
    box_square = width * width + height * height
    if diagonal_mm * diagonal_mm >= box_square:
        return LobeBound(root_of(box_square), root_of(box_square), "diagonal")
    if has_room_for_jung(width, height, diagonal_mm):
        jung = jung_bound(diagonal_mm)
        return LobeBound(jung, jung, "jung")
    found = [
        _one_way(width, height, diagonal_mm, False),
        _one_way(height, width, diagonal_mm, True),
        _at_corner(width, height, diagonal_mm),
    ]
    # Each is a triangle that can be, so the greatest enclosure holds both ways.
    square, case, is_exchanged = max(found, key=lambda item: item[0].high)
    low = max(item[0].low for item in found)
    return LobeBound(root_of(low), root_of(square.high), case, is_exchanged)


def jung_bound(diagonal_mm: Fraction) -> Root:
    """2 D / root 3: no shape of longest diagonal D needs a larger circle (Jung 1901)."""
    return root_of(diagonal_mm * diagonal_mm * 4 / 3)


def has_room_for_jung(width: Fraction, height: Fraction, diagonal: Fraction) -> bool:
    """Whether an equilateral triangle of side D fits the box at some angle; exactly.

    W H - root(q) >= root(3/4) D D, with q = (D D - W W)(D D - H H), squared twice.
    """
    full = diagonal * diagonal
    q = (full - width * width) * (full - height * height)
    rest = width * width * height * height - full * full * 3 / 4 - q
    return rest >= 0 and 3 * full * full * q <= rest * rest


def reach(diagonal: Fraction, side: Fraction) -> Between:
    """root(D D - side side): how far across a diagonal goes that uses all of a side."""
    return Between.root(diagonal * diagonal - side * side)


def is_two_full(width: Fraction, height: Fraction, diagonal: Fraction) -> bool:
    """Whether case b holds (2 y <= H), else c; exactly."""
    return 4 * (diagonal * diagonal - width * width) <= height * height


def two_full_parts(
    width: Fraction, height: Fraction, diagonal: Fraction
) -> tuple[Between, Between, Between]:
    """Case b: z z, then the divisor, then d d."""
    full = diagonal * diagonal
    y = reach(diagonal, width)
    z_square = y.times(2 * height) + (width * width - height * height)
    z = Between.root(z_square)
    below = z.times(width) - y.times(height) + (2 * full - width * width)
    return z_square, below, below.dividing(2 * full * full)


def box_side_parts(
    width: Fraction, height: Fraction, diagonal: Fraction
) -> tuple[Between, Between]:
    """Case c: (D D - H y) / W, then d d."""
    y = reach(diagonal, width)
    part = (y.times(-height) + diagonal * diagonal).times(1 / width)
    return part, part.squared() + height * height


def at_corner_parts(
    width: Fraction, height: Fraction, diagonal: Fraction
) -> tuple[Between, Between]:
    """Case d: the divisor, then d d."""
    full = diagonal * diagonal
    below = reach(diagonal, width).times(height) + reach(diagonal, height).times(width) + full
    return below, below.dividing(2 * full * full)


def _one_way(
    width: Fraction, height: Fraction, diagonal: Fraction, is_exchanged: bool
) -> tuple[Between, LobeCase, bool]:
    if is_two_full(width, height, diagonal):
        return two_full_parts(width, height, diagonal)[2], "two-full", is_exchanged
    return box_side_parts(width, height, diagonal)[1], "box-side", is_exchanged


def _at_corner(
    width: Fraction, height: Fraction, diagonal: Fraction
) -> tuple[Between, LobeCase, bool]:
    return at_corner_parts(width, height, diagonal)[1], "two-at-corner", False
