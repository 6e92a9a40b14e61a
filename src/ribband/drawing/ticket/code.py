"""A QR code as plain areas of a sheet (ISO/IEC 18004, error correction M)."""

from __future__ import annotations

from collections.abc import Iterator

from ribband.drawing.sheet import Fill, Point

__all__ = ["code", "modules"]

_QUIET = 4  # modules kept white round the code, as the standard asks


def code(text: str, at: Point, size_mm: float, layer: str, colour: str) -> Iterator[Fill]:
    """Draw the code of `text`, quiet zone included, in a square with its lower left at `at`."""
    dark = modules(text)
    step = size_mm / (len(dark) + 2 * _QUIET)
    left, top = at[0] + _QUIET * step, at[1] + size_mm - _QUIET * step
    for row, line in enumerate(dark):
        for first, last in _runs(line):
            a, b = left + first * step, left + last * step
            y, low = top - row * step, top - (row + 1) * step - 0.01  # no hair between rows
            yield Fill(layer, ((a, low), (b, low), (b, y), (a, y)), colour)


def modules(text: str) -> list[list[bool]]:
    """Give the code's squares, row by row from the top, True where dark."""
    from reportlab.graphics.barcode.qrencoder import (  # noqa: PLC0415 - only when printing
        QRCode,
        QRErrorCorrectLevel,
    )

    made = QRCode(None, QRErrorCorrectLevel.M)
    made.addData(text)
    made.make()
    count = made.getModuleCount()
    return [[bool(made.isDark(row, column)) for column in range(count)] for row in range(count)]


def _runs(line: list[bool]) -> Iterator[tuple[int, int]]:
    start = None
    for i, dark in enumerate([*line, False]):
        if dark and start is None:
            start = i
        elif not dark and start is not None:
            yield start, i
            start = None
