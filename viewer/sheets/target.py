"""Where a sheet may be written, found out before anything is measured or drawn."""

from __future__ import annotations

import os
from collections.abc import Iterable

from viewer.errors import UsageError


def refuse_bad_pdf_target(
    target: str, others: Iterable[tuple[str | None, str]], option: str = "-o "
) -> None:
    """UsageError for a name that is no PDF, a folder, out of reach, or one of ``others``.

    ``option``: what stands before the name in the message.
    """
    if not target.lower().endswith(".pdf"):
        raise UsageError(f"{option}{target!r}: a sheet is a PDF; give a name that ends in .pdf")
    if os.path.isdir(target):
        raise UsageError(f"{option}{target}: is a folder; give the name of a file")
    for other, what in others:
        if other is None or not os.path.exists(other) or not os.path.exists(target):
            continue
        if os.path.samefile(target, other):
            raise UsageError(f"{option}{target}: that is {what} itself; give another name")
    folder = os.path.dirname(os.path.abspath(target))
    if not os.path.isdir(folder):
        raise UsageError(f"{option}{target}: there is no folder {folder}; make it first")
    is_there = os.path.exists(target)
    if not os.access(folder, os.W_OK | os.X_OK) or (is_there and not os.access(target, os.W_OK)):
        raise UsageError(f"{option}{target}: may not be written; give another name")
