"""A scan in place of a tape: from a cloud and the shipwright's picks to a folder of forms.

Frames come from a folder of forms or from a job; the form `points` is cut from the scan, and the
vessel and frames are copied beside it, so that the folder can be made a job or taken into one.

Not checked here: that the hull is fair, which the fairing tells; what is in doubt of the scan is
said as findings.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ribband.app.plan.everything import found, is_job
from ribband.app.plan.inputs import read_folder
from ribband.app.plan.making import Tell, rows_of
from ribband.app.plan.runner import job_unit, quiet
from ribband.app.showing.answers import Answer, Line, plain
from ribband.errors import Ambiguous, InputError, Problem
from ribband.store import JobFile
from ribband.survey.rows import Form
from ribband.units import format_length, format_small

if TYPE_CHECKING:
    from ribband.survey.model import FrameMark
    from ribband.survey.scan import Cloud, Cut, Datum, Placed, Placing

__all__ = ["LINES", "Pose", "Scanned", "cut_scan", "read_picks", "scan_answer"]

LINES = ("rabbet", "sheer", "stem", "stern", "centreline", "level")
COLUMNS = ("line", "x", "y", "z")
COPIED = ("vessel", "frames")
MOST_PICKS = 5000
Pick = tuple[float, float, float]
# words of a question, and the options that answer it
ANSWERS = (
    ("keel or deck up", "--up x,y,z, a direction in the scan"),
    ("bow or stern", "--bow x,y,z, a direction in the scan, or picks of stem and stern"),
    ("centreline", "three picks or more of the line centreline, along the keel and up the stem"),
)
FEWEST = 4  # picks of the rabbet and of the sheer
DOUBT_SCALE = 0.01  # a scan is seldom further out of scale


@dataclass(frozen=True, slots=True)
class Pose:
    """What the shipwright says on the command line; every part may be left out.

    bow, up : directions in the file's axes; length : of the hull over all, with its unit or in the
    job's; unit : of the file; at : how far aft and how high the first level pick stands
    """

    unit: str = "m"
    bow: Pick | None = None
    up: Pick | None = None
    length: str = ""
    at: tuple[str, str] | None = None
    floor: bool = True


@dataclass(frozen=True, slots=True)
class Scanned:
    """What came of a scan: the files written, what was said of its pose, and what is in doubt."""

    files: tuple[Path, ...]
    said: tuple[str, ...]
    placed: Placed
    cut: Cut
    unit: str
    scale: float


def cut_scan(
    scan: Path, frames: Path, picks: Path, out: Path, pose: Pose, *, tell: Tell = quiet
) -> Scanned:
    """Cut a scan at the frames and write a folder of forms.

    Raises
    ------
    InputError : the scan, the picks or the frames cannot be used, or `out` has forms in it
    Ambiguous : a question that only the shipwright can answer, and what answers it
    """
    from ribband.survey import write_forms
    from ribband.survey.scan import cut_at_frames, read_scan

    _empty(out)
    forms, marks = _frames(frames)
    unit = job_unit(forms)
    lines = read_picks(picks)
    tell(0.05, "reading the scan")
    cloud = read_scan(scan, pose.unit)
    tell(0.3, "finding the hull in it")
    placed, scale = _placed(cloud, lines, pose, unit)
    cut = cut_at_frames(
        placed,
        marks,
        unit,
        progress=lambda part, _: tell(0.6 + 0.4 * part, "cutting at the frames"),
    )
    kept = {name: forms[name] for name in COPIED if name in forms}
    files = write_forms(kept | {"points": cut.form}, out)
    words = {"--bow": pose.bow, "--up": pose.up, "--at": pose.at, "--length": pose.length}
    said = (*lines, *(word for word, given in words.items() if given))
    return Scanned(tuple(files), said, placed, cut, unit, scale)


def read_picks(path: Path) -> dict[str, tuple[Pick, ...]]:
    """Read picks: columns line, x, y, z in the scan's own axes and unit; # starts a note.

    Raises
    ------
    InputError : every cell that is wrong
    """
    try:
        text = path.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError) as wrong:
        wanted = "a CSV file of picks: " + ", ".join(COLUMNS)
        raise InputError([Problem(path.name, 0, "", "no text to read", wanted)]) from wrong
    rows = [(n, [cell.strip() for cell in row]) for n, row in enumerate(csv.reader(
        text.splitlines()), 1) if any(row) and not row[0].lstrip().startswith("#")]  # fmt: skip
    head = [cell.lower() for cell in rows[0][1]] if rows else []
    if missing := [name for name in COLUMNS if name not in head]:
        raise InputError([Problem(path.name, 1, name, "", "this column") for name in missing])
    problems: list[Problem] = []
    lines: dict[str, list[Pick]] = {}
    for number, row in rows[1 : MOST_PICKS + 1]:
        cells = dict(zip(head, [*row, *[""] * len(head)], strict=False))
        pick = _pick(cells, path.name, number, problems)
        lines.setdefault(cells["line"].lower(), []).append(pick)
    if not problems and len(lines.get("level", ())) not in {0, 2}:
        count = f"{len(lines['level'])} picks of level"
        problems.append(Problem(path.name, 0, "line", count, "two, one forward and one aft"))
    few = [name for name in LINES[:2] if len(lines.get(name, ())) < FEWEST]
    if not problems:
        problems += [
            Problem(path.name, 0, "line", f"{len(lines.get(name, ()))} picks of {name}",
                    f"{FEWEST} or more, from bow to stern")
            for name in few
        ]  # fmt: skip
    if problems:
        raise InputError(problems)
    return {line: tuple(picks) for line, picks in lines.items()}


def scan_answer(done: Scanned) -> Answer:
    """Say what was cut, how sure the pose is, and what is in doubt."""
    unit, placed = done.unit, done.placed
    low, high = placed.points.min(axis=0), placed.points.max(axis=0)
    uneven = placed.asymmetry_mm
    lines = [
        Line("points on the form", str(len(done.cut.form.rows))),
        Line("length as placed", format_length(float(high[0] - low[0]), unit)),
        Line("breadth as placed", format_length(float(high[1] - low[1]), unit)),
        Line("left out", str(placed.dropped), "points of floor, shores and gear, after thinning"),
        Line(
            "centreline",
            format_small(uneven, unit) if math.isfinite(uneven) else "not compared",
            "how far one side usually lies from the mirror of the other",
        ),
    ]
    lines.append(Line("placed by", ", ".join(done.said), "what was guessed is in the findings"))
    doubts: tuple[str, ...] = ()
    if done.scale != 1.0:
        lines.append(Line("scaled by", f"{done.scale:.5f}", "from the length given"))
    if abs(done.scale - 1.0) > DOUBT_SCALE:
        doubts = ("The scale is far from 1: are both ends in the scan, and the length right?",)
    return Answer(
        title="Cut from the scan",
        lines=tuple(lines),
        notes=(*doubts, *(f"wrote {file}" for file in done.files)),
        findings=done.cut.findings,
        data={"files": plain(done.files), "turn": placed.turn.tolist(),
              "shift_mm": placed.shift.tolist(), "asymmetry_mm": plain(uneven),
              "dropped": placed.dropped, "scale": done.scale},
        good=True,
    )  # fmt: skip


def _pick(cells: Mapping[str, str], file: str, number: int, problems: list[Problem]) -> Pick:
    if cells["line"].lower() not in LINES:
        wanted = "one of " + ", ".join(LINES)
        problems.append(Problem(file, number, "line", cells["line"], wanted, "rabbet"))
    found = []
    for column in COLUMNS[1:]:
        try:
            value = float(cells[column])
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            problems.append(Problem(file, number, column, cells[column], "a number", "1.25"))
        found.append(value)
    return found[0], found[1], found[2]


def _frames(source: Path) -> tuple[dict[str, Form], tuple[FrameMark, ...]]:
    """Read the frames of a folder of forms or of a job."""
    from ribband.survey.places import places

    source = found(source)
    if is_job(source):
        with JobFile.open(source) as job:
            forms = job.forms()
    else:
        forms = read_folder(source)
    marks, problems = places({"frames": rows_of(forms, "frames", job_unit(forms))}, {})
    if not marks.frames:
        wanted = "the form frames filled in, to cut the scan at"
        problems = [*problems, Problem("frames", 0, "", "no frames", wanted)]
    if problems:
        raise InputError(problems)
    return forms, marks.frames


def _placed(
    cloud: Cloud, lines: Mapping[str, tuple[Pick, ...]], pose: Pose, unit: str
) -> tuple[Placed, float]:
    """Place the hull, and once more to scale if her length was given."""
    from dataclasses import replace

    from ribband.survey.scan import place

    word = _word(lines, pose, unit)
    length = _length(pose.length, unit, "length") if pose.length else None
    try:
        placed = place(cloud, word)
        if length is None:
            return placed, 1.0
        long = float(placed.points[:, 0].max() - placed.points[:, 0].min())
        scale = length / long
        return place(cloud, replace(word, scale=scale)), scale
    except Ambiguous as question:
        answer = next((a for words, a in ANSWERS if words in str(question)), ANSWERS[-1][1])
        raise Ambiguous(f"{question}. Answer with {answer}.") from question


def _word(lines: Mapping[str, tuple[Pick, ...]], pose: Pose, unit: str) -> Placing:
    from ribband.survey.scan import Placing

    level = lines.get("level")
    own: dict[str, Any] = {name: lines[name] for name in LINES[:5] if name in lines}
    pair = (level[0], level[1]) if level else None
    return Placing(
        **own,
        level=pair,
        bow=pose.bow,
        up=pose.up,
        floor=pose.floor,
        datum=_datum(pose, pair, unit),
    )


def _datum(pose: Pose, level: tuple[Pick, Pick] | None, unit: str) -> Datum | None:
    from ribband.survey.scan import Datum

    if pose.at is None:
        return None
    if level is None:
        wanted = "two picks of level; --at says where the first of them stands"
        raise InputError([Problem("picks", 0, "line", "no level", wanted)])
    aft, up = (_length(text, unit, "at") for text in pose.at)
    return Datum(level[0], aft, up)


def _length(text: str, unit: str, what: str) -> float:
    from ribband.units import parse_length

    try:
        mm = parse_length(text, unit)
    except ValueError as wrong:
        raise InputError([Problem("pose", 0, what, text, f"a length ({wrong})")]) from wrong
    if what == "length" and not 800 <= mm <= 150_000:
        raise InputError([Problem("pose", 0, what, text, "a length from 0.8 to 150 m")])
    return mm


def _empty(out: Path) -> None:
    there = [name for name in (*COPIED, "points") if (out / f"{name}.csv").exists()]
    if there:
        wanted = "a folder without forms; these may be filled in already"
        raise InputError([Problem(str(out), 0, "", ", ".join(there), wanted)])
