"""What commands may do to the window, part by part."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from viewer.screen.look import LookActions
from viewer.screen.model import Session
from viewer.screen.tools import ArtistActions


class Actions(Protocol):
    """What a command may do to the window."""

    @property
    def looks(self) -> LookActions:
        """Theme, sizes, focus."""

    @property
    def artist(self) -> ArtistActions:
        """Measuring, pieces, ways out, snapping."""

    def change(self, change: Callable[[Session], Session]) -> None:
        """Change the session, so that it can be undone."""

    def go_to_best(self) -> None:
        """Put the cup where its clearance is best."""

    def choose_next(self, step: int) -> None:
        """Choose another cup, counted from the present one."""

    def undo(self) -> None:
        """Take the last change back."""

    def redo(self) -> None:
        """Do it again."""

    def answer(self, number: int) -> None:
        """Read the file again with what a warning's button says, counted from 1."""

    def toggle_warnings(self) -> None:
        """Show all words of the warnings, or one line each."""

    def zoom(self, factor: float) -> None:
        """Magnify about the view's middle."""

    def fit_window(self) -> None:
        """Show the whole page and cup."""

    def toggle_help(self) -> None:
        """Show or hide the keys."""

    def ask_for_path(self) -> None:
        """Ask for the file to open."""

    @property
    def filing(self) -> FileActions:
        """Files and jobs."""

    def edit_field(self, name: str) -> None:
        """Give a field the keyboard."""

    def escape(self) -> None:
        """Leave what is open, or cancel the reading of a file."""

    @property
    def signing(self) -> SigningActions:
        """The sign-off."""

    @property
    def numbers(self) -> NumbersActions:
        """Sizing by numbers alone."""

    def show_lessons(self) -> None:
        """Go over to the lessons."""

    def quit(self) -> None:
        """Close the window."""


class SigningActions(Protocol):
    """What a command may do with the sign-off."""

    def begin(self) -> None:
        """Ask for a decision on what is shown."""

    def ask_for_sheet(self) -> None:
        """Ask where the fit sheet of what is shown goes."""


class NumbersActions(Protocol):
    """What a command may do with numbers alone."""

    def toggle(self) -> None:
        """Show them in place of the artwork's cards, or no longer."""


class FileActions(Protocol):
    """What a command may do with files and jobs."""

    def save(self) -> None:
        """Save the job."""

    def save_as(self) -> None:
        """Save the job under another name."""

    def ask_for_notes(self) -> None:
        """Ask for notes on the job."""

    def next_file(self, step: int) -> None:
        """The next file, or the one before."""

    def next_page(self, step: int) -> None:
        """The next page, or the one before."""

    def read_again(self) -> None:
        """Read the file as it is on disk now."""
