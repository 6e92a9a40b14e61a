"""The planks' page: the list, each plank's sheet, and the planked hull to be turned on the screen.

Everything is read from what is kept and nothing is made; the hull's bodies are worked out aside.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ribband.app.plan.as_kept import as_kept, as_last_kept, has_no_forms, kept_keys
from ribband.app.plan.planning import Planned
from ribband.app.plan.repair_steps import as_repair, asked_to_renew, renews
from ribband.errors import InputError, Problem
from ribband.units import format_area, format_length, format_small, format_weight, rounded_up

if TYPE_CHECKING:
    from ribband.drawing.ticket import Facts
    from ribband.planks.model import Plank
    from ribband.planks.shape_model import Shape

__all__ = [
    "PlankRow", "PlankSheet", "PlanksPage", "hull_bytes", "packed_hull", "pattern_bytes",
    "plank_sheet",    "planks_key", "planks_page", "ticket_bytes",
]  # fmt: skip

READ = ("survey", "hull", "lining", "butts", "planks", "shapes", "stands", "relined", "laying",
        "shop", "hanging", "repair")  # fmt: skip
SPACE = ("survey", "hull", "lining", "butts", "planks", "shapes", "stands", "relined", "repair")
NEW_ALONE = "A repair stands: these are its new planks alone, and names are theirs."
ACROSS, STATION_MM = 2, 300.0  # facets of the hull on the screen
POINTS = 160  # of an outline's edge on the screen
STEAMED = "steam"  # the grade shown where the bend alone is cold and the steaming asks for it


@dataclass(frozen=True, slots=True)
class PlankRow:
    """A plank in the list; texts are in the job's unit, `mm` for sorting."""

    name: str
    side: str
    strake: str
    fore: str
    aft: str
    length: str
    widest: str
    area: str
    weight: str
    grade: str
    board: str
    state: str
    length_mm: float
    widest_mm: float
    order: int | None


@dataclass(frozen=True, slots=True)
class PlanksPage:
    """The list; `as_of` says of which revision it is where that is not the newest.

    `alone` says that it is of the new planks of a repair, where one stands.
    """

    planks: tuple[PlankRow, ...]
    as_of: str
    alone: str = ""


@dataclass(frozen=True, slots=True)
class PlankSheet:
    """All that is known of one plank: facts in words, and its shape in millimetres.

    outline : (n, 2) round it; frames : its frames' lines, each (m, 2); table : heading and rows
    of the spiling as on the ticket; doubts : what is doubtful of it, in words
    """

    name: str
    facts: tuple[tuple[str, str], ...]
    outline: list[list[float]]
    lower: list[list[float]]
    upper: list[list[float]]
    frames: list[dict[str, Any]]
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    beside: dict[str, list[str]]
    doubts: tuple[str, ...]
    cautions: tuple[str, ...]


def planks_key(path: Path) -> str:
    """Give one word that changes whenever what the page shows of the plan would."""
    return kept_keys(path, READ)


def planks_page(path: Path) -> PlanksPage:
    """List the planks as kept, or as they last were; empty where there never were any.

    Raises
    ------
    InputError, JobFileError : the job cannot be read
    """
    if has_no_forms(path):
        return PlanksPage((), "")
    planned, as_of, alone = _as_shown(path, READ)
    now = planned.run.present
    listed = now.planks if now else planned.run.result("planks")
    if listed is None:
        return PlanksPage((), as_of, alone)
    grades, boards, places = _grades(planned), _boards(planned), _places(planned)
    states, unit = _states(planned), planned.run.bench.unit
    rows = tuple(
        _row(plank, unit, grades, boards.get(plank.name, ""), states.get(plank.name, ""),
             places.get(plank.name))
        for plank in listed.planks
    )  # fmt: skip
    return PlanksPage(rows, as_of, alone)


def plank_sheet(path: Path, name: str) -> PlankSheet:
    """Give one plank's sheet.

    Raises
    ------
    InputError : there is no such plank, or no flat shapes yet
    """
    from ribband.app.papers.bench import facts_of, pairs_of, spiling_head
    from ribband.drawing.ticket.table import rows

    planned, as_of, alone = _as_shown(path, READ)
    _needs_planks(planned, name)
    (plank, shape), *_ = pairs_of(planned, [name])
    facts, unit = facts_of(planned, plank, shape), planned.run.bench.unit
    around = facts.beside
    return PlankSheet(
        name=plank.name,
        facts=tuple(_facts(plank, shape, facts, unit)),
        outline=_points((*shape.lower, *shape.aft, *shape.upper[::-1], *shape.fore[::-1])),
        lower=_points(shape.lower),
        upper=_points(shape.upper),
        frames=_frames(shape),
        head=spiling_head(unit),
        rows=tuple(rows(shape, unit)),
        beside={"above": list(around.above), "below": list(around.below),
                "fore": [around.fore] if around.fore else [],
                "aft": [around.aft] if around.aft else []},
        doubts=facts.doubts,
        cautions=(*filter(None, (alone, as_of)), *_cautions(shape, facts)),
    )  # fmt: skip


def hull_bytes(path: Path) -> bytes:
    """Give the planked hull for the screen: a heading in JSON, then points and triangles.

    Little-endian: the heading's length (uint32), the heading padded to four bytes, points
    (float32, x aft, y to starboard, z up, metres), triangles (uint32). The heading lists planks
    with their first point and first triangle, so that each can be coloured and chosen.

    Raises
    ------
    InputError : the plan has not come so far, or only girths are known
    """
    import numpy as np

    from ribband.app.papers.bench import linings_of
    from ribband.drawing.model3d import bodies

    planned, *_ = _as_shown(path, SPACE)
    bench = planned.run.bench
    if planned.run.result("planks") is None or planned.run.result("butts") is None:
        wanted = "a plan up to date as far as the planks"
        raise InputError([Problem("planks", 0, "", "not made yet", wanted)])
    nib = bench.rules["shapes"].nib_part
    made = [
        body
        for lining, ways, planks in linings_of(planned)
        for body in bodies(
            bench.hull, lining, ways, planks, across=ACROSS, station_mm=STATION_MM, nib_part=nib
        )
    ]
    firsts = np.cumsum([0, *(len(body.points) for body in made)])
    planks = [
        {"name": b.name, "side": b.side, "strake": b.strake, "points": len(b.points),
         "triangles": len(b.triangles)}
        for b in made
    ]  # fmt: skip
    points = np.concatenate([b.points for b in made]).astype("<f4") / np.float32(1000.0)
    triangles = np.concatenate(
        [b.triangles + first for b, first in zip(made, firsts, strict=False)]
    ).astype("<u4")
    heading = {"planks": planks, "points": len(points), "triangles": len(triangles)}
    return packed_hull(heading, points.tobytes(), triangles.tobytes())


def packed_hull(heading: Mapping[str, Any], points: bytes, triangles: bytes) -> bytes:
    """Put a hull's heading, points and triangles into one answer, as `hull_bytes` says."""
    text = json.dumps(heading).encode()
    text += b" " * (-len(text) % 4)
    return b"".join((len(text).to_bytes(4, "little"), text, points, triangles))


def _row(  # noqa: PLR0917 - what a row says
    plank: Plank,
    unit: str,
    grades: dict[str, str],
    board: str,
    state: str,
    order: int | None,
) -> PlankRow:
    kg = plank.dressed_kg
    return PlankRow(
        plank.name, plank.side, plank.strake, _end(plank.fore, plank.fore_landing),
        _end(plank.aft, plank.aft_landing), format_length(plank.length_mm, unit),
        format_length(plank.width_max_mm, unit), format_area(plank.area_m2, unit),
        "" if kg is None else format_weight(kg, unit), grades.get(plank.name, ""), board, state,
        plank.length_mm, plank.width_max_mm, order,
    )  # fmt: skip


def _end(at: str, landing: str) -> str:
    return f"block aft of {at}" if landing == "block" else at


def _grades(planned: Planned) -> dict[str, str]:
    """Give how planks are bent; one that its bend lets hang cold may want steam for its twist."""
    from ribband.app.papers.bench import pairs_of

    try:
        grades = {plank.name: str(shape.grade) for plank, shape in pairs_of(planned, ())}
    except InputError:
        return {}  # girths only, or not rolled out yet
    shop = planned.run.result("shop")
    steamed = {p.plank for p in shop.steaming.steamed} if shop else set()
    return {name: STEAMED if name in steamed and grade == "cold" else grade
            for name, grade in grades.items()}  # fmt: skip


def _bent(shape: Shape, facts: Facts) -> str:
    if shape.grade == "cold" and facts.steam_min:
        return f"{STEAMED}: {facts.steam_why}; its bend alone is cold"
    return shape.grade or "not graded: no limits read for this timber"


def _boards(planned: Planned) -> dict[str, str]:
    laid = planned.run.result("laying")
    return {} if laid is None else {cut.plank: cut.board for cut in laid.laying.cuts}


def _places(planned: Planned) -> dict[str, int]:
    hanging = planned.run.result("hanging")
    return {} if hanging is None else {place.plank: n for n, place in enumerate(hanging.places, 1)}


def _states(planned: Planned) -> dict[str, str]:
    from ribband.app.plan.making import rows_of

    states: dict[str, str] = {}
    bench = planned.run.bench
    try:
        rows = rows_of(bench.forms, "log", bench.unit)
    except InputError:
        return {}  # the form says what is wrong with it
    for row in rows:
        states[str(row.values["plank"])] = str(row.values["state"])
    return states


def _facts(plank: Plank, shape: Shape, facts: Facts, unit: str) -> Iterable[tuple[str, str]]:
    """Say each fact with its name, as on the ticket."""
    from ribband.drawing.bench import caulking_bevel
    from ribband.drawing.ticket.words import within

    yield "strake", f"{plank.strake}, {facts.called}" if facts.called else plank.strake
    yield "from", f"{_end(plank.fore, plank.fore_landing)} to {_end(plank.aft, plank.aft_landing)}"
    yield "length", format_length(plank.length_mm, unit)
    width = [format_length(w, unit) for w in (plank.width_max_mm, plank.width_min_mm)]
    yield "width", f"{width[0]} at most, {width[1]} at least"
    blank = [format_length(w, unit) for w in (shape.blank_length_mm, shape.blank_width_mm)]
    yield "smallest blank", f"{blank[0]} by {blank[1]}, sweep {format_small(shape.sweep_mm, unit)}"
    rough, dressed = (format_length(mm, unit) for mm in (plank.rough_mm, plank.dressed_mm))
    yield "thickness", f"{rough} rough, {dressed} dressed"
    least = format_length(rounded_up(shape.thickness_mm, unit), unit)
    yield "needs", f"{least} for hollow and round"
    if opens := caulking_bevel(shape, plank, unit):
        yield "caulking bevel", opens.partition(": ")[2].rstrip(".")
    yield "bending", _bent(shape, facts)
    if shape.why_grade:
        yield "why", shape.why_grade
    if math.isfinite(radius := float(min(shape.bend_radius_mm, default=math.inf))):
        yield "tightest bend", format_length(radius, unit)
    yield "left-over strain", f"{1000 * shape.strain:.2f} in a thousand, {shape.strain_at}"
    yield "seam closes to", format_small(shape.seam_error_mm, unit)
    yield "likely within", within(shape, unit)
    heavy = plank.rough_kg if facts.rough_kg is None else facts.rough_kg
    if plank.dressed_kg is not None and heavy is not None:
        weights = [format_weight(kg, unit) for kg in (plank.dressed_kg, heavy)]
        yield "weight", f"{weights[0]} dressed, {weights[1]} rough"
    if facts.steam_min is not None:
        yield "steam", f"{facts.steam_min:.0f} min" if facts.steam_min else "hung cold"
    for what, said in (
        ("fastened", facts.fastenings), ("lifted by", facts.hands), ("order", facts.order)
    ):  # fmt: skip
        if said:
            yield what, said


def _cautions(shape: Shape, facts: Any) -> Iterable[str]:
    if facts.not_by_hand:
        yield "Not to be lifted by hand: use a crane or tackle, by the local rules."
    if facts.steam_min:
        yield "Steam scalds: gloves, a second hand at the door, and a way out. Local rules first."
    if shape.grade == "split or laminate":
        yield "Bent tighter than the timber is known to stand: it may break under load as it goes."


def _frames(shape: Shape) -> list[dict[str, Any]]:
    if shape.frame_lines is None:
        return [
            {"frame": name, "line": _points(((x, low), (x, high)))}
            for name, x, low, high in zip(
                shape.frames, shape.along_mm, shape.lower_mm, shape.upper_mm, strict=True
            )
        ]
    lines = zip(shape.frames, shape.frame_lines, strict=True)
    return [{"frame": name, "line": _points(line)} for name, line in lines]


def _points(points: Iterable[Any]) -> list[list[float]]:
    """Give points rounded to a twentieth of a millimetre, no more of them than a screen shows."""
    every = [[round(float(x), 2), round(float(y), 2)] for x, y in points]
    step = max(1, len(every) // (4 * POINTS))
    kept = every[::step]
    return kept if kept[-1] == every[-1] else [*kept, every[-1]]


def ticket_bytes(path: Path, name: str, base: str) -> bytes:
    """Print one plank's ticket to PDF, from what is kept; its code opens the plank at `base`.

    Raises
    ------
    InputError : there is no such plank, or no flat shapes yet
    """
    from tempfile import TemporaryDirectory

    from ribband.app.papers.bench import write_tickets

    planned = _with_planks(path, name)
    with TemporaryDirectory() as folder:
        return write_tickets(planned, Path(folder) / "ticket.pdf", [name], base=base).read_bytes()


def pattern_bytes(path: Path, name: str, kind: str) -> tuple[str, bytes]:
    """Print one plank's pattern at full size, from what is kept; gives its file's name too.

    Raises
    ------
    InputError : there is no such plank, or no flat shapes yet
    """
    from tempfile import TemporaryDirectory

    from ribband.app.papers.bench import write_patterns

    planned = _with_planks(path, name)
    with TemporaryDirectory() as folder:
        (file,) = write_patterns(planned, Path(folder) / "patterns", [name], [kind])
        return file.name, file.read_bytes()


def _with_planks(path: Path, name: str) -> Planned:
    planned = as_kept(path, READ)
    if renews(planned.run.bench.forms):
        if planned.run.result("repair") is None:
            wanted = "a plan up to date as far as the repair"
            raise InputError([Problem("planks", 0, "plank", name, wanted)])
        planned = as_repair(planned)
    _needs_planks(planned, name)
    return planned


def _as_shown(path: Path, steps: tuple[str, ...]) -> tuple[Planned, str, str]:
    """Give the plan last kept, of which revision, and that it is of a repair's new planks alone."""
    if not asked_to_renew(path):
        return *as_last_kept(path, steps, "planks"), ""
    planned, as_of = as_last_kept(path, steps, "repair")
    if planned.run.result("repair") is None:  # never planks of the whole hull in their place
        bench = replace(planned.run.bench, made={})
        return replace(planned, run=replace(planned.run, bench=bench)), as_of, NEW_ALONE
    return as_repair(planned), as_of, NEW_ALONE


def _needs_planks(planned: Planned, name: str) -> None:
    if planned.run.result("planks") is None:
        wanted = "a plan up to date as far as the planks"
        raise InputError([Problem("planks", 0, "plank", name, wanted)])
