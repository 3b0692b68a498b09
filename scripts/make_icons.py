"""Draw the app icons (PNG) from the same figures as ``site_src/assets/img/mark.svg``.

Some systems take only PNG for the icon of an installed site. The mark is simple enough to be
drawn from distances, without an image library.
"""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
SIZES = (192, 512)
GREEN, STRAW, WATER, LEAF = (14, 74, 60), (232, 184, 74), (159, 220, 245), (126, 196, 106)


def bar(x: Array, y: Array, x0: float, x1: float, y0: float, width: float) -> Array:
    """Return distances to a level bar with round ends, in units of the mark (64 wide)."""
    return np.hypot(x - np.clip(x, x0, x1), y - y0) - width / 2


def drop(x: Array, y: Array, x0: float) -> Array:
    """Return distances to a drop: a disc below a point."""
    disc = np.hypot(x - x0, y - 37.0) - 6.0
    # Straight flanks from the tip at y = 25 to the sides of the disc.
    flank = np.maximum(np.abs(x - x0) - (y - 25.0) * 0.5, y - 37.0)
    return np.minimum(disc, np.maximum(flank, 25.0 - y))


def draw(size: int) -> NDArray[np.uint8]:
    """Return the mark as an array of shape (size, size, 3); full square, for system masks."""
    step = 64.0 / size
    axis = (np.arange(size) + 0.5) * step
    x, y = np.meshgrid(axis, axis)
    image = np.empty((size, size, 3))
    image[:] = GREEN
    shapes = [(bar(x, y, 6, 58, 17, 5), STRAW)]
    shapes += [(drop(x, y, x0), WATER) for x0 in (14.0, 32.0, 50.0)]
    shapes += [(bar(x, y, x0, x0 + 7, 53, 4), LEAF) for x0 in (8.0, 28.5, 49.0)]
    for distance, colour in shapes:
        cover = np.clip(0.5 - distance / step, 0.0, 1.0)[..., None]
        image = image * (1.0 - cover) + np.array(colour) * cover
    return np.round(image).astype(np.uint8)


def png(image: NDArray[np.uint8]) -> bytes:
    """Return an RGB image as PNG bytes."""
    height, width, _ = image.shape

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    lines = b"".join(b"\0" + row.tobytes() for row in image)
    body = chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(lines, 9)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


def write_icons(folder: Path) -> None:
    """Write ``icon-<size>.png`` for all sizes."""
    folder.mkdir(parents=True, exist_ok=True)
    for size in SIZES:
        (folder / f"icon-{size}.png").write_bytes(png(draw(size)))
