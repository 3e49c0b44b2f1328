"""The sign-off: artwork, ring and verdict over the whole window, and who decides what."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from viewer.screen.guest import Guest

if TYPE_CHECKING:
    from viewer.screen.desk import Desk


@dataclass(frozen=True)
class SigningShown:
    """What a frame shows of it."""


class Signing(Guest):
    """The sign-off of one desk."""

    def __init__(self, desk: Desk, wake: Callable[[], None]) -> None:
        self._desk = desk
        self._wake = wake
        self.shown: SigningShown | None = None

    def begin(self) -> None:
        """Ask for a decision on what is shown."""
