"""The one family of errors that a person is meant to read.

Every message is a single line that says what is wrong, where, and what to do.
The shell maps any of them to exit code 2; nothing else may reach the user.
"""

from __future__ import annotations

from collections.abc import Callable


class BrimcheckError(Exception):
    """Base of all expected failures. ``code`` is stable and machine-readable."""

    code = "error"

    def __init__(self, message: str, *, code: str | None = None) -> None:
        super().__init__(" ".join(message.split()))
        if code is not None:
            self.code = code

    @property
    def message(self) -> str:
        """The single line shown to a person."""
        return str(self.args[0])


class UsageError(BrimcheckError):
    """The call itself is wrong: an option, a number, a contradiction."""

    code = "usage"


class ArtworkError(BrimcheckError):
    """A file cannot be read, or cannot be measured."""

    code = "unreadable"


class SizeUnknownError(ArtworkError):
    """The file holds no physical size and none was given."""

    code = "size-unknown"


class RenderError(ArtworkError):
    """A renderer died, hung, ran out of memory or refused the drawing."""

    code = "render-failed"


class Cancelled(BrimcheckError):
    """The person stopped a long piece of work."""

    code = "cancelled"


def stop_if(cancelled: Callable[[], bool] | None, what: str = "the search") -> None:
    """Raise Cancelled where the person has asked to stop; nobody can where None is given."""
    if cancelled is not None and cancelled():
        raise Cancelled(f"{what} was cancelled")
