"""Checking a plank list against the hull, apart from the code that made it.

*Area*: the hull's side is summed here from flat facets over its own lines, not from strake widths;
the two must agree within `AREA_ERROR`. The facets lie inside a round hull and the widths run
straight from frame to frame, so they never agree exactly.
*Cover*: the planks of a strake must be numbered from forward, meet end to end and reach from its
fore end to its after end.
*Lengths*: again from chords between the middles of the strake at its frames, which are a little
shorter than the run.
*Scarfs*: what they take off by their taper, from the strake's width at the landing alone.

Not checked here: butt rules, and whether the lining itself covers the hull (`ribband.lining`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby, pairwise

import numpy as np
from numpy.typing import NDArray

from ribband.butts.model import Layout, Ways
from ribband.findings import Finding, Severity
from ribband.hull.model import Floats, Hull
from ribband.lining.model import Lining
from ribband.planks.model import Plank, PlankList, Total
from ribband.units import counted

__all__ = ["AREA_ERROR", "check", "hull_side_m2"]

AREA_ERROR = 0.005  # of the hull's side
LENGTH_ERROR = 0.01  # of a strake's length
TAPER_ERROR = 0.1  # of what a scarf takes off: the strake narrows along it
BOARD_FOOT_M3 = 144 * 0.0254**3
REFINE = 16


def check(  # noqa: PLR0917 - the inputs of the stage and its result
    hull: Hull,
    lining: Lining,
    ways: Ways,
    layout: Layout,
    planks: PlankList,
    other: Layout | None = None,
    scarf_mm: float = 0.0,
) -> tuple[Finding, ...]:
    """Look for planks that are missing, twice, gapped, mis-measured or mis-added.

    `layout`, `other` and `scarf_mm` as for `list_planks`. No finding means everything agreed.
    """
    butts = {"port": layout, "starboard": other or layout}
    return (
        *_names(planks.planks),
        *_cover(planks.planks, lining, ways, butts),
        *_scarfs(planks.planks, scarf_mm),
        *_lengths(planks.planks, lining),
        *_areas(planks.planks, hull, lining),
        *_tapers(planks.planks, lining),
        *_volumes(planks.planks),
        *_sums(planks),
    )


def hull_side_m2(hull: Hull) -> float:
    """Give the area of one side of the hull between rabbet and sheer, m2, from facets.

    Where there is no stem or stern the side ends at the first or last frame, as the planks do.
    With girths only it is the girth summed along the hull.
    """
    xyz = hull.lines.xyz
    if xyz is None:
        return float(np.trapezoid(hull.lines.girth_mm, hull.lines.x_mm)) / 1e6
    return _facets(_refined(xyz), *_ends(hull)) / 1e6


def _ends(hull: Hull) -> tuple[float, float]:
    fore = -np.inf if hull.has_stem else float(hull.marks[0].x_mm)
    aft = np.inf if hull.has_stern else float(hull.marks[-1].x_mm)
    return fore, aft


def _refined(xyz: Floats) -> Floats:
    """Put straight lines of points between the lines, so that the ends are cut off closely."""
    t = (np.arange(REFINE) / REFINE)[None, :, None, None]
    between = xyz[:-1, None] * (1 - t) + xyz[1:, None] * t
    return np.concatenate([between.reshape(-1, *xyz.shape[1:]), xyz[-1:]])


def _facets(p: Floats, fore: float, aft: float) -> float:
    """Sum the areas of the facets whose middle lies from `fore` to `aft`, mm2."""
    across = np.cross(p[1:, 1:] - p[:-1, :-1], p[1:, :-1] - p[:-1, 1:])
    area = np.linalg.norm(across, axis=-1) / 2
    middle = (p[1:, 1:, 0] + p[:-1, :-1, 0] + p[1:, :-1, 0] + p[:-1, 1:, 0]) / 4
    return float(area[(middle >= fore) & (middle <= aft)].sum())


def _names(planks: tuple[Plank, ...]) -> Iterator[Finding]:
    names = [plank.name for plank in planks]
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield _fault("P011", name, "two planks have this name")


def _cover(
    planks: tuple[Plank, ...], lining: Lining, ways: Ways, butts: dict[str, Layout]
) -> Iterator[Finding]:
    ends = {strake.name: (strake.first, strake.last) for strake in lining.strakes}
    wanted = {(side, name) for side in {p.side for p in planks} for name in ends}
    for (side, strake), group in groupby(planks, lambda p: (p.side, p.strake)):
        row = list(group)
        wanted.discard((side, strake))
        count = 1 + sum(ways.strakes[b.strake] == strake for b in butts[side].butts)
        for says in _gaps(row, ends.get(strake, ("", "")), count):
            yield _fault("P012", f"{side} strake {strake}", says)
    for side, strake in sorted(wanted):
        yield _fault("P012", f"{side} strake {strake}", "has no planks")


def _gaps(row: list[Plank], ends: tuple[str, str], count: int) -> Iterator[str]:
    if len(row) != count:
        yield f"{counted(len(row), 'plank')} where the butts make {count}"
    if [plank.number for plank in row] != list(range(1, len(row) + 1)):
        yield "planks are not numbered one by one from forward"
    if (row[0].fore, row[-1].aft) != ends:
        yield f"runs from {row[0].fore} to {row[-1].aft}, not from {ends[0]} to {ends[1]}"
    for a, b in pairwise(row):
        if (a.aft, a.aft_landing) != (b.fore, b.fore_landing):
            yield f"{a.name} and {b.name} do not meet"
    for plank in row:
        if not (plank.length_mm > 0 and 0 <= plank.width_min_mm <= plank.width_max_mm):
            yield f"{plank.name} has no length or its widths are crossed"


def _scarfs(planks: tuple[Plank, ...], scarf_mm: float) -> Iterator[Finding]:
    """Both planks of every joint must have the scarf, and no other end may have one."""
    for _, group in groupby(planks, lambda p: (p.side, p.strake)):
        row = list(group)
        wanted = [0.0, *[scarf_mm] * (len(row) - 1), 0.0]
        for plank, ends in zip(row, pairwise(wanted), strict=True):
            if (plank.fore_scarf_mm, plank.aft_scarf_mm) != ends:
                yield _fault("P012", plank.name, "has not the scarfs its joints ask for")


def _lengths(planks: tuple[Plank, ...], lining: Lining) -> Iterator[Finding]:
    if lining.lower_xyz is None or lining.upper_xyz is None:
        return
    for row, strake in enumerate(lining.strakes):
        middle = (lining.lower_xyz[row] + lining.upper_xyz[row]) / 2
        chord = _chords(middle, np.isfinite(lining.full_width_mm[row]))
        for side in ("port", "starboard"):
            here = [p for p in planks if (p.side, p.strake) == (side, strake.name)]
            its = [p.length_mm - p.aft_scarf_mm for p in here]  # what overlaps counts once
            if its and abs(sum(its) - chord) > LENGTH_ERROR * chord + 30.0:
                says = f"planks are {sum(its):.0f} mm long together, the strake {chord:.0f} mm"
                yield _fault("P013", f"{side} strake {strake.name}", says)


def _chords(middle: Floats, whole: NDArray[np.bool_]) -> float:
    """Go from end to end of a strake, past frames that cut only a corner of it at a raking end."""
    at = np.flatnonzero(np.isfinite(middle).all(axis=-1))
    known = middle[at[whole[at] | np.isin(at, at[[0, -1]])]]
    return float(np.linalg.norm(np.diff(known, axis=0), axis=-1).sum())


def _areas(planks: tuple[Plank, ...], hull: Hull, lining: Lining) -> Iterator[Finding]:
    side = hull_side_m2(hull)
    for name in dict.fromkeys(plank.side for plank in planks):
        its = [plank for plank in planks if plank.side == name]
        once = sum(plank.area_m2 - _overlap_m2(plank, lining) for plank in its)
        for listed in (once, sum(plank.covers_m2 for plank in its)):
            if abs(listed - side) > AREA_ERROR * side:
                says = f"planks cover {listed:.2f} m2, the hull's side is {side:.2f} m2"
                yield _fault("P014", name, says)
                break


def _overlap_m2(plank: Plank, lining: Lining) -> float:
    """Give what a plank shares with the next one aft: its scarf by the strake's width there."""
    return _scarf_m2(plank.strake, plank.aft, plank.aft_landing, plank.aft_scarf_mm, lining)


def _scarf_m2(strake: str, at: str, landing: str, long_mm: float, lining: Lining) -> float:
    """Give the face of a scarf, m2, from the strake's width at its landing."""
    if not long_mm:
        return 0.0
    row = next(k for k, s in enumerate(lining.strakes) if s.name == strake)
    column = lining.columns.index(at)
    widths = lining.width_mm[row, column : column + 1 + (landing == "block")]
    return long_mm * float(np.nanmean(widths)) / 1e6


def _tapers(planks: tuple[Plank, ...], lining: Lining) -> Iterator[Finding]:
    """Look for half of each scarf: it goes from the whole thickness to nothing."""
    for plank in planks:
        ends = (
            (plank.fore, plank.fore_landing, plank.fore_scarf_mm),
            (plank.aft, plank.aft_landing, plank.aft_scarf_mm),
        )
        half = sum(_scarf_m2(plank.strake, *end, lining) for end in ends) / 2
        if abs(plank.taper_m2 - half) > TAPER_ERROR * half + 1e-9:
            says = f"its scarfs take off {plank.taper_m2:.4f} m2 by their taper, not {half:.4f}"
            yield _fault("P015", plank.name, says)


def _volumes(planks: tuple[Plank, ...]) -> Iterator[Finding]:
    for plank in planks:
        exact = plank.covers_m2 * plank.dressed_mm / 1000 / BOARD_FOOT_M3
        rough = plank.area_m2 * plank.rough_mm / 1000 / BOARD_FOOT_M3
        if abs(plank.dressed_board_feet - exact) > 1e-6 * (1 + exact):
            yield _fault("P015", plank.name, "dressed volume is not what it covers by thickness")
        if plank.rough_board_feet < rough - 1e-6 * (1 + rough):
            yield _fault("P015", plank.name, "rough volume is less than area by thickness")


def _sums(planks: PlankList) -> Iterator[Finding]:
    groups: dict[str, tuple[Total, ...]] = {
        "everything": planks.totals,
        "sides": planks.by_side,
        "strakes": planks.by_strake,
        "classes of length": planks.by_length,
    }
    for what, totals in groups.items():
        if not _same(totals, planks.planks):
            yield _fault("P016", what, "totals do not add up to the planks")


def _same(totals: Iterable[Total], planks: tuple[Plank, ...]) -> bool:
    totals = tuple(totals)
    pairs = (
        (sum(t.planks for t in totals), len(planks)),
        (sum(t.length_mm for t in totals), sum(p.length_mm for p in planks)),
        (sum(t.area_m2 for t in totals), sum(p.covers_m2 for p in planks)),
        (sum(t.rough_board_feet for t in totals), sum(p.rough_board_feet for p in planks)),
        (sum(t.rough_m3 for t in totals) / BOARD_FOOT_M3, sum(p.rough_board_feet for p in planks)),
        (sum(t.rough_kg or 0.0 for t in totals), sum(p.rough_kg or 0.0 for p in planks)),
    )
    return all(abs(a - b) <= 1e-9 * (1 + abs(b)) for a, b in pairs)


def _fault(code: str, where: str, says: str) -> Finding:
    return Finding(code, Severity.FAULT, "planks", where, says)
