"""Checksums of FIT files, in one pass over the bytes.

Gets the content of a file, which may be several FIT files one after another; tells whether each is
whole. Promises: a file of 32 MB takes a few seconds, where adding up each small read took tens.
The sum is CRC-16/ARC (reflected polynomial 0xA001, start 0), as the FIT protocol's description has
it (from memory; the tests check it against fitdecode's own).
"""

from __future__ import annotations

from enum import Enum

MARK, MARK_AT = b".FIT", 8
_POLYNOMIAL = 0xA001
_SUM_BYTES = 2


class Sums(Enum):
    """What the checksums say."""

    GOOD = "good"
    WRONG = "wrong"
    CUT = "cut"


def _row(byte: int) -> int:
    for _ in range(8):
        byte = (byte >> 1) ^ (_POLYNOMIAL if byte & 1 else 0)
    return byte


_TABLE = tuple(_row(byte) for byte in range(256))


def crc(data: bytes) -> int:
    """Return the checksum of ``data``."""
    table, value = _TABLE, 0
    for byte in data:
        value = table[(value ^ byte) & 255] ^ (value >> 8)
    return value


def check_sums(data: bytes) -> Sums:
    """Check every FIT file in ``data``; bytes after the last are left to the parser."""
    start = 0
    while data[start + MARK_AT : start + MARK_AT + len(MARK)] == MARK:
        end = start + data[start] + int.from_bytes(data[start + 4 : start + 8], "little")
        if end + _SUM_BYTES > len(data):
            return Sums.CUT
        if crc(data[start:end]) != int.from_bytes(data[end : end + _SUM_BYTES], "little"):
            return Sums.WRONG
        start = end + _SUM_BYTES
    return Sums.GOOD
