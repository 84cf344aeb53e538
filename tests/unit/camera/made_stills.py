"""Files of 16 bits a channel made by hand: no encoder among the parts we lean on writes them."""

from __future__ import annotations

import struct
import zlib

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.uint16]


def png16(values: Values) -> bytes:
    """A PNG of 16 bits, (h, w, 1 to 4). Source: ISO/IEC 15948:2004, sections 5 and 11."""
    height, width, channels = values.shape
    kind = {1: 0, 2: 4, 3: 2, 4: 6}[channels]
    raw = b"".join(b"\0" + row.astype(">u2").tobytes() for row in values)
    head = struct.pack(">IIBBBBB", width, height, 16, kind, 0, 0, 0)
    chunks = (b"IHDR", head), (b"IDAT", zlib.compress(raw)), (b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(*chunk) for chunk in chunks)


def _chunk(kind: bytes, data: bytes) -> bytes:
    check = struct.pack(">I", zlib.crc32(kind + data))
    return struct.pack(">I", len(data)) + kind + data + check


def tiff16(
    values: Values, *, order: str = "<", deflate: bool = False, tags: dict[int, int] | None = None
) -> bytes:
    """A TIFF of 16 bits in one strip, (h, w, c). Source: TIFF 6.0, sections 2 and 6."""
    height, width, channels = values.shape
    data = values.astype(f"{order}u2").tobytes()
    data = zlib.compress(data) if deflate else data
    short, long = 3, 4
    entries = {
        256: (long, width), 257: (long, height), 259: (short, 8 if deflate else 1),
        262: (short, 2 if channels > 2 else 1), 277: (short, channels), 278: (long, height),
        279: (long, len(data)),
    }  # fmt: skip
    entries |= {tag: (short, value) for tag, value in (tags or {}).items()}
    end = 8 + 2 + 12 * (len(entries) + 2) + 4
    bits = struct.pack(f"{order}{channels}H", *[16] * channels)
    entries[273] = (long, end + len(bits))
    written = struct.pack(f"{order}H", len(entries) + 1)
    for tag in sorted([*entries, 258]):
        if tag == 258 and channels > 1:
            written += struct.pack(f"{order}HHII", 258, short, channels, end)
            continue
        kind, value = (short, 16) if tag == 258 else entries[tag]
        form = "HHIHH" if kind == short else "HHII"
        written += struct.pack(order + form, tag, kind, 1, value, *([0] if kind == short else []))
    head = (b"II*\0" if order == "<" else b"MM\0*") + struct.pack(f"{order}I", 8)
    return head + written + struct.pack(f"{order}I", 0) + bits + data
