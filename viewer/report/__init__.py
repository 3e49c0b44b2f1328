"""A fit as JSON and as text."""

from __future__ import annotations

from viewer.report.json_report import error_to_dict, fit_to_dict, to_json
from viewer.report.text_report import CAUTION, error_to_text, fit_to_text, printable

__all__ = [
    "CAUTION",
    "error_to_dict",
    "error_to_text",
    "fit_to_dict",
    "fit_to_text",
    "printable",
    "to_json",
]
