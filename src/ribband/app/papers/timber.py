"""Papers for the saw: board sheets, the milling list, labels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from ribband.app.papers.drawings import named_after
from ribband.app.papers.whole import into_file
from ribband.app.plan.alone import repair_alone
from ribband.app.plan.making import Tell
from ribband.app.plan.planning import Planned, plan
from ribband.app.plan.runner import quiet
from ribband.errors import InputError, Problem

if TYPE_CHECKING:
    from ribband.drawing.board import Setting
    from ribband.drawing.sheet import Sheet, Title
    from ribband.planks.shape_model import Shape
    from ribband.timber.laid import Laid
    from ribband.timber.milling import Label, MillingLine

__all__ = [
    "USUAL_LABEL", "board_sheets_of", "labels_job", "labels_of", "milling_of", "milling_sheets_of",
    "write_labels",
]  # fmt: skip

USUAL_LABEL = "105x57"


def board_sheets_of(planned: Planned, setting: Setting) -> Sequence[Sheet]:
    """Draw every board cut into."""
    from ribband.drawing.views.boards import board_sheets

    title = _title(planned, "Board sheets", setting)
    return board_sheets(_laid(planned), title, planned.run.bench.unit, setting=setting)


def milling_sheets_of(planned: Planned, setting: Setting) -> Sequence[Sheet]:
    """Set the milling list out."""
    from ribband.drawing.views.milling import milling_sheets

    title = _title(planned, "Milling list", setting)
    return milling_sheets(milling_of(planned), title, planned.run.bench.unit, setting=setting)


def milling_of(planned: Planned) -> tuple[MillingLine, ...]:
    """Give the milling list of a laying, planks that are got out already left off."""
    from ribband.timber import mate_words, milling_list, sawn_planks

    laid = _laid(planned)
    planks, sawn = planned.run.bench.present.planks.planks, sawn_planks(laid)
    lines = milling_list(
        laid.laying, laid.pieces, laid.boards, planks, _shapes(planned), mates=mate_words(laid)
    )
    return tuple(line for line in lines if line.plank not in sawn)


def labels_of(planned: Planned) -> tuple[Label, ...]:
    """Give the label of every plank laid, in the order of the milling list."""
    from ribband.timber import labels
    from ribband.timber.weights import rough_on_boards

    bench = planned.run.bench
    planks, laid = bench.present.planks.planks, _laid(planned)
    weights = rough_on_boards(planks, laid.laying.cuts, bench.made["boards"].result.tally.boards)
    heavy = [replace(p, rough_kg=weights.get(p.name, p.rough_kg)) for p in planks]
    return labels(milling_of(planned), heavy, bench.survey.particulars.vessel, bench.unit)


def labels_job(job: Path, path: Path | None, size: str, *, tell: Tell = quiet) -> Path:
    """Bring a job up to date and write its labels to one PDF.

    Raises
    ------
    InputError : no planks are laid on boards, or labels of a size not known
    JobFileError : the job cannot be opened
    """
    from ribband.drawing.views.labels import GRIDS

    if size not in GRIDS:
        raise InputError([Problem("labels", 0, "size", size, "one of " + ", ".join(GRIDS))])
    planned = plan(job, "laying", tell=tell)
    vessel = planned.run.bench.survey.particulars.vessel
    path = path or Path(f"{named_after(vessel, job.stem)} labels.pdf")
    return write_labels(planned, path, size)


def write_labels(planned: Planned, path: Path, size: str = USUAL_LABEL) -> Path:
    """Write the labels of a laying to one PDF, on labels of a known size.

    Raises
    ------
    InputError : no planks are laid on boards
    """
    from ribband.drawing import pdf
    from ribband.drawing.board import Setting
    from ribband.drawing.views.labels import GRIDS, label_sheets

    every = labels_of(planned)
    sheets = label_sheets(every, GRIDS[size], _title(planned, "Labels", Setting()))
    return into_file(path, lambda part: pdf.write(sheets, part))


def _laid(planned: Planned) -> Laid:
    laid: Laid | None = planned.run.result("laying")
    if laid is None or not laid.laying.cuts:
        wanted = "planks laid on boards: ribband lay JOB"
        found = planned.run.stopped or "nothing laid"
        raise InputError([Problem("boards", 0, "", found, wanted)])
    return laid


def _shapes(planned: Planned) -> tuple[Shape, ...]:
    """Give the flat shapes by the names of their pieces."""
    now = planned.run.bench.present
    own = () if now.starboard_shapes is None else now.starboard_shapes.shapes
    return (*now.shapes.shapes, *(replace(shape, name=f"S{shape.name}") for shape in own))


def _title(planned: Planned, drawing: str, setting: Setting) -> Title:
    from ribband.drawing.board import titled

    own = drawing if repair_alone(planned.run.bench) is None else f"{drawing} of the repair"
    return titled(planned.run.bench.hull, own, setting, "port and starboard")
