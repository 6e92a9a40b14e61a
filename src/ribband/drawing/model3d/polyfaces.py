"""Bodies as DXF polyface meshes: a block a plank, named as in the plank list.

Millimetres in the hull's axes: x aft, y to starboard, z up. Each block holds one polyface and is
inserted once, at the origin, on the layer of its strake ("P7"), so that a strake can be put away.

The frame of the file is made by the DXF library; the meshes, many thousand small records, are
written into it as text, twenty times as fast.

Source: the DXF reference's POLYLINE (flag 64) and VERTEX (flags 192 and 128), as the library
writes them; a test reads the file back and audits it.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from ribband.drawing.model3d.solid import Body

__all__ = ["write_polyfaces"]

_COLOURS = (34, 32, 36, 42)  # of the colour index: browns, only to tell strakes apart
_MOST = 32_767  # records of one polyface are numbered in 16 bits
_MARK = re.compile(r"  0\nPOINT\n.*?(?=  0\nENDBLK\n)", re.DOTALL)
_SEED = re.compile(r"(\$HANDSEED\n  5\n)([0-9A-F]+)")
_OWNER = re.compile(r"330\n([0-9A-F]+)\n")


def write_polyfaces(bodies: Sequence[Body], path: Path, vessel: str = "") -> Path:
    """Write `bodies` to `path` (.dxf).

    Raises
    ------
    ValueError : a body has more than 32767 points
    """
    if any(len(body.points) > _MOST for body in bodies):
        raise ValueError(f"a body of at most {_MOST} points; make the bodies less finely")
    frame = _frame(bodies, vessel)
    seed = _SEED.search(frame)
    first = int(seed.group(2), 16) if seed else 0x100000
    handles = iter(range(first, 1 << 62))
    waiting = iter(bodies)
    text = _MARK.sub(lambda found: _mesh(next(waiting), found.group(), handles), frame)
    text = _SEED.sub(lambda found: f"{found.group(1)}{next(handles):X}", text)
    path.write_text(text, "utf-8", newline="\n")
    return path


def _frame(bodies: Sequence[Body], vessel: str) -> str:
    """Give the file with one point in every block where its mesh is to stand."""
    from ezdxf import units  # noqa: PLC0415 - heavy, only when drawing
    from ezdxf.filemanagement import new  # noqa: PLC0415

    doc = new("R2010", setup=False)
    doc.units = units.MM
    doc.header["$MEASUREMENT"] = 1
    doc.header.custom_vars.append("vessel", " ".join(vessel.split()))
    doc.header.custom_vars.append("unit of the coordinates", "millimetres, full size")
    for number, layer in enumerate(dict.fromkeys(_layer(body) for body in bodies)):
        doc.layers.add(layer, color=_COLOURS[number % len(_COLOURS)])
    space: Any = doc.modelspace()
    for body in bodies:
        doc.blocks.new(body.name).add_point((0, 0, 0), dxfattribs={"layer": _layer(body)})
        space.add_blockref(body.name, (0, 0, 0), dxfattribs={"layer": _layer(body)})
    out = io.StringIO()
    doc.write(out)
    return out.getvalue()


def _layer(body: Body) -> str:
    return body.side[0].upper() + body.strake


def _mesh(body: Body, mark: str, handles: Iterator[int]) -> str:
    """Give a body's polyface, owned by the block in which `mark` stood."""
    found = _OWNER.search(mark)
    owner = found.group(1) if found else "0"
    whole = f"{next(handles):X}"
    layer = _layer(body)
    head = (
        f"  0\nPOLYLINE\n  5\n{whole}\n330\n{owner}\n100\nAcDbEntity\n  8\n{layer}\n"
        f"100\nAcDbPolyFaceMesh\n 66\n1\n 10\n0.0\n 20\n0.0\n 30\n0.0\n 70\n64\n"
        f" 71\n{len(body.points)}\n 72\n{len(body.quads)}\n"
    )
    own = f"330\n{whole}\n100\nAcDbEntity\n  8\n{layer}\n"
    points = [
        f"  0\nVERTEX\n  5\n{next(handles):X}\n{own}100\nAcDbVertex\n100\nAcDbPolyFaceMeshVertex\n"
        f" 10\n{x:.3f}\n 20\n{y:.3f}\n 30\n{z:.3f}\n 70\n192\n"
        for x, y, z in body.points.tolist()
    ]
    faces = [
        f"  0\nVERTEX\n  5\n{next(handles):X}\n{own}100\nAcDbFaceRecord\n"
        f" 10\n0.0\n 20\n0.0\n 30\n0.0\n 70\n128\n 71\n{a}\n 72\n{b}\n 73\n{c}\n"
        f"{'' if c == d else f' 74{chr(10)}{d}{chr(10)}'}"
        for a, b, c, d in (body.quads + 1).tolist()
    ]
    end = f"  0\nSEQEND\n  5\n{next(handles):X}\n{own}"
    return "".join([head, *points, *faces, end])
