"""Forms into a survey: every row read, set in its place along the hull and checked with the rest.

*Frames and stations.* Frames are where planks are fastened; stations, girths and points are where
the hull was measured. Names are matched whatever their case. Without the form ``frames`` the
measured places serve as frames.

*Sides.* A blank side is what the vessel's form says, or both.

Not checked here: whether the hull is fair; `ribband.hull` names doubtful readings.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from ribband.errors import InputError, Problem
from ribband.findings import Finding, Severity
from ribband.survey.check import check
from ribband.survey.columns import ITEMS, nearest
from ribband.survey.model import (
    Decision,
    EndPoint,
    OldButt,
    OldFastening,
    OldWidth,
    Particulars,
    Side,
    Survey,
)
from ribband.survey.offsets import Table, read_offsets
from ribband.survey.places import (
    CORNERS,
    ENDS,
    Places,
    end_of,
    key_of,
    places,
    read_girths,
    read_points,
)
from ribband.survey.rows import Form, Forms, Row
from ribband.survey.typed import stations, texts, typed, waits_for_unit
from ribband.units import UNITS, unit_named

__all__ = ["problems_of", "read_survey", "unit_of"]

Rows = Mapping[str, tuple[Row, ...]]
_REFER = ("old_strakes", "old_butts", "lining", "butts")


def read_survey(forms: Forms) -> Survey:
    """Read the measurements on `forms` into a survey, in millimetres.

    Raises
    ------
    InputError : with every problem of every form
    """
    rows, problems = _all_typed(forms)
    vessel, wrong = _vessel(rows.get("vessel", ()), unit_of(forms))
    problems += wrong
    table = _table(forms, rows, vessel)
    problems += table.problems if "offsets" in rows else ()
    where, wrong = places(rows, table.stations)
    problems += wrong
    girths, girth_problems = read_girths(rows.get("girths", ()), where, vessel.side)
    readings, ends, point_problems = read_points(rows.get("points", ()), where, vessel.side)
    problems += [*girth_problems, *point_problems]
    problems += _unknown_frames(forms, rows, where)
    problems += _other_problems(rows)
    if not problems and not (girths or readings or table.readings):
        wanted = "measurements in girths, offsets or points"
        problems.append(Problem("forms", 0, "", "no measurements", wanted, "girths.csv"))
    if problems:
        raise InputError(_in_order(problems))
    survey = Survey(
        particulars=vessel.particulars,
        frames=where.frames,
        girths=girths,
        readings=(*table.readings, *readings),
        ends=(*_ends(rows.get("ends", ()), vessel.half_siding_mm), *ends),
        **_old_planking(rows, vessel.side),
        decisions=tuple(_decision(row) for row in rows.get("doubts", ())),
        stations=table.marks,
    )
    findings = [*_remarks(forms), *where.findings, *table.findings, *check(survey)]
    return replace(survey, findings=tuple(findings))


def problems_of(forms: Forms) -> tuple[Problem, ...]:
    """List what is wrong in the cells of `forms`, each form by itself."""
    return tuple(_all_typed(forms)[1])


def unit_of(forms: Forms) -> str:
    """Give the job's own unit, a key of `ribband.units.UNITS`; "mm" where none is said."""
    try:
        return unit_named(_said(forms.get("vessel"), "unit"))
    except ValueError:
        return "mm"


def _said(form: Form | None, item: str) -> str:
    """Find what the vessel's form says of an item; "" where it is blank or not there."""
    if form is None:
        return ""
    items = zip(texts(form, "item"), texts(form, "value"), strict=True)
    return next((value for name, value in items if name.lower() == item), "")


@dataclass(frozen=True, slots=True)
class _Vessel:
    particulars: Particulars
    side: Side
    half_siding_mm: float | None


def _all_typed(forms: Forms) -> tuple[dict[str, tuple[Row, ...]], list[Problem]]:
    unit = unit_of(forms)
    rows: dict[str, tuple[Row, ...]] = {}
    problems: list[Problem] = []
    for name, form in forms.items():
        rows[name], wrong = typed(form, unit)
        problems += wrong
    return rows, problems if _said(forms.get("vessel"), "unit") else _unit_first(forms, problems)


def _unit_first(forms: Forms, problems: list[Problem]) -> list[Problem]:
    """Ask for the unit, once, in place of what is only wrong because none is given yet."""
    waits = {
        problem
        for form in forms.values()
        for problem in problems
        if problem.file == form.file and waits_for_unit(form, problem)
    }
    if not waits:
        return problems
    file, row = _unit_cell(forms.get("vessel"))
    wanted = f"the unit first; lengths are looked at once it is given. One of {', '.join(UNITS)}"
    asked = Problem(file, row, "value", "", wanted, "ft-in-8ths")
    return [asked, *(p for p in problems if p not in waits)]


def _unit_cell(form: Form | None) -> tuple[str, int]:
    """Find file and row where the unit is said, or should be."""
    if form is None:
        return "vessel.csv", 0
    rows = zip(form.numbers, texts(form, "item"), strict=True)
    return form.file, next((number for number, item in rows if item.lower() == "unit"), 0)


def _in_order(problems: Iterable[Problem]) -> list[Problem]:
    return sorted(dict.fromkeys(problems), key=lambda problem: (problem.file, problem.row))


def _vessel(rows: Sequence[Row], unit: str) -> tuple[_Vessel, list[Problem]]:
    said: dict[str, Any] = {}
    more: list[tuple[str, str]] = []
    problems = []
    for row in rows:
        item = " ".join(str(row.values["item"]).lower().replace("_", " ").split())
        text = " ".join(row.as_typed.get("value", "").split())
        problems += _item_problems(row, item, said)
        said[item] = row.values["value"]
        if item not in _OURS:
            more.append((str(row.values["item"]), text))
    given = {field: said[item] for item, field in _OURS.items() if field and said.get(item)}
    particulars = Particulars(**{"vessel": "", **given, "unit": unit, "more": tuple(more)})
    side: Side = said.get("side") or "both"
    return _Vessel(particulars, side, said.get("half siding")), problems


_OURS = {  # items of the vessel's form and the field each fills; "" where it is used in reading
    "vessel": "vessel",
    "yard": "yard",
    "built": "built",
    "planking": "planking_mm",
    "rough": "rough_mm",
    "measured to": "measured_to",
    "measured by": "measured_by",
    "measured on": "measured_on",
    "species": "species",
    "unit": "",
}


def _item_problems(row: Row, item: str, said: Mapping[str, Any]) -> list[Problem]:
    if item in said:
        return [Problem(row.file, row.number, "item", item, "each item once")]
    near = nearest(item, tuple(ITEMS))
    if item not in ITEMS and near and abs(len(near) - len(item)) <= 2 and near[:3] == item[:3]:
        wanted = f"{near}, or a name less like it for an item of your own"
        return [Problem(row.file, row.number, "item", item, wanted, near)]
    return []


def _table(forms: Forms, rows: Rows, vessel: _Vessel) -> Table:
    whole = "offsets" in rows and bool(rows["offsets"])
    if not whole:
        return Table({}, (), (), ())
    names = stations(forms["offsets"])
    return read_offsets(
        rows["offsets"], names, vessel.side, vessel.half_siding_mm, vessel.particulars.unit
    )


def _ends(rows: Sequence[Row], half_siding_mm: float | None) -> tuple[EndPoint, ...]:
    return tuple(
        EndPoint(
            key=f"ends: {row.values['end']} at height {row.as_typed['height'].strip()}",
            end=end_of(row.values["end"]),
            x_mm=row.values["position"],
            y_mm=_first(row.values.get("half_siding"), half_siding_mm, 0.0),
            z_mm=row.values["height"],
            cell=row.cell("position"),
            as_typed=row.as_typed["position"].strip(),
            corner=row.values["end"] in CORNERS,
        )
        for row in rows
    )


def _first(*values: float | None) -> float:
    return next(value for value in values if value is not None)


def _old_planking(rows: Rows, side: Side) -> dict[str, Any]:
    return {
        "old_widths": tuple(_old_width(row, side) for row in rows.get("old_strakes", ())),
        "old_butts": tuple(_old_butt(row, side) for row in rows.get("old_butts", ())),
        "old_fastenings": tuple(_old_fastening(row) for row in rows.get("old_fastenings", ())),
    }


def _old_width(row: Row, side: Side) -> OldWidth:
    v = row.values
    frame = v["frame"]
    words = (v.get(column) or "" for column in ("timber", "fastening", "condition"))
    return OldWidth(
        *(v.get("side") or side, v["strake"], frame, v["width"], v.get("thickness")),
        row.cell("width"), *words,
    )  # fmt: skip


def _old_butt(row: Row, side: Side) -> OldButt:
    v = row.values
    landing: Literal["frame", "block"] = "block" if v.get("landing") == "block" else "frame"
    return OldButt(v.get("side") or side, v["strake"], v["frame"], landing, row.cell("frame"))


def _old_fastening(row: Row) -> OldFastening:
    v = row.values
    gauge, per_frame = v.get("gauge") or "", v.get("per_frame") or ""
    return OldFastening(
        *(v["where"], v["kind"], gauge, v.get("length"), per_frame, row.cell("where")),
        v.get("condition") or "",
    )


def _decision(row: Row) -> Decision:
    v = row.values
    return Decision(v["reading"], v["decision"], v.get("value"), row.cell("reading"))


def _unknown_frames(forms: Forms, rows: Rows, where: Places) -> list[Problem]:
    """Check that every frame named in the other forms is a frame, the stem or the stern."""
    known = where.names | set(ENDS)
    known |= (
        {key_of(name) for name in texts(forms["frames"], "frame")} if "frames" in forms else set()
    )
    problems = []
    for name in _REFER:
        for row in rows.get(name, ()):
            for column in ("frame", "to_frame"):
                text = row.values.get(column)
                if text and key_of(text) not in known:
                    near = nearest(text, tuple(sorted(known)))
                    wanted = "a frame of the form frames, stem or stern"
                    problem = Problem(row.file, row.number, column, text, wanted, near)
                    problems.append(problem)
    return problems


def _other_problems(rows: Rows) -> list[Problem]:
    """Check what only shows when rows are read together."""
    problems = [
        Problem(row.file, row.number, "value", "", "the right value, since it is to be corrected")
        for row in rows.get("doubts", ())
        if row.values["decision"] == "correct" and row.values.get("value") is None
    ]
    return problems + _thicker_than_rough(rows) + _reversed(rows) + _repeated(rows)


def _thicker_than_rough(rows: Rows) -> list[Problem]:
    """Planking cannot be dressed thicker than the stuff it is planed from; both cells are named."""
    said = {key_of(row.values["item"]): row for row in rows.get("vessel", ())}
    dressed, rough = said.get("planking"), said.get("rough")
    if not (dressed and rough and dressed.values["value"] and rough.values["value"]):
        return []
    if dressed.values["value"] <= rough.values["value"]:
        return []
    thick, stuff = (row.as_typed["value"].strip() for row in (dressed, rough))
    return [
        Problem(
            dressed.file, dressed.number, "value", thick,
            f"planking, as dressed, of no more than the rough stuff, {stuff} in row {rough.number}",
            stuff,
        ),
        Problem(
            rough.file, rough.number, "value", stuff,
            f"rough stuff of no less than the planking dressed from it, {thick} in row "
            f"{dressed.number}",
            thick,
        ),
    ]  # fmt: skip


_ONCE = {
    "old_strakes": ("side", "strake", "frame"),
    "boards": ("board",),
    "rules": ("rule",),
    "doubts": ("reading",),
}


def _repeated(rows: Rows) -> list[Problem]:
    """Name rows that say something again of what an earlier row has settled."""
    problems = []
    for name, columns in _ONCE.items():
        seen: set[tuple[str, ...]] = set()
        for row in rows.get(name, ()):
            what = tuple(key_of(row.values.get(column) or "") for column in columns)
            if what in seen:
                found = ", ".join(word for word in what if word)
                wanted = "each once; an earlier row says it already"
                problems.append(Problem(row.file, row.number, columns[-1], found, wanted))
            seen.add(what)
    return problems


def _reversed(rows: Rows) -> list[Problem]:
    """Stem and stern must lie the way positions grow: from forward to aft."""
    ends = rows.get("ends", ())
    x: dict[str, list[float]] = {end: [] for end in ENDS}
    for each in ends:
        x[end_of(each.values["end"])].append(each.values["position"])
    if not x["stem"] or not x["stern"] or max(x["stem"]) < min(x["stern"]):
        return []
    row = next(row for row in ends if end_of(row.values["end"]) == "stem")
    wanted = "positions that grow from forward to aft, the stem's less than the stern's"
    return [Problem(row.file, row.number, "position", row.as_typed["position"], wanted)]


def _remarks(forms: Forms) -> list[Finding]:
    findings = [
        Finding("S010", Severity.CAUTION, "survey", form.file, remark)
        for form in forms.values()
        for remark in form.remarks
    ]
    if not _said(forms.get("vessel"), "unit"):
        says = "no unit is given; bare numbers are taken as millimetres"
        findings.append(Finding("S015", Severity.CAUTION, "survey", "vessel", says))
    return findings
