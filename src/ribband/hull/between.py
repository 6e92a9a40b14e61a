"""Where a section turns further between two neighbouring readings than they can show.

A *span* is the stretch of a section between two neighbouring readings; the lower end and the sheer
count as readings. What it turns is foretold from either side: each chord beside it leans as the
section does at its middle, and is run on to the span by the turning of the readings about it. The
first span has readings on one side only. It is taken to turn evenly, or, on a station that begins
on the keel, from where the rabbet of the next station towards midships leaves off: flat floors
carried to the very stem turn upright within one reading, and only that station tells of it.

A span is told of where the turn is so sharp that any round would do between its readings
(`_SHARP`), or where the drawn surface turns much less there. Both must matter by more than
`_MATTERS` times the tolerance: an arc of chord c that turns by t rises c t / 8.

Not checked: spans of which the readings themselves were left out, and turns fore and aft.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import dist

import numpy as np
from numpy.typing import NDArray

from ribband.findings import Finding, Severity
from ribband.hull.cuts import cut_frames
from ribband.hull.model import Floats
from ribband.hull.patch import Patch
from ribband.hull.sections import Points
from ribband.numerics.polyline import along
from ribband.survey.model import Reading
from ribband.units import format_length

__all__ = ["Section", "Span", "drawn_sections", "span_turns", "unshown_turns"]

_SHARP = np.radians(55.0)
_LEAST = np.radians(35.0)
_AT_EDGE = np.radians(90.0)  # beside rabbet and sheer, foretold from one side, no more is believed
_BESIDE = np.radians(30.0)  # beside a span told of, on the next station
_MATTERS = 5.0  # times the tolerance
_SURE = 2.0  # times its own error is taken off a turn before it is believed
_NEAR = 10.0  # times the tolerance: readings nearer each other say nothing of how it turns
_FINE = 257
_FEWEST = 4  # readings of a section with both its ends


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of a station's section: `below` and `above` are its readings, None at an edge.

    turn_rad : how far it turns, as the readings about it foretell, less twice that one's error
    drawn_rad : how far the drawn surface turns there
    chord_mm : from reading to reading
    """

    station: int
    row: int
    below: Reading | None
    above: Reading | None
    turn_rad: float
    drawn_rad: float
    chord_mm: float

    def rise(self, turn_rad: float) -> float:
        """Give how far an arc between the readings that turns so far stands off their chord, mm."""
        return self.chord_mm * turn_rad / 8

    def told(self, least_mm: float) -> bool:
        """Tell whether its readings are too far apart for what it turns."""
        sharp = self.turn_rad > _SHARP and self.rise(self.turn_rad) > least_mm
        unlike = self.rise(self.turn_rad - self.drawn_rad) > least_mm
        return sharp or (self.turn_rad > _LEAST and unlike)

    def beside(self, other: Span, least_mm: float) -> bool:
        """Tell whether it turns nearly as sharply as a span that is told of, a station away."""
        near = abs(self.station - other.station) == 1 and abs(self.row - other.row) <= 1
        return near and self.turn_rad > _BESIDE and self.rise(self.turn_rad) > least_mm


@dataclass(frozen=True, eq=False)
class Section:
    """One station's readings in order up, and its section as drawn.

    points : (n, 2) y and z, from the lower end to the sheer
    readings : (n,) None at both ends; drawn : (k, 2); on_keel : it begins on the keel
    every : (m, 2) as points, with those that were left out as doubtful
    """

    name: str
    points: Floats
    readings: tuple[Reading | None, ...]
    drawn: Floats
    on_keel: bool
    every: Floats


def span_turns(points: Floats, error_mm: float) -> tuple[Floats, Floats]:
    """Give how far a section turns in each of its spans, and twice the error of that, rad (n - 1,).

    points : (n, 2) along the section, n of 4 or more, each known to `error_mm` square to it. The
    outermost spans are taken to be straight where the next ones are run on to them, so that of the
    next ones half as much again is told where a section goes on turning.

    >>> around = np.radians(np.arange(0.0, 91.0, 15.0))  # a round bilge, 15 degrees a reading
    >>> turn, _ = span_turns(1000 * np.stack([np.sin(around), -np.cos(around)], axis=1), 0.0)
    >>> np.degrees(turn).round(6).tolist()
    [15.0, 22.5, 15.0, 15.0, 22.5, 15.0]
    """
    step = np.diff(points, axis=0)
    chord = np.maximum(np.linalg.norm(step, axis=1), 1e-9)
    lean = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    rate = 2 * np.diff(lean) / (chord[1:] + chord[:-1])
    # a chord run on to the span beside it, up and down, by what the section turns beyond it
    up = lean[:-1] + np.concatenate([[0.0], rate[:-1]]) * chord[:-1] / 2
    down = lean[1:] - np.concatenate([rate[1:], [0.0]]) * chord[1:] / 2
    turn = np.concatenate(
        [[2 * (down[0] - lean[0])], down[1:] - up[:-1], [2 * (lean[-1] - up[-1])]]
    )
    own = np.sqrt(2.0) * error_mm / chord
    beside = np.concatenate([[0.0], own]), np.concatenate([own, [0.0]])
    error = 1.5 * np.hypot(beside[0][:-1], beside[1][1:])
    error[[0, -1]] = 2 * np.hypot(error[[0, -1]], own[[0, -1]])
    return turn, _SURE * error


def unshown_turns(
    sections: Sequence[Section], *, error_mm: float, tolerance_mm: float, unit: str
) -> list[Finding]:
    """Name the stations and the readings between which a section turns further than they show.

    error_mm : the readings' usual error
    """
    least = _MATTERS * tolerance_mm
    spans = list(_spans(sections, error_mm))
    told = [s for s in spans if s.told(least)]
    told += [s for s in spans if s not in told and any(s.beside(t, least) for t in told)]
    return [_finding(group, sections, unit) for group in _groups(told)]


def drawn_sections(
    points: Points, use: Floats, patch: Patch, *, tolerance_mm: float
) -> list[Section]:
    """Give the sections of the stations aft, those with few readings in use left out.

    use : (m,) weights of the readings in the end
    """
    near_mm = _NEAR * tolerance_mm
    stations = points.stations
    rows = [
        np.flatnonzero((stations == k) & (use > 0))
        for k in range(int(stations.max(initial=-1)) + 1)
    ]
    rows = [r for r in rows if len(r) and points.readings[r[0]].station]
    x = np.array([points.xyz[r, 0].mean() for r in rows])
    which, starts, u, v, _ = cut_frames(patch.tensor, x, _FINE)
    cuts = patch.tensor.at(u, v)[..., 1:]
    found = []
    for k, start, cut in zip(which, starts, cuts, strict=True):
        here = np.flatnonzero((stations == stations[rows[k][0]]) & (points.use > 0))
        all_up, up = (_up(some, patch, points, cut, near_mm) for some in (here, rows[k]))
        if len(up) + 2 < _FEWEST:
            continue
        readings = (None, *(points.readings[i] for i in up), None)
        run, every = (
            np.concatenate([cut[:1], points.xyz[some, 1:], cut[-1:]]) for some in (up, all_up)
        )
        name = points.readings[up[0]].station
        found.append(Section(name, run, readings, cut, start == "keel", every))
    return found


def _up(
    rows: NDArray[np.intp], patch: Patch, points: Points, cut: Floats, near_mm: float
) -> NDArray[np.intp]:
    """Give the rows of one station in order up, those too near each other left out."""
    up = rows[np.argsort(patch.v[rows], kind="stable")]
    return up[_apart(cut, points.xyz[up, 1:], near_mm)]


def _apart(cut: Floats, readings: Floats, near_mm: float) -> NDArray[np.intp]:
    """Give the readings (m, 2), in order up, that stand apart from the last one and both ends."""
    kept: list[int] = []
    last, head = cut[0].tolist(), cut[-1].tolist()
    for k, reading in enumerate(readings.tolist()):
        if min(dist(reading, last), dist(reading, head)) > near_mm:
            kept.append(k)
            last = reading
    return np.array(kept, np.intp)


def _spans(sections: Sequence[Section], error_mm: float) -> Iterator[Span]:
    turns = [span_turns(s.points, error_mm) for s in sections]
    for k, (section, (turn, doubt)) in enumerate(zip(sections, turns, strict=True)):
        inward = k + 1 if k < len(sections) / 2 else k - 1
        if section.on_keel and 0 <= inward < len(sections) and sections[inward].on_keel:
            flatter = _at_rabbet(sections[inward].points, turns[inward][0])
            turn[0] = max(turn[0], _at_rabbet(section.points, turn) + turn[0] - flatter)
        drawn = _drawn(section)
        chord = np.linalg.norm(np.diff(section.points, axis=0), axis=1)
        sure = np.maximum(np.abs(turn) - doubt, 0.0)
        sure[[0, -1]] = np.minimum(sure[[0, -1]], _AT_EDGE)
        for j in range(len(turn)):
            below, above = section.readings[j], section.readings[j + 1]
            yield Span(k, j, below, above, float(sure[j]), float(drawn[j]), float(chord[j]))


def _at_rabbet(points: Floats, turn: Floats) -> float:
    """Give how a section leans where it leaves the rabbet, rad."""
    y, z = points[1] - points[0]
    return float(np.arctan2(z, y) - turn[0] / 2)


def _drawn(section: Section) -> Floats:
    """Give how far the drawn section turns between its readings, rad (n - 1,)."""
    step = np.diff(section.drawn, axis=0)
    lean = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    middle = (along(section.drawn)[1:] + along(section.drawn)[:-1]) / 2
    (y, z), (y_read, z_read) = section.drawn.T, section.points.T[..., None]
    at = along(section.drawn)[((y - y_read) ** 2 + (z - z_read) ** 2).argmin(axis=1)]
    return np.asarray(np.abs(np.diff(np.interp(at, middle, lean))), float)


def _groups(told: Sequence[Span]) -> list[list[Span]]:
    """Put together spans that lie beside each other, on one station or the next."""
    groups: list[list[Span]] = []
    for span in sorted(told, key=lambda s: (s.station, s.row)):
        mine = [g for g in groups if any(_touch(span, other) for other in g)]
        groups = [g for g in groups if g not in mine] + [[*(s for g in mine for s in g), span]]
    return groups


def _touch(one: Span, other: Span) -> bool:
    return abs(one.station - other.station) <= 1 and abs(one.row - other.row) <= 1


def _finding(group: Sequence[Span], sections: Sequence[Section], unit: str) -> Finding:
    worst = max(group, key=lambda s: s.rise(s.turn_rad))
    names = list(dict.fromkeys(sections[s.station].name for s in sorted(group, key=_aft)))
    below, above = (
        _named(worst.below, "the rabbet", unit),
        _named(worst.above, "the sheer", unit),
    )
    at = f" (at station {sections[worst.station].name})" if len(names) > 1 else ""
    says = (
        f"the section turns by as much as {np.degrees(worst.turn_rad):.0f}° between {below}"
        f" and {above}, {format_length(worst.chord_mm, unit)} apart{at}: how sharply, and where"
        " between them, does not show, and the surface may run otherwise there"
    )
    why = "measure points closer together there"
    many = "station" if len(names) == 1 else "stations"
    return Finding("H024", Severity.CAUTION, "hull", f"{many} {', '.join(names)}", says, why)


def _aft(span: Span) -> int:
    return span.station


def _named(reading: Reading | None, edge: str, unit: str) -> str:
    """Name a reading by its line, or by where it is."""
    if reading is None:
        return edge
    return reading.line or f"the point at height {format_length(reading.z_mm, unit)}"
