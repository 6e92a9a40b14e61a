"""How a result is written into the job file: plain JSON for its words, arrays beside it.

*Record*: a frozen dataclass of ours, nested as deep as it likes. *Packed*: the record as JSON
text and one compressed block holding its numpy arrays one after the other in the published npy
layout. No code is stored and none is run on reading: a class is named in the text, and only
dataclasses and enumerations found in our own stage rooms are ever built from it.

Whatever a file holds, reading costs no more than `MOST_BYTES` of memory for its arrays, and either
gives a record or says why not.

Every value comes back equal: numbers to the last bit (not-a-number and infinities included),
arrays with their shape and type. Not checked: that a record's numbers make sense.
"""

from __future__ import annotations

import hashlib
import io
import json
import math
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from fractions import Fraction
from functools import lru_cache
from importlib import import_module
from typing import Any

import numpy as np
from numpy.lib.format import read_array_header_1_0, read_magic, write_array

__all__ = ["Packed", "pack", "unpack"]

STAGES = {"survey", "hull", "lining", "butts", "planks", "timber", "shop", "record"}
MOST_BYTES = 500_000_000
ROOMS = STAGES | {"findings", "numerics"}  # classes elsewhere are never built from a file


@dataclass(frozen=True, slots=True)
class Packed:
    """A record as stored: `words` is JSON, `arrays` zlib-compressed npy blocks in order."""

    words: str
    arrays: bytes

    @property
    def digest(self) -> str:
        """SHA-256 of both parts, in hexadecimal."""
        return hashlib.sha256(self.words.encode() + b"\0" + self.arrays).hexdigest()


def pack(record: object) -> Packed:
    """Write a record down.

    Raises
    ------
    TypeError : a value of a kind that has no place in a job file

    >>> from ribband.errors import Problem
    >>> from ribband.findings import Finding, Severity
    >>> pack((1, None, Finding("H001", Severity.NOTE, "hull", "frame 3", "fair"))).words[:22]
    '[1, null, {"$of": "rib'
    >>> pack(Problem("a.csv", 1, "", "", ""))
    Traceback (most recent call last):
        ...
    TypeError: ribband.errors:Problem has no place in a job file
    """
    arrays: list[Any] = []
    words = json.dumps(_down(record, arrays), ensure_ascii=False, allow_nan=False)
    return Packed(words, zlib.compress(b"".join(_npy(array) for array in arrays), 6))


def unpack(packed: Packed) -> Any:
    """Read a record back.

    Raises
    ------
    ValueError : the text or the block is damaged, or was written by another version

    >>> unpack(pack((1.5, float("inf"), "frame 3")))
    (1.5, inf, 'frame 3')
    """
    try:
        arrays = _arrays(io.BytesIO(_unpressed(packed.arrays)))
        return _up(json.loads(packed.words), arrays)
    except Exception as wrong:  # what another version wrote, or a hostile hand, fails in many ways
        says = f"a stored result cannot be read: {type(wrong).__name__}: {str(wrong)[:200]}"
        raise ValueError(says) from wrong


def _unpressed(block: bytes) -> bytes:
    """Unpack a block, if it does not unpack to far more than any result of ours."""
    own = zlib.decompressobj()
    body = own.decompress(block, MOST_BYTES)
    if own.unconsumed_tail or not own.eof:
        raise ValueError(f"arrays cut short, or of more than {MOST_BYTES // 10**6} MB")
    return body


def _npy(array: Any) -> bytes:
    block = io.BytesIO()
    write_array(block, array, version=(1, 0), allow_pickle=False)
    return block.getvalue()


def _arrays(block: io.BytesIO) -> list[Any]:
    end = len(block.getbuffer())
    arrays = []
    while block.tell() < end:
        arrays.append(_array(block, end))
    return arrays


def _array(block: io.BytesIO, end: int) -> Any:
    """Read an array whose heading promises no more than is there."""
    if read_magic(block) != (1, 0):
        raise ValueError("arrays in another layout")
    long = block.read(2)
    shape, by_columns, kind = _heading(long + block.read(int.from_bytes(long, "little")))
    size = math.prod(shape) * kind.itemsize
    if kind.hasobject or size > end - block.tell() or min(shape, default=0) < 0:
        raise ValueError("an array that promises more than is there")
    body = bytearray(block.read(size))
    return np.ndarray(shape, kind, buffer=body, order="F" if by_columns else "C")


@lru_cache(maxsize=1024)  # the arrays of a job are of a few shapes
def _heading(text: bytes) -> tuple[tuple[int, ...], bool, Any]:
    return read_array_header_1_0(io.BytesIO(text))


def _down(value: object, arrays: list[Any]) -> Any:
    kind = type(value)
    if value is None or kind in {bool, int, str}:
        return value
    if kind is float:
        return _float_down(value)  # type: ignore[arg-type]
    if isinstance(value, Enum):
        return {"$one": _name(kind), "value": value.value}
    if is_dataclass(value) and not isinstance(value, type):
        own = {f.name: _down(getattr(value, f.name), arrays) for f in fields(value) if f.init}
        return {"$of": _name(kind)} | own
    return _group_down(value, arrays)


def _float_down(value: float) -> Any:
    return value if math.isfinite(value) else {"$float": repr(value)}


def _group_down(value: object, arrays: list[Any]) -> Any:
    if isinstance(value, tuple):
        return [_down(item, arrays) for item in value]
    if isinstance(value, list):
        return {"$list": [_down(item, arrays) for item in value]}
    if isinstance(value, Mapping):
        return {"$map": [[_down(k, arrays), _down(v, arrays)] for k, v in value.items()]}
    if isinstance(value, Fraction):
        return {"$fraction": str(value)}
    return _numpy_down(value, arrays)


def _numpy_down(value: object, arrays: list[Any]) -> Any:
    if isinstance(value, np.ndarray) and not value.dtype.hasobject:
        arrays.append(value)
        return {"$array": len(arrays) - 1}
    if isinstance(value, np.generic):
        return _down(value.item(), arrays)
    raise TypeError(f"{type(value).__name__} has no place in a job file")


def _up(value: Any, arrays: list[Any]) -> Any:
    if isinstance(value, list):
        return tuple(_up(item, arrays) for item in value)
    if not isinstance(value, dict):
        return value
    if "$of" in value:
        own = {name: _up(item, arrays) for name, item in value.items() if name != "$of"}
        return _class(value["$of"])(**own)
    ((mark, body), *more) = value.items()
    if mark == "$one":
        return _class(body)(dict(more)["value"])
    return _MARKS[mark](body, arrays)


def _map_up(body: Any, arrays: list[Any]) -> dict[Any, Any]:
    return {_up(k, arrays): _up(v, arrays) for k, v in body}


_MARKS: dict[str, Callable[[Any, list[Any]], Any]] = {
    "$float": lambda body, _: float(body),
    "$fraction": lambda body, _: Fraction(body),
    "$array": lambda body, arrays: arrays[body],
    "$list": lambda body, arrays: [_up(item, arrays) for item in body],
    "$map": _map_up,
}


def _name(kind: type) -> str:
    name = f"{kind.__module__}:{kind.__qualname__}"
    if not _ours(kind.__module__):
        raise TypeError(f"{name} has no place in a job file")
    return name


def _ours(module: str) -> bool:
    parts = module.split(".")
    return parts[0] == "ribband" and len(parts) > 1 and parts[1] in ROOMS


@lru_cache(maxsize=256)
def _class(name: str) -> Callable[..., Any]:
    module, _, qualified = name.partition(":")
    if not _ours(module) or not qualified.isidentifier():
        raise ValueError(f"a stored result names {name!r}, which is not ours to build")
    kind = getattr(import_module(module), qualified)
    if not isinstance(kind, type) or not (is_dataclass(kind) or issubclass(kind, Enum)):
        raise ValueError(f"a stored result names {name!r}, which is no record")
    return kind
