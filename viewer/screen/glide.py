"""The short way to the best placement, shown instead of a jump."""

from __future__ import annotations

from dataclasses import dataclass, replace

from viewer.fit import Placement, wrapped_deg
from viewer.screen.model import Session

GLIDE_S = 0.25


@dataclass(frozen=True)
class Glide:
    """From one session to another that differs in its placement. Times in seconds."""

    start: Session
    end: Session
    start_s: float

    def at(self, now_s: float) -> Session | None:
        """The session to show; None once the end is reached."""
        share = (now_s - self.start_s) / GLIDE_S
        if share >= 1.0:
            return None
        eased = ease(max(0.0, share))
        (x0, y0), (x1, y1) = self.start.placement.center_mm, self.end.placement.center_mm
        turn = self.start.placement.turn_deg
        by_deg = wrapped_deg(self.end.placement.turn_deg - turn)
        placement = Placement(
            (x0 + (x1 - x0) * eased, y0 + (y1 - y0) * eased), wrapped_deg(turn + by_deg * eased)
        )
        return replace(self.end, placement=placement)


def ease(share: float) -> float:
    """Slow at both ends: 0 at 0, 1 at 1."""
    return share * share * (3.0 - 2.0 * share)
