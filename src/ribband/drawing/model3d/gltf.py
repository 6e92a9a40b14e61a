"""Bodies as binary glTF 2.0 (.glb): one node and one mesh a plank, named as in the plank list.

Metres; y up, the bow towards +z and starboard towards -x, as the standard has a model face. Points
are shared along edges and no normals are written: the standard then has the viewer shade each
facet flat. Tones of the planks only tell neighbours apart; they are not the timber's.

Source: Khronos Group, glTF 2.0 Specification (ISO/IEC 12113:2022), sections 3.4, 3.7 and 4.4.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from ribband.drawing.model3d.solid import Body
from ribband.hull.model import Floats

__all__ = ["write_gltf"]

TONES = ((0.72, 0.53, 0.34), (0.62, 0.43, 0.26), (0.80, 0.63, 0.44))
_FLOAT, _UINT, _POINTS, _INDICES = 5126, 5125, 34962, 34963
_TO_GLTF = np.array([[0.0, -1.0, 0.0], [0.0, 0.0, 1.0], [-1.0, 0.0, 0.0]]) / 1000.0


def write_gltf(bodies: Sequence[Body], path: Path, vessel: str = "") -> Path:
    """Write `bodies` to `path` (.glb)."""
    blobs: list[bytes] = []
    said: dict[str, Any] = {
        "asset": {"version": "2.0", "generator": "Ribband"},
        "scene": 0,
        "scenes": [{"name": vessel or "planking", "nodes": list(range(len(bodies)))}],
        "nodes": [_node(k, body) for k, body in enumerate(bodies)],
        "meshes": [_mesh(k, body) for k, body in enumerate(bodies)],
        "materials": [_material(tone) for tone in TONES],
        "accessors": [],
        "bufferViews": [],
    }
    if not bodies:
        said = {key: value for key, value in said.items() if value != []}
        said["scenes"] = [{"name": vessel or "planking"}]
    start = 0
    for body in bodies:
        start = _put(said, blobs, start, body)
    if bodies:
        said["buffers"] = [{"byteLength": start}]
    path.write_bytes(_packed(said, b"".join(blobs)))
    return path


def _node(number: int, body: Body) -> dict[str, Any]:
    extras = {"side": body.side, "strake": body.strake, "thickness_mm": body.thickness_mm}
    return {"name": body.name, "mesh": number, "extras": extras}


def _mesh(number: int, body: Body) -> dict[str, Any]:
    place = 2 * number
    piece = {
        "attributes": {"POSITION": place},
        "indices": place + 1,
        "material": _tone(body),
    }
    return {"name": body.name, "primitives": [piece]}


def _tone(body: Body) -> int:
    """Choose a tone so that neighbours along and across differ."""
    number = int(body.name.rpartition("-")[2] or 0)
    strake = int("".join(c for c in body.strake if c.isdigit()) or 0) + body.strake.endswith("s")
    return (2 * (strake % 2) + number) % len(TONES)


def _material(tone: tuple[float, float, float]) -> dict[str, Any]:
    look = {"baseColorFactor": [*tone, 1.0], "metallicFactor": 0.0, "roughnessFactor": 0.8}
    return {"name": "planking", "pbrMetallicRoughness": look}


def _put(said: dict[str, Any], blobs: list[bytes], start: int, body: Body) -> int:
    """Add a body's points and triangles to the buffer; gives the buffer's new length."""
    points: Floats = (body.points @ _TO_GLTF.T).astype("<f4")
    triangles = body.triangles.astype("<u4")
    for array, kind, shape, use in (
        (points, _FLOAT, "VEC3", _POINTS), (triangles.ravel(), _UINT, "SCALAR", _INDICES),
    ):  # fmt: skip
        blob = array.tobytes()
        view = {"buffer": 0, "byteOffset": start, "byteLength": len(blob), "target": use}
        accessor: dict[str, Any] = {
            "bufferView": len(said["bufferViews"]), "componentType": kind,
            "count": len(array), "type": shape,
        }  # fmt: skip
        if shape == "VEC3":
            accessor["min"] = [float(a) for a in array.min(axis=0)]
            accessor["max"] = [float(a) for a in array.max(axis=0)]
        said["bufferViews"].append(view)
        said["accessors"].append(accessor)
        blobs.append(blob)
        start += len(blob)
    return start


def _packed(said: dict[str, Any], data: bytes) -> bytes:
    """Put the description and the data into one file; both are multiples of four bytes long."""
    text = json.dumps(said, separators=(",", ":")).encode()
    text += b" " * (-len(text) % 4)
    parts = struct.pack("<I4s", len(text), b"JSON") + text
    if data:
        parts += struct.pack("<I4s", len(data), b"BIN\0") + data
    return struct.pack("<4sII", b"glTF", 2, 12 + len(parts)) + parts
