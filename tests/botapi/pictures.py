"""Small real pictures for tests."""

import struct
import zlib


def png(width: int, height: int, grey: int = 200) -> bytes:
    """A PNG of one shade."""
    rows = (b"\x00" + bytes([grey]) * width) * height
    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + _chunk(b"IHDR", header) + _chunk(b"IDAT", zlib.compress(rows)) + _chunk(b"IEND", b"")


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
