"""A sheet as DXF: the drawing 1:1 in model space, the sheet of paper as a layout round it.

Units are millimetres and say so. Girths are true here, whatever larger scale they are drawn to on
paper. Layers carry weight, colour and line type; curves are splines. Masks under lettering and
plain fills are left out: a cutter or another drawing has no use for them.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from ribband.drawing.dxf_records import Record, lettering, line, mark, set_in
from ribband.drawing.sheet import (
    Box,
    Circle,
    Curve,
    Fill,
    Item,
    Plain,
    Polyline,
    Sheet,
    Style,
    Text,
    box_of,
    plain,
)

__all__ = ["write"]

_WEIGHTS = (0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80)  # 0.01 mm, as DXF has them
_FEW = 12  # points: an outline of no more has chords of its own
_CORNER_RAD = math.radians(3.0)  # sharper is a corner, and stays one
_ALIGN = {"left": 0, "centre": 1, "right": 2}  # as DXF numbers them
_REST = {"base": 0, "middle": 2, "top": 3}


def write(sheet: Sheet, path: Path, arcs_mm: float = 0.0) -> Path:
    """Write `sheet` to `path`; with `arcs_mm`, closed outlines as arcs that lie within it."""
    from ezdxf import units  # noqa: PLC0415 - heavy, only when drawing
    from ezdxf.filemanagement import new  # noqa: PLC0415

    doc = new("R2010", setup=False)
    doc.units = units.MM
    doc.header["$MEASUREMENT"] = 1
    _name(doc, sheet)
    _styles(doc, sheet)
    drawn = _put(doc.modelspace(), plain(sheet.items, sheet.scale_up), sheet.scale_up, arcs_mm)
    on_paper = _paper(doc, sheet)
    frame = io.StringIO()
    doc.write(frame)
    path.write_text(set_in(frame.getvalue(), (drawn, on_paper)), "utf-8", newline="\n")
    return path


def _name(doc: Any, sheet: Sheet) -> None:
    title = sheet.title
    for label, text in (
        ("vessel", title.vessel), ("drawing", title.drawing), ("yard", title.yard),
        ("date", title.date), ("revision", title.revision), ("side", title.side),
        ("unit of the coordinates", "millimetres, full size"),
    ):  # fmt: skip
        doc.header.custom_vars.append(label, text)


def _styles(doc: Any, sheet: Sheet) -> None:
    doc.styles.add("LETTERING", font="SourceSansPro-Regular.ttf")
    used = {i.layer for i in (*sheet.items, *sheet.paper)}
    for name, style in sheet.styles.items():
        if name in used:
            layer = doc.layers.add(name.upper(), linetype=_line_type(doc, name, style))
            layer.rgb = tuple(int(style.colour[i : i + 2], 16) for i in (1, 3, 5))
            layer.dxf.lineweight = min(_WEIGHTS, key=lambda w: abs(w - style.weight_mm * 100))


def _line_type(doc: Any, name: str, style: Style) -> str:
    if not style.dash_mm:
        return "CONTINUOUS"
    pattern = [d * (1 if i % 2 == 0 else -1) for i, d in enumerate(style.dash_mm)]
    doc.linetypes.add(name.upper(), [sum(style.dash_mm), *pattern], description=name)
    return name.upper()


def _put(space: Any, items: Iterable[Plain], scale: float, arcs_mm: float = 0.0) -> list[Record]:
    """Draw what is seldom drawn, and mark where lines and lettering go; give these."""
    mark(space)
    records = []
    for item in items:
        layer, dashes = item.layer.upper(), 1.0 / scale
        look = {"layer": layer, "ltscale": dashes}
        match item:
            case Polyline():
                arcs = arcs_mm and item.closed and len(item.points) > _FEW
                points = _arcs(item, arcs_mm) if arcs else item.points
                records.append(line(points, layer, closed=item.closed, dashes=dashes))
            case Curve():
                _spline(space, item, look)
            case Circle():
                space.add_circle(item.at, item.radius, dxfattribs=look)
            case Text():
                records.append(_text(item, scale))
            case Fill():
                pass
    return records


def _arcs(outline: Polyline, within_mm: float) -> list[tuple[float, float, float]]:
    """Say a closed outline of short chords in arcs: x, y and bulge of each."""
    import numpy as np  # noqa: PLC0415

    from ribband.numerics.arcs import arcs_round  # noqa: PLC0415

    arcs = arcs_round(np.array(outline.points, float), within_mm, _CORNER_RAD)
    return [(x, y, bulge) for x, y, bulge in arcs.tolist()]


def _spline(space: Any, curve: Curve, look: dict[str, Any]) -> None:
    """Join the cubic pieces into one B-spline, knots three deep: the same curve exactly."""
    points = [curve.start, *(p for piece in curve.pieces for p in piece)]
    inner = [float(k) for k in range(1, len(curve.pieces)) for _ in range(3)]
    knots = [0.0] * 4 + inner + [float(len(curve.pieces))] * 4
    spline = space.add_spline(degree=3, dxfattribs=look)
    spline.control_points = [(x, y, 0.0) for x, y in points]
    spline.knots = knots


def _text(text: Text, scale: float) -> Record:
    return lettering(
        text.text,
        text.at,
        text.height_mm / scale,
        text.layer.upper(),
        turn_degrees=math.degrees(text.turn_rad),
        rests=(_ALIGN[text.align], _REST[text.rest]),
    )


def _paper(doc: Any, sheet: Sheet) -> list[Record]:
    page = sheet.page
    layout = doc.layout("Layout1")
    layout.page_setup(size=(page.width_mm, page.height_mm), margins=(0, 0, 0, 0), units="mm")
    records = _put(layout, plain(sheet.paper, 1.0), 1.0)
    seen = sheet.window or _seen(sheet)
    centre = ((seen.left + seen.right) / 2, (seen.lower + seen.upper) / 2)
    x, y = sheet.full_size(centre)
    true = Box(seen.left, seen.lower, seen.right, seen.upper)
    layout.add_viewport(
        center=centre,
        size=(true.width, true.height),
        view_center_point=(x, y),
        view_height=true.height / sheet.scale,
        status=2,
    )
    return records


def _seen(sheet: Sheet) -> Box:
    boxes: list[Box] = [box_of(item) for item in _some(sheet.items)]
    left, lower = sheet.on_paper((min(b.left for b in boxes), min(b.lower for b in boxes)))
    right, upper = sheet.on_paper((max(b.right for b in boxes), max(b.upper for b in boxes)))
    return Box(left, lower, right, upper).grown(5.0)


def _some(items: tuple[Item, ...]) -> tuple[Item, ...]:
    return items or (Circle("notes", (0.0, 0.0), 1.0),)
