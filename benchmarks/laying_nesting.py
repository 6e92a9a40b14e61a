"""Laying planks on boards against general nesting libraries, on the same boards in the same run.

None of them is needed by anything else here; where one is absent the table goes without its row,
and that is said. All layings are counted by the whole face of the boards cut into.

- ``python-libnest2d`` (LGPL) knows box bins, fixed items and convex items only, so every board is a
  box in which the wood that is not there and the flaws are fixed items, and a plank is its hull;
  six angles.
- ``compas-nest`` (MIT) takes sheets of any outline with holes, and parts of any outline; two
  angles, for it knows only equal parts of a turn. What it lays is looked over, and a plank that
  is out of its board or on another is not counted as laid.

Each is asked for as many planks as it was seen to finish: of 170 libnest2d laid 86 % in 283 s,
and of 40 compas-nest none in three. Port planks are given as drawn, starboard turned over. Both
fill the boards in the order given, the largest first.
"""

from __future__ import annotations

import sys
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from time import perf_counter, process_time
from typing import Any

import numpy as np
from scipy.spatial import ConvexHull

from benchmarks.table import Row
from ribband.numerics.polygons import enclosed_area
from ribband.numerics.profiles import columns, grown, open_ring
from ribband.timber import LayingRules, lay_planks
from ribband.timber.board_model import Board, Piece
from ribband.timber.laying.ground import rough_ring

TESTS = Path(__file__).parents[1] / "tests"
RULES = LayingRules()
UNITS = 1000  # of libnest2d, to a mm
SECONDS = 30.0  # for ours, and for compas-nest


def made() -> Any:
    """Load the made planks and boards of the tests."""
    if str(TESTS) not in sys.path:
        sys.path.append(str(TESTS))
    return import_module("made_timber")


def rows() -> list[Row]:
    """Compare with every library that is there, on as many planks as it finishes."""
    libraries = (
        ("libnest2d", "pynest2d", nested, 60, 100),
        ("compas-nest", "compas_nest", opened, 6, 12),
    )
    found = []
    for name, module, run, shapes, many in libraries:
        if find_spec(module) is None:
            print(f"laying: {name} is absent; the comparison goes without it")
            continue
        pieces, boards = made().planks(shapes), made().boards(many)
        ours = lay_planks(pieces, boards, RULES, seconds=SECONDS, clock=process_time)
        names = {cut.board for cut in ours.cuts}
        mine = rough(pieces) / face([b for b in boards if b.name in names])
        found.append(against(name, run, pieces, boards, mine))
    return found


def against(name: str, run: Any, pieces: Any, boards: Any, mine: float) -> Row:
    """Run a library on planks and boards, and set its yield beside ours."""
    begun = perf_counter()
    laid, used = run(pieces, sorted(boards, key=lambda b: -enclosed_area(b.outline)))
    theirs = laid / face(used) if used else 0.0
    note = (
        f"ours {mine:.3f}, theirs {theirs:.3f} in {perf_counter() - begun:.0f} s with "
        f"{laid / rough(pieces):.0%} of the planks' face laid"
    )
    many = sum(len(piece.planks) for piece in pieces)
    what = f"laying {many} on {len(boards)}, our yield over {name}'s"
    return Row(what, mine / theirs if theirs else float("inf"), "", 1.2, note, at_least=True)


def rough(pieces: tuple[Piece, ...]) -> float:
    """Give the rough face of all planks, mm2."""
    return sum(enclosed_area(rough_ring(p)) * len(p.planks) for p in pieces)


def face(boards: list[Board]) -> float:
    """Give the face of boards, mm2."""
    return sum(enclosed_area(b.outline) for b in boards)


def opened(pieces: tuple[Piece, ...], boards: list[Board]) -> tuple[float, list[Board]]:
    """Run compas-nest; give the face it laid rightly on boards, and those boards."""
    nest = import_module("compas_nest")
    shapely, geometry = import_module("shapely"), import_module("compas.geometry")
    affinity = import_module("shapely.affinity")
    half = RULES.kerf_mm / 2

    def line(ring: Any) -> Any:
        corners = [[float(x), float(y), 0.0] for x, y in ring]
        return geometry.Polyline([*corners, corners[0]])

    parts, areas, bodies = nest.nest_geo(), [], []
    for piece in pieces:
        ring = grown(rough_ring(piece), half)
        for k in range(len(piece.planks)):
            own = (ring * [1, -1])[::-1] if k % 2 else ring
            parts.add_part(line(own))
            bodies.append(shapely.Polygon(own))
            areas.append(enclosed_area(rough_ring(piece)))
    sheets, wood, left = nest.nest_sheets(), [], 0.0
    for board in boards:
        ring = grown(open_ring(board.outline), half)
        body = shapely.Polygon(ring).difference(
            shapely.union_all([shapely.Polygon(f.ring) for f in board.flaws])
        )
        body = max(getattr(body, "geoms", [body]), key=lambda part: part.area)
        body = affinity.translate(body, left - body.bounds[0], -body.bounds[1])
        left = body.bounds[2] + 500.0
        wood.append(body)
        holes = [line(np.array(r.coords)[:-1]) for r in body.interiors]
        sheets.add_sheet(line(np.array(body.exterior.coords)[:-1]), holes=holes)
    result = nest.opennest(
        generations=2, rotations=2, population_size=3, placement_type=1, spacing=0.0, seed=1,
        verbose=False, time_budget_secs=SECONDS, use_parallel=True,
    ).solve(parts, sheets)  # fmt: skip
    lain: dict[int, list[Any]] = {}
    laid = 0.0
    for one in result.placements:
        sheet, at = one["sheet_id"], one["part_index"]
        if sheet < 0:
            continue
        origin = result.sheet_origins[sheet]
        body = affinity.rotate(bodies[at], one["angle"], origin=(0, 0), use_radians=True)
        body = affinity.translate(body, one["tx"] + origin[0], one["ty"] + origin[1])
        within = wood[sheet].buffer(1.0).contains(body)
        if within and not any(body.intersection(b).area > 500 for b in lain.get(sheet, [])):
            lain.setdefault(sheet, []).append(body)
            laid += areas[at]
    return laid, [boards[k] for k in sorted(lain)]


def nested(pieces: tuple[Piece, ...], boards: list[Board]) -> tuple[float, list[Board]]:
    """Run the nesting library; give the face it laid on real boards, and those boards."""
    pynest2d = import_module("pynest2d")
    width = max(float(np.ptp(b.outline[:, 0])) for b in boards) + 20
    height = max(float(np.ptp(b.outline[:, 1])) for b in boards) + 20
    planks, areas = [], []
    for piece in pieces:
        hull = hull_of(grown(rough_ring(piece), RULES.kerf_mm / 2))
        for k in range(len(piece.planks)):
            planks.append(item(hull * [1, -1] if k % 2 else hull))
            areas.append(enclosed_area(rough_ring(piece)))
    fixed = []
    for k, board in enumerate(boards):
        for part in missing(board, width, height):
            fixed.append(item(hull_of(part)))
            fixed[-1].markAsFixedInBin(k)
    config, lean = pynest2d.NfpConfig(), RULES.greatest_turn_rad
    config.rotations = [turn + by for turn in (0.0, np.pi) for by in (0.0, lean, -lean)]
    config.alignment = pynest2d.Alignment.DONT_ALIGN
    config.starting_point = pynest2d.Alignment.BOTTOM_LEFT
    wide, high = int(width * UNITS), int(height * UNITS)
    box = pynest2d.Box(wide, high, pynest2d.Point(wide // 2, high // 2))
    pynest2d.nest(fixed + planks, box, 0, config)
    bins = [plank.binId() for plank in planks]
    real = sorted({b for b in bins if 0 <= b < len(boards)})
    laid = sum(a for a, b in zip(areas, bins, strict=True) if 0 <= b < len(boards))
    return laid, [boards[b] for b in real]


def missing(board: Board, width: float, height: float) -> list[Any]:
    """Give what of the box is not board, in convex parts, and the flaws."""
    ring, half = open_ring(board.outline), RULES.kerf_mm / 2
    down = np.array([0.0, ring[:, 1].min() - 10.0])
    x = np.unique(ring[:, 0])
    low, high = (y - down[1] for y in columns(ring, x))
    parts = [np.asarray(f.ring) - down for f in board.flaws]
    for a, b, l0, l1, h0, h1 in zip(x, x[1:], low, low[1:], high, high[1:], strict=False):
        parts.append(np.array([[a, -1], [b, -1], [b, l1 - half], [a, l0 - half]]))
        parts.append(np.array([[a, h0 + half], [b, h1 + half], [b, height + 1], [a, height + 1]]))
    end = x[-1] + half
    if end < width:
        far = width + 1
        parts.append(np.array([[end, -1], [far, -1], [far, height + 1], [end, height + 1]]))
    return parts


def hull_of(points: Any) -> Any:
    """Give the corners of a convex hull."""
    return points[ConvexHull(points).vertices]


def item(ring: Any) -> Any:
    """Hand a ring over as the library wants it: clockwise, its first corner again at the end."""
    pynest2d = import_module("pynest2d")
    clockwise = open_ring(ring)[::-1]
    corners = [*clockwise, clockwise[0]]
    return pynest2d.Item([pynest2d.Point(round(x * UNITS), round(y * UNITS)) for x, y in corners])
