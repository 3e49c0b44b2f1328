"""The machine-readable result: unrounded, millimetres and degrees, page frame."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from typing import Any

from viewer.artwork.model import Artwork
from viewer.errors import BrimcheckError
from viewer.fit import CupFit, Fit, angle_curve
from viewer.press import Cup, PressLimits

SCHEMA = 1


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
        "image_area": _image_area(fit),
        "setup_tolerance_mm": fit.setup_tolerance_mm,
        "cups": [_cup(fit, cup_fit, with_curve) for cup_fit in fit.cups],
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
        "left_out": [
            {"point_mm": list(p.point_mm), "box_mm": list(p.box_mm), "area_mm2": p.area_mm2}
            for p in artwork.left_out
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


def _cup(fit: Fit, cup_fit: CupFit, with_curve: bool) -> dict[str, Any]:
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
        "largest_scale_turn_deg": cup_fit.largest_scale_turn_deg,
        "largest_scale_unturned": cup_fit.largest_scale_unturned,
        "unturned_clearance_mm": cup_fit.unturned_clearance_mm,
        "turn_helps": cup_fit.turn_helps,
        "best": {
            "center_mm": list(best.center_mm),
            "turn_deg": best.turn_deg,
            "clearance_mm": best.clearance_mm,
            "gap_mm": best.gap_mm,
            "settable": {
                "center_mm": list(best.settable.center_mm),
                "turn_deg": best.settable.turn_deg,
                "clearance_mm": best.settable.clearance_mm,
            },
        },
        "limits": [
            {"point_mm": list(limit.point_mm), "part": limit.part} for limit in cup_fit.limits
        ],
        "causes": list(cup_fit.causes),
        "advice": list(cup_fit.advice),
    }
    if with_curve:
        found.update(_curve(fit.artwork, cup, fit.limits))
    return found


def _curve(artwork: Artwork, cup: Cup, limits: PressLimits) -> dict[str, Any]:
    """Best clearance over the angle, allowed or not; and the allowed angles that surely fit.

    Angles in (-180, 180], ascending. A stretch may be a single angle, twice.
    """
    curve = angle_curve(artwork, cup, limits=limits)
    rows = zip(curve.turns_deg.tolist(), curve.clearances_mm.tolist(), strict=True)
    return {
        "curve": [list(row) for row in rows],
        "curve_gap_mm": curve.gap_mm,
        "fits_at_deg": [list(stretch) for stretch in curve.fitting_deg],
    }


def _image_area(fit: Fit) -> dict[str, Any]:
    """What the ink must lie in besides each cup, and what may be shifted and turned."""
    limits = fit.limits
    pad, etch = limits.pad, limits.etch
    found: dict[str, Any] = {"parts": ["cup"], "pad": None, "etch": None}
    if pad is not None:
        found["parts"].append("pad")
        found["pad"] = {
            "name": pad.name,
            "shape": pad.shape,
            "size_mm": [pad.width_mm, pad.height_mm],
            "corner_radius_mm": pad.corner_radius_mm,
            "offset_mm": list(pad.offset_mm),
            "turn_deg": pad.turn_deg,
            "margin_mm": pad.margin_mm,
        }
    if etch is not None:
        found["parts"].append("etch")
        found["etch"] = {
            "size_mm": [etch.width_mm, etch.height_mm],
            "offset_mm": list(etch.offset_mm),
            "margin_mm": etch.margin_mm,
        }
    found["position"] = {
        "hold": limits.hold.kind,
        "limit_mm": limits.hold.limit_mm,
        "datum": limits.datum.kind,
    }
    angles = limits.angles
    value_deg = angles.value_deg if angles.kind in ("within", "step") else None
    found["angle"] = {"allowed": angles.kind, "value_deg": value_deg}
    found["datum_mm"] = list(fit.datum_mm)
    return found


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
