"""Make the forms of the invented pilot launch *Marl Heron*, the same every time.

    python tools/make_marl_heron.py [FOLDER]

The hull is `marl_heron_hull`; the readings are its own measures with 1 to 2 mm of a tape's
unsteadiness, written to the eighth (now and then to the sixteenth). Two gaps and three blunders
are put in on purpose and listed in `GAPS` and `BLUNDERS`; the README beside the forms names them
for whoever tests with them. Nothing here is read by Ribband.
"""

# ruff: noqa: D103, E501 - a script; the names say it, and rows of forms stay whole
from __future__ import annotations

import csv
import sys
from pathlib import Path

import numpy as np
from marl_heron_hull import at_height, at_station, stem, surface, transom

from ribband.units import format_bare, parse_length

UNIT = "ft-in-8ths"
EXAMPLES = Path(__file__).parents[1] / "src" / "ribband" / "data" / "examples"
STATIONS = dict(
    zip(
        "ABCDEFGHJKLMN",
        ("2-0-0", "4-0-0", "6-6-0", "9-0-0", "13-0-0", "18-0-0", "23-0-0",
         "28-0-0", "33-0-0", "38-0-0", "43-0-0", "48-0-0", "53-0-0"),
        strict=True,
    )
)  # fmt: skip
WATERLINES = (
    "1-6-0",
    "2-0-0",
    "2-6-0",
    "3-0-0",
    "3-9-0",
    "4-6-0",
    "5-6-0",
    "6-6-0",
    "7-6-0",
    "8-6-0",
)
BUTTOCKS = ("1-6-0", "3-0-0", "4-6-0", "5-9-0")
DIAGONAL = ("6-0-0", 45)
FIRST_FRAME, SPACING, FRAMES = "2-6-0", "1-2-0", 44
FOREFOOT_FRAME = 6  # the first that stands on the keel
ENGINE_FRAMES = range(22, 29, 2)  # doubled under the engine bed
GAPS = (("waterline", "3-9-0", "H"), ("buttock", "3-0-0", "L"))
BLUNDERS = {
    ("waterline", "3-0-0", "G"): "a foot short",
    ("buttock", "3-0-0", "J"): "an inch over",
    ("waterline", "4-6-0", "F"): "inches and eighths swapped",
}
GIRTH_GAP, GIRTH_BLUNDER = 17, 30
Table = list[list[str]]


def mm(text: str) -> float:
    return parse_length(text, UNIT)


def taped(value: float, rng: np.random.Generator, spread: float = 1.2) -> str:
    """Write a length as the tape gave it: to the eighth, one in three to the sixteenth."""
    seen = value + rng.normal(0.0, spread)
    step = 25.4 / 16 if rng.random() < 1 / 3 else 25.4 / 8
    return format_bare(round(seen / step) * step, UNIT)


def frame_x(number: int) -> float:
    return mm(FIRST_FRAME) + (number - 1) * mm(SPACING)


def girth(section: np.ndarray) -> float:
    return float(np.linalg.norm(np.diff(section, axis=0), axis=1).sum())


def offsets(rng: np.random.Generator) -> Table:
    cuts = {name: at_station(mm(x)) for name, x in STATIONS.items()}
    rows: Table = [["line", "at", *STATIONS, "notes"], ["position", "", *STATIONS.values(), ""]]

    def add(line: str, at: str, values: list[float], notes: str = "") -> None:
        cells = ["" if np.isnan(v) else taped(v, rng) for v in values]
        for i, station in enumerate(STATIONS):
            cells[i] = spoil((line, at, station), cells[i])
        rows.append([line, at, *cells, notes])

    sections = list(cuts.values())
    add("rabbet height", "", [s[0, 2] for s in sections], "A, B and C on the stem")
    add("rabbet half-breadth", "", [s[0, 1] for s in sections])
    add("sheer height", "", [s[-1, 2] for s in sections])
    add("sheer half-breadth", "", [s[-1, 1] for s in sections])
    for at in WATERLINES:
        add("waterline", at, [half_breadth(s, mm(at)) for s in sections])
    for at in BUTTOCKS:
        add("buttock", at, [height(s, mm(at)) for s in sections])
    at, angle = DIAGONAL
    add("diagonal", f"{at} @ {angle}", [along_diagonal(s, mm(at)) for s in sections])
    return rows


def spoil(cell: tuple[str, str, str], text: str) -> str:
    if cell in GAPS:
        return ""
    what = BLUNDERS.get(cell)
    if what is None:
        return text
    feet, inches, eighths = text.rstrip("+").split("-")
    if what == "a foot short":
        return f"{int(feet) - 1}-{inches}-{eighths}"
    if what == "an inch over":
        return f"{feet}-{int(inches) + 1}-{eighths}"
    return f"{feet}-{eighths}-{inches}"


def half_breadth(section: np.ndarray, z: float) -> float:
    """Give none within 4 mm of the rabbet, where it is the rabbet that is measured."""
    return at_height(section, z) if section[0, 2] + 4 < z < section[-1, 2] else np.nan


def height(section: np.ndarray, y: float) -> float:
    """Give the buttock's height below the greatest breadth; none where it passes outside the sheer."""
    if not section[0, 1] < y < section[-1, 1]:
        return np.nan
    rising = section[: int(np.argmax(section[:, 1])) + 1]
    return float(np.interp(y, rising[:, 1], rising[:, 2]))


def along_diagonal(section: np.ndarray, top: float) -> float:
    """Distance from the centreline down a diagonal of 45 degrees to the section."""
    over = section[:, 2] - (top - section[:, 1])
    if over[0] >= 0 or over[-1] <= 0:
        return np.nan
    i = int(np.argmax(over > 0))
    t = over[i - 1] / (over[i - 1] - over[i])
    y = section[i - 1, 1] + t * (section[i, 1] - section[i - 1, 1])
    return float(y * np.sqrt(2))


def ends(rng: np.random.Generator) -> Table:
    rows: Table = [["end", "height", "position", "half_siding", "notes"]]
    low, head = surface(0.0, [0.0, 1.0])
    rows.append(
        [
            "stem",
            *(taped(v, rng, 0.5) for v in low[[2, 0, 1]]),
            "forefoot, where the rabbet leaves the keel",
        ]
    )
    for z in (460, 520, 610, 760, 1000, 1300, 1650, 2000, 2350, 2650):
        text = format_bare(round(z / 25.4) * 25.4, UNIT)
        rows.append(["stem", text, *(taped(v, rng, 0.8) for v in stem(mm(text))), ""])
    rows.append(
        ["stem", *(taped(v, rng, 0.5) for v in head[[2, 0, 1]]), "head of the rabbet, at the sheer"]
    )
    foot, top = surface(1.0, [0.0, 1.0])
    rows.append(
        [
            "stern",
            *(taped(v, rng, 0.5) for v in foot[[2, 0, 1]]),
            "foot of the transom; half_siding is its half-breadth",
        ]
    )
    for z in (970, 1000, 1040, 1100, 1200, 1350, 1550, 1800, 2000):
        text = format_bare(round(z / 12.7) * 12.7, UNIT)
        rows.append(["stern", text, *(taped(v, rng, 0.8) for v in transom(mm(text))), ""])
    rows.append(["stern", *(taped(v, rng, 0.5) for v in top[[2, 0, 1]]), "quarter, at the sheer"])
    return rows  # fmt: skip


def frames(first: int = 1) -> Table:
    rows: Table = [["frame", "position", "sided", "moulded", "double", "notes"]]
    for n in range(first, FRAMES + 1):
        double = n in ENGINE_FRAMES
        sided = "0-5-0" if double else "0-2-4"
        note = (
            "under the engine bed" if double else "stands on the stem" if n < FOREFOOT_FRAME else ""
        )
        rows.append(
            [str(n), format_bare(frame_x(n), UNIT), sided, "0-3-0", "yes" if double else "no", note]
        )
    return rows  # fmt: skip


def vessel(measured: str) -> Table:
    return [
        ["item", "value", "notes"],
        ["vessel", "Marl Heron", "pilot launch; an invented vessel"],
        ["yard", "Ebbmere Slip", ""],
        ["built", "1934", ""],
        ["length", "55-3-0", "on the sheer"],
        ["beam", "14-1-0", "moulded"],
        ["unit", UNIT, "a + is a sixteenth over"],
        ["planking", "0-1-4", "dressed"],
        ["rough", "0-1-7", ""],
        ["measured to", "frame", "old planking off"],
        ["measured by", "the foreman and the apprentice", measured],
        ["measured on", "1 October", ""],
        ["species", "Douglas-fir, coast", "old planking: the same"],
        ["side", "both", "measured to port; starboard checked at five frames"],
    ]


def girths(rng: np.random.Generator) -> Table:
    rows: Table = [["frame", "position", "side", "girth", "notes"]]
    for n in range(FOREFOOT_FRAME, FRAMES + 1):
        text = taped(girth(at_station(frame_x(n))), rng, 1.5)
        if n == GIRTH_GAP:
            rows.append([f"# frame {n}: a shore in the way, not taken"])
            continue
        if n == GIRTH_BLUNDER:
            feet, inches, eighths = text.split("-")
            text = f"{feet}-{int(inches) + 1}-{eighths}"
        rows.append([str(n), "", "both", text, ""])
    foot = float(surface(1.0, 0.0)[0]) - 1.0
    x = format_bare(round(foot / 12.7) * 12.7, UNIT)
    last = taped(girth(at_station(foot)), rng, 1.5)
    rows.append(["stern", x, "both", last, "square to the keel at the foot of the transom"])
    return rows


def old_strakes(rng: np.random.Generator, strakes: int = 16) -> Table:
    """Lay out the old planking: a wide garboard, narrower at the bilge, a deep sheer strake."""
    rows: Table = [["side", "strake", "frame", "width", "thickness", "notes"]]
    k = np.arange(1, strakes + 1)
    share = 1 + 0.22 * (k == 1) + 0.10 * (k == 2) - 0.10 * np.exp(-(((k - 8) / 2.5) ** 2))
    share = share + 0.12 * (k == strakes)
    for n in (8, 16, 24, 32, 40):
        widths = girth(at_station(frame_x(n))) * share / share.sum()
        for s in k:
            gone = n == 24 and s in {3, 4}
            note = "gone; cut away for an earlier repair" if gone else ""
            width = "" if gone else taped(widths[s - 1] - 2.0, rng, 2.5)
            rows.append(["port", str(s), str(n), width, "" if gone else "0-1-3", note])
    return [row for row in rows if row[3]]


def old_butts() -> Table:
    rows: Table = [["side", "strake", "frame", "landing", "notes"]]
    for strake in range(1, 17):
        start = 7 + (strake * 5) % 12
        for frame in range(start, 42, 13):
            rows.append(["port", str(strake), str(frame), "block", ""])
    rows.append(["port", "3", "23", "block", "repair; short piece"])
    rows.append(["port", "3", "26", "block", "repair; short piece"])
    return rows


OLD_FASTENINGS: Table = [
    ["where", "kind", "gauge", "length", "per_frame", "notes"],
    ["plank to frame", "copper nail, roved", "6", "0-4-4", "2", "3 in strakes wider than 0-8-0"],
    ["hood ends", "bronze screw", "18", "0-3-0", "2", "wasted to half at the forefoot"],
    ["butt blocks", "copper nail, roved", "6", "0-3-4", "", "5 each side of the butt"],
    ["garboard to keel", "bronze screw", "20", "0-3-4", "", "6 in apart"],
]
STOCK: Table = [
    ["length", "count", "notes"],
    *[[f"{feet}-0-0", str(count), ""] for feet, count in
      ((12, 24), (14, 24), (16, 36), (18, 40), (20, 40), (22, 24), (24, 12))],
]  # fmt: skip
MILL: Table = [
    ["length", "width", "thickness", "count", "price", "notes"],
    *[[f"{feet}-0-0", f"{inches // 12}-{inches % 12}-0", "0-2-0", "", price, ""]
      for feet, price in ((8, "3.90"), (10, "3.90"), (12, "4.20"), (14, "4.20"), (16, "4.50"),
                          (18, "4.80"), (20, "5.10"), (22, "5.60"), (24, "6.20"),
                          (26, "6.90"))
      for inches in (6, 8, 10, 12, 14, 16)],
    *[[f"{feet}-0-0", f"1-{inches - 12}-0", "0-2-0", "", price, "flitch, sawn to order"]
      for feet, price in ((12, "7.40"), (16, "7.80"), (20, "8.40"), (24, "9.60"), (26, "10.50"))
      for inches in (18, 20, 22)],
]  # fmt: skip
LINING: Table = [
    ["wish", "strake", "frame", "to_frame", "value", "weight", "notes"],
    ["recorded", "", "", "", "0.25", "1", "follow the old strakes where nothing else speaks"],
    ["greatest", "", "16", "30", "0-7-6", "1", "round of the bilge: no more hollow than the stock allows"],
    ["width", "1", "24", "", "0-9-0", "0.5", "wide garboard amidships"],
]  # fmt: skip
BUTTS: Table = [
    ["wish", "strake", "frame", "to_frame", "landing", "reason", "notes"],
    ["forbid", "4", "25", "28", "", "cooling-water inlet and its pad", ""],
    ["fix", "6", "18", "", "frame", "", "sound old plank forward of it is kept"],
]
RULES: Table = [
    ["rule", "value", "notes"],
    ["lining.greatest_width", "0-7-6", "widest clear stock in the stack, less the edges"],
    ["butts.adjacent_spaces", "4", "as the yard has always done"],
    ["fastenings.frame_timber", "white oak", "the frames as found"],
]
FASTENINGS: Table = [
    ["item", "kind", "metal", "where", "gauge", "length", "per_box", "price", "seconds", "years",
     "notes"],
    ["bronze screws", "screw", "silicon bronze", "", "20", "0-2-6", "100", "165", "110", "45",
     "all the yard keeps in this length"],
    ["copper nails", "rivet", "copper", "", "", "", "200", "210", "190", "60",
     "as she was built; two hands, one to rove"],
    ["galvanised spikes", "spike", "galvanised iron", "", "", "0-3-2", "100", "36", "60", "14",
     "the owner asked what they would cost"],
]  # fmt: skip
PATH: Table = [
    ["from", "to", "distance", "width", "into", "notes"],
    ["pile", "planer", "38-0-0", "9-0-0", "8-0-0", "in at the big door and left"],
    ["planer", "steam box", "22-0-0", "", "", ""],
    ["steam box", "hull", "46-0-0", "", "", "out at the slip end, open ground"],
]


BOARD_HEADER = ["board", "length", "width_butt", "width_middle", "width_top", "thickness",
                "species", "moisture", "flaws", "notes"]  # fmt: skip
FEET = [12, 14, 16, 18, 20, 22, 24]
STACK = (96, [0.1, 0.14, 0.2, 0.2, 0.18, 0.12, 0.06], (11.0, 17.0))
SECOND_LOAD = (30, [0.0, 0.05, 0.05, 0.1, 0.2, 0.3, 0.3], (13.0, 19.0))  # longer and wider


def boards(rng: np.random.Generator) -> Table:
    """Tally the stack, and the load that came after it, made by chance of its own."""
    rows = [BOARD_HEADER, *load(rng, 1, *STACK)]
    return rows + load(np.random.default_rng(1935), len(rows), *SECOND_LOAD)


def load(
    rng: np.random.Generator,
    first: int,
    count: int,
    parts: list[float],
    inches: tuple[float, float],
) -> Table:
    rows: Table = []
    for n in range(first, first + count):
        length = mm(f"{rng.choice(FEET, p=parts)}-0-0")
        length += 12.7 * rng.integers(0, 12)
        butt = 25.4 * rng.uniform(*inches)
        top = butt * rng.uniform(0.72, 0.92)
        middle = (butt + top) / 2 * rng.uniform(0.98, 1.04)
        widths = [format_bare(round(w / 6.35) * 6.35, UNIT) for w in (butt, middle, top)]
        moisture = f"{rng.normal(15.5, 1.2):.0f}"
        thickness = "0-2-0" if rng.random() < 0.2 else "0-1-7"
        rows.append(
            [
                str(n),
                format_bare(length, UNIT),
                *widths,
                thickness,
                "Douglas-fir, coast",
                moisture,
                flaws(length, rng),
                "live edges" if rng.random() < 0.7 else "one edge sawn",
            ]
        )
    return rows  # fmt: skip


def flaws(length: float, rng: np.random.Generator) -> str:
    """Say what is wrong with a board; distances from the butt, then from the lower edge."""
    found = []
    if rng.random() < 0.45:
        found.append(f"check at butt {format_bare(12.7 * rng.integers(6, 28), UNIT)}")
    for _ in range(rng.poisson(0.9)):
        at = format_bare(round(rng.uniform(0.1, 0.9) * length / 25.4) * 25.4, UNIT)
        up = format_bare(25.4 * rng.integers(1, 11), UNIT)
        found.append(f"knot at {at} up {up} size {format_bare(6.35 * rng.integers(3, 9), UNIT)}")
    if rng.random() < 0.25:
        found.append(
            f"sap {rng.choice(['lower', 'upper'])} edge {format_bare(6.35 * rng.integers(2, 6), UNIT)}"
        )
    return "; ".join(found)  # fmt: skip


def write(folder: Path, forms: dict[str, Table]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in forms.items():
        with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as out:
            csv.writer(out, lineterminator="\n").writerows(rows)


def main(folder: Path) -> None:
    rng = np.random.default_rng(1934)
    write(
        folder / "marl_heron",
        {
            "vessel": vessel("offsets off the frames, from plumb lines and a level"),
            "frames": frames(),
            "offsets": offsets(rng),
            "ends": ends(rng),
            "old_strakes": old_strakes(rng),
            "old_butts": old_butts(),
            "old_fastenings": OLD_FASTENINGS,
            "stock": STOCK,
            "mill": MILL,
            "boards": boards(rng),
            "fastenings": FASTENINGS,
            "path": PATH,
            "lining": LINING,
            "butts": BUTTS,
            "rules": RULES,
        },
    )
    write(
        folder / "marl_heron_girths",
        {
            "vessel": vessel("girths by tape, rabbet to sheer"),
            "frames": frames(FOREFOOT_FRAME),
            "girths": girths(rng),
        },
    )


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else EXAMPLES)
