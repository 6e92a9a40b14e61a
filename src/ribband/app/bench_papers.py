"""Papers for the bench and the planked hull in space: patterns, tickets, spiling, the model.

All of them need flat shapes, and so a hull measured in space; of a hull known by girths alone
they are refused in words. Planks may be named with or without their side; none named is all.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ribband.app.answers import Answer, Listing
from ribband.app.making import Tell
from ribband.app.planning import Planned, plan
from ribband.app.runner import quiet
from ribband.errors import InputError, Problem
from ribband.units import format_bare

if TYPE_CHECKING:
    from ribband.drawing.bench import Bench
    from ribband.planks.model import Plank, PlankList
    from ribband.planks.shape_model import Shape

__all__ = [
    "MODELS",
    "PATTERNS",
    "model_job",
    "patterns_job",
    "spiling_answer",
    "tickets_job",
    "write_model",
    "write_patterns",
    "write_tickets",
]

PATTERNS = ("dxf", "svg", "roll", "A4", "A3", "letter")
MODELS = ("glb", "dxf")
Pairs = tuple[tuple["Plank", "Shape"], ...]


def patterns_job(
    job: Path,
    folder: Path,
    named: Sequence[str] = (),
    kinds: Sequence[str] = ("dxf",),
    *,
    tell: Tell = quiet,
) -> tuple[Path, ...]:
    """Bring a job up to date and write full-size patterns into `folder`.

    Raises
    ------
    InputError : no flat shapes, or a plank that is not there
    """
    planned = plan(job, tell=lambda part, words: tell(0.5 * part, words))
    return write_patterns(planned, folder, named, kinds, tell=tell)


def write_patterns(
    planned: Planned,
    folder: Path,
    named: Sequence[str] = (),
    kinds: Sequence[str] = ("dxf",),
    *,
    tell: Tell = quiet,
) -> tuple[Path, ...]:
    """Write full-size patterns, a file or more a plank."""
    from ribband.drawing.patterns import write_folder

    chosen = _pairs(planned, named)
    doubts = {plank.name: _doubts(planned, shape) for plank, shape in chosen}
    paths = write_folder(
        chosen,
        _bench(planned),
        folder,
        kinds,
        doubts=doubts,
        progress=lambda part, words: tell(0.5 + 0.5 * part, words),
    )
    return tuple(paths)


def tickets_job(
    job: Path, path: Path, named: Sequence[str] = (), paper: str = "A4", *, tell: Tell = quiet
) -> Path:
    """Bring a job up to date and write the planks' tickets to one PDF.

    Raises
    ------
    InputError : no flat shapes, a plank that is not there, or a paper not known
    """
    return write_tickets(plan(job, tell=tell), path, named, paper)


def write_tickets(
    planned: Planned, path: Path, named: Sequence[str] = (), paper: str = "A4"
) -> Path:
    """Write tickets to one PDF."""
    from ribband.drawing import ticket as tickets

    every = _pairs(planned, ())
    touching = tickets.beside(every)
    bench, chosen = _bench(planned), _pairs(planned, named)
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        sheets = [
            sheet
            for plank, shape in chosen
            for sheet in tickets.ticket(
                shape, plank, bench, _facts(planned, plank, shape, touching), paper=paper
            )
        ]
    except ValueError as wrong:
        raise InputError([Problem("tickets", 0, "paper", paper, str(wrong), "A4")]) from wrong
    return tickets.write(sheets, path)


def model_job(job: Path, path: Path, *, tell: Tell = quiet) -> Path:
    """Bring a job up to date and write the planked hull, one body a plank, to GLB or DXF.

    Raises
    ------
    InputError : only girths are known, or the file's ending is neither
    """
    return write_model(plan(job, tell=tell), path)


def write_model(planned: Planned, path: Path) -> Path:
    """Write the planked hull in space; the ending of `path` tells the format."""
    from ribband.drawing import model3d

    writers = {".glb": model3d.write_gltf, ".dxf": model3d.write_polyfaces}
    if path.suffix.lower() not in writers:
        raise InputError(
            [Problem("model", 0, "file", path.name, "a .glb or .dxf file", "hull.glb")]
        )
    bench = planned.run.bench
    _pairs(planned, ())
    bodies = model3d.bodies(bench.hull, bench.lining, bench.butts[0], _list(planned))
    path.parent.mkdir(parents=True, exist_ok=True)
    return writers[path.suffix.lower()](bodies, path, bench.survey.particulars.vessel)


def spiling_answer(job: Path, named: Sequence[str] = (), *, tell: Tell = quiet) -> Answer:
    """Give the spiling of planks as the shipwright would have written it.

    Raises
    ------
    InputError : no flat shapes, or a plank that is not there
    """
    planned = plan(job, tell=tell)
    unit = planned.run.bench.unit
    chosen = _pairs(planned, named)
    listings = tuple(_listing(plank.name, shape, unit) for plank, shape in chosen)
    data = {"spiling": {plank.name: _figures(shape) for plank, shape in chosen}}
    return Answer(title=f"{_bench(planned).vessel}: spiling", listings=listings, data=data)


def _listing(name: str, shape: Shape, unit: str) -> Listing:
    from ribband.drawing.bench import degrees

    head = ("frame", "along", "lower", "upper", "lower bevel", "upper bevel", "hollow")
    rows = tuple(
        (
            frame,
            *(format_bare(float(v[i]), unit) for v in (shape.along_mm, shape.lower_mm)),
            format_bare(float(shape.upper_mm[i]), unit),
            degrees(float(shape.lower_bevel_rad[i])),
            degrees(float(shape.upper_bevel_rad[i])),
            format_bare(float(shape.hollow_mm[i]), unit),
        )
        for i, frame in enumerate(shape.frames)
    )
    blank = ", ".join(
        f"{what} {format_bare(mm, unit)}"
        for what, mm in (
            ("long", shape.blank_length_mm),
            ("wide", shape.blank_width_mm),
            ("sweep", shape.sweep_mm),
        )
    )
    return Listing(f"{name}: {shape.grade or 'not graded'}; blank {blank}", head, rows)


def _figures(shape: Shape) -> dict[str, Any]:
    return {
        "frames": list(shape.frames),
        "along_mm": shape.along_mm.tolist(),
        "lower_mm": shape.lower_mm.tolist(),
        "upper_mm": shape.upper_mm.tolist(),
        "blank_length_mm": shape.blank_length_mm,
        "blank_width_mm": shape.blank_width_mm,
        "sweep_mm": shape.sweep_mm,
        "grade": shape.grade,
    }


def _pairs(planned: Planned, named: Sequence[str]) -> Pairs:
    """Give planks with their shapes; those named, or all."""
    from ribband.drawing.bench import pairs

    shapes, starboard = planned.run.result("shapes") or (None, None)
    if shapes is None or not shapes.shapes:
        why = "a hull measured in space: flat shapes need offsets or points, not girths alone"
        raise InputError([Problem("planks", 0, "", "no flat shapes", planned.run.stopped or why)])
    planks = _list(planned).planks
    port = pairs([p for p in planks if p.side != "starboard"], shapes.shapes)
    other = pairs([p for p in planks if p.side == "starboard"], (starboard or shapes).shapes)
    every = (*port, *other)
    wanted = {name.upper() for name in named}
    chosen = tuple(pair for pair in every if not wanted or {pair[0].name, pair[1].name} & wanted)
    known = {name for plank, shape in every for name in (plank.name, shape.name)}
    if missing := sorted(wanted - known):
        example = every[0][0].name
        problems = [Problem("planks", 0, "", m, "a plank of the list", example) for m in missing]
        raise InputError(problems)
    return chosen


def _list(planned: Planned) -> PlankList:
    planks: PlankList = planned.run.bench.made["planks"].result
    return planks


def _bench(planned: Planned) -> Bench:
    from ribband.drawing.bench import Bench

    hull, at = planned.run.bench.hull, planned.made.at[:10]
    return Bench.of(hull, planned.job.stem, at, str(planned.revision))


def _doubts(planned: Planned, shape: Shape) -> tuple[str, ...]:
    from ribband.drawing.bench import doubts_about

    return doubts_about(planned.run.bench.hull, shape, planned.run.findings)


def _facts(planned: Planned, plank: Plank, shape: Shape, touching: Any) -> Any:
    from ribband.drawing.ticket import Beside, Facts
    from ribband.timber import species_named

    bench = planned.run.bench
    species = species_named(bench.survey.particulars.species)
    return Facts(
        beside=touching.get(plank.name, Beside()),
        called=bench.lining.strakes[shape.strake].called,
        species=species.name if species else "",
        weight_source=species.weight_source if species else "",
        moisture_percent=bench.rules["planks"].moisture_percent,
        doubts=_doubts(planned, shape),
    )
