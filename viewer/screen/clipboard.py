"""What was copied elsewhere."""

from __future__ import annotations

import pygame


def clipboard_text() -> str:
    """The first line of what was copied, as far as this system tells."""
    try:
        if not pygame.scrap.get_init():
            pygame.scrap.init()
        found = pygame.scrap.get(pygame.SCRAP_TEXT)
    except (pygame.error, NotImplementedError, AttributeError):
        return ""
    if not found:
        return ""
    text = found.decode("utf-8", "replace") if isinstance(found, bytes) else str(found)
    text = text.replace("\0", "").strip()
    return text.splitlines()[0] if text else ""
