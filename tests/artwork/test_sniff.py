"""Formats told by content, and listing a folder."""

from __future__ import annotations

import gzip
from pathlib import Path

import numpy as np
import pytest

from viewer.artwork.formats.sniff import find_artwork_files, sniff_format
from viewer.artwork.ink import ink_mask
from viewer.artwork.model import InkRule
from viewer.errors import ArtworkError

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="1in" height="1in"/>'


@pytest.mark.parametrize(
    "head",
    [
        SVG.encode(),
        b"\xef\xbb\xbf" + SVG.encode(),
        b'<?xml version="1.0"?>\n<!-- mug -->\n' + SVG.encode(),
        b'<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY ns "x">' + b" " * 4000,
        b"<!--" + b"x" * 4092,
        b'<s:svg xmlns:s="http://www.w3.org/2000/svg">',
        SVG.encode("utf-16"),
        SVG.encode("utf-16-be"),
        gzip.compress(SVG.encode(), mtime=0),
    ],
)
def test_svg_in_every_disguise(head: bytes) -> None:
    assert sniff_format(head) == "svg"


@pytest.mark.parametrize(
    ("head", "expected"),
    [
        (b"%PDF-1.7\n", "pdf"),
        (b"\x00" * 1000 + b"%PDF-1.4", "pdf"),
        (b"\x00" * 1024 + b"%PDF-1.4", None),
        (b"\x89PNG\r\n\x1a\n....", "image"),
        (b"II*\x00", "image"),
        (b"MM\x00*", "image"),
        (b"II+\x00\x08\x00", "image"),
        (b"\xff\xd8\xff\xe0", "image"),
        (b"GIF89a", "image"),
        (b"RIFF\x00\x00\x00\x00WEBPVP8 ", "image"),
        (b"RIFF\x00\x00\x00\x00WAVEfmt ", None),
        (b"BM" + b"\x00" * 12 + b"\x28\x00\x00\x00", "image"),
        (b"BMW is not a bitmap, but a text", None),
        (b"<!DOCTYPE html><html><body><svg/></body></html>", None),
        (b"<html><svg></svg></html>", None),
        (b"plain words", None),
    ],
)
def test_other_kinds(head: bytes, expected: str | None) -> None:
    assert sniff_format(head) == expected


def test_empty_file() -> None:
    with pytest.raises(ArtworkError, match="empty file"):
        sniff_format(b"")


@pytest.mark.parametrize("head", [b"%!PS-Adobe-3.0 EPSF-3.0\n", b"\xc5\xd0\xd3\xc6\x1e\x00"])
def test_postscript_says_what_to_do(head: bytes) -> None:
    with pytest.raises(ArtworkError, match="save it as PDF"):
        sniff_format(head)


def test_folder_listing(tmp_path: Path) -> None:
    for name in ["float.SVG", "Lure.pdf", "mug.ai", ".hidden.png", "notes.txt", "a.Tiff"]:
        (tmp_path / name).write_bytes(b"x")
    (tmp_path / "folder.svg").mkdir()
    found = [Path(path).name for path in find_artwork_files(str(tmp_path))]
    assert found == ["a.Tiff", "float.SVG", "Lure.pdf", "mug.ai"]


def test_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(ArtworkError, match="cannot list"):
        find_artwork_files(str(tmp_path / "nowhere"))


def _pixel(*rgba: int) -> np.ndarray:
    return np.array([[rgba]], dtype=np.uint8)


@pytest.mark.parametrize(
    ("rgba", "rule", "is_ink"),
    [
        ((0, 0, 0, 0), InkRule(), False),
        ((0, 0, 0, 1), InkRule(), True),
        ((255, 255, 255, 255), InkRule(), True),
        ((250, 250, 250, 255), InkRule(white_is_ink=False), False),
        ((249, 250, 250, 255), InkRule(white_is_ink=False), True),
        ((0, 0, 0, 1), InkRule(white_is_ink=False), True),
        ((255, 255, 255, 255), InkRule((255, 255, 255)), False),
        ((254, 255, 255, 255), InkRule((255, 255, 255)), True),
        ((250, 255, 255, 255), InkRule((255, 255, 255), 5), False),
        ((249, 255, 255, 255), InkRule((255, 255, 255), 5), True),
        ((6, 0, 0, 255), InkRule((0, 0, 0), 5), True),
        ((255, 255, 255, 255), InkRule((0, 0, 0), 5), True),
        ((0, 0, 0, 1), InkRule((255, 255, 255)), True),
        ((0, 0, 0, 1), InkRule((255, 255, 255), 1), False),
        ((0, 0, 0, 2), InkRule((255, 255, 255), 1), True),
        ((9, 9, 9, 0), InkRule((255, 255, 255)), False),
    ],
)
def test_ink_mask(rgba: tuple[int, ...], rule: InkRule, is_ink: bool) -> None:
    assert ink_mask(_pixel(*rgba), rule).tolist() == [[is_ink]]


def test_ink_mask_of_nothing() -> None:
    assert ink_mask(np.zeros((0, 3, 4), np.uint8), InkRule((1, 2, 3))).shape == (0, 3)
