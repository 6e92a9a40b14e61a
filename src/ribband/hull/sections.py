"""The readings put in order: sections from rabbet to sheer, with the shipwright's decisions in.

A *section* is what was read at one station. `Points` are the readings as arrays, one row each;
`use` is 0 where a reading is left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats
from ribband.survey.model import Decision, Kind, Reading, bodily_key

__all__ = [
    "KINDS",
    "EdgeStations",
    "Points",
    "decided",
    "direction",
    "edge_stations",
    "kinds_of",
    "moved",
    "points_of",
    "stands",
]

KINDS: tuple[Kind, Kind] = ("half-breadths", "heights")
_FAINT = ("doubtful", "interpolated", "fraction lost", "suspect", "?")


@dataclass(frozen=True, eq=False)
class Points:
    """Readings of the surface proper: xyz (m, 3), way (m, 3) in which each was read."""

    readings: tuple[Reading, ...]
    xyz: Floats
    way: Floats
    use: Floats

    @property
    def stations(self) -> NDArray[np.intp]:
        """Which station each row belongs to, counted aft, (m,)."""
        names = [r.station for r in self.readings]
        order = {name: k for k, name in enumerate(dict.fromkeys(names))}
        return np.array([order[name] for name in names], np.intp)


@dataclass(frozen=True, eq=False)
class EdgeStations:
    """Points of the rabbet or sheer, one a station, in order aft: names, xyz (k, 3), use (k, 2).

    `by_y`, `by_z` are the readings the half-breadth and height came from, or None; `sure` (k, 2)
    marks those the shipwright stands by.
    """

    names: tuple[str, ...]
    xyz: Floats
    use: Floats
    by_y: tuple[Reading | None, ...]
    by_z: tuple[Reading | None, ...]
    sure: NDArray[np.bool_]


def direction(reading: Reading) -> Floats:
    """Give the unit direction in which the reading was taken; zero for a point in space."""
    if reading.measured == "y":
        return np.array([0.0, 1.0, 0.0])
    if reading.measured == "z":
        return np.array([0.0, 0.0, 1.0])
    if reading.measured == "d" and reading.value_mm:
        out = float(np.clip(reading.y_mm / reading.value_mm, -1.0, 1.0))
        return np.array([0.0, out, -np.sqrt(1.0 - out**2)])
    return np.zeros(3)


def moved(reading: Reading, value_mm: float) -> Reading:
    """Give the reading as if `value_mm` had been read."""
    if reading.measured == "xyz":
        return replace(reading, value_mm=value_mm, y_mm=value_mm)
    by = (value_mm - reading.value_mm) * direction(reading)
    return replace(reading, value_mm=value_mm, y_mm=reading.y_mm + by[1], z_mm=reading.z_mm + by[2])


def decided(
    readings: Iterable[Reading], decisions: Iterable[Decision]
) -> tuple[tuple[Reading, ...], dict[str, Decision]]:
    """Put corrected values in; also give the decisions by key."""
    said = {d.key: d for d in decisions}
    right = []
    for reading in readings:
        d = said.get(reading.key)
        correct = d is not None and d.decision == "correct" and d.value_mm is not None
        right.append(moved(reading, d.value_mm) if correct else reading)  # type: ignore[union-attr,arg-type]
    return tuple(right), said


def kinds_of(reading: Reading) -> tuple[Kind, ...]:
    """Give the kinds a reading belongs to: half-breadths or heights; none for the rabbet's.

    A point in space belongs to both.
    """
    if reading.role == "rabbet":
        return ()
    if reading.measured == "xyz":
        return KINDS
    return ("heights",) if reading.measured == "z" else ("half-breadths",)


def stands(reading: Reading, said: Mapping[str, Decision]) -> bool:
    """Tell whether the shipwright stands by a reading, kept or corrected, or its whole column."""
    own = said.get(reading.key)
    if own is not None:
        return own.decision != "accept"
    columns = (bodily_key(k, reading.station, reading.side) for k in kinds_of(reading))
    return any(key in said and said[key].decision == "keep" for key in columns)


def weight_of(reading: Reading, said: dict[str, Decision]) -> float:
    """Give 0 for a reading given up, a quarter for one marked faint where written, else 1."""
    d = said.get(reading.key)
    if d is not None:
        return 0.0 if d.decision == "accept" else 1.0
    text = f"{reading.note} {reading.as_typed}".lower()
    return 0.25 if any(word in text for word in _FAINT) else 1.0


def points_of(readings: Iterable[Reading], said: dict[str, Decision]) -> Points:
    """Gather the surface readings, station by station aft and from the rabbet up."""
    chosen = [r for r in readings if r.role == "surface"]
    at: dict[str, list[float]] = {}
    for r in chosen:
        at.setdefault(r.station, []).append(r.x_mm)
    place = {station: sum(x) / len(x) for station, x in at.items()}
    chosen.sort(key=lambda r: (place[r.station], r.station, r.z_mm + r.y_mm))
    xyz = np.array([(r.x_mm, r.y_mm, r.z_mm) for r in chosen], float).reshape(-1, 3)
    way = np.array([direction(r) for r in chosen], float).reshape(-1, 3)
    return Points(tuple(chosen), xyz, way, np.array([weight_of(r, said) for r in chosen], float))


def edge_stations(
    readings: Iterable[Reading], role: str, said: dict[str, Decision]
) -> EdgeStations:
    """Join the height and half-breadth read at each station into points of the rabbet or sheer.

    A half-breadth or height not read is taken from the other reading's point.
    """
    stations: dict[str, list[Reading]] = {}
    for reading in readings:
        if reading.role == role:
            stations.setdefault(reading.station, []).append(reading)
    rows = [(name, *_joined(found, said)) for name, found in stations.items()]
    rows.sort(key=lambda row: row[1][0])
    return EdgeStations(
        tuple(row[0] for row in rows),
        np.array([row[1] for row in rows], float).reshape(-1, 3),
        np.array([row[2] for row in rows], float).reshape(-1, 2),
        tuple(row[3] for row in rows),
        tuple(row[4] for row in rows),
        np.array(
            [[r is not None and stands(r, said) for r in row[3:5]] for row in rows], bool
        ).reshape(-1, 2),
    )


def _joined(
    found: list[Reading], said: dict[str, Decision]
) -> tuple[tuple[float, float, float], tuple[float, float], Reading | None, Reading | None]:
    by_y = next((r for r in found if r.measured in {"y", "xyz", "d"}), None)
    by_z = next((r for r in found if r.measured in {"z", "xyz", "d"}), None)
    y, z = by_y or found[0], by_z or found[0]
    return (
        (found[0].x_mm, y.y_mm, z.z_mm),
        (weight_of(y, said), weight_of(z, said)),
        by_y,
        by_z,
    )
