"""Bad files and bad calls, from outside: one clear line, exit code 2, never a traceback."""

from __future__ import annotations

import json
import re
import struct
import subprocess
import sys
import zlib
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest
from PIL import Image

from .pdf_writer import assemble

ROOT = Path(__file__).resolve().parents[2]
NS = 'xmlns="http://www.w3.org/2000/svg"'
GOOD_SVG = (
    f'<svg {NS} width="60mm" height="40mm" viewBox="0 0 60 40">'
    '<circle cx="30" cy="20" r="9" fill="#123"/></svg>'
)
GOOD_PDF = assemble("20 20 40 40 re f", "/MediaBox [0 0 170 113]")
SECONDS_AT_MOST = 60


def run_check(*arguments: str) -> subprocess.CompletedProcess[str]:
    """``python -m viewer check ...`` as a person would run it."""
    return subprocess.run(
        [sys.executable, "-m", "viewer", "check", *arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=SECONDS_AT_MOST,
        check=False,
    )


def assert_refused(result: subprocess.CompletedProcess[str]) -> str:
    """Exit code 2, some words and no traceback; returns all the words."""
    words = result.stdout + result.stderr
    assert "Traceback" not in words, words[-2000:]
    assert result.returncode == 2, words[-2000:]
    assert not re.search(r"\b[A-Z]\w+(Error|Exception)\b", words), words[-2000:]
    assert words.strip()
    assert len(result.stderr.strip().splitlines()) <= 2, result.stderr
    return words


def _png(path: Path, mode: str = "RGBA", dpi: bool = True) -> bytes:
    image = Image.new(mode, (200, 120), 0)
    image.paste((20, 20, 60, 255)[: len(mode)], (40, 30, 120, 90))
    if dpi:
        image.save(path, dpi=(254, 254))
    else:
        image.save(path)
    return path.read_bytes()


def _huge_png() -> bytes:
    """A header that claims 60,000 x 60,000 pixels and almost no data."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    header = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 6, 0, 0, 0)
    size = struct.pack(">IIB", 11811, 11811, 1)
    data = zlib.compress(b"\0" * 4096)
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        chunk(*part)
        for part in ((b"IHDR", header), (b"pHYs", size), (b"IDAT", data), (b"IEND", b""))
    )


def _laughs() -> str:
    entities = ['<!ENTITY l0 "ha">']
    entities += [f'<!ENTITY l{i} "{f"&l{i - 1};" * 10}">' for i in range(1, 12)]
    return f"<!DOCTYPE svg [{''.join(entities)}]>" + GOOD_SVG.replace(
        "</svg>", "<desc>&l11;</desc></svg>"
    )


def _svg(inner: str, attributes: str = 'width="60mm" height="40mm" viewBox="0 0 60 40"') -> str:
    return f'<svg {NS} xmlns:xlink="http://www.w3.org/1999/xlink" {attributes}>{inner}</svg>'


def _truncated(name: str) -> Callable[[Path], bytes]:
    def make(folder: Path) -> bytes:
        whole = folder / f"whole-{name}"
        if name.endswith("svg"):
            return GOOD_SVG.encode()[:-20]
        if name.endswith("pdf"):
            return GOOD_PDF[:150]
        if name.endswith("png"):
            data = _png(whole)
            whole.unlink()
            return data[: len(data) // 2]
        image = Image.new("RGB", (200, 120), (20, 40, 60))
        image.save(whole, dpi=(254, 254))
        data = whole.read_bytes()
        whole.unlink()
        return data[: len(data) // 3]

    return make


def _encrypted(folder: Path) -> bytes:
    plain, locked = folder / "plain.tmp", folder / "locked.tmp"
    plain.write_bytes(GOOD_PDF)
    with pikepdf.open(plain) as document:
        document.save(locked, encryption=pikepdf.Encryption(owner="owner", user="user", R=6))
    data = locked.read_bytes()
    plain.unlink()
    locked.unlink()
    return data


def _no_resolution(folder: Path) -> bytes:
    path = folder / "made.tmp.png"
    data = _png(path, dpi=False)
    path.unlink()
    return data


def _text(words: str) -> Callable[[Path], bytes]:
    return lambda folder: words.encode()


BAD_FILES: dict[str, tuple[str, Callable[[Path], bytes]]] = {
    "empty-svg": ("empty.svg", _text("")),
    "empty-pdf": ("empty.pdf", _text("")),
    "empty-png": ("empty.png", _text("")),
    "not-artwork": ("notes.svg", _text("Dear harbor master, the mugs are late.\n")),
    "other-xml": ("other.svg", _text("<html><body>mugs</body></html>")),
    "binary": ("noise.png", lambda folder: bytes(range(256)) * 8),
    "cut-svg": ("cut.svg", _truncated("cut.svg")),
    "cut-pdf": ("cut.pdf", _truncated("cut.pdf")),
    "cut-png": ("cut.png", _truncated("cut.png")),
    "cut-tiff": ("cut.tiff", _truncated("cut.tiff")),
    "encrypted-pdf": ("locked.pdf", _encrypted),
    "no-ink-svg": ("blank.svg", _text(_svg(""))),
    "no-ink-pdf": ("blank.pdf", lambda folder: assemble("", "/MediaBox [0 0 170 113]")),
    "only-viewbox": ("loose.svg", _text(GOOD_SVG.replace('width="60mm" height="40mm" ', ""))),
    "no-resolution": ("loose.png", _no_resolution),
    "huge-png": ("huge.png", lambda folder: _huge_png()),
    "laughs": ("laughs.svg", _text(_laughs())),
    "deep": ("deep.svg", _text(_svg("<g>" * 100_000 + '<path d="M1 1h9v9z"/>' + "</g>" * 100_000))),
    "endless-use": (
        "endless.svg",
        _text(_svg('<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>')),
    ),
    "vast-page": (
        "vast.svg",
        _text(_svg('<path d="M1 1h9v9z"/>', 'width="1e9mm" height="1e9mm" viewBox="0 0 60 60"')),
    ),
}


@pytest.mark.parametrize("name", list(BAD_FILES))
def test_a_bad_file_is_refused_in_a_line(name: str, tmp_path: Path) -> None:
    filename, make = BAD_FILES[name]
    path = tmp_path / filename
    path.write_bytes(make(tmp_path))
    words = assert_refused(run_check(str(path)))
    assert filename in words


def test_errors_are_json_when_asked_for(tmp_path: Path) -> None:
    path = tmp_path / "notes.svg"
    path.write_text("no artwork")
    result = run_check(str(path), "--json")
    assert_refused(result)
    entry = json.loads(result.stdout)
    assert set(entry) >= {"file", "error"}
    assert entry["error"]["code"] and "\n" not in entry["error"]["message"]


def test_no_such_file(tmp_path: Path) -> None:
    assert "missing.svg" in assert_refused(run_check(str(tmp_path / "missing.svg")))


def test_folder_without_artwork(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("nothing here")
    assert_refused(run_check(str(tmp_path)))


@pytest.mark.parametrize("page", ["0", "2", "-1", "x"])
def test_page_number_out_of_range(page: str, tmp_path: Path) -> None:
    path = tmp_path / "one.pdf"
    path.write_bytes(GOOD_PDF)
    assert_refused(run_check(str(path), "--page", page))


@pytest.mark.parametrize("width", ["0", "-5", "nan", "inf", "wide", ""])
def test_nonsense_width(width: str, tmp_path: Path) -> None:
    path = tmp_path / "good.svg"
    path.write_text(GOOD_SVG)
    assert "width" in assert_refused(run_check(str(path), f"--width={width}"))


OUTSIDE = {
    "file": '<image href="file:///srv/art/mug.png" width="9" height="9"/>',
    "relative": '<image xlink:href="mug.png" width="9" height="9"/>',
    "network": '<image href="http://192.0.2.1/mug.png" width="9" height="9"/>',
    "use-network": '<use href="http://192.0.2.1/mug.svg#a"/>',
    "css-import": "<style>@import url(http://192.0.2.1/mug.css);</style>",
    "css-url": '<rect width="5" height="5" style="fill:url(http://192.0.2.1/p.svg#a)"/>',
}


@pytest.mark.parametrize("name", list(OUTSIDE))
def test_references_are_not_followed_and_block(name: str, tmp_path: Path) -> None:
    path = tmp_path / "outside.svg"
    path.write_text(_svg('<circle cx="30" cy="20" r="9"/>' + OUTSIDE[name]))
    _png(tmp_path / "mug.png")
    result = run_check(str(path), "--json")
    assert "Traceback" not in result.stderr
    assert result.returncode != 0
    entry = json.loads(result.stdout)
    assert any(warning["blocks_fits"] for warning in entry["warnings"])
    assert all(cup["verdict"] != "fits" for cup in entry["cups"])


def test_external_entity_is_not_read(tmp_path: Path) -> None:
    (tmp_path / "secret.txt").write_text('<circle cx="30" cy="20" r="19"/>')
    path = tmp_path / "entity.svg"
    entity = f'<!DOCTYPE svg [<!ENTITY x SYSTEM "{(tmp_path / "secret.txt").as_uri()}">]>'
    path.write_text(entity + _svg('<circle cx="30" cy="20" r="9"/>&x;'))
    result = run_check(str(path), "--json")
    assert "Traceback" not in result.stderr
    assert result.returncode != 0
    entry = json.loads(result.stdout)
    if "error" not in entry:
        assert entry["artwork"]["smallest_circle"]["diameter_mm"] < 19
        assert all(cup["verdict"] != "fits" for cup in entry["cups"])


@pytest.mark.parametrize("place", ["a-file/shot.png", "no-such-folder/shot.png"])
def test_snapshot_that_cannot_be_written(place: str, tmp_path: Path) -> None:
    (tmp_path / "a-file").write_text("in the way")
    path = tmp_path / "good.svg"
    path.write_text(GOOD_SVG)
    result = subprocess.run(
        [sys.executable, "-m", "viewer", str(path), "--snapshot", str(tmp_path / place)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=SECONDS_AT_MOST,
        check=False,
    )
    assert_refused(result)


def test_one_bad_file_never_stops_the_others(tmp_path: Path) -> None:
    for name in ("empty-svg", "cut-pdf", "deep", "huge-png", "laughs"):
        filename, make = BAD_FILES[name]
        (tmp_path / filename).write_bytes(make(tmp_path))
    (tmp_path / "a-good.svg").write_text(GOOD_SVG)
    (tmp_path / "z-good.pdf").write_bytes(GOOD_PDF)
    result = run_check(str(tmp_path), "--json")
    assert result.returncode == 2
    assert "Traceback" not in result.stderr
    entries = {Path(entry["file"]).name: entry for entry in json.loads(result.stdout)}
    assert len(entries) == 7
    measured = {name for name, entry in entries.items() if "error" not in entry}
    assert measured == {"a-good.svg", "z-good.pdf"}


def test_good_file_is_not_refused(tmp_path: Path) -> None:
    path = tmp_path / "good.svg"
    path.write_text(GOOD_SVG)
    assert run_check(str(path)).returncode == 0
