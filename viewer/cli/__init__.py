"""The command line: its options, and the shell that runs a call."""

from __future__ import annotations

from viewer.cli.shell import main

__all__ = ["main"]
