"""Flaws as a yard writes them on a tally, read exactly.

*A flaw* is its kind and where it is; several are parted by semicolons. Along the board is measured
from the butt end, `up` from the lower edge at that place::

    knot at 6-3-0 up 0-5-0 size 0-1-0            a spot; "by 0-2-0" after it: its size across
    check at butt 0-9-0                          the whole width, for so much of that end (or top)
    sap lower edge 0-1-0                         so deep along an edge (lower, upper or both)
    wane upper edge 0-0-6 from 3-0-0 to 5-0-0    the same, over a stretch
    shake from 3-0-0 to 4-6-0                    the whole width over a stretch
    shake from 3-0-0 to 4-6-0 up 0-2-0 to 0-4-0  the same, over a part of the width

A round spot is ringed by the octagon round it, so that no timber of the flaw is left outside.

Not checked here: whether the flaw goes through to the other face; it is taken to.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable

import numpy as np

from ribband.hull.model import Floats
from ribband.survey.columns import nearest, shown
from ribband.survey.columns_timber import FLAW_EXAMPLE
from ribband.timber.board_model import Flaw
from ribband.timber.tally.edges import Edges
from ribband.units import format_length, parse_length

__all__ = ["KINDS", "WANTED", "flaw_examples", "read_flaws"]

KINDS = ("knot", "sap", "check", "shake", "wane", "split", "rot", "pitch", "worm", "stain")
WANTED = (
    "a flaw as KIND at PLACE up HEIGHT size SIZE, KIND at butt LENGTH, KIND lower edge DEPTH "
    "or KIND from PLACE to PLACE"
)
_LONGEST = 120  # characters of one flaw
_OCTAGON = np.exp(1j * (np.arange(8) + 0.5) * math.pi / 4) / math.cos(math.pi / 8)
_END = re.compile(r"at (butt|top)(?: end)? (.+)")
_SPOT = re.compile(r"at (.+?) up (.+?) size (.+?)(?: by (.+))?")
_EDGE = re.compile(r"(lower|upper|both) edges? (.+?)(?: from (.+?) to (.+))?")
_STRETCH = re.compile(r"from (.+?) to (.+?)(?: up (.+?) to (.+))?")
_Reader = Callable[[tuple[str, ...], str, Edges], tuple[Floats, ...]]


def flaw_examples(unit: str) -> str:
    """Give a flaw of each of the four forms, in a job's unit.

    >>> flaw_examples("ft-in-8ths").split("; ")[0::3]
    ['knot at 6-0-0 up 0-5-0 size 0-1-0', 'shake from 3-0-0 to 4-0-0']
    """
    return shown(FLAW_EXAMPLE, unit)


def read_flaws(text: str, unit: str, edges: Edges) -> tuple[Flaw, ...]:
    """Read the flaws of one board; bare lengths are in `unit`.

    Raises
    ------
    ValueError : saying what is wanted, for the first flaw that cannot be read or lies off the board

    >>> from ribband.timber.tally.edges import edges_of_widths
    >>> edges = edges_of_widths([(0.0, 300.0), (4000.0, 260.0)], live=False)
    >>> [f.kind for f in read_flaws("knot at 900 up 80 size 30; sap both edges 20", "mm", edges)]
    ['knot', 'sap', 'sap']
    >>> read_flaws("check at butt 200", "mm", edges)[0].ring.tolist()
    [[0.0, 0.0], [200.0, 0.0], [200.0, 298.0], [0.0, 300.0]]
    >>> read_flaws("knot at 6000 up 80 size 30", "mm", edges)
    Traceback (most recent call last):
        ...
    ValueError: a place on the board, 0 mm to 4000 mm from the butt, not 6000 mm, in 'knot at ...'
    """
    said = [" ".join(part.lower().split()) for part in text.split(";")]
    return tuple(flaw for part in said if part for flaw in _flaw(part, unit, edges))


def _flaw(text: str, unit: str, edges: Edges) -> tuple[Flaw, ...]:
    kind, _, place = text.partition(" ")
    if len(text) > _LONGEST:
        raise ValueError(f"at most {_LONGEST} characters for one flaw; part them by semicolons")
    if kind not in KINDS:
        near = nearest(kind, KINDS)
        hint = f"; perhaps {near}" if near else ""
        raise ValueError(f"a kind of flaw, one of {', '.join(KINDS)}, not {kind!r}{hint}")
    for pattern, reader in _READERS:
        if found := pattern.fullmatch(place):
            try:
                rings = reader(found.groups(), unit, edges)
            except ValueError as error:
                raise ValueError(f"{error}, in {text!r}") from None
            return tuple(Flaw(kind, ring) for ring in rings)
    raise ValueError(f"{WANTED}, not {text!r}")


def _end(parts: tuple[str, ...], unit: str, edges: Edges) -> tuple[Floats, ...]:
    long = _within(parts[1], unit, 0.0, edges.length_mm, "a length of the board")
    start, end = (0.0, long) if parts[0] == "butt" else (edges.length_mm - long, edges.length_mm)
    return (edges.band(start, end, edges.lower, edges.upper),)


def _spot(parts: tuple[str, ...], unit: str, edges: Edges) -> tuple[Floats, ...]:
    x = _along(parts[0], unit, edges)
    low, high = edges.at(x)
    size = [_size(text, unit) for text in (parts[2], parts[3] or parts[2])]
    over = size[1] / 2  # a knot may run over the edge
    up = _within(parts[1], unit, -over, high - low + over, "a height over the lower edge")
    ring = np.column_stack([_OCTAGON.real * size[0] / 2, _OCTAGON.imag * size[1] / 2])
    return (ring + np.array([x, low + up]),)


def _edge(parts: tuple[str, ...], unit: str, edges: Edges) -> tuple[Floats, ...]:
    start, end = _stretch_of(parts[2], parts[3], unit, edges)
    most = float((edges.upper - edges.lower).min())
    deep = _within(parts[1], unit, 0.0, most, "a depth in from the edge")
    bands = {
        "lower": edges.band(start, end, edges.lower, edges.lower + deep),
        "upper": edges.band(start, end, edges.upper - deep, edges.upper),
    }
    return tuple(bands.values()) if parts[0] == "both" else (bands[parts[0]],)


def _stretch(parts: tuple[str, ...], unit: str, edges: Edges) -> tuple[Floats, ...]:
    start, end = _stretch_of(parts[0], parts[1], unit, edges)
    if not parts[2]:
        return (edges.band(start, end, edges.lower, edges.upper),)
    most = float((edges.upper - edges.lower).max())
    low, high = (
        _within(text, unit, 0.0, most, "a height over the lower edge") for text in parts[2:]
    )
    if not low < high:
        raise ValueError("heights that grow, the lower one first")
    return (edges.band(start, end, edges.lower + low, edges.lower + high),)


def _stretch_of(start: str, end: str, unit: str, edges: Edges) -> tuple[float, float]:
    if not start:
        return 0.0, edges.length_mm
    places = _along(start, unit, edges), _along(end, unit, edges)
    if not places[0] < places[1]:
        raise ValueError("a stretch that begins nearer the butt than it ends")
    return places


def _along(text: str, unit: str, edges: Edges) -> float:
    place = _length(text, unit)
    if not 0 <= place <= edges.length_mm:
        span = f"{format_length(0, unit)} to {format_length(edges.length_mm, unit)}"
        shown = format_length(place, unit)
        raise ValueError(f"a place on the board, {span} from the butt, not {shown}")
    return place


def _within(text: str, unit: str, least: float, most: float, what: str) -> float:
    value = _length(text, unit)
    if not least <= value <= most + 1e-9:
        span = f"{format_length(least, unit)} to {format_length(most, unit)}"
        raise ValueError(f"{what}, {span}, not {format_length(value, unit)}")
    return value


def _size(text: str, unit: str) -> float:
    value = _length(text, unit)
    if value <= 0:
        raise ValueError(f"a size over nothing, not {format_length(value, unit)}")
    return value


def _length(text: str, unit: str) -> float:
    try:
        return parse_length(text, unit)
    except ValueError as error:
        raise ValueError(f"{error}, not {text!r}") from None


_READERS: tuple[tuple[re.Pattern[str], _Reader], ...] = (
    (_END, _end), (_SPOT, _spot), (_EDGE, _edge), (_STRETCH, _stretch),
)  # fmt: skip
