"""Findings on a survey as a whole: what is missing, uneven or hard to believe.

Every finding is a note or a caution; nothing is changed. Codes:

    S001 no form frames                    S009 decision on a reading that is not there
    S002 gap in the offsets or the girths  S010 file not in UTF-8
    S003 marked doubtful when typed        S011 rabbet or sheer known by one figure only
    S004 frame outside what was measured   S012 planking thickness not given
    S005 uneven frame spacing              S013 few places measured
    S006 measured to planking of no given  S014 no sheer or no rabbet
         thickness                         S015 no unit given
    S007 how much was measured each side  S016 point far from its frame
    S008 reading outside rabbet and sheer  S017 row typed into the wrong place
    S021 a frame that alone breaks the     S018 stations and frames of one name apart
         spacing

Not checked here: fairness; `ribband.hull` does that.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence

from ribband.findings import Finding, Severity
from ribband.survey.model import (
    EndPoint,
    Girth,
    Kind,
    Reading,
    Survey,
    bodily_key,
    place_of,
    position_key,
)
from ribband.survey.spacing import spacing
from ribband.survey.whole_rows import whole_rows
from ribband.units import counted, format_length

__all__ = ["check"]

_FEW = 5  # places measured; fewer cannot show a fair line


def check(survey: Survey) -> tuple[Finding, ...]:
    """Look over a survey; gives all findings, in the order of their codes."""
    return (
        *_girth_gaps(survey),
        *_doubtful(survey),
        *_outside(survey),
        *spacing(survey),
        *_thickness(survey),
        *_sides(survey),
        *_beyond_edges(survey),
        *whole_rows(survey),
        *_decisions(survey),
        *_few(survey),
        *_edges(survey),
        *_away(survey),
        *_namesakes(survey),
    )


def _note(code: str, where: str, says: str, why: str = "") -> Finding:
    return Finding(code, Severity.NOTE, "survey", where, says, why)


def _caution(code: str, where: str, says: str, why: str = "") -> Finding:
    return Finding(code, Severity.CAUTION, "survey", where, says, why)


def _girth_gaps(survey: Survey) -> Iterator[Finding]:
    """Report frames without a girth, where girths are all there is."""
    if not survey.girths_only:
        return
    taken = {girth.frame for girth in survey.girths}
    missing = [frame.name for frame in survey.frames if frame.name not in taken]
    if missing:
        where = f"frame{'s' if len(missing) > 1 else ''} {', '.join(missing)}"
        yield _note("S002", where, "no girth was taken", "faired across")


def _doubtful(survey: Survey) -> Iterator[Finding]:
    """Report readings marked when they were typed, gathered by the row they stand in."""
    rows: dict[tuple[str, int], list[Reading | Girth]] = defaultdict(list)
    marked = [r for r in survey.readings if r.note] + [g for g in survey.girths if _asked(g)]
    for reading in marked:
        rows[reading.cell.file, reading.cell.row].append(reading)
    for readings in rows.values():
        first = readings[0]
        where = first.key if len(readings) == 1 else first.key.partition(" at station ")[0]
        says = ", ".join(f"{r.as_typed} ({r.cell.column})" for r in readings)
        yield _note("S003", where, f"marked as doubtful by whoever typed it: {says}")


def _asked(girth: Girth) -> bool:
    return girth.as_typed.endswith("?")


def _everything(survey: Survey) -> tuple[Girth | Reading | EndPoint, ...]:
    return (*survey.girths, *survey.readings, *survey.ends)


def _measured_x(survey: Survey) -> list[float]:
    return sorted({r.x_mm for r in _everything(survey)})


def _outside(survey: Survey) -> Iterator[Finding]:
    """Report frames beyond everything that was measured, at either end."""
    x = _measured_x(survey)
    unit = survey.particulars.unit
    for end, beyond in (
        ("forward of", [(f, x[0] - f.x_mm) for f in survey.frames if x and f.x_mm < x[0] - 1.0]),
        ("aft of", [(f, f.x_mm - x[-1]) for f in survey.frames if x and f.x_mm > x[-1] + 1.0]),
    ):
        if beyond:
            where = _frames_named([frame.name for frame, _ in beyond])
            most = format_length(max(mm for _, mm in beyond), unit)
            says = f"up to {most} {end} everything that was measured"
            yield _caution("S004", where, says, "there is nothing to plank from")


def _frames_named(names: Sequence[str]) -> str:
    if len(names) == 1:
        return f"frame {names[0]}"
    return f"frames {', '.join(names[:-1])} and {names[-1]}"


def _thickness(survey: Survey) -> Iterator[Finding]:
    vessel = survey.particulars
    if vessel.planking_mm:
        yield from _taped_outside(survey)
        return
    if vessel.measured_to == "planking":
        says = "measured to the outside of the planking, but its thickness is not given"
        yield _caution("S006", "vessel", says, "nothing can be deducted: give planking")
    else:
        yield _note("S012", "vessel", "the thickness of the planking is not given")


def _taped_outside(survey: Survey) -> Iterator[Finding]:
    """Say that a tape round the planking does not tell the girth of the frame inside it."""
    vessel = survey.particulars
    if not survey.girths_only or vessel.measured_to != "planking":
        return
    more = format_length(vessel.quarter_turn_mm, vessel.unit)
    says = (
        "girths were taped outside the planking, and a tape does not tell how her frames turn: "
        f"nothing is deducted; round a quarter turn the bare frame is shorter by {more}"
    )
    yield _caution(
        "S019", "vessel", says,
        "tape the bare frames, or measure offsets; or set seams off by their part of the girth",
    )  # fmt: skip


def _sides(survey: Survey) -> Iterator[Finding]:
    count = Counter([r.side for r in survey.girths] + [r.side for r in survey.readings])
    port, starboard = count["port"], count["starboard"]
    if port and starboard:
        says = f"{counted(port, 'reading')} to port and {starboard} to starboard"
        yield _note("S007", "both sides", says)
    elif (port or starboard) and not count["both"]:
        side, other = ("port", "starboard") if port else ("starboard", "port")
        says = f"measured to {side} only; {other} is taken as its mirror"
        yield _note("S007", side, says)


def _beyond_edges(survey: Survey) -> Iterator[Finding]:
    """Report waterlines and points below the rabbet or above the sheer of their own station."""
    low, high = _edge(survey, "rabbet"), _edge(survey, "sheer")
    unit = survey.particulars.unit
    for reading in survey.readings:
        at = (reading.station, reading.side)
        if reading.role != "surface":
            continue
        if reading.z_mm > high.get(at, float("inf")) + 1.0:
            over = format_length(reading.z_mm - high[at], unit)
            yield _caution("S008", reading.key, f"{over} above the sheer")
        if reading.z_mm < low.get(at, -float("inf")) - 1.0:
            under = format_length(low[at] - reading.z_mm, unit)
            yield _caution("S008", reading.key, f"{under} below the rabbet")


def _edge(survey: Survey, role: str) -> dict[tuple[str, str], float]:
    heights: dict[tuple[str, str], list[Reading]] = defaultdict(list)
    for reading in survey.readings:
        if reading.role == role:
            heights[reading.station, reading.side].append(reading)
    return {at: readings[0].z_mm for at, readings in heights.items()}


def _decisions(survey: Survey) -> Iterator[Finding]:
    keys = {r.key for r in _everything(survey)}
    keys |= {position_key(r.station) for r in survey.readings}
    kinds: tuple[Kind, ...] = ("half-breadths", "heights")
    keys |= {bodily_key(kind, r.station, r.side) for r in survey.readings for kind in kinds}
    for decision in survey.decisions:
        if decision.key not in keys:
            says = f"decided to {decision.decision}, but there is no such reading now"
            yield _caution("S009", decision.key, says)


def _few(survey: Survey) -> Iterator[Finding]:
    places = len(_measured_x(survey))
    if places < _FEW:
        says = f"measured at {counted(places, 'place')} only"
        yield _caution("S013", "survey", says, f"{_FEW} or more are wanted to show a fair line")


def _edges(survey: Survey) -> Iterator[Finding]:
    roles = {reading.role for reading in survey.readings}
    for role in ("rabbet", "sheer"):
        if survey.readings and role not in roles:
            yield _caution("S014", role, f"no {role} is given", "the planking has no edge there")


def _away(survey: Survey) -> Iterator[Finding]:
    """Report points that stand nearer to another frame than to the one they are said to be on."""
    frames = {frame.name: frame.x_mm for frame in survey.frames}
    unit = survey.particulars.unit
    for reading in survey.readings:
        if reading.measured != "xyz" or reading.station not in frames:
            continue
        off = abs(reading.x_mm - frames[reading.station])
        nearest = min(frames, key=lambda name: abs(frames[name] - reading.x_mm))
        if abs(frames[nearest] - reading.x_mm) < off:
            says = f"{format_length(off, unit)} from its frame, nearer to frame {nearest}"
            yield _caution("S016", reading.key, says)


def _namesakes(survey: Survey) -> Iterator[Finding]:
    """Say once that stations bear the names of frames that stand elsewhere."""
    frames = {frame.name: frame.x_mm for frame in survey.frames}
    apart = {
        mark.name: abs(mark.x_mm - frames[mark.name])
        for mark in survey.stations
        if mark.name in frames and place_of(mark.name, mark.x_mm, survey.frames)[0] == "s"
    }
    if not apart:
        return
    name = max(apart, key=apart.__getitem__)
    by = format_length(apart[name], survey.particulars.unit)
    some = f"{len(apart)} stations bear" if len(apart) > 1 else f"station {name} bears"
    says = f"{some} the name of a frame that stands elsewhere: frame {name} is {by} from"
    says += f" station {name}"
    why = "readings are named by their station, and frames are called frames"
    yield _note("S018", "stations", says, why)
