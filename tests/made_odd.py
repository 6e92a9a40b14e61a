"""Strange but buildable hulls by formula: flat-floored, double-ended, boxy, wineglass, raked.

Each is (shape, first and last station); x grows aft, y out, z up, mm. Sections are superellipses
sheared up by the rise of their floors: with share r of it, height r sin + (1 - r)(1 - cos).
"""

from __future__ import annotations

import numpy as np

from made_hulls import Shape, by_girth, launch_shape
from ribband.hull.model import Floats


def _rounded(v: Floats, power: Floats) -> tuple[Floats, Floats]:
    """Out and in along a superellipse's quarter, by the angle v quarter turns."""
    s, c = np.sin(v * np.pi / 2), np.cos(v * np.pi / 2)
    reach = (np.abs(s) ** power + np.abs(c) ** power) ** (1 / power)
    return s / reach, c / reach


def _section(v: Floats, power: Floats, rise: Floats) -> tuple[Floats, Floats]:
    """Share of the half beam, and of the height."""
    out, down = _rounded(v, power)
    return out, (1 - rise) * (1 - down) + rise * out


def _body(u: Floats, fore: float, aft: float, powers: tuple[float, float]) -> Floats:
    """0 at both ends, 1 along the body between the parts `fore` and `aft` of the length."""
    f, g = np.clip(u / fore, 0, 1), np.clip((1 - u) / aft, 0, 1)
    return (1 - (1 - f) ** powers[0]) * (1 - (1 - g) ** powers[1])


def _full(u: Floats, v: Floats) -> Floats:
    m = _body(u, 0.42, 0.38, (2.5, 2.2))
    out, up = _section(v, 2.0 + 3.0 * m**2, 0.75 * (1 - m) ** 1.5 + 0.03)
    top = 2200.0 + 600.0 * (1 - u) ** 2 + 250.0 * u**2
    x = 1300.0 * (1 - u) * (1 - up) + (14000.0 - 500.0 * (1 - up) * u) * u
    return np.stack([x, 60.0 + 2240.0 * m * out, top * up], axis=-1)


def _raking(u: Floats, v: Floats) -> Floats:
    m = 1 - np.abs(2 * u - 1) ** 2.2
    out, up = _section(v, 2.0 + 0.4 * m, 0.25 + 0.5 * (1 - m))
    fore, aft = 2600.0 * (1 - up), 2200.0 * (1 - up)
    top = 2000.0 + 500.0 * (2 * u - 1) ** 2
    x = fore + (13000.0 - fore - aft) * u
    return np.stack([x, 60.0 + 1890.0 * m * out, top * up], axis=-1)


def _lighter(u: Floats, v: Floats) -> Floats:
    fore, aft = 1 - np.clip(u / 0.3, 0, 1), 1 - np.clip((1 - u) / 0.25, 0, 1)
    m = 1 - fore**3
    out, up = _section(v, 2.2 + 3.5 * m, 0.02 + 0.5 * fore**3)
    low, top = 500.0 * aft**3, 1800.0 + 300.0 * fore**2
    x = 700.0 * (1 - u) ** 3 * (1 - up) + 16000.0 * u
    y = 80.0 + 2420.0 * m * (1 - 0.35 * aft**3) * out
    return np.stack([x, y, low + (top - low) * up], axis=-1)


def _wineglass(u: Floats, v: Floats) -> Floats:
    fore = 1 - u
    low, top = 250.0 * fore**6 - 700.0 * u, 2300.0 + 500.0 * fore**2 + 200.0 * u**2
    half = 2050.0 * (1 - fore**2.4) * (1 - 0.35 * u**3)
    out = 0.85 * v**2 * (3 - 2 * v) + 0.15 * np.sin(v * np.pi / 2)
    steep = 0.61 + 0.5 * u**2
    up = v * steep + (1 - steep) * v**2
    x = 14500.0 * u - 1100.0 * fore**5 * up - 300.0 * u**4 * (1 - up)
    y = 50.0 + (half - 50.0) * out * (1 - fore**4)
    return np.stack([x, y, low + (top - low) * up], axis=-1)


def _spoon(u: Floats, v: Floats) -> Floats:
    m = _body(u, 0.42, 0.38, (3.9, 2.2))
    out, up = _section(v, 1.73 + 6.1 * m**2, 0.73 * (1 - m) ** 1.5 + 0.04)
    low, top = 800.0 * (1 - u) ** 8, 1363.0 + 600.0 * (1 - u) ** 2 + 250.0 * u**2
    x = 2776.0 * (1 - u) * (1 - up) + (20440.0 - 1030.0 * (1 - up) * u) * u
    return np.stack([x, 1383.0 * m * out, low + (top - low) * up], axis=-1)


ODD: dict[str, tuple[Shape, tuple[float, float]]] = {
    "full": (_full, (300.0, 13900.0)),  # flat floors, hard bilges, fine ends; a corner at each end
    "raking": (_raking, (600.0, 12400.0)),  # stem and sternpost rake by more than 45 degrees
    "lighter": (_lighter, (300.0, 15700.0)),  # boxy, a long parallel body, a transom
    "wineglass": (_wineglass, (-500.0, 14100.0)),  # hollow garboards, the keel drags aft
    "spoon": (_spoon, (970.0, 19250.0)),  # a stem that is nowhere as steep as it is level
}


def _flat_to_stem(u: Floats, v: Floats) -> Floats:
    """Floors quite flat to the very stem: there the garboard turns upright within one reading."""
    m = _body(u, 0.42, 0.38, (2.5, 2.2))
    out, up = _section(v, 2.0 + 3.0 * m**2, 0.0 * m)
    top = 2200.0 + 600.0 * (1 - u) ** 2 + 250.0 * u**2
    x = 1300.0 * (1 - u) * (1 - up) + (14000.0 - 500.0 * (1 - up) * u) * u
    return np.stack([x, 60.0 + 2240.0 * m * out, top * up], axis=-1)


def _hard_bilge(u: Floats, v: Floats) -> Floats:
    """A floor and an upright side that meet within 50 mm, amidships."""
    m = _body(u, 0.45, 0.45, (2.2, 2.2))
    beyond = 0.03 * np.logaddexp(0.0, (2 * v - 1) / 0.03)
    out, up = 2 * v - 0.92 * beyond, 0.3 * (2 * v - beyond) + 0.7 * beyond
    x = 1000.0 * (1 - u) * (1 - np.clip(up, 0, 1)) + 12000.0 * u
    z = 300.0 * (1 - u) ** 3 + (1400.0 + 500.0 * (1 - u) ** 2) * up
    return np.stack([x, 60.0 + 1700.0 * m * out, z], axis=-1)


def _upright(u: Floats, v: Floats) -> Floats:
    """A stem nearly upright over a keel that falls half a metre in the first half metre."""
    m = _body(u, 0.42, 0.38, (2.5, 2.2))
    out, up = _section(v, 2.0 + m**2, 0.75 * (1 - m) ** 1.5 + 0.1)
    low = 500.0 * np.exp(-70.0 * u)
    top = 2200.0 + 600.0 * (1 - u) ** 2 + 250.0 * u**2
    x = 60.0 * (1 - up) * (1 - u) ** 3 + 14000.0 * u
    return np.stack([x, 60.0 + 2000.0 * m * out, low + (top - low) * up], axis=-1)


# sections and rabbets that turn more sharply than their readings, or points, can show
SHARP: dict[str, tuple[Shape, tuple[float, float]]] = {
    "flat to the stem": (_flat_to_stem, (300.0, 13900.0)),
    "hard bilge": (_hard_bilge, (300.0, 11800.0)),
    "upright stem": (_upright, (300.0, 13900.0)),
}


def _chine(u: Floats, v: Floats) -> Floats:
    """A hard chine, at half of each section, from the stem to the last station."""
    m = (1 - (1 - u) ** 2.4) * (1 - 0.15 * u**2)
    low, chine = 250.0 * (1 - u) ** 3, 350.0 + 900.0 * (1 - u) ** 2.2 + 60.0 * u
    top = 1500.0 + 600.0 * (1 - u) ** 2
    below, above = np.clip(2 * v, 0, 1), np.clip(2 * v - 1, 0, 1)
    y = 60.0 + m * (1500.0 * below + 330.0 * above + 120.0 * above * (1 - above))
    z = low + (chine - low) * below + (top - chine) * above - 100.0 * m * below * (1 - below)
    return np.stack([12000.0 * u - 900.0 * (1 - u) ** 3 * v, y, z], axis=-1)


_LAUNCH = by_girth(launch_shape())


def _flared(u: Floats, v: Floats) -> Floats:
    """The launch with a knuckle at 0.72 of the girth, from the stem to her middle, fading out."""
    at_stem = np.clip(u / 0.12, 0, 1)
    flare = np.clip((0.45 - u) / 0.33, 0, 1) ** 1.5 * at_stem**2 * (3 - 2 * at_stem)
    point = _LAUNCH(u, v).copy()
    point[..., 1] += 900.0 * flare * np.clip(v - 0.72, 0, None)
    return point


# a knuckle runs along her: at which share of v, and the first and last station
KNUCKLED: dict[str, tuple[Shape, tuple[float, float], float]] = {
    "chine": (_chine, (200.0, 11800.0), 0.5),
    "flared": (_flared, (-700.0, 16700.0), 0.72),
}
