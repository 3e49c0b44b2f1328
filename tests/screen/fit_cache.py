"""Fits and curves that one test has worked out are taken again by the next.

Both are pure functions of values, and most tests of the window begin with the same ones;
the fit itself is tested in `tests/fit`.
"""

from __future__ import annotations

import pickle
from collections.abc import Callable
from dataclasses import replace
from functools import wraps
from typing import Any

from viewer.artwork.model import Artwork
from viewer.fit import AngleCurve, Fit
from viewer.screen import fitter, model

MOST = 200


def use_cache() -> None:
    """Once for a process: the window's fits go through a cache."""
    fit = _cached(fitter.fit_artwork)
    fitter.fit_artwork = model.fit_artwork = fit  # type: ignore[attr-defined]
    fitter.angle_curve = _cached(fitter.angle_curve)  # type: ignore[attr-defined]


def _cached(work: Callable[..., Any]) -> Callable[..., Any]:
    known: dict[bytes, Fit | AngleCurve] = {}

    @wraps(work)
    def wrapped(
        artwork: Artwork,
        *values: Any,
        cancelled: Callable[[], bool] | None = None,
        **named: Any,
    ) -> Any:
        key = pickle.dumps((artwork, values, sorted(named.items())))
        found = known.get(key)
        if found is None:
            found = work(artwork, *values, cancelled=cancelled, **named)
            if len(known) < MOST:
                known[key] = found
        if isinstance(found, Fit):
            # The window knows by identity whether a fit is that of its artwork.
            return replace(found, artwork=artwork)
        return found

    return wrapped
