"""Sizing by numbers alone: fields in the panel, the sum on the bench."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from viewer.screen.guest import Guest

if TYPE_CHECKING:
    from viewer.screen.desk import Desk


@dataclass(frozen=True)
class NumbersShown:
    """What a frame shows of it."""


class Numbers(Guest):
    """The numbers of one desk."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self.shown: NumbersShown | None = None

    def toggle(self) -> None:
        """Show the card in place of the artwork's, or no longer."""
