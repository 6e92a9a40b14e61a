"""What each form holds: the one table that reading, checking, blank forms and pages share.

A *kind* is what a cell may hold and how it is read; a *column* is a heading with its kind; a
*layout* is a form with its columns. Where the kind hangs on the first cell of the row (the value
of a vessel's item or of a lining wish) the column lists the kinds by that word.

Not checked here: whether rows agree with each other; `ribband.survey.solve` does that.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from ribband.survey.columns_record import record_layouts
from ribband.survey.columns_timber import timber_layouts
from ribband.survey.columns_work import work_layouts
from ribband.units import UNITS, format_bare, format_length, parse_length, unit_named

__all__ = [
    "ITEMS",
    "LAYOUTS",
    "OFFSET_LINES",
    "Column",
    "Kind",
    "Layout",
    "heading",
    "line_named",
    "nearest",
    "shown",
]

Read = Callable[[str, str], Any]
Example = str | float | tuple[float, str]


@dataclass(frozen=True, slots=True)
class Kind:
    """What a cell may hold: `read(text, unit)` gives the value or raises saying what is wanted.

    `example` is text, or millimetres (and what follows them) that are printed in the job's unit.
    `figure` tells that it holds a length or a number.
    """

    read: Read
    example: Example
    choices: tuple[str, ...] = ()
    figure: bool = False


@dataclass(frozen=True, slots=True)
class Column:
    """A heading, what it says and holds; `needed` cells may not be blank unless a gap `may_gap`."""

    name: str
    kind: Kind
    says: str
    example: Example = ""
    needed: bool = False
    may_gap: bool = False
    by: Mapping[str, Kind] = field(default_factory=dict)

    def kind_for(self, first: str) -> Kind:
        """Give the kind of this cell in a row whose first cell reads `first`."""
        return self.by.get(" ".join(first.lower().replace("_", " ").split()), self.kind)


@dataclass(frozen=True, slots=True)
class Layout:
    """A form: its title, notes for whoever fills it in, and its columns (last is `notes`)."""

    name: str
    says: str
    columns: tuple[Column, ...]
    notes: tuple[str, ...] = ()

    def column(self, name: str) -> Column:
        """Find a column by its heading."""
        return next(column for column in self.columns if column.name == name)


def heading(text: str) -> str:
    """Bring a heading to our spelling: small letters, words joined by a low line.

    >>> heading(" Half Siding "), heading("to-frame")
    ('half_siding', 'to_frame')
    """
    return "_".join(re.sub(r"[\s_-]+", " ", text.lower()).split())


def nearest(word: str, words: Mapping[str, Any] | tuple[str, ...]) -> str:
    """Give the nearest of `words`, or "" if none is near.

    >>> nearest("grith", ("frame", "girth"))
    'girth'
    """
    found = difflib.get_close_matches(word.lower(), list(words), 1, 0.6)
    return found[0] if found else ""


_IN_BRACES = re.compile(r"\{(\d+(?:\.\d+)?)\}")


def shown(example: Example, unit: str) -> str:
    """Write an example in the job's unit.

    >>> shown((1219.2, " @ 45"), "ft-in-8ths"), shown(1219.2, "m"), shown("port", "m")
    ('4-0-0 @ 45', '1.219', 'port')

    Within words a length stands in braces, in mm:

    >>> shown("check at butt {228.6}", "ft-in-8ths"), shown("check at butt {228.6}", "mm")
    ('check at butt 0-9-0', 'check at butt 229')
    """
    if isinstance(example, str):
        return _IN_BRACES.sub(lambda found: format_bare(float(found[1]), unit), example)
    mm, after = example if isinstance(example, tuple) else (example, "")
    return format_bare(mm, unit) + after


def line_named(text: str) -> str:
    """Bring the name of an offsets row to our spelling.

    >>> line_named("Sheer half breadth")
    'sheer half-breadth'
    """
    return re.sub(r"half[ _-]?breadths?", "half-breadth", " ".join(text.lower().split()))


def _text(text: str, _unit: str) -> str:
    return " ".join(text.split())


def _length(least: float, most: float, example: float) -> Kind:
    def read(text: str, unit: str) -> float:
        mm = parse_length(text, unit)
        if not least <= mm <= most:
            span = f"{format_length(least, unit)} to {format_length(most, unit)}"
            bare = text.strip().lstrip("-").replace(".", "", 1).isdigit()
            hint = "; write its unit with it if it is in another" if bare else ""
            raise ValueError(f"a length from {span}{hint}")
        return mm

    return Kind(read, example, figure=True)


def _number(least: float, most: float, example: str, *, whole: bool = False) -> Kind:
    what = "a whole number" if whole else "a number"

    def read(text: str, _unit: str) -> float | int:
        plain = text.strip().removesuffix("%").strip()
        if not re.fullmatch(
            r"-?\d{1,9}" if whole else r"-?(\d{1,9}(\.\d{0,9})?|\.\d+)", plain, re.A
        ):
            raise ValueError(f"{what} from {least:g} to {most:g}")
        value = int(plain) if whole else float(plain)
        if not least <= value <= most:
            raise ValueError(f"{what} from {least:g} to {most:g}")
        return value

    return Kind(read, example, figure=True)


_PARTED = re.compile(r"[1-9]\d{0,2}\.\d{3}", re.A)


def _sum(most: float, example: str, least: float = 0.0) -> Kind:
    """Give the kind of money and of amounts, where 1.250 may be one thousand two hundred fifty."""
    number = _number(least, most, example)

    def read(text: str, unit: str) -> float:
        plain = text.strip()
        if _PARTED.fullmatch(plain):
            short = plain.rstrip("0").rstrip(".")
            point = short if short != plain else f"{plain}0"
            raise ValueError(
                f"{plain.replace('.', '')} or {point}; {plain} could be either of them"
            )
        return float(number.read(text, unit))

    return Kind(read, example, figure=True)


def _choice(*words: str, said: Mapping[str, str] | None = None) -> Kind:
    other = said or {}

    def read(text: str, _unit: str) -> str:
        word = " ".join(text.lower().replace("_", " ").split())
        word = other.get(word, word)
        if word not in words:
            near = nearest(word, words)
            hint = f"; perhaps {near}" if near else ""
            raise ValueError(f"one of {', '.join(words)}{hint}")
        return word

    return Kind(read, words[0], words)


def _yes(text: str, _unit: str) -> bool:
    word = text.strip().lower()
    if word in {"yes", "y", "true", "1", "x"}:
        return True
    if word in {"no", "n", "false", "0"}:
        return False
    raise ValueError("yes or no")


def _diagonal(text: str, unit: str) -> tuple[float, float]:
    height, at, slope = text.partition("@")
    degrees = slope.strip().removesuffix("°").removesuffix("deg").strip()
    if (
        not at
        or not re.fullmatch(r"\d{1,2}(\.\d{0,6})?", degrees, re.A)
        or not 0 < float(degrees) < 90
    ):
        raise ValueError("the height on the centreline, @, and the slope from 1 to 89 degrees")
    return _HEIGHT.read(height, unit), math.radians(float(degrees))


def _unit(text: str, _unit: str) -> str:
    return unit_named(text)


_SAID_SIDES = {"p": "port", "s": "starboard", "stb": "starboard", "stbd": "starboard"}

TEXT = Kind(_text, "")
YES_NO = Kind(_yes, "no", ("yes", "no"))
SIDE = _choice("both", "port", "starboard", said=_SAID_SIDES)
POSITION = _length(-150_000, 150_000, 1828.8)
_HEIGHT = _length(-20_000, 40_000, 1219.2)
HALF_BREADTH = _length(0, 20_000, 1108.075)
GIRTH = _length(10, 40_000, 2286.0)
WIDTH = _length(5, 1_500, 187.325)
THICKNESS = _length(1, 300, 38.1)
SIDED = _length(5, 1_500, 88.9)
LONG = _length(10, 150_000, 5486.4)
DIAGONAL = Kind(_diagonal, (1219.2, " @ 45"), figure=True)
COUNT = _number(0, 100_000, "12", whole=True)
PART = _number(0, 1, "0.5")
FROM_THE_MARK = "aft of one mark (any, the same for all), level along the centreline"
NOTES = Column("notes", TEXT, "anything worth keeping")
FRAME = Column("frame", TEXT, "frame, as in the form frames", "12", needed=True)
SIDE_COLUMN = Column("side", SIDE, "both, port or starboard; blank is what vessel says", "both")
END = _choice("stem", "stern", "forefoot", "heel")
LANDING = Column("landing", _choice("frame", "block"), "block: in the bay aft of it", "frame")
STRAKE = Column("strake", TEXT, "strake, counted from the keel", "3", needed=True)


def _said(example: str) -> Kind:
    """Words of the yard's own."""
    return Kind(_text, example)


ITEMS: dict[str, Kind] = {
    "vessel": _said("Marl Heron"),
    "yard": _said("Ebbmere Slip"),
    "built": _said("1911"),
    "length": LONG,
    "beam": LONG,
    "unit": Kind(_unit, "ft-in-8ths", tuple(UNITS)),
    "planking": THICKNESS,
    "rough": THICKNESS,
    "half siding": _length(0, 1_000, 63.5),
    "measured to": _choice("frame", "planking", said={"frames": "frame", "plank": "planking"}),
    "measured by": _said("two hands with a tape"),
    "measured on": _said("2026-03-14"),
    "species": _said("larch"),
    "side": SIDE,
}

OFFSET_LINES: dict[str, Kind] = {
    "position": POSITION,
    "rabbet height": _HEIGHT,
    "rabbet half-breadth": HALF_BREADTH,
    "sheer height": _HEIGHT,
    "sheer half-breadth": HALF_BREADTH,
    "waterline": HALF_BREADTH,
    "buttock": _HEIGHT,
    "diagonal": _length(0, 30_000, 1524.0),
}
OFFSET_AT: dict[str, Kind] = {"waterline": _HEIGHT, "buttock": HALF_BREADTH, "diagonal": DIAGONAL}

_WISH_WORDS = (
    "strakes", "width", "least", "greatest", "master", "fix", "taper", "stealer", "recorded",
)  # fmt: skip
_FASTENINGS = ("screw", "boat nail", "spike", "rivet", "bolt", "treenail")
_WISHES = {
    "strakes": _number(2, 100, "16", whole=True),
    "taper": _number(0.05, 1.5, "0.6"),
    "recorded": PART,
    "master": _length(0, 40_000, 1219.2),
    "fix": _length(0, 40_000, 1219.2),
}

LAYOUTS: dict[str, Layout] = {
    layout.name: layout
    for layout in (
        Layout(
            "vessel",
            "The vessel and how she was measured",
            (
                Column("item", TEXT, "what is said", "vessel", needed=True),
                Column("value", TEXT, "its value", "Marl Heron", by=ITEMS),
                NOTES,
            ),
            (
                "unit is the unit of every bare number in all forms: " + ", ".join(UNITS),
                "planking is the dressed thickness, rough the thickness as bought",
                "measured to: frame, or planking if taken on the outside of the old planking",
                "half siding: of the keel at the rabbet, used where a rabbet half-breadth is blank",
            ),
        ),
        Layout(
            "frames",
            "Frames, from forward aft",
            (
                Column("frame", TEXT, "its number, counted from forward", "1", needed=True),
                Column("position", POSITION, FROM_THE_MARK, 609.6, needed=True),
                Column("sided", SIDED, "fore-and-aft thickness", 88.9),
                Column("moulded", SIDED, "depth, in to out", 114.3),
                Column("double", YES_NO, "yes where two timbers stand side by side", "no"),
                NOTES,
            ),
            (
                "position: level along the centreline, not round the side, aft of one mark,",
                "the same for every form: any; usually the forward perpendicular, or the fore",
                "side of the stem's rabbet at the sheer. What lies forward of it has a minus.",
                "Frames need not be where the hull was measured; without this form they are.",
            ),
        ),
        Layout(
            "girths",
            "Girths, rabbet to sheer along the outside of each frame",
            (
                Column("frame", TEXT, "frame, or stem or stern for hood ends", "12", needed=True),
                Column(
                    "position",
                    POSITION,
                    "aft of the same mark as the frames'; blank if frames has it",
                    5486.4,
                ),
                SIDE_COLUMN,
                Column(
                    "girth",
                    GIRTH,
                    "rabbet to sheer with the tape; blank is a gap",
                    2286.0,
                    needed=True,
                    may_gap=True,
                ),
                NOTES,
            ),
            (
                "stem, stern: the girth runs along the rabbet of stem or sternpost to the sheer;",
                "position is from the mark of the frames, level along the centreline. Girths alone",
                "hold an end at one place: where it rakes, give the middle of its rabbet.",
            ),
        ),
        Layout(
            "offsets",
            "Table of offsets: one column a station",
            (
                Column("line", TEXT, "one of " + ", ".join(OFFSET_LINES), "waterline", needed=True),
                Column("at", TEXT, "height of a waterline, half-breadth of a buttock", 1219.2),
                NOTES,
            ),
            (
                "The first row is position: how far each station stands aft.",
                "waterline: at is its height, the cells are half-breadths.",
                "buttock: at is its half-breadth, the cells are heights.",
                "diagonal: at is its height on the centreline @ its slope down in degrees,",
                "and its cells are distances along it from the centreline.",
                "Leave a cell blank where nothing was measured; end it with ? where in doubt.",
            ),
        ),
        Layout(
            "ends",
            "Rabbet of stem and stern in profile",
            (
                Column("end", END, "stem, stern, or forefoot, heel", "stem", needed=True),
                Column("height", _HEIGHT, "above the base line", 1219.2, needed=True),
                Column("position", POSITION, FROM_THE_MARK, -152.4, needed=True),
                Column(
                    "half_siding",
                    _length(0, 5_000, 63.5),
                    "from centreline to rabbet; of a transom its half-breadth at that height",
                    63.5,
                ),
                NOTES,
            ),
            (
                "stem, sternpost: half_siding is half the thickness where the planks land.",
                "transom: its edge, end stern, from the lowest point up; half_siding is then the",
                "transom's half-breadth at that height, so that its points stand out.",
                "forefoot, heel: the one point where stem's or post's rabbet meets the keel's,",
                "if it turns a corner there that is known; else it is looked for.",
            ),
        ),
        Layout(
            "points",
            "Points measured on the hull, in any order",
            (
                Column("frame", TEXT, "frame or station; blank for stem and stern", "12"),
                SIDE_COLUMN,
                Column("label", TEXT, "rabbet, sheer, stem, stern, forefoot, heel, any", "sheer"),
                Column("x", POSITION, "as position in frames; blank if frames has it", 5486.4),
                Column("y", HALF_BREADTH, "out from the centreline", 1108.075, needed=True),
                Column("z", _HEIGHT, "height above the base line", 1219.2, needed=True),
                NOTES,
            ),
        ),
        Layout(
            "old_strakes",
            "Widths of the old strakes",
            (
                SIDE_COLUMN,
                STRAKE,
                FRAME,
                Column("width", WIDTH, "square across the strake", 187.325, needed=True),
                Column("thickness", THICKNESS, "if it could be seen", 38.1),
                Column("timber", TEXT, "what it is of", "pitch pine"),
                Column("fastening", TEXT, "what holds it", "iron boat nails, 2 a frame"),
                Column("condition", TEXT, "in your own words", "soft at the lower edge"),
                NOTES,
            ),
            (
                "A table of strakes down and frames across, headed strake, stem, 8, 18, stern,",
                "is understood too.",
            ),
        ),
        Layout(
            "old_butts",
            "Butts of the old planking",
            (
                SIDE_COLUMN,
                STRAKE,
                FRAME,
                LANDING,
                NOTES,
            ),
        ),
        Layout(
            "old_fastenings",
            "What held the old planking",
            (
                Column("where", TEXT, "which part of the hull", "bottom", needed=True),
                Column("kind", TEXT, "what it is", "boat nail", needed=True),
                Column("gauge", TEXT, "its thickness, as said", "3/16 in square"),
                Column("length", _length(5, 1_000, 101.6), "under the head", 101.6),
                Column("per_frame", TEXT, "how many in a strake on a frame", "2"),
                Column("condition", TEXT, "in your own words", "wasted under the heads"),
                NOTES,
            ),
        ),
        Layout(
            "stock",
            "Lengths that can be bought",
            (
                Column("length", LONG, "of a board", 5486.4, needed=True),
                Column("count", COUNT, "how many; blank is as many as wanted", "20"),
                Column("width", WIDTH, "of a board; blank is any the mill saws", 254.0),
                Column("thickness", THICKNESS, "rough; blank is as the planking wants", 50.8),
                Column("price", _sum(1e9, "900"), "of a cubic metre or a board foot", "900"),
                NOTES,
            ),
            ("price: of a board foot where the job is in feet or inches, else of a cubic metre.",),
        ),
        *timber_layouts(),
        Layout(
            "fastenings",
            "Fastenings the yard has or thinks of",
            (
                Column("item", TEXT, "what you call it", "bronze screws", needed=True),
                Column("kind", _choice(*_FASTENINGS), "what it is", "screw", needed=True),
                Column("metal", TEXT, "what it is made of", "silicon bronze"),
                Column(
                    "where",
                    _choice("frames", "butts", "blocks", "hood ends", "nibs"),
                    "blank: everywhere",
                    "frames",
                ),
                Column("gauge", TEXT, "as it is sold", "14"),
                Column("length", _length(5, 2_000, 50.8), "under the head", 50.8),
                Column("per_box", _number(1, 1e6, "100", whole=True), "how many", "100"),
                Column("price", _sum(1e9, "48"), "of a box, in your money", "48"),
                Column("seconds", _number(0, 36_000, "90"), "to drive one, bung and all", "90"),
                Column("years", _number(1, 500, "40"), "until refastened", "40"),
                NOTES,
            ),
            ("The first row for a place is used there; further rows are compared with it.",),
        ),
        Layout(
            "path",
            "The way from the pile to the hull, a leg a row",
            (
                Column("from", TEXT, "pile, planer, steam box", "steam box", needed=True),
                Column("to", TEXT, "where it ends", "hull", needed=True),
                Column("distance", LONG, "to walk", 12192.0, needed=True),
                Column("width", _length(100, 100_000, 2438.4), "of the passage or door", 2438.4),
                Column("into", _length(100, 100_000, 3048.0), "the one turned into", 3048.0),
                NOTES,
            ),
            ("width and into: where the leg turns a corner; blank is open ground.",),
        ),
        Layout(
            "lining",
            "Wishes for the lining out",
            (
                Column(
                    "wish",
                    _choice(*_WISH_WORDS),
                    "what is wished",
                    "width",
                    needed=True,
                ),
                Column(
                    "strake", TEXT, "counted from the keel, or uppers, lowers, topside ...", "1"
                ),
                Column("frame", TEXT, "frame, stem or stern", "12"),
                Column("to_frame", TEXT, "last frame, where it holds over a stretch", ""),
                Column("value", WIDTH, "a width, a girth or a number", 203.2, by=_WISHES),
                Column("weight", _number(0, 1_000, "1"), "how much it matters; 1 if blank", "1"),
                NOTES,
            ),
        ),
        Layout(
            "butts",
            "Butts that are fixed, and stretches where none may stand",
            (
                Column("wish", _choice("fix", "forbid"), "fix or forbid", "forbid", needed=True),
                Column("strake", TEXT, "blank is every strake", "3"),
                Column("frame", TEXT, "first frame", "20", needed=True),
                Column("to_frame", TEXT, "last frame", "24"),
                LANDING,
                Column("reason", TEXT, "why", "way of the engine beds"),
                NOTES,
            ),
        ),
        Layout(
            "rules",
            "Rules of this job that differ from ours",
            (
                Column("rule", TEXT, "stage and rule", "butts.adjacent_spaces", needed=True),
                Column("value", TEXT, "in the job's unit", "4", needed=True),
                NOTES,
            ),
        ),
        Layout(
            "doubts",
            "What was decided of doubtful readings",
            (
                Column("reading", TEXT, "as the program shows it", "girths: frame 12", needed=True),
                Column(
                    "decision",
                    _choice("accept", "correct", "keep"),
                    "accept the fair value, correct to value, or keep as it stands",
                    "keep",
                    needed=True,
                ),
                Column("value", POSITION, "the right one, for correct", ""),
                NOTES,
            ),
        ),
    )
}
LAYOUTS |= {layout.name: layout for layout in (*work_layouts(), *record_layouts())}
