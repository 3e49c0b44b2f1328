"""The machine-readable result: unrounded, millimetres and degrees, page frame."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from typing import Any

from viewer.errors import BrimcheckError
from viewer.fit import CupFit, Fit

SCHEMA = 1
CURVE_STEP_DEG = 0.5


def fit_to_dict(fit: Fit, *, with_curve: bool = False) -> dict[str, Any]:
    """One file's result as plain values. A number that is not finite becomes null."""
    artwork = fit.artwork
    document = {
        "schema": SCHEMA,
        "file": artwork.path,
        "sha256": artwork.sha256,
        "artwork": _artwork(fit),
        "warnings": [
            {"code": w.code, "message": w.message, "blocks_fits": w.blocks_fits}
            for w in fit.warnings
        ],
        "image_area": {"parts": ["cup"], "position": "free", "angle": "any"},
        "setup_tolerance_mm": fit.setup_tolerance_mm,
        "cups": [_cup(cup_fit, with_curve) for cup_fit in fit.cups],
        "smallest_cup": None if fit.smallest_cup is None else fit.smallest_cup.name,
    }
    cleaned = _finite(document)
    assert isinstance(cleaned, dict)
    return cleaned


def error_to_dict(path: str, error: BrimcheckError) -> dict[str, Any]:
    """What stands in the place of a file that could not be read."""
    return {"file": path, "error": {"code": error.code, "message": error.message}}


def to_json(document: dict[str, Any] | Sequence[dict[str, Any]]) -> str:
    """Text of one result or of several. Never holds NaN or Infinity."""
    return json.dumps(document, indent=2, allow_nan=False)


def _artwork(fit: Fit) -> dict[str, Any]:
    artwork = fit.artwork
    bounds = fit.ink_bounds
    diagonal = fit.longest_diagonal
    circle = fit.smallest_circle
    return {
        "format": artwork.format,
        "page": artwork.page,
        "pages": artwork.pages,
        "page_mm": list(artwork.page_mm),
        "scale_source": artwork.scale_source,
        "scale": artwork.options.scale,
        "paper": artwork.paper,
        "ink_bounds_mm": [bounds.x0, bounds.y0, bounds.x1, bounds.y1],
        "width_mm": fit.width_mm,
        "height_mm": fit.height_mm,
        "ink_area_mm2": artwork.ink_area_mm2,
        "longest_diagonal": {
            "length_mm": diagonal.length,
            "from_mm": list(diagonal.start),
            "to_mm": list(diagonal.end),
        },
        "smallest_circle": {
            "center_mm": list(circle.center),
            "diameter_mm": circle.diameter,
            "contacts_mm": _points(circle.support),
        },
        "uncertainty_mm": artwork.outline.uncertainty_mm,
        "hull_mm": _points(artwork.outline.hull_mm),
        "specks": [
            {"center_mm": list(s.center_mm), "size_mm": s.size_mm, "ignored": s.ignored}
            for s in artwork.specks
        ],
        "readings": [
            {
                "code": reading.code,
                "label": reading.label,
                "uncertainty_mm": reading.outline.uncertainty_mm,
                "hull_mm": _points(reading.outline.hull_mm),
            }
            for reading in artwork.alternatives
        ],
    }


def _cup(cup_fit: CupFit, with_curve: bool) -> dict[str, Any]:
    cup = cup_fit.cup
    best = cup_fit.best
    found: dict[str, Any] = {
        "name": cup.name,
        "diameter_mm": cup.diameter_mm,
        "named_by": cup.named_by,
        "ring_width_mm": cup.ring_width_mm,
        "margin": {
            "value": cup.margin.value,
            "of": "named diameter" if cup.margin.is_fraction else "mm each side",
        },
        "ring_inner_diameter_mm": cup.ring_inner_diameter_mm,
        "max_image_diameter_mm": cup.max_image_diameter_mm,
        "verdict": cup_fit.verdict.value,
        "tight": cup_fit.tight,
        "clearance_mm": cup_fit.clearance_mm,
        "hard_clearance_mm": cup_fit.hard_clearance_mm,
        "largest_scale": cup_fit.largest_scale,
        "best": {
            "center_mm": list(best.center_mm),
            "turn_deg": best.turn_deg,
            "clearance_mm": best.clearance_mm,
            "gap_mm": best.gap_mm,
        },
        "limits": [
            {"point_mm": list(limit.point_mm), "part": limit.part} for limit in cup_fit.limits
        ],
        "causes": list(cup_fit.causes),
        "advice": list(cup_fit.advice),
    }
    if with_curve:
        found["curve"] = flat_curve(cup_fit.clearance_mm)
    return found


def flat_curve(clearance_mm: float) -> list[list[float]]:
    """Best clearance over the angle, for a round cup alone: the same everywhere.

    Angles in (-180, 180], ascending.
    """
    steps = round(360.0 / CURVE_STEP_DEG)
    return [[-180.0 + CURVE_STEP_DEG * step, clearance_mm] for step in range(1, steps + 1)]


def _points(points: Iterable[Iterable[float]]) -> list[list[float]]:
    return [[float(value) for value in point] for point in points]


def _finite(value: Any) -> Any:
    """The same value with every number that JSON cannot hold replaced by None."""
    if isinstance(value, dict):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_finite(item) for item in value]
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None
    return value
