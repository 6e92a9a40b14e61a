"""Reading a scan: PLY, OBJ, STL or plain text of x y z.

A file is measured before it is read: what its heading promises must be there, so that a broken or
hostile file costs neither time nor memory. Only positions are used; of a mesh of large facets,
points are also taken from the facets, evenly, always the same ones. Nothing a file points to
(materials, pictures) is opened.

Not checked here: that it is a hull.
"""

from __future__ import annotations

import io
import logging
import math
import re
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from ribband.errors import InputError, Problem
from ribband.findings import Finding, Severity
from ribband.survey.scan_model import Cloud, Floats
from ribband.units import UNITS, counted, unit_named

__all__ = ["MOST_POINTS", "read_scan"]

MOST_POINTS = 20_000_000
MOST_BYTES = 3_000_000_000
FEWEST_POINTS = 500
SHORTEST_MM, LONGEST_MM = 800.0, 150_000.0
MOST_STREWN = 2_000_000
_SIZES = {
    "char": 1, "uchar": 1, "int8": 1, "uint8": 1, "short": 2, "ushort": 2, "int16": 2,
    "uint16": 2, "int": 4, "uint": 4, "int32": 4, "uint32": 4, "float": 4, "float32": 4,
    "double": 8, "float64": 8,
}  # fmt: skip


def read_scan(path: Path, unit: str) -> Cloud:
    """Read the points of a scan whose numbers are in `unit`, a key of `ribband.units`.

    Raises
    ------
    InputError : not a scan, not whole, too large, or no size for a vessel in that unit
    """
    try:
        mm = float(UNITS[unit_named(unit)].mm)
    except ValueError as error:
        raise _wrong(path, unit, str(error), "unit") from error
    kinds: dict[str, Callable[[Path], Floats]] = {
        ".ply": _ply, ".obj": _obj, ".stl": _stl,
        ".xyz": _text, ".txt": _text, ".csv": _text, ".pts": _text,
    }  # fmt: skip
    if path.suffix.lower() not in kinds:
        raise _wrong(path, path.suffix or "no ending", "a PLY, OBJ, STL or XYZ file")
    try:
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise _wrong(path, f"{size / 1e9:.1f} GB", "at most 3 GB; thin the scan first")
        points = kinds[path.suffix.lower()](path)
    except OSError as error:
        found = error.strerror or "it cannot be read"
        raise _wrong(path, found, "a file that can be read") from error
    return _checked(path, points, mm)


def _wrong(path: Path, found: str, wanted: str, column: str = "") -> InputError:
    return InputError([Problem(path.name, 0, column, found, wanted)])


def _checked(path: Path, points: Floats, mm: float) -> Cloud:
    sound = np.isfinite(points).all(axis=1) & (np.abs(points) < 1e9).all(axis=1)
    whole = np.asarray(points[sound] * mm, float)
    if len(whole) < FEWEST_POINTS:
        wanted = f"at least {FEWEST_POINTS} points"
        raise _wrong(path, f"{counted(len(whole), 'point')} that can be used", wanted)
    findings = []
    if lost := len(points) - len(whole):
        says = counted(
            lost,
            "point has no place (not a number) and is",
            "points have no place (not a number) and are",
        )
        says = f"of {len(points)} points {says} left out"
        findings.append(Finding("S101", Severity.CAUTION, "survey", path.name, says))
    middle = np.median(whole, axis=0)
    reach = 2.0 * float(np.quantile(np.linalg.norm(whole - middle, axis=1), 0.98))
    if not SHORTEST_MM <= reach <= LONGEST_MM:
        raise _wrong(path, f"{reach / 1000:.3g} m across", _which_unit(reach / mm), "unit")
    return Cloud(whole, mm, path.name, tuple(findings))


def _which_unit(reach: float) -> str:
    """Say in which units a scan so large, in its own numbers, could be a vessel."""
    fits = [u.key for u in UNITS.values() if u.key != "ft-in-8ths"
            and 2 * SHORTEST_MM < reach * float(u.mm) < LONGEST_MM / 2]  # fmt: skip
    hint = f"; in {' or '.join(fits)} it would be one" if fits else ""
    return f"the size of a vessel, 0.8 to 150 m{hint}"


def _enough(path: Path, promised: int, room: int) -> None:
    """Refuse a file that promises more points than we take, or than it has room for."""
    if promised > MOST_POINTS:
        wanted = f"at most {MOST_POINTS // 1_000_000} million; thin the scan first"
        raise _wrong(path, counted(promised, "point"), wanted)
    if promised > room:
        raise _wrong(
            path, f"{counted(promised, 'point')} promised, room for {room}", "a file that is whole"
        )


def _ply(path: Path) -> Floats:
    data = path.read_bytes()
    elements, binary, start = _ply_heading(path, data)
    left = len(data) - start
    for name, count, size in elements:
        least = size if binary else 2 * max(size // 8, 1)
        _enough(path, count, left // max(least, 1))
        left -= count * least
        if name == "vertex" and not count:
            raise _wrong(path, "no points", "points")
    return _by_library(path, data, "ply")


def _ply_heading(path: Path, data: bytes) -> tuple[list[tuple[str, int, int]], bool, int]:
    """Give (name, count, least bytes of one) of each element, if binary, and where data is."""
    end = re.search(rb"end_header\r?\n", data[:100_000])
    if not data.startswith(b"ply") or end is None:
        raise _wrong(path, "no PLY heading", "a PLY file")
    elements: list[tuple[str, int, int]] = []
    binary = False
    for line in data[: end.start()].decode("latin-1").splitlines():
        words = line.split()
        if words[:1] == ["format"]:
            binary = len(words) > 1 and words[1] != "ascii"
        elif words[:1] == ["element"]:
            elements.append((words[1] if len(words) > 1 else "", _count(path, words), 0))
        elif words[:1] == ["property"] and len(words) >= 3 and elements:
            name, count, size = elements[-1]
            kind = words[2] if words[1] == "list" else words[1]
            elements[-1] = name, count, size + (_SIZES.get(kind, 1) if binary else 8)
    return elements, binary, end.end()


def _count(path: Path, words: list[str]) -> int:
    if len(words) != 3 or not (words[2].isascii() and words[2].isdigit()) or len(words[2]) > 18:
        raise _wrong(path, " ".join(words)[:60], "a count of points in the heading")
    return int(words[2])


def _stl(path: Path) -> Floats:
    data = path.read_bytes()
    facets = int.from_bytes(data[80:84], "little")
    text = data.lstrip()[:5].lower() == b"solid" and b"facet" in data[:2000]
    if not text:
        _enough(path, facets, max(0, len(data) - 84) // 50)
    elif not re.search(rb"endsolid[^\n]*\s*$", data[-500:]):
        raise _wrong(path, "no endsolid at its end", "a file that is whole")
    return _by_library(path, data, "stl_ascii" if text else "stl")


def _obj(path: Path) -> Floats:
    data = path.read_bytes()
    _enough(path, len(re.findall(rb"(?m)^v\s", data)), len(data))
    if re.search(rb"(?m)^f\s", data):
        plain = b"".join(re.findall(rb"(?m)^(?:v|f)\s[^\n]*\n?", data))
        return _by_library(path, plain, "obj")
    lines = [line[1:] for line in re.findall(rb"(?m)^v\s[^\n]*", data)]
    return _numbers(path, b"\n".join(lines))


def _by_library(path: Path, data: bytes, kind: str) -> Floats:
    """Read by the library; whatever it stumbles over is a file that is not whole."""
    import trimesh  # noqa: PLC0415 - only when a scan is read

    logging.getLogger("trimesh").setLevel(logging.CRITICAL)  # what is wrong is said once, by us
    try:
        with np.errstate(all="ignore"):
            read: Any = trimesh.load_scene(io.BytesIO(data), file_type=kind, process=False)
            return np.concatenate([_points_of(shape) for shape in read.geometry.values()])
    except MemoryError as error:
        raise _wrong(path, "too much for this machine's memory", "a thinner scan") from error
    except Exception as error:
        found = f"unreadable {kind.partition('_')[0].upper()} ({type(error).__name__})"
        raise _wrong(path, found, "a file that is whole") from error


def _points_of(shape: Any) -> Floats:
    """Give a shape's own points and, where its facets are large, points strewn over them."""
    points = np.asarray(shape.vertices, float)
    faces = getattr(shape, "faces", None)
    if faces is None or not len(faces):
        return points
    faces = np.asarray(faces)
    faces = faces[((faces >= 0) & (faces < len(points))).all(axis=1)]
    return np.concatenate([points, _strewn(points, faces)])


def _strewn(points: Floats, faces: Any) -> Floats:
    """Strew points over facets, in proportion to their areas; a fixed seed, so always the same."""
    corners = points[faces]
    sides = corners[:, 1:] - corners[:, :1]
    area = np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1) / 2
    sound = np.isfinite(area) & (area > 0)
    corners, sides, area = corners[sound], sides[sound], area[sound]
    extent = float(np.linalg.norm(np.ptp(corners.reshape(-1, 3), axis=0))) if len(area) else 0.0
    if not extent or math.sqrt(float(np.median(area))) < extent / 1000.0:
        return np.empty((0, 3))  # facets finer than a thousandth of the whole need nothing
    count = min(MOST_STREWN, int(area.sum() / (extent / 1500.0) ** 2))
    rng = np.random.default_rng(0)
    which = rng.choice(len(area), count, p=area / area.sum())
    a, b = np.sort(rng.random((2, count)), axis=0)
    return np.asarray(
        corners[which, 0] + sides[which, 0] * a[:, None] + sides[which, 1] * (1 - b)[:, None], float
    )


def _text(path: Path) -> Floats:
    return _numbers(path, path.read_bytes())


def _numbers(path: Path, data: bytes) -> Floats:
    """Read lines of x y z and whatever follows; blanks, commas or semicolons between."""
    if b"\0" in data[:10_000]:
        raise _wrong(path, "not text", "lines of x y z")
    plain = data.replace(b",", b" ").replace(b";", b" ").replace(b"\t", b" ")
    _enough(path, plain.count(b"\n"), max(len(plain), 1))
    skip = _headings(plain)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", UserWarning)  # of a file without numbers
            return np.loadtxt(
                io.BytesIO(plain), usecols=(0, 1, 2), comments="#", skiprows=skip, ndmin=2,
                encoding="latin-1",
            )  # fmt: skip
    except (ValueError, IndexError, UserWarning) as error:
        row = re.search(r"row (\d+)", str(error))
        at = f" in line {int(row.group(1)) + skip}" if row else ""
        wanted = "lines of x y z, a point as decimal sign"
        raise _wrong(path, f"no three numbers{at}", wanted) from error


def _headings(plain: bytes) -> int:
    """Count the lines before the first with three numbers (a heading, or a count of points)."""
    for number, line in enumerate(plain[:5000].split(b"\n")[:20]):
        try:
            if len([float(word) for word in line.split()[:3]]) == 3:
                return number
        except ValueError:
            continue
    return 0
