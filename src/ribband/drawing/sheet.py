"""The neutral sheet: what every drawing is made of before it is played to a file.

Two spaces. *Items* are in full-size millimetres, y up: the drawing itself. *Paper* items are in
millimetres on the paper from its lower left corner: border, title block, bars, notes. A sheet's
`scale` (paper over full size; `scale_up` for heights where girths are drawn larger than lengths)
and `origin` bring the first on to the second. Lettering, marks and line weights are always in
paper millimetres. A layer is a trade word with a `Style`; layers are drawn in the order of
`STYLES`, lettering over everything.

A back end plays only the plain items (`Polyline`, `Curve`, `Circle`, `Fill`, `Text`); `plain`
turns marks, dimensions and hatches into them. What is not checked: that an item lies on the page.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from ribband.drawing.letters import face_for, readable

__all__ = [
    "INK",
    "PAPER",
    "STYLES",
    "Box",
    "Circle",
    "Curve",
    "Dimension",
    "Fill",
    "Hatch",
    "Item",
    "Mark",
    "Page",
    "Plain",
    "Point",
    "Polyline",
    "Sheet",
    "Style",
    "Text",
    "Title",
    "box_of",
    "plain",
    "rectangle",
    "stretched",
]

Point = tuple[float, float]

INK = "#1b1b1b"
FAINT = "#8b9196"
BLUE = "#274a6d"
RED = "#9a2a1c"
PAPER = "#ffffff"
LARGEST_MM = 50_000.0  # of paper, either way: no roll is longer


@dataclass(frozen=True, slots=True)
class Style:
    """How a layer is drawn: weight and dashes in mm on the paper; `fill` empty for none."""

    weight_mm: float = 0.25
    colour: str = INK
    dash_mm: tuple[float, ...] = ()
    fill: str = ""


STYLES: dict[str, Style] = {  # bottom to top
    "wash": Style(0.0, INK, (), "#f1eee6"),
    "bands": Style(0.0, INK, (), "#f3f1ea"),
    "boards": Style(0.0, INK, (), "#f3ecdc"),
    "sap": Style(0.09, FAINT, (), "#e2ddd0"),
    "off-cuts": Style(0.13, FAINT),
    "planks": Style(0.4, INK, (), PAPER),
    "allowances": Style(0.13, INK, (1.4, 0.8)),
    "flaws": Style(0.2, RED),
    "board edges": Style(0.35, INK),
    "live edges": Style(0.3, "#7a5a2e", (3.0, 0.7)),
    "saw cuts": Style(0.25, BLUE, (4.0, 0.8, 0.8, 0.8)),
    "grid": Style(0.09, "#b4b8bb"),
    "frames": Style(0.13, FAINT),
    "double frames": Style(0.25, FAINT),
    "waterlines": Style(0.18, BLUE),
    "buttocks": Style(0.18, "#4e6b4a"),
    "diagonals": Style(0.18, "#7a5a2e"),
    "sections": Style(0.18, "#4a4f53"),
    "seams": Style(0.35, INK),
    "open ends": Style(0.25, INK, (2.2, 1.2)),
    "hood ends": Style(0.5, INK),
    "rabbet": Style(0.6, INK),
    "sheer": Style(0.6, INK),
    "centreline": Style(0.18, INK, (6.0, 1.2, 1.2, 1.2)),
    "nibs": Style(0.6, INK),
    "butts": Style(0.6, INK, (), INK),
    "blocks": Style(0.35, INK, (), PAPER),
    "fixed butts": Style(0.35, RED),
    "measured": Style(0.18, INK),
    "doubtful": Style(0.3, RED),
    "doubt leaders": Style(0.13, RED),
    "distances": Style(0.15, RED),
    "dimensions": Style(0.15, INK),
    "leaders": Style(0.1, FAINT),
    "widths": Style(0.13, BLUE),
    "girths": Style(0.15, INK),
    "plank names": Style(0.15, INK),
    "strake names": Style(0.15, INK),
    "board names": Style(0.15, INK),
    "saw numbers": Style(0.2, BLUE, (), PAPER),
    "frame numbers": Style(0.15, "#3d4246"),
    "notes": Style(0.15, INK),
    "ticks": Style(0.2, INK),
    "match": Style(0.15, INK),
    "bars": Style(0.18, INK, (), INK),
    "border": Style(0.7, INK),
    "rules": Style(0.18, INK),
    "title": Style(0.35, INK),
}


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle, left, lower, right, upper."""

    left: float
    lower: float
    right: float
    upper: float

    @property
    def width(self) -> float:
        """Right less left."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Upper less lower."""
        return self.upper - self.lower

    def grown(self, by: float) -> Box:
        """Give the box grown on every side (shrunk where `by` is negative)."""
        return Box(self.left - by, self.lower - by, self.right + by, self.upper + by)

    def holds(self, other: Box) -> bool:
        """Tell whether the other lies wholly in this one.

        >>> Box(0, 0, 2, 2).holds(Box(0, 0, 1, 2)), Box(0, 0, 2, 2).holds(Box(1, 1, 3, 2))
        (True, False)
        """
        across = self.left <= other.left and other.right <= self.right
        return across and self.lower <= other.lower and other.upper <= self.upper

    def meets(self, other: Box) -> bool:
        """Tell whether the two share any area.

        >>> Box(0, 0, 2, 2).meets(Box(2, 0, 3, 2)), Box(0, 0, 2, 2).meets(Box(1, 1, 3, 3))
        (False, True)
        """
        across = self.left < other.right and other.left < self.right
        return across and self.lower < other.upper and other.lower < self.upper


@dataclass(frozen=True, slots=True)
class Polyline:
    """Straight strokes from point to point."""

    layer: str
    points: tuple[Point, ...]
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Curve:
    """A fair curve: `start`, then cubic pieces of two handles and an end."""

    layer: str
    start: Point
    pieces: tuple[tuple[Point, Point, Point], ...]

    @classmethod
    def through(cls, layer: str, points: Sequence[Point]) -> Curve:
        """Spring a batten through `points` (two or more places): a cubic spline.

        The parameter is the chord length; the curve passes through every point exactly. A point
        that repeats the one before is left out.

        >>> Curve.through("seams", [(0, 0), (3, 0), (6, 0)]).pieces[0][2]
        (3.0, 0.0)
        """
        from scipy.interpolate import CubicSpline  # noqa: PLC0415 - heavy, only when drawing

        at = np.asarray(points, float)
        at = at[np.append(True, np.any(np.diff(at, axis=0) != 0.0, axis=1))]
        if len(at) < 2:
            raise ValueError("a curve needs two places to go through")
        chord = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(at, axis=0), axis=1))])
        if len(at) == 2:
            slope = np.repeat((at[1:] - at[:1]) / chord[1], 2, axis=0)
        else:
            slope = np.asarray(CubicSpline(chord, at)(chord, 1))
        third = np.diff(chord)[:, None] / 3
        pieces = zip(
            map(_point, at[:-1] + slope[:-1] * third),
            map(_point, at[1:] - slope[1:] * third),
            map(_point, at[1:]),
            strict=True,
        )
        return cls(layer, _point(at[0]), tuple(pieces))

    def points(self, steps: int = 8) -> tuple[Point, ...]:
        """Give points along the curve, `steps` to a piece, ends included."""
        t = np.linspace(0, 1, steps + 1)[1:, None]
        run, out = np.asarray(self.start), [self.start]
        for piece in self.pieces:
            a, b, c = (np.asarray(p) for p in piece)
            s = 1 - t
            out += map(_point, s**3 * run + 3 * s**2 * t * a + 3 * s * t**2 * b + t**3 * c)
            run = c
        return tuple(out)


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle, radius in the units of the space it stands in."""

    layer: str
    at: Point
    radius: float
    filled: bool = False


@dataclass(frozen=True, slots=True)
class Fill:
    """An area in the layer's fill colour, or in `colour`, without outline."""

    layer: str
    points: tuple[Point, ...]
    colour: str = ""


@dataclass(frozen=True, slots=True)
class Text:
    """A line of lettering; `height_mm` is of a capital, on the paper.

    `face` is a name of `fonts.FACES`; `turn_rad` turns the line about `at`; `mask` blanks what
    lies under it, as a draughtsman breaks a line for a figure.
    """

    layer: str
    at: Point
    text: str
    height_mm: float = 2.0
    align: Literal["left", "centre", "right"] = "left"
    rest: Literal["base", "middle", "top"] = "base"
    turn_rad: float = 0.0
    face: str = "Sans"
    mask: bool = False

    def __post_init__(self) -> None:
        """Write what the face has not got in letters that it has, in another face if need be."""
        if not self.text.isascii():
            object.__setattr__(self, "face", face_for(self.text, self.face))
            object.__setattr__(self, "text", readable(self.text, self.face))


@dataclass(frozen=True, slots=True)
class Mark:
    """A small sign of a fixed size on the paper (mm, across)."""

    layer: str
    at: Point
    kind: Literal["ring", "dot", "square", "cross", "plus", "diamond"]
    size_mm: float = 1.6


@dataclass(frozen=True, slots=True)
class Dimension:
    """A dimension line from `a` to `b` with ticks or arrowheads and its figure over the middle."""

    layer: str
    a: Point
    b: Point
    text: str
    height_mm: float = 1.8
    ends: Literal["tick", "arrow"] = "arrow"
    mask: bool = True


@dataclass(frozen=True, slots=True)
class Hatch:
    """An area ruled with slanting lines, `spacing_mm` apart on the paper."""

    layer: str
    points: tuple[Point, ...]
    spacing_mm: float = 1.2
    slope_rad: float = math.pi / 4


Plain = Polyline | Curve | Circle | Fill | Text
Item = Plain | Mark | Dimension | Hatch

_PAPERS = {
    "A0": (841.0, 1189.0),
    "A1": (594.0, 841.0),
    "A2": (420.0, 594.0),
    "A3": (297.0, 420.0),
    "A4": (210.0, 297.0),
    "letter": (215.9, 279.4),
    "tabloid": (279.4, 431.8),
}


@dataclass(frozen=True, slots=True)
class Page:
    """The paper: size and margin, mm."""

    width_mm: float
    height_mm: float
    margin_mm: float = 10.0

    @classmethod
    def of(cls, paper: str, *, landscape: bool = True, margin_mm: float = 10.0) -> Page:
        """Make a page from a paper's name, or from "width x height" in mm as it stands.

        >>> Page.of("A3")
        Page(width_mm=420.0, height_mm=297.0, margin_mm=10.0)
        >>> Page.of("900x600").width_mm
        900.0

        Raises
        ------
        ValueError : a paper we do not know, too small for its margins, or over 50 m
        """
        by_name = {name.lower(): size for name, size in _PAPERS.items()}
        short, long = by_name.get(paper.strip().lower(), (0.0, 0.0))
        width, height = (long, short) if landscape else (short, long)
        if not short:
            width, height = _typed_size(paper)
        if not max(width, height) <= LARGEST_MM:
            most = f"{LARGEST_MM / 1000:g} m either way"
            raise ValueError(f"paper {paper!r} is larger than any roll: at most {most}")
        if not min(width, height) >= 2 * margin_mm + 60.0:
            raise ValueError(f"paper {paper!r} is too small for margins of {margin_mm:g} mm")
        return cls(width, height, margin_mm)

    @property
    def inner(self) -> Box:
        """What lies inside the margins."""
        m = self.margin_mm
        return Box(m, m, self.width_mm - m, self.height_mm - m)


@dataclass(frozen=True, slots=True)
class Title:
    """What the title block says; an empty text leaves its cell empty."""

    vessel: str
    drawing: str
    yard: str = ""
    date: str = ""
    revision: str = ""
    side: str = ""
    unit: str = ""
    measured: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of paper with a drawing on it.

    items : full-size mm; paper : paper mm
    scale, scale_up : paper over full size, along and up
    origin : where the drawing's (0, 0) lies on the paper
    window : what of the drawing is seen, paper mm; None for all
    number, of : sheet n of m
    to_scale : False for a table, which has none
    """

    name: str
    page: Page
    title: Title
    items: tuple[Item, ...]
    paper: tuple[Item, ...]
    scale: float
    scale_up: float
    origin: Point = (0.0, 0.0)
    window: Box | None = None
    number: int = 1
    of: int = 1
    to_scale: bool = True
    styles: dict[str, Style] = field(default_factory=lambda: STYLES)

    @property
    def stretch(self) -> float:
        """How many times larger heights are drawn than lengths."""
        return self.scale_up / self.scale

    def on_paper(self, point: Point) -> Point:
        """Give where a full-size point falls on the paper, mm."""
        return (
            self.origin[0] + point[0] * self.scale,
            self.origin[1] + point[1] * self.scale_up,
        )

    def full_size(self, point: Point) -> Point:
        """Give the full-size point that falls at `point` of the paper."""
        return (
            (point[0] - self.origin[0]) / self.scale,
            (point[1] - self.origin[1]) / self.scale_up,
        )


def rectangle(layer: str, box: Box) -> Polyline:
    """Give the outline of a box."""
    return Polyline(layer, _corners(box), closed=True)


def plain(items: Sequence[Item], scale: float) -> Iterator[Plain]:
    """Turn marks, dimensions and hatches into plain items; `scale` is paper over their space."""
    for item in items:
        match item:
            case Mark():
                yield from _mark(item, item.size_mm / 2 / scale)
            case Dimension():
                yield from _dimension(item, scale)
            case Hatch():
                yield from _hatch(item, item.spacing_mm / scale)
            case _:
                yield item


def stretched(item: Item, by: float) -> Item:
    """Give `item` with every height multiplied; lettering, circles and marks keep their shape."""

    def up(p: Point) -> Point:
        return (p[0], p[1] * by)

    match item:
        case Polyline() | Fill() | Hatch():
            return replace(item, points=tuple(map(up, item.points)))
        case Curve():
            pieces = tuple((up(a), up(b), up(c)) for a, b, c in item.pieces)
            return replace(item, start=up(item.start), pieces=pieces)
        case Dimension():
            return replace(item, a=up(item.a), b=up(item.b))
        case Circle() | Mark() | Text():
            return replace(item, at=up(item.at))


def box_of(item: Item) -> Box:
    """Give the box round an item's points (lettering and marks count as their point)."""
    match item:
        case Polyline() | Fill() | Hatch():
            points = item.points
        case Curve():
            points = item.points(4)
        case Dimension():
            points = (item.a, item.b)
        case Circle():
            (x, y), r = item.at, item.radius
            points = ((x - r, y - r), (x + r, y + r))
        case Text() | Mark():
            points = (item.at,)
    xs, ys = zip(*points, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


def _point(xy: Sequence[float] | np.ndarray) -> Point:
    return float(xy[0]), float(xy[1])


def _corners(b: Box) -> tuple[Point, ...]:
    return ((b.left, b.lower), (b.right, b.lower), (b.right, b.upper), (b.left, b.upper))


def _typed_size(paper: str) -> tuple[float, float]:
    known = ", ".join(_PAPERS)
    try:
        width, height = (float(part) for part in paper.lower().split("x"))
    except ValueError:
        message = f"paper {paper!r} is not known; wanted one of {known}, or a size such as 900x600"
        raise ValueError(message) from None
    return width, height


def _mark(mark: Mark, r: float) -> Iterator[Plain]:
    x, y = mark.at
    match mark.kind:
        case "ring" | "dot":
            yield Circle(mark.layer, mark.at, r, filled=mark.kind == "dot")
        case "square" | "diamond":
            box = _corners(Box(x - r, y - r, x + r, y + r))
            round_ = ((x - r, y), (x, y - r), (x + r, y), (x, y + r))
            ring = box if mark.kind == "square" else round_
            yield Fill(mark.layer, ring)
            yield Polyline(mark.layer, ring, closed=True)
        case "cross":
            yield Polyline(mark.layer, ((x - r, y - r), (x + r, y + r)))
            yield Polyline(mark.layer, ((x - r, y + r), (x + r, y - r)))
        case "plus":
            yield Polyline(mark.layer, ((x - r, y), (x + r, y)))
            yield Polyline(mark.layer, ((x, y - r), (x, y + r)))


def _dimension(d: Dimension, scale: float) -> Iterator[Plain]:
    (ax, ay), (bx, by) = d.a, d.b
    long = math.hypot(bx - ax, by - ay) or 1.0
    along = ((bx - ax) / long, (by - ay) / long)
    yield Polyline(d.layer, (d.a, d.b))
    yield _end(d, d.a, along, scale)
    yield _end(d, d.b, (-along[0], -along[1]), scale)
    turn = math.atan2(along[1], along[0])
    if not -math.pi / 2 < turn <= math.pi / 2:
        turn += math.pi if turn <= 0 else -math.pi
    over = 0.0 if d.mask else 0.7 / scale
    at = ((ax + bx) / 2 - math.sin(turn) * over, (ay + by) / 2 + math.cos(turn) * over)
    rest: Literal["base", "middle"] = "middle" if d.mask else "base"
    yield Text(d.layer, at, d.text, d.height_mm, "centre", rest, turn, mask=d.mask)


def _end(d: Dimension, at: Point, along: Point, scale: float) -> Polyline:
    """Draw an arrowhead whose point is at `at`, or a slanting tick through it."""
    r = 1.3 / scale
    (x, y), (u, v) = at, along
    if d.ends == "tick":
        s = 0.6 * r * math.sqrt(0.5)
        return Polyline(d.layer, ((x - s, y - s), (x + s, y + s)))
    w = 0.22
    wings = ((x + r * (u - v * w), y + r * (v + u * w)), (x + r * (u + v * w), y + r * (v - u * w)))
    return Polyline(d.layer, (wings[0], at, wings[1]))


def _hatch(hatch: Hatch, spacing: float) -> Iterator[Plain]:
    """Rule the area: cut each slanting line with the outline and join the cuts in pairs."""
    c, s = math.cos(hatch.slope_rad), math.sin(hatch.slope_rad)
    ring = np.asarray(hatch.points) @ np.array([[c, -s], [s, c]])  # slanting lines lie level
    after = np.roll(ring, -1, axis=0)
    first = math.ceil(float(ring[:, 1].min()) / spacing)
    for k in range(first, math.floor(float(ring[:, 1].max()) / spacing) + 1):
        level = k * spacing
        cut = (ring[:, 1] <= level) != (after[:, 1] <= level)
        a, b = ring[cut], after[cut]
        x = np.sort(a[:, 0] + (level - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0]))
        for left, right in zip(x[::2], x[1::2], strict=True):
            ends = ((left * c - level * s, left * s + level * c),
                    (right * c - level * s, right * s + level * c))  # fmt: skip
            yield Polyline(hatch.layer, tuple(map(_point, ends)))
