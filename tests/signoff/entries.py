"""Sign-offs of the boat club's mugs and floats."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from tests.fit.artworks import artwork, box
from viewer.fit import Placement, Verdict
from viewer.press import Cup, PressLimits
from viewer.signoff import Decision, Entry, Stage, settings_of

START = datetime(2031, 5, 6, 7, 8, 9, 123456, tzinfo=UTC)


def ticking(start: datetime = START, step_s: float = 60.0) -> Callable[[], datetime]:
    """A clock that goes on by a step whenever somebody looks."""
    looks = iter(range(10_000_000))
    return lambda: start + timedelta(seconds=step_s) * next(looks)


def sha(text: str) -> str:
    """The hash of a made-up content."""
    return hashlib.sha256(text.encode()).hexdigest()


def settings(cup: Cup | None = None, limits: PressLimits | None = None) -> str:
    """Settings of a whistle, 20 x 30 mm, in the middle of a cup."""
    return settings_of(
        artwork(box(20, 30), 0.01),
        cup or Cup("90", 90.0),
        limits or PressLimits(),
        Placement((10.0, 15.0)),
    )


def entry(content: str = "whistle", **more: Any) -> Entry:
    """An approval that fits, unless told otherwise."""
    plain = Entry(
        sha256=sha(content),
        file_name=f"{content}.svg",
        settings=settings(),
        cup="90",
        verdict=Verdict.FITS,
        clearance_mm=20.25,
        decision=Decision.APPROVE,
        by="Printer at bench two",
        stage=Stage.PLATE,
        tool_version="1.2.3",
    )
    return replace(plain, **more)


def rejection(content: str = "whistle", **more: Any) -> Entry:
    """A rejection of it."""
    return entry(content, decision=Decision.REJECT, **more)
