"""A knuckle that runs fore and aft: a chine, or the corner of a tuck or a flared bow.

One patch cannot turn a corner along her: it is drawn round. So it is looked for and told of.

At each station the spans that turn by more than they can be wrong by, and by far more than those
beside them, are held against a sweep and a knuckle as the rabbet's own corners are
(`knuckle.likeliest`). One station proves little. Corners at stations side by side, at girths near
each other and turning the same way, are one *run*; it is believed where a knuckle suits most of
its stations better than a sweep. Readings given up as doubtful count here, for at a knuckle the
surface is too stiff for good ones.

How far out the surface is there is how far the two lines of the knuckle, as far as two readings on
either side, lie off the drawn section. A bilge that turns within
one reading looks the same, and is told of as the same.

Not checked: knuckles at fewer than `_FEWEST` stations, or within two readings of rabbet or sheer.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import median

import numpy as np

from ribband.findings import Finding, Severity
from ribband.hull.between import Section, span_turns
from ribband.hull.knuckle import likeliest
from ribband.hull.model import Floats
from ribband.units import format_length, format_small

__all__ = ["knuckles_along"]

_LEAST = np.radians(8.0)  # a lesser turn is no corner
_TIMES = 1.5  # what the next two readings on either side turn together, the lesser side
_BESIDE = 2  # spans: sharp ones no further from each other are of one corner
_WINDOW = 6  # readings on either side, by which it is judged
_FEWEST = 4  # stations
_GAP = 2  # stations from one corner to the next
_GIRTH = 0.04  # of the girth that a knuckle may rise or fall by, from station to station
_BETTER = 0.85  # of what a sweep leaves, at the middle station of the run


@dataclass(frozen=True, slots=True)
class _Corner:
    """A corner of one station's section.

    place : y and z; girth : fraction of the girth; turn_rad : positive where round outward
    better : what a knuckle leaves of what a sweep leaves; out_mm : how far its two
    lines lie off the drawn section
    """

    station: int
    place: tuple[float, float]
    girth: float
    turn_rad: float
    better: float
    out_mm: float


def knuckles_along(
    sections: Sequence[Section], *, error_mm: float, tolerance_mm: float, unit: str
) -> list[Finding]:
    """Name the knuckles along her that the surface rounds by more than the tolerance."""
    corners = [
        corner
        for k, section in enumerate(sections)
        for corner in _corners(k, section, error_mm, tolerance_mm)
    ]
    runs = [run for run in _runs(corners) if _believed(run)]
    told = [(run, _worst(run)) for run in runs]
    return [
        _finding(run, worst, sections, unit) for run, worst in told if worst.out_mm > tolerance_mm
    ]


def _corners(station: int, section: Section, error_mm: float, close_mm: float) -> Iterator[_Corner]:
    """Give what may be corners of one section; few where it is round."""
    points = section.every
    for span, turned in _sharp(points, error_mm):
        low = max(span - _WINDOW, 0)
        found = likeliest(points[low : span + 2 + _WINDOW], span - low, close_mm)
        if found is None:
            continue
        nearest = np.linalg.norm(section.drawn - np.array(found.corner), axis=1).argmin()
        yield _Corner(
            station,
            found.corner,
            int(nearest) / (len(section.drawn) - 1),
            float(np.copysign(found.turn_rad, turned)),
            found.out_mm / max(found.sweep_mm, 1e-9),
            _furthest(found.path, section.drawn),
        )


def _furthest(path: Floats, drawn: Floats) -> float:
    """Give how far points (k, 2) lie beside a section as drawn, (m, 2), at the most."""
    nearest = np.linalg.norm(path[:, None] - drawn[None], axis=-1).argmin(axis=1)
    inner = np.clip(nearest, 1, len(drawn) - 2)
    way = drawn[inner + 1] - drawn[inner - 1]
    off = path - drawn[nearest]
    beside = off[:, 0] * way[:, 1] - off[:, 1] * way[:, 0]
    return float(np.max(np.abs(beside) / np.linalg.norm(way, axis=1)))


def _sharp(points: Floats, error_mm: float) -> list[tuple[int, float]]:
    """Give the spans, clear of both edges, that turn far more than those beside them, and how."""
    if len(points) < 7:
        return []
    turn, doubt = span_turns(points, error_mm)
    step = np.diff(points, axis=0)
    lean = np.abs(np.diff(np.unwrap(np.arctan2(step[:, 1], step[:, 0]))))  # at inner readings
    sharp: list[int] = []
    for j in range(2, len(turn) - 2):
        # a corner at either of its readings turns there; the readings beyond do not
        below, above = lean[max(j - 3, 0) : j - 1].sum(), lean[j + 1 : j + 3].sum()
        sure = abs(turn[j]) - doubt[j] / 2
        if sure <= _LEAST or sure <= _TIMES * min(below, above):
            continue
        if not sharp or j > sharp[-1] + _BESIDE:
            sharp.append(j)
        elif abs(turn[j]) > abs(turn[sharp[-1]]):
            sharp[-1] = j  # the same corner, seen from the span beside it
    return [(j, float(turn[j])) for j in sharp]


def _runs(corners: Sequence[_Corner]) -> list[list[_Corner]]:
    """Join corners of neighbouring stations, of like girth fractions, into runs aft."""
    runs: list[list[_Corner]] = []
    for corner in corners:
        near = [run for run in runs if _follows(run[-1], corner)]
        if near:
            min(near, key=lambda run: abs(run[-1].girth - corner.girth)).append(corner)
        else:
            runs.append([corner])
    return runs


def _follows(last: _Corner, corner: _Corner) -> bool:
    ahead = corner.station - last.station
    alike = last.turn_rad * corner.turn_rad > 0
    return alike and 0 < ahead <= _GAP and abs(corner.girth - last.girth) < _GIRTH * ahead


def _believed(run: Sequence[_Corner]) -> bool:
    return len(run) >= _FEWEST and median(c.better for c in run) < _BETTER


def _worst(run: Sequence[_Corner]) -> _Corner:
    """Give the corner that is rounded most and not by its own error alone: one beside it is too."""

    def borne_out(k: int) -> float:
        beside = (run[j].out_mm for j in (k - 1, k + 1) if 0 <= j < len(run))
        return min(run[k].out_mm, max(beside))

    return run[max(range(len(run)), key=borne_out)]


def _finding(
    run: Sequence[_Corner], worst: _Corner, sections: Sequence[Section], unit: str
) -> Finding:
    first, last = (sections[c.station].name for c in (run[0], run[-1]))
    y, z = (format_length(mm, unit) for mm in worst.place)
    low, high = (f"{100 * c.girth:.0f} %" for c in (run[0], run[-1]))
    turn = float(np.degrees(median(abs(c.turn_rad) for c in run)))
    says = (
        f"the sections turn a corner, mostly of some {turn:.0f}°, at {low} of the girth up from the"
        f" rabbet (station {first}) to {high} (station {last}): a knuckle along her, or a bilge as"
        " sharp as one. One fair surface draws it round, and beside it is out by as much as"
        f" {format_small(worst.out_mm, unit)} (station {sections[worst.station].name}, where the"
        f" corner, if sharp, stands at half-breadth {y}, height {z})"
    )
    why = (
        "let a seam run along it, pinned there, for a plank across it would be got out round; take"
        " that seam's line, edges and bevels from the hull or the floor"
    )
    return Finding("H026", Severity.CAUTION, "hull", f"stations {first} to {last}", says, why)
