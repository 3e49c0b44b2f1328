"""Pictures: resolution from the tags, every pixel mode, marks at known places, bad files."""

from __future__ import annotations

import io
import struct
import time
import zlib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from viewer.artwork.formats.image_file import ImageFile
from viewer.artwork.formats.image_scale import Resolution, oriented_dpi, read_resolution
from viewer.artwork.model import InkRule
from viewer.errors import ArtworkError

WHITE = InkRule((255, 255, 255))


def ink_points(file: ImageFile, rule: InkRule) -> NDArray[np.int64]:
    """Outer corners of the inked pixels, at least of the extreme ones."""
    ys, xs = np.nonzero(file.coarse_ink(rule, 1))
    return np.concatenate([np.stack([xs, ys], axis=1), np.stack([xs + 1, ys + 1], axis=1)])


def ink_count(file: ImageFile, rule: InkRule) -> int:
    return int(file.coarse_counts(rule, 3).sum())


def png_chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def write_png(
    path: Path,
    size: tuple[int, int] = (3, 2),
    chunks: tuple[tuple[bytes, bytes], ...] = (),
    depth: int = 8,
    color: int = 0,
    rows: bytes | None = None,
) -> str:
    head = struct.pack(">IIBBBBB", *size, depth, color, 0, 0, 0)
    rows = b"".join(b"\0" * (size[0] + 1) for _ in range(size[1])) if rows is None else rows
    parts = [(b"IHDR", head), *chunks, (b"IDAT", zlib.compress(rows)), (b"IEND", b"")]
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + b"".join(png_chunk(*part) for part in parts))
    return str(path)


def exif_bytes(x: float | None, y: float | None, unit: int | None, orientation: int = 1) -> bytes:
    exif = Image.Exif()
    for tag, value in ((282, x), (283, y), (296, unit), (274, orientation)):
        if value is not None:
            exif[tag] = value
    return exif.tobytes()


def write_jpeg(path: Path, density: bytes | None, exif: bytes | None = None) -> str:
    """A JPEG whose JFIF segment holds ``density`` (unit, x, y), or has no such segment."""
    buffer = io.BytesIO()
    Image.new("L", (8, 4), 255).save(buffer, "JPEG", dpi=(72, 72))
    data = buffer.getvalue()
    assert data[2:4] == b"\xff\xe0"
    rest = data[4 + struct.unpack(">H", data[4:6])[0] :]
    segments = b""
    if density is not None:
        body = b"JFIF\0\1\2" + density + b"\0\0"
        segments += b"\xff\xe0" + struct.pack(">H", len(body) + 2) + body
    if exif is not None:
        segments += b"\xff\xe1" + struct.pack(">H", len(exif) + 2) + exif
    path.write_bytes(b"\xff\xd8" + segments + rest)
    return str(path)


def dpi_of(path: str, frame: int = 0) -> tuple[float, float] | None:
    return read_resolution(path, frame).dpi


# Resolution tags


@pytest.mark.parametrize(
    ("per_meter", "dpi"),
    # W3C PNG 11.3.5.3: pixels per meter; values of the table of check values.
    [
        (11811, 299.9994),
        (5906, 150.0124),
        (3780, 96.0120),
        (2835, 72.0090),
        (23622, 599.9988),
        (3937, 99.9998),
    ],
)
def test_png_published(tmp_path: Path, per_meter: int, dpi: float) -> None:
    body = struct.pack(">IIB", per_meter, per_meter, 1)
    path = write_png(tmp_path / "a.png", chunks=((b"pHYs", body),))
    assert dpi_of(path) == pytest.approx((dpi, dpi), abs=6e-5)


def test_png_unknown(tmp_path: Path) -> None:
    aspect = ((b"pHYs", struct.pack(">IIB", 3000, 3000, 0)),)
    assert dpi_of(write_png(tmp_path / "a.png", chunks=aspect)) is None
    assert dpi_of(write_png(tmp_path / "b.png")) is None
    zero = ((b"pHYs", struct.pack(">IIB", 0, 0, 1)),)
    assert dpi_of(write_png(tmp_path / "c.png", chunks=zero)) is None


def test_png_x_and_y_differ_and_turn(tmp_path: Path) -> None:
    phys = (b"pHYs", struct.pack(">IIB", 3937, 7874, 1))
    assert dpi_of(write_png(tmp_path / "a.png", chunks=(phys,))) == pytest.approx(
        (99.9998, 199.9996)
    )
    turned = (b"eXIf", exif_bytes(None, None, None, 6)[6:])
    path = write_png(tmp_path / "b.png", chunks=(phys, turned))
    info = ImageFile(path).info()
    assert info["size_px"] == [2, 3]
    assert info["dpi"] == pytest.approx([199.9996, 99.9998])
    assert dpi_of(path) == pytest.approx((199.9996, 99.9998))


@pytest.mark.parametrize(
    ("density", "exif", "dpi"),
    [
        (struct.pack(">BHH", 1, 300, 150), None, (300.0, 150.0)),
        (struct.pack(">BHH", 2, 100, 50), None, (254.0, 127.0)),
        (struct.pack(">BHH", 0, 1, 1), None, None),
        (struct.pack(">BHH", 1, 0, 0), None, None),
        (struct.pack(">BHH", 0, 1, 1), exif_bytes(200.0, 100.0, 2), (200.0, 100.0)),
        (struct.pack(">BHH", 0, 1, 1), exif_bytes(100.0, 100.0, 3), (254.0, 254.0)),
        (struct.pack(">BHH", 0, 1, 1), exif_bytes(100.0, 100.0, 1), None),
        (None, exif_bytes(240.0, 240.0, 2), (240.0, 240.0)),
        (None, exif_bytes(None, None, None), None),
        (None, exif_bytes(200.0, 100.0, 2, 8), (100.0, 200.0)),
        (struct.pack(">BHH", 1, 300, 150), exif_bytes(None, None, None, 6), (150.0, 300.0)),
        (None, None, None),
    ],
)
def test_jpeg(
    tmp_path: Path, density: bytes | None, exif: bytes | None, dpi: tuple[float, float] | None
) -> None:
    path = write_jpeg(tmp_path / "a.jpg", density, exif)
    assert dpi_of(path) == (None if dpi is None else pytest.approx(dpi))
    info = ImageFile(path).info()
    assert info["dpi"] == (None if dpi is None else pytest.approx(list(dpi)))
    assert info["lossy"] is True


def test_jpeg_that_contradicts_itself(tmp_path: Path) -> None:
    density, exif = struct.pack(">BHH", 1, 72, 72), exif_bytes(300.0, 300.0, 2)
    info = ImageFile(write_jpeg(tmp_path / "a.jpg", density, exif)).info()
    assert info["dpi"] == [72.0, 72.0]
    assert [(w["code"], w["blocks_fits"]) for w in info["warnings"]] == [("scale-conflict", True)]


def tiff_with(path: Path, order: str, tags: dict[int, tuple[int, Any]], big: bool = False) -> str:
    """A 1 x 1 gray TIFF; tags 282/283 are rationals given as (5, (top, bottom))."""
    base: dict[int, tuple[int, Any]] = {
        256: (3, 1), 257: (3, 1), 258: (3, 8), 259: (3, 1), 262: (3, 1), 277: (3, 1), 278: (3, 1)
    }  # fmt: skip
    every = base | {273: (4, 0), 279: (4, 1)} | tags
    width, word, count = (8, "Q", "Q") if big else (4, "I", "H")
    head = (b"II" if order == "<" else b"MM") + struct.pack(order + "H", 43 if big else 42)
    head += struct.pack(order + "HHQ", 8, 0, 16) if big else struct.pack(order + "I", 8)
    size = len(every) * (12 + (8 if big else 0)) + (16 if big else 6)
    data_at = len(head) + size
    every[273] = (4, data_at)
    extra = b"\x80\0\0\0\0\0\0\0"
    body = struct.pack(order + count, len(every))
    for tag, (kind, value) in sorted(every.items()):
        if kind == 5:
            field = struct.pack(order + "II", *value)
            if not big:
                field, extra = struct.pack(order + "I", data_at + len(extra)), extra + field
        else:
            field = struct.pack(order + ("H" if kind == 3 else "I"), value).ljust(width, b"\0")
        body += struct.pack(order + "HH" + word, tag, kind, 1) + field
    path.write_bytes(head + body + b"\0" * width + extra)
    return str(path)


@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("big", [False, True])
@pytest.mark.parametrize(
    ("tags", "dpi"),
    # TIFF 6.0 p. 18: 1 no unit, 2 inch (default), 3 centimeter.
    [
        ({282: (5, (300, 1)), 283: (5, (1500, 10)), 296: (3, 2)}, (300.0, 150.0)),
        ({282: (5, (100, 1)), 283: (5, (50, 1)), 296: (3, 3)}, (254.0, 127.0)),
        ({282: (5, (300, 1)), 283: (5, (300, 1)), 296: (3, 1)}, None),
        ({282: (5, (300, 1)), 283: (5, (300, 1))}, (300.0, 300.0)),
        ({296: (3, 2)}, None),
        ({282: (5, (300, 0)), 283: (5, (300, 0)), 296: (3, 2)}, None),
        ({282: (5, (300, 1)), 283: (5, (150, 1)), 274: (3, 6)}, (150.0, 300.0)),
    ],
)
def test_tiff(tmp_path: Path, order: str, big: bool, tags: Any, dpi: Any) -> None:
    path = tiff_with(tmp_path / "a.tif", order, tags, big)
    assert dpi_of(path) == (None if dpi is None else pytest.approx(dpi))
    if big and order == ">":
        return  # Pillow cannot decode a big-endian BigTIFF
    info = ImageFile(path).info()
    assert info["dpi"] == (None if dpi is None else pytest.approx(list(dpi)))


def test_multi_page_tiff_has_a_resolution_for_each_page(tmp_path: Path) -> None:
    path = str(tmp_path / "m.tif")
    second = Image.new("L", (7, 4), 0)
    second.encoderinfo = {"dpi": (300, 300)}
    Image.new("L", (5, 4), 255).save(path, save_all=True, append_images=[second], dpi=(100, 100))
    first, last = ImageFile(path, 1).info(), ImageFile(path, 2).info()
    assert (first["pages"], first["size_px"], last["size_px"]) == (2, [5, 4], [7, 4])
    assert first["dpi"] == [100.0, 100.0]
    assert last["dpi"] == [300.0, 300.0]
    assert first["warnings"] == []
    with pytest.raises(ArtworkError, match="2 pages"):
        ImageFile(path, 3)


def test_bmp_webp_gif(tmp_path: Path) -> None:
    image = Image.new("RGB", (4, 4))
    image.save(tmp_path / "a.bmp", dpi=(254, 254))
    assert dpi_of(str(tmp_path / "a.bmp")) == pytest.approx((254.0, 254.0))
    data = bytearray((tmp_path / "a.bmp").read_bytes())
    data[38:46] = bytes(8)
    (tmp_path / "b.bmp").write_bytes(data)
    assert dpi_of(str(tmp_path / "b.bmp")) is None
    image.save(tmp_path / "a.webp", exif=exif_bytes(150.0, 150.0, 2))
    assert dpi_of(str(tmp_path / "a.webp")) == (150.0, 150.0)
    image.save(tmp_path / "b.webp", lossless=True)
    assert dpi_of(str(tmp_path / "b.webp")) is None
    image.save(tmp_path / "a.gif")
    assert dpi_of(str(tmp_path / "a.gif")) is None
    lossy = [ImageFile(str(tmp_path / name)).info()["lossy"] for name in ("a.webp", "b.webp")]
    assert lossy == [True, False]


def test_orientation_swap() -> None:
    assert oriented_dpi((1.0, 2.0), 3) == (1.0, 2.0)
    assert oriented_dpi((1.0, 2.0), 5) == (2.0, 1.0)
    assert Resolution((1.0, 2.0), "", 8).dpi == (2.0, 1.0)


@pytest.mark.parametrize("head", [b"II*\0\xff\xff\xff\x7f", b"\x89PNG\r\n\x1a\n\0\0\0\x09pHYs\0"])
def test_damaged_tags_are_unknown(tmp_path: Path, head: bytes) -> None:
    (tmp_path / "x").write_bytes(head)
    assert dpi_of(str(tmp_path / "x")) is None


# Pixel modes

MODES: dict[str, tuple[Any, Any, str]] = {
    "1": (1, 0, "tif"),
    "L": (255, 0, "png"),
    "LA": ((255, 255), (0, 255), "png"),
    "RGB": ((255, 255, 255), (255, 0, 0), "png"),
    "RGBA": ((255, 255, 255, 255), (0, 0, 255, 255), "png"),
    "P": (255, 0, "png"),
    "CMYK": ((0, 0, 0, 0), (0, 0, 0, 255), "tif"),
    "CMYK jpeg": ((0, 0, 0, 0), (0, 0, 0, 255), "jpg"),
    "I;16": (65535, 0, "png"),
    "I;16 tiff": (65535, 300, "tif"),
    "I": (65535, 0, "tif"),
    "F": (1.0, 0.0, "tif"),
}


@pytest.mark.parametrize("name", MODES)
def test_every_mode_shows_a_mark_where_it_is(tmp_path: Path, name: str) -> None:
    paper, ink, kind = MODES[name]
    image = Image.new(name.split()[0], (40, 24), paper)
    if image.mode == "P":
        image.putpalette([v for v in range(256) for _ in range(3)])
    image.paste(ink, (8, 8, 24, 16))
    path = str(tmp_path / f"a.{kind}")
    image.save(path)
    file = ImageFile(path)
    rule = InkRule((255, 255, 255), 60 if kind == "jpg" else 0)
    points = ink_points(file, rule)
    assert points.min(axis=0).tolist() == [8.0, 8.0]
    assert points.max(axis=0).tolist() == [24.0, 16.0]
    assert ink_count(file, rule) == 16 * 8
    border = file.border_rgba().astype(int)
    assert border.shape == (2 * (40 + 24), 4) and border.min() >= 250
    blocked = [w["code"] for w in file.info()["warnings"] if w["blocks_fits"]]
    assert blocked == (["unusual-depth"] if name in ("I", "F") else [])


def test_sixteen_bits_are_scaled_not_cut(tmp_path: Path) -> None:
    values = np.array([[0, 300, 32768, 65534, 65535]], dtype=np.uint16)
    Image.fromarray(values).save(tmp_path / "a.png")
    rows = ImageFile(str(tmp_path / "a.png")).rgba_rows(0, 1)
    assert rows[0, :, 0].tolist() == [0, 1, 127, 254, 255]


def test_sixteen_bit_white_is_zero(tmp_path: Path) -> None:
    values = np.array([[0, 65535, 300]], dtype=np.uint16)
    path = str(tmp_path / "a.tif")
    Image.fromarray(values).save(path, tiffinfo={262: 0})
    with Image.open(path) as image:
        assert image.tag_v2[262] == 0
    assert ImageFile(path).rgba_rows(0, 1)[0, :, 0].tolist() == [255, 0, 253]


@pytest.mark.parametrize("color", [2, 6])
def test_sixteen_bit_color_png(tmp_path: Path, color: int) -> None:
    pixel = (65535, 0, 32768) + ((65535,) if color == 6 else ())
    rows = b"\0" + struct.pack(f">{len(pixel)}H", *pixel)
    path = write_png(tmp_path / "a.png", (1, 1), depth=16, color=color, rows=rows)
    assert ImageFile(path).rgba_rows(0, 1)[0, 0].tolist() == [255, 0, 128, 255]


def test_color_keys_and_palette_alpha(tmp_path: Path) -> None:
    for mode, paper, ink, key in [
        ("L", 7, 9, 7),
        ("RGB", (1, 2, 3), (1, 2, 4), (1, 2, 3)),
        ("P", 0, 1, 0),
        ("P", 0, 1, b"\x00\x80"),
    ]:
        image = Image.new(mode, (6, 5), paper)
        if mode == "P":
            image.putpalette([200, 10, 10, 10, 200, 10])
        image.paste(ink, (2, 1, 4, 3))
        path = str(tmp_path / "k.png")
        image.save(path, transparency=key)
        file = ImageFile(path)
        info = file.info()
        assert (info["has_alpha"], info["has_transparency"]) == (True, True)
        assert ink_count(file, InkRule()) == 4, mode


def test_opaque_alpha_channel_is_not_transparency(tmp_path: Path) -> None:
    Image.new("RGBA", (3, 3), (1, 2, 3, 255)).save(tmp_path / "a.png")
    info = ImageFile(str(tmp_path / "a.png")).info()
    assert (info["has_alpha"], info["has_transparency"]) == (True, False)


@pytest.mark.parametrize("kind", ["jpg", "tif", "png", "webp"])
@pytest.mark.parametrize(
    ("orientation", "corner"),
    # EXIF 2.32: which corner of the seen picture holds the first stored pixel.
    [(1, "tl"), (2, "tr"), (3, "br"), (4, "bl"), (5, "tl"), (6, "tr"), (7, "br"), (8, "bl")],
)
def test_orientation(tmp_path: Path, kind: str, orientation: int, corner: str) -> None:
    image = Image.new("L", (48, 32), 255)
    image.paste(0, (0, 0, 8, 8))
    path = str(tmp_path / f"a.{kind}")
    exif = Image.Exif()
    exif[274] = orientation
    image.save(path, exif=exif, quality=95)
    file = ImageFile(path)
    width, height = (32, 48) if orientation >= 5 else (48, 32)
    assert file.info()["size_px"] == [width, height]
    points = ink_points(file, InkRule((255, 255, 255), 128))
    x, y = (0 if corner[1] == "l" else width - 8), (0 if corner[0] == "t" else height - 8)
    assert points.min(axis=0) == pytest.approx((x, y), abs=0.5)
    assert points.max(axis=0) == pytest.approx((x + 8, y + 8), abs=0.5)


@pytest.mark.parametrize("kind", ["gif", "webp", "png"])
def test_animation_blocks(tmp_path: Path, kind: str) -> None:
    frames = [Image.new("RGB", (8, 8), color) for color in ("red", "blue")]
    path = str(tmp_path / f"a.{kind}")
    frames[0].save(path, save_all=True, append_images=frames[1:])
    info = ImageFile(path).info()
    assert info["pages"] == 2
    assert [(w["code"], w["blocks_fits"]) for w in info["warnings"]] == [("animation", True)]


# Strips, blocks and windows


def test_strips_are_joined_without_a_seam(tmp_path: Path, monkeypatch: Any) -> None:
    rng = np.random.default_rng(5)
    ink = rng.random((37, 29)) < 0.05
    Image.fromarray(np.where(ink, 0, 255).astype(np.uint8)).save(tmp_path / "a.png")
    file = ImageFile(str(tmp_path / "a.png"))
    monkeypatch.setattr("viewer.artwork.formats.image_file.STRIP_PIXELS", 29 * 5)
    assert ink_count(file, WHITE) == ink.sum()
    ys, xs = np.nonzero(ink)
    points = ink_points(file, WHITE)
    assert points.min(axis=0).tolist() == [xs.min(), ys.min()]
    assert points.max(axis=0).tolist() == [xs.max() + 1, ys.max() + 1]
    coarse = file.coarse_ink(WHITE, 4)
    padded = np.pad(ink, ((0, 3), (0, 3)))
    assert np.array_equal(coarse, padded.reshape(10, 4, 8, 4).any(axis=(1, 3)))
    counts = file.coarse_counts(WHITE, 4)
    assert np.array_equal(counts, padded.reshape(10, 4, 8, 4).sum(axis=(1, 3)))


def test_no_ink(tmp_path: Path) -> None:
    path = write_png(tmp_path / "a.png")
    file = ImageFile(path)
    assert ink_points(file, InkRule((0, 0, 0))).shape == (0, 2)
    assert not file.coarse_ink(InkRule((0, 0, 0)), 8).any()
    assert not file.coarse_counts(InkRule((0, 0, 0)), 8).any()


def test_draw_enlarged_and_outside(tmp_path: Path) -> None:
    image = Image.new("RGB", (4, 3), "white")
    image.putpixel((1, 1), (255, 0, 0))
    image.save(tmp_path / "a.png")
    window = ImageFile(str(tmp_path / "a.png")).draw(-1.0, -1.0, 10.0, 80, 60)
    red = (window == (255, 0, 0, 255)).all(axis=2)
    ys, xs = np.nonzero(red)
    assert (xs.min(), xs.max() + 1, ys.min(), ys.max() + 1) == (20, 30, 20, 30)
    ys, xs = np.nonzero(window[..., 3])
    assert (xs.min(), xs.max() + 1, ys.min(), ys.max() + 1) == (10, 50, 10, 40)


@pytest.mark.parametrize("scale", [0.5, 0.25, 0.1, 1 / 16])
def test_draw_reduced_averages(tmp_path: Path, scale: float) -> None:
    image = Image.new("RGB", (160, 80), "white")
    image.paste((0, 0, 0), (80, 0, 160, 80))
    image.save(tmp_path / "a.png")
    w, h = round(160 * scale), round(80 * scale)
    window = ImageFile(str(tmp_path / "a.png")).draw(0.0, 0.0, scale, w + 4, h + 4).astype(int)
    assert np.abs(window[:h, : w // 2] - 255).max() <= 2
    assert np.abs(window[:h, w // 2 : w] - (0, 0, 0, 255)).max() <= 2
    assert not window[h + 1 :].any() and not window[:, w + 1 :].any()


# Bad files


def _code(path: Path) -> str:
    start = time.perf_counter()
    with pytest.raises(ArtworkError) as caught:
        ImageFile(str(path))
    assert "\n" not in caught.value.message and path.name in caught.value.message
    assert time.perf_counter() - start < 2.0
    return caught.value.code


@pytest.mark.parametrize("size", [(60_000, 60_000), (15_000, 15_000)])
def test_too_large_is_refused_before_decoding(tmp_path: Path, size: tuple[int, int]) -> None:
    write_png(tmp_path / "a.png", size, depth=1, rows=b"")
    assert _code(tmp_path / "a.png") == "too-large"


@pytest.mark.parametrize("kind", ["png", "jpg", "tif", "bmp", "webp", "gif"])
@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_truncated(tmp_path: Path, kind: str, share: float) -> None:
    rng = np.random.default_rng(1)
    noise = rng.integers(0, 255, (60, 60, 3), dtype=np.uint8)
    path = tmp_path / f"a.{kind}"
    Image.fromarray(noise).save(path)
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    assert _code(path) == "damaged"


@pytest.mark.parametrize("data", [b"\x89PNG\r\n\x1a\n", b"II*\0\0\0\0\0", b"BM", b"nothing"])
def test_rubbish(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "x.png").write_bytes(data)
    assert _code(tmp_path / "x.png") == "damaged"


def test_missing_file(tmp_path: Path) -> None:
    assert _code(tmp_path / "none.png") == "no-such-file"
