"""Papers for the bench and the planked hull in space: patterns, tickets, spiling, the model.

All of them need flat shapes, and so a hull measured in space; of a hull known by girths alone
they are refused in words. Planks may be named with or without their side; none named is all that
are still to be got out. Once a side was divided anew they have their new shapes. While a repair
stands its new planks are all there is to get out: names are theirs, and not those of a plank of the
whole hull that would bear the same one; the model is of them as well.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ribband.app.entering.record_use import to_get_out
from ribband.app.papers.drawings import named_after
from ribband.app.papers.whole import into_file, into_folder
from ribband.app.plan.alone import repair_alone
from ribband.app.plan.making import Tell
from ribband.app.plan.planning import Planned, plan
from ribband.app.plan.repair_steps import asked_to_renew, renewed_alone
from ribband.app.plan.runner import quiet
from ribband.app.showing.answers import Answer, Listing
from ribband.errors import InputError, Problem
from ribband.units import format_bare, format_length, imperial, parse_length

if TYPE_CHECKING:
    from ribband.butts.model import Ways
    from ribband.drawing.bench import Bench
    from ribband.drawing.ticket import Beside, Facts
    from ribband.lining.model import Lining
    from ribband.planks.model import Plank, PlankList
    from ribband.planks.shape_model import Shape

__all__ = [
    "PATTERNS",
    "facts_of",
    "linings_of",
    "model_job",
    "pairs_of",
    "patterns_job",
    "spiling_answer",
    "spiling_head",
    "tickets_job",
    "write_model",
    "write_patterns",
    "write_tickets",
]

PATTERNS = ("dxf", "arcs", "svg", "roll", "A4", "A3", "letter")
Pairs = tuple[tuple["Plank", "Shape"], ...]
FEW = 3  # planks to wait for that a ticket names


def patterns_job(
    job: Path,
    folder: Path,
    named: Sequence[str] = (),
    kinds: Sequence[str] = ("dxf",),
    roll: str = "",
    *,
    tell: Tell = quiet,
) -> tuple[Path, ...]:
    """Bring a job up to date and write full-size patterns into `folder`.

    `roll` is how wide a roll is, as typed in the job's unit; nothing: 36 in.

    Raises
    ------
    InputError : no flat shapes, a plank that is not there, or a roll that cannot be
    """
    planned = _to_get_out(job, "relined", lambda part, words: tell(0.5 * part, words))
    width = _roll_mm(roll, planned.run.bench.unit)
    return write_patterns(planned, folder, named, kinds, roll_mm=width, tell=tell)


def _to_get_out(job: Path, steps: str | Sequence[str], tell: Tell) -> Planned:
    """Plan the planks there are to get out: of a hull under repair the new ones alone."""
    if not asked_to_renew(job):
        return plan(job, steps, tell=tell)
    return renewed_alone(job, steps, tell=tell)


def _roll_mm(typed: str, unit: str) -> float:
    """Read how wide a roll of paper is.

    >>> round(_roll_mm("24 in", "mm"), 1), _roll_mm("", "mm")
    (609.6, 914.0)
    """
    from ribband.drawing.patterns.paper import LEAST_ROLL_MM, ROLL_MM

    if not typed.strip():
        return ROLL_MM
    try:
        width = parse_length(typed, unit)
        if not LEAST_ROLL_MM <= width <= 10 * LEAST_ROLL_MM:
            least, most = (format_length(w * LEAST_ROLL_MM, unit) for w in (1, 10))
            raise ValueError(f"a roll from {least} to {most} wide")
    except ValueError as wrong:
        example = format_length(ROLL_MM, unit)
        raise InputError([Problem("patterns", 0, "roll", typed, str(wrong), example)]) from wrong
    return width


def write_patterns(
    planned: Planned,
    folder: Path,
    named: Sequence[str] = (),
    kinds: Sequence[str] = ("dxf",),
    *,
    roll_mm: float | None = None,
    tell: Tell = quiet,
) -> tuple[Path, ...]:
    """Write full-size patterns, a file or more a plank."""
    from ribband.drawing.patterns import write_folder
    from ribband.drawing.patterns.paper import ROLL_MM

    chosen = to_get_out(planned, pairs_of(planned, named), named)
    doubts = {plank.name: _doubts(planned, shape) for plank, shape in chosen}
    return into_folder(
        folder,
        lambda into: write_folder(
            chosen,
            _bench(planned),
            into,
            kinds,
            doubts=doubts,
            roll_mm=roll_mm or ROLL_MM,
            progress=lambda part, words: tell(0.5 + 0.5 * part, words),
        ),
    )


def tickets_job(
    job: Path, path: Path | None, named: Sequence[str] = (), paper: str = "A4", base: str = "", *,
    tell: Tell = quiet,
) -> Path:  # fmt: skip
    """Bring a job up to date and write the planks' tickets to one PDF, named after the vessel.

    With `base`, the address of the running app, their codes open the planks in it.

    Raises
    ------
    InputError : no flat shapes, a plank that is not there, or a paper not known
    """
    planned = _to_get_out(job, ("shop", "hanging", "laying", "relined"), tell)
    own = named_after(_bench(planned).vessel, job.stem)
    return write_tickets(planned, path or Path(f"{own} tickets.pdf"), named, paper, base)


def write_tickets(
    planned: Planned, path: Path, named: Sequence[str] = (), paper: str = "A4", base: str = ""
) -> Path:
    """Write tickets to one PDF; their codes open the planks in the app at `base`, if given."""
    from ribband.drawing import ticket as tickets

    every = pairs_of(planned, ())
    touching = _between_old(planned) or tickets.beside(every)
    bench, chosen = _bench(planned), to_get_out(planned, pairs_of(planned, named), named)
    try:
        sheets = [
            sheet
            for plank, shape in chosen
            for sheet in tickets.ticket(
                shape, plank, bench, _facts(planned, plank, shape, touching), paper=paper, base=base
            )
        ]
    except ValueError as wrong:
        raise InputError([Problem("tickets", 0, "paper", paper, str(wrong), "A4")]) from wrong
    return into_file(path, lambda part: tickets.write(sheets, part))


def _between_old(planned: Planned) -> dict[str, Beside]:
    """Give what the new planks of a repair lie against, old ones marked; empty for a whole hull."""
    from ribband.drawing.ticket import Beside
    from ribband.record import lies_against

    repair = repair_alone(planned.run.bench)
    if repair is None:
        return {}
    new = {plank.name for plank in repair.planks.planks}

    def said(name: str) -> str:
        return name if name in new or not name else f"{name} (old)"

    return {
        plank: Beside(
            tuple(map(said, own.above)), tuple(map(said, own.below)), said(own.fore), said(own.aft)
        )
        for plank, own in lies_against(repair).items()
        if plank in new
    }


def model_job(job: Path, path: Path, *, tell: Tell = quiet) -> Path:
    """Bring a job up to date and write the planked hull, one body a plank, to GLB or DXF.

    Raises
    ------
    InputError : only girths are known, or the file's ending is neither
    """
    return write_model(_to_get_out(job, "shapes", tell), path)


def write_model(planned: Planned, path: Path) -> Path:
    """Write the planked hull in space; the ending of `path` tells the format."""
    from ribband.drawing import model3d

    writers = {".glb": model3d.write_gltf, ".dxf": model3d.write_polyfaces}
    if path.suffix.lower() not in writers:
        raise InputError(
            [Problem("model", 0, "file", path.name, "a .glb or .dxf file", "hull.glb")]
        )
    bench = planned.run.bench
    pairs_of(planned, ())
    nib = bench.rules["shapes"].nib_part
    bodies = [
        body
        for lining, ways, planks in linings_of(planned)
        for body in model3d.bodies(bench.hull, lining, ways, planks, nib_part=nib)
    ]
    vessel, write = bench.survey.particulars.vessel, writers[path.suffix.lower()]
    return into_file(path, lambda part: write(bodies, part, vessel))


def spiling_answer(job: Path, named: Sequence[str] = (), *, tell: Tell = quiet) -> Answer:
    """Give the spiling of planks as the shipwright would have written it.

    Raises
    ------
    InputError : no flat shapes, or a plank that is not there
    """
    from ribband.drawing.ticket.table import BEVELS, TOLD

    planned = _to_get_out(job, "relined", tell)
    unit = planned.run.bench.unit
    chosen = pairs_of(planned, named)
    listings = tuple(_listing(plank.name, shape, unit) for plank, shape in chosen)
    data = {"spiling": {plank.name: _figures(shape) for plank, shape in chosen}}
    notes = ("", *(f"{says[:1].upper()}{says[1:]}." for says in (TOLD, BEVELS)))
    title = f"{_bench(planned).vessel}: spiling"
    return Answer(title=title, listings=listings, notes=notes, data=data)


def _listing(name: str, shape: Shape, unit: str) -> Listing:
    """Set a plank's spiling out as on its ticket: the same lines, headings and signs."""
    from ribband.drawing.bench import degrees
    from ribband.drawing.ticket.table import rows

    head = spiling_head(unit)
    fore, aft = degrees(shape.fore_angle_rad), degrees(shape.aft_angle_rad)
    said = (
        ("long", format_bare(shape.blank_length_mm, unit)),
        ("wide", format_bare(shape.blank_width_mm, unit)),
        ("sweep", format_bare(shape.sweep_mm, unit)),
    )
    blank = ", ".join(f"{what} {length}" for what, length in said)
    grade = shape.grade or "not graded"
    title = f"{name}: {grade}; blank {blank}; ends from square: fore {fore}, aft {aft}"
    return Listing(title, head, tuple(rows(shape, unit)))


def spiling_head(unit: str) -> tuple[str, ...]:
    """Give the headings of the spiling table in the job's unit."""
    from ribband.drawing.bench import rise_base

    over, fine = f"on {rise_base(unit)}", "in" if imperial(unit) else "mm"
    return (
        *("frame", "along", "down to lower", "up to upper", "width"),
        *("bevel, lower", over, "bevel, upper", over, f"hollow, {fine}"),
    )


def facts_of(planned: Planned, plank: Plank, shape: Shape) -> Facts:
    """Give what a ticket says beside a plank's shape."""
    from ribband.drawing.ticket import beside

    return _facts(planned, plank, shape, beside(pairs_of(planned, ())))


def _figures(shape: Shape) -> dict[str, Any]:
    ends = {"fore_upper": shape.upper[0], "fore_lower": shape.lower[0],
            "aft_upper": shape.upper[-1], "aft_lower": shape.lower[-1]}  # fmt: skip
    return {
        "corners_mm": {name: [float(x), float(y)] for name, (x, y) in ends.items()},
        "fore_angle_rad": shape.fore_angle_rad,
        "aft_angle_rad": shape.aft_angle_rad,
        "frames": list(shape.frames),
        "along_mm": shape.along_mm.tolist(),
        "lower_mm": shape.lower_mm.tolist(),
        "upper_mm": shape.upper_mm.tolist(),
        "blank_length_mm": shape.blank_length_mm,
        "blank_width_mm": shape.blank_width_mm,
        "sweep_mm": shape.sweep_mm,
        "grade": shape.grade,
    }


def pairs_of(planned: Planned, named: Sequence[str]) -> Pairs:
    """Give planks with their shapes; those named, or all.

    Raises
    ------
    InputError : no flat shapes, or a plank that is not there
    """
    from ribband.drawing.bench import pairs
    from ribband.planks.model import plank_name

    now = planned.run.present
    if now is None or not now.shaped:
        why = "a hull measured in space: flat shapes need offsets or points, not girths alone"
        raise InputError([Problem("planks", 0, "", "no flat shapes", planned.run.stopped or why)])
    planks, starboard = now.planks.planks, now.starboard_shapes or now.shapes
    port = pairs([p for p in planks if p.side != "starboard"], now.shapes.shapes)
    other = pairs([p for p in planks if p.side == "starboard"], starboard.shapes)
    every = (*port, *other)
    wanted = {plank_name(name) for name in named}
    chosen = tuple(pair for pair in every if not wanted or {pair[0].name, pair[1].name} & wanted)
    known = {name for plank, shape in every for name in (plank.name, shape.name)}
    if missing := sorted(wanted - known):
        example = every[0][0].name
        problems = [Problem("planks", 0, "", m, "a plank of the list", example) for m in missing]
        raise InputError(problems)
    return chosen


def linings_of(planned: Planned) -> tuple[tuple[Lining, Ways, PlankList], ...]:
    """Give the lining with its planks: one for both sides, or each side's where divided anew."""
    bench = planned.run.bench
    listed: PlankList = bench.made["planks"].result
    now = planned.run.present
    if now is None or not now.anew:
        return ((bench.lining, bench.butts[0], listed),)
    sides = tuple(dict.fromkeys(plank.side for plank in now.planks.planks))
    return tuple(
        (now.anew.get(side, bench.lining),
         now.laid[side][0] if side in now.laid else bench.butts[0],
         replace(now.planks, planks=tuple(p for p in now.planks.planks if p.side == side)))
        for side in sides
    )  # fmt: skip


def _bench(planned: Planned) -> Bench:
    from ribband.drawing.bench import Bench

    hull, at = planned.run.bench.hull, planned.made.at[:10]
    return Bench.of(hull, planned.job.stem, at, str(planned.revision))


def _doubts(planned: Planned, shape: Shape) -> tuple[str, ...]:
    from ribband.drawing.bench import doubts_about

    return doubts_about(planned.run.bench.hull, shape, planned.run.findings)


def _facts(planned: Planned, plank: Plank, shape: Shape, touching: Any) -> Facts:
    from ribband.app.plan.timbers import planking_timber
    from ribband.drawing.ticket import Beside, Facts

    bench = planned.run.bench
    species = planking_timber(bench)
    return Facts(
        beside=touching.get(plank.name, Beside()),
        called=bench.lining.strakes[shape.strake].called,
        board=_board(planned, plank),
        mate=_mate(planned, plank),
        species=species.name if species else "",
        weight_source=species.weight_source if species else "",
        moisture_percent=bench.rules["planks"].moisture_percent,
        order=_order_said(planned, plank),
        cut_backs=_cut_backs(planned, plank),
        doubts=_doubts(planned, shape),
        **_from_shop(planned, plank),
    )


def _board(planned: Planned, plank: Plank) -> str:
    """Name the board a plank is laid on; empty where it is on none."""
    from ribband.store.table_timber import board_of_planks

    return board_of_planks(planned.run.result("laying"), None).get(plank.name, "")


def _mate(planned: Planned, plank: Plank) -> str:
    """Say which plank it is got out with; empty where that was not wished or cannot be."""
    from ribband.timber import mate_words

    laid = planned.run.result("laying")
    return "" if laid is None else mate_words(laid).get(plank.name, "")


def _cut_backs(planned: Planned, plank: Plank) -> tuple[str, ...]:
    """Say how the old planks are cut back that a new one of a repair is scarfed to."""
    from ribband.drawing.views.cut_backs import cut_back_said
    from ribband.record import cut_backs

    repair = repair_alone(planned.run.bench)
    if repair is None:
        return ()
    unit = planned.run.bench.unit
    return tuple(cut_back_said(own, unit) for own in cut_backs(repair) if own.new == plank.name)


def _order_said(planned: Planned, plank: Plank) -> str:
    """Give a plank's place in the order of hanging, and what must be fast before it."""
    hanging = planned.run.result("hanging")
    places = hanging.places if hanging is not None else ()
    place = next((p for p in places if p.plank == plank.name), None)
    if place is None:
        return ""
    needs = place.needs[:FEW] if len(place.needs) > FEW + 1 else place.needs
    more = len(place.needs) - len(needs)
    rest = f" and {more} more" if more else ""
    after = f", after {' and '.join(needs)}{rest}" if needs else ""
    own = {"lower": "", "upper": "", "shutter": ", the shutter"}.get(place.face, f", {place.face}")
    return f"{place.place} of {len(places)}{own}{after}"


def _from_shop(planned: Planned, plank: Plank) -> dict[str, Any]:
    """Give what the shop says of a plank: steam, fastenings, who lifts it."""
    from ribband.drawing.book.words import mark

    shop = planned.run.result("shop")
    if shop is None:
        return {}
    steamed, lifted = shop.steaming.of(plank.name), shop.handling.of(plank.name)
    said = shop.fastenings.says(plank.name, planned.run.bench.unit)
    signed = f"{said} {mark(shop.fastenings.size_source)}".rstrip() if said else ""
    found: dict[str, Any] = {"fastenings": signed}
    if steamed is not None and steamed.needed is not None:
        found["steam_min"] = steamed.minutes if steamed.needed else 0.0
        found["steam_source"] = (
            shop.steaming.rule.source if steamed.binds == "the yard's rule" else "calculated"
        )
        found["hot_min"] = steamed.hot_min
        found["steam_why"] = steamed.why if steamed.needed else ""
    if lifted is not None:
        found["hands"] = lifted.says
        found["not_by_hand"] = lifted.known and not lifted.by_hand
        found["bend_min"] = lifted.bend_min
        found["rough_kg"] = lifted.rough_kg
    return found
