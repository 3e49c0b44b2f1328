"""A sheet with one placed picture: how its paper is known when it is read back.

A photograph or scan on white paper, embedded in a vector sheet, has no paper color that
could be found at the sheet's border, and the noise of its compression would all be ink.
So the sheet carries the ink rule that the picture was measured by. That is believed only
of a sheet that is, byte by byte, what this program writes for the very picture that the
rule was found for (its SHA-256 is part of the rule): a sheet to which anything was added
is read like any other drawing.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass

from viewer.artwork.formats.placed_marks import matrix_numbers, number
from viewer.artwork.model import ArtworkWarning, InkRule

_HEAD = re.compile(
    r'<svg xmlns="http://www\.w3\.org/2000/svg" xmlns:xlink="http://www\.w3\.org/1999/xlink"'
    r' width="([\d.]+)mm" height="([\d.]+)mm" viewBox="0 0 [\d.]+ [\d.]+"'
    r" data-brimcheck-picture='([^'<&]{1,600})'>\n"
    r"<title>([^<>]*)</title>\n"
)
_IMAGE = re.compile(
    r'<image width="([\d.]+)" height="([\d.]+)" preserveAspectRatio="none"'
    r' transform="matrix\(([-\d. ]+)\)"\n'
    r'xlink:href="data:(image/png|image/jpeg);base64,([A-Za-z0-9+/=]+)"/>\n'
)


@dataclass(frozen=True)
class PictureRule:
    """How a placed picture was measured before it was placed.

    ``uncertainty_mm`` is the least that must be reckoned with again. ``doubts`` are the
    codes of what stood against a plain "fits" then. ``sha256`` is of the embedded bytes.
    """

    rule: InkRule
    uncertainty_mm: float
    doubts: tuple[str, ...]
    sha256: str

    def text(self) -> str:
        """One line of JSON, without what XML would have to escape."""
        paper = self.rule.paper_rgb
        return json.dumps(
            {
                "paper": None if paper is None else list(paper),
                "tolerance": self.rule.tolerance,
                "white": self.rule.white_is_ink,
                "uncertainty_mm": round(self.uncertainty_mm, 6),
                "doubts": list(self.doubts),
                "sha256": self.sha256,
            }
        )

    def warnings(self) -> tuple[ArtworkWarning, ...]:
        """What a person must know again when the sheet is read."""
        return doubt_warnings(self.doubts)


def doubt_warnings(codes: Iterable[str]) -> tuple[ArtworkWarning, ...]:
    """That what is on a sheet was in doubt when it was placed; nothing for no codes."""
    named = ", ".join(codes)
    if not named:
        return ()
    text = (
        f"the artwork on this sheet was in doubt before it was placed ({named}): "
        "settle that in the artwork itself, then place it again"
    )
    return (ArtworkWarning("placed-in-doubt", text, True),)


def parse_picture_rule(text: str) -> PictureRule | None:
    """The rule of ``text()``; None when it is anything else."""
    try:
        data = json.loads(text)
        paper = data["paper"]
        rgb = None if paper is None else (int(paper[0]), int(paper[1]), int(paper[2]))
        rule = PictureRule(
            InkRule(rgb, int(data["tolerance"]), bool(data["white"])),
            float(data["uncertainty_mm"]),
            tuple(str(code) for code in data["doubts"]),
            str(data["sha256"]),
        )
    except (ValueError, TypeError, KeyError, IndexError):
        return None
    sound = 0 <= rule.rule.tolerance <= 255 and math.isfinite(rule.uncertainty_mm)
    return rule if sound and rule.uncertainty_mm >= 0 and rule.text() == text else None


@dataclass(frozen=True)
class PictureSheet:
    """All that a sheet with one picture holds besides the marks. Lengths in mm.

    ``matrix`` maps mm of the stored picture (corner at 0, 0) to mm of the page.
    """

    page_mm: tuple[float, float]
    title: str
    size_mm: tuple[float, float]
    matrix: tuple[float, float, float, float, float, float]
    mime: str
    data: bytes
    rule: PictureRule


def picture_svg(sheet: PictureSheet, marks: str) -> str:
    """The whole file; ``marks`` is the text of the layer of marks, or empty."""
    width, height = (number(v) for v in sheet.page_mm)
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
        f' width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}"'
        f" data-brimcheck-picture='{sheet.rule.text()}'>\n"
        f"<title>{sheet.title}</title>\n"
        f"{CREATOR_SVG}"
        f'<image width="{number(sheet.size_mm[0], 6)}" height="{number(sheet.size_mm[1], 6)}"'
        f' preserveAspectRatio="none" transform="matrix({matrix_numbers(sheet.matrix)})"\n'
        f'xlink:href="data:{sheet.mime};base64,{base64.b64encode(sheet.data).decode()}"/>\n'
        f"{marks}</svg>\n"
    )


CREATOR_SVG = (
    '<metadata><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"'
    ' xmlns:dc="http://purl.org/dc/elements/1.1/"><rdf:Description rdf:about="">'
    "<dc:creator>brimcheck</dc:creator></rdf:Description></rdf:RDF></metadata>\n"
)


def read_picture_sheet(data: bytes) -> PictureRule | None:
    """The rule of an SVG sheet (its marks already cut out) if it is exactly as written."""
    if b"data-brimcheck-picture=" not in data[:2000]:
        return None
    try:
        text = data.decode("ascii")
    except UnicodeDecodeError:
        return None
    head = _HEAD.match(text)
    image = _IMAGE.match(text, head.end() + len(CREATOR_SVG)) if head else None
    rule = parse_picture_rule(head.group(3)) if head else None
    if head is None or image is None or rule is None:
        return None
    try:
        picture = base64.b64decode(image.group(5), validate=True)
        matrix = [float(part) for part in image.group(3).split(" ")]
        a, b, c, d, e, f = matrix
        sheet = PictureSheet(
            (float(head.group(1)), float(head.group(2))),
            head.group(4),
            (float(image.group(1)), float(image.group(2))),
            (a, b, c, d, e, f),
            image.group(4),
            picture,
            rule,
        )
    except (ValueError, binascii.Error):
        return None
    if hashlib.sha256(picture).hexdigest() != rule.sha256 or picture_svg(sheet, "") != text:
        return None
    return rule
