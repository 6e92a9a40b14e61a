"""Reading a PDF back: its paths in millimetres on the paper, and its words."""

from __future__ import annotations

import ctypes

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw

MM = 72.0 / 25.4


def paths(page: pdfium.PdfPage) -> list[np.ndarray]:
    """Every path of a page, its points in mm from the lower left corner."""
    out = []
    for thing in page.get_objects([raw.FPDF_PAGEOBJ_PATH], max_depth=5):
        m = thing.get_matrix()
        points = []
        for i in range(raw.FPDFPath_CountSegments(thing)):
            x, y = ctypes.c_float(), ctypes.c_float()
            raw.FPDFPathSegment_GetPoint(raw.FPDFPath_GetPathSegment(thing, i), x, y)
            points.append((x.value, y.value))
        turn = np.array([[m.a, m.b], [m.c, m.d]])
        out.append((np.array(points).reshape(-1, 2) @ turn + (m.e, m.f)) / MM)
    return out


def levels(page: pdfium.PdfPage) -> list[np.ndarray]:
    """Every level stroke of two points."""
    return [p for p in paths(page) if len(p) == 2 and abs(p[0, 1] - p[1, 1]) < 2e-3]


def texts(page: pdfium.PdfPage) -> str:
    """All words of a page, a blank between lines."""
    text = page.get_textpage()
    said = " ".join(text.get_text_range().split())
    text.close()
    return said
