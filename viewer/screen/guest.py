"""A part of the window that stands in front of the bench or in the panel for a while."""

from __future__ import annotations

import pygame


class Guest:
    """Takes events before the bench does, and owns fields and things that can be pressed.

    ``name``: the first word in the names of its things in the panel.
    """

    name = ""

    @property
    def fields(self) -> tuple[str, ...]:
        """The fields it shows now; none while it is not there."""
        return ()

    def take(self, event: pygame.event.Event) -> bool:
        """Take an event; False when it is nothing to it."""
        return False

    def field_text(self, field: str) -> str:
        """What stands in a field before anything is typed."""
        return ""

    def field_after(self, field: str, step: int) -> str:
        """The field that Tab goes on to, round and round."""
        fields = self.fields
        return fields[(fields.index(field) + step) % len(fields)] if field in fields else ""

    def choices(self, field: str) -> tuple[str, ...]:
        """What the list of a field offers, each as it would be typed; none without a list."""
        return ()

    def enter(self, field: str, text: str) -> None:
        """What was typed holds now. A BrimcheckError is told at the field."""

    def press(self, what: str) -> None:
        """A thing of it was clicked, or used with the keyboard."""

    def escape(self) -> bool:
        """Leave; False where there was nothing to leave."""
        return False

    def poll(self) -> None:
        """Fetch what threads have brought."""

    def stop(self) -> None:
        """End its threads."""
