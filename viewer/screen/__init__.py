"""The window. The only package that imports pygame."""

from __future__ import annotations

import os

# pygame greets on standard output, which belongs to what the user asked for.
os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
