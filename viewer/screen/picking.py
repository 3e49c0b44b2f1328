"""What choosing pieces and paper means for reading the file: options, no drawing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from viewer.artwork.model import LoadOptions
from viewer.screen.tools import PieceLike

if TYPE_CHECKING:
    from viewer.screen.desk import Desk

_WHITES = (None, "ink", "paper")


def read_with(desk: Desk, change: Callable[[LoadOptions], LoadOptions]) -> None:
    """Read the file again with other options, so that it can be undone."""
    desk.read_again_with(change)


def next_white(options: LoadOptions) -> LoadOptions:
    """White as found, then as ink, then as paper."""
    return replace(options, white=_WHITES[(_WHITES.index(options.white) + 1) % len(_WHITES)])


def all_in(options: LoadOptions) -> LoadOptions:
    """Nothing left out."""
    return replace(options, leave_out=())


def switched(options: LoadOptions, piece: PieceLike) -> LoadOptions:
    """The options with a piece left out, or taken in again."""
    if not piece.left_out:
        if piece.leave_out_mm in options.leave_out:
            return options  # being read again with it already
        return replace(options, leave_out=(*options.leave_out, piece.leave_out_mm))
    kept = tuple(point for point in options.leave_out if point not in piece.named_by)
    return replace(options, leave_out=kept)


def refusal(piece: PieceLike, pieces: tuple[PieceLike, ...]) -> str:
    """Why a piece cannot be left out; empty where it can."""
    if not piece.left_out and sum(not p.left_out for p in pieces) <= 1:
        return "this is the last piece: without it there is nothing to measure"
    return ""
