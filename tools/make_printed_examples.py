"""Turn the published tables into forms: the packet of 1825 and the launch of 1905.

    python tools/make_printed_examples.py DATA [FOLDER]

DATA holds `ohio_1825/` and `launch_1905/`, CSV with one row a reading. No number is typed here
but those the sources do not give and a form needs; each of these is marked as assumed.
Doubtful cells of the source get a trailing ``?``.
"""

# ruff: noqa: D103 - a script; the names say it
from __future__ import annotations

import csv
import sys
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

EXAMPLES = Path(__file__).parents[1] / "src" / "ribband" / "data" / "examples"
FORE_PERPENDICULAR = Decimal(41)  # ft forward of the dead flat
PACKET_SOURCE = (
    "H. I. Chapelle, The Pioneer Steamship Savannah, USNM Bulletin 228 paper 21, 1961, fig. 5"
)
LAUNCH_SOURCE = "C. H. Clark, Amateur Work vol. 4, 1904-05, table of offsets"
Record = dict[str, str]
Table = list[list[str]]


def records(path: Path) -> list[Record]:
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def write(folder: Path, forms: dict[str, Table]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in forms.items():
        with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as out:
            csv.writer(out, lineterminator="\n").writerows(rows)


def note(text: str) -> list[str]:
    """Make a line of notes; without commas, so that no quotes come before its mark."""
    return ["# " + text.replace(",", ";")]


def offsets(stations: dict[str, str], cells: dict[tuple[str, str, str], str]) -> Table:
    """Lay cells keyed by (line, at, station) out as a table of offsets."""
    lines = list(dict.fromkeys((line, at) for line, at, _ in cells))
    lines.sort(key=lambda key: (key[0] == "waterline", key[0].startswith("sheer")))
    table = [["line", "at", *stations, "notes"], ["position", "", *stations.values(), ""]]
    for line, at in lines:
        row = [cells.get((line, at, station), "") for station in stations]
        table.append([line, at, *row, ""])
    return table


# the packet of 1825 -----------------------------------------------------------------------------


def packet(data: Path) -> dict[str, Table]:
    rows = records(data / "ohio_1825_packet_offsets.csv")
    rows.sort(key=lambda r: -Decimal(r["x_ft_fwd_of_deadflat"]))
    stations = {r["station"]: f"{from_perpendicular(r)}" for r in rows}
    rows.sort(key=lambda r: Decimal(r["line_height_ft"] or 0))
    cells = {(*packet_line(r), r["station"]): packet_cell(r) for r in rows}
    stem = records(data / "ohio_1825_packet_stem_stern_rabbet.csv")
    return {
        "vessel": packet_vessel(),
        "frames": packet_frames(),
        "offsets": offsets(stations, cells),
        "ends": packet_ends(stem, half_siding=cells["rabbet half-breadth", "", "S"]),
        "rules": packet_rules(),
    }


def packet_rules() -> Table:
    return [
        ["rule", "value", "notes"],
        ["hull.tolerance", "0.15", "the two views of the drawing agree usually within this"],
        ["lining.greatest_width", "10 in", "bottom plank; Board of Lake Underwriters: Rules 1866"],
        [
            "butts.greatest_plank",
            "24 ft",
            "longer than a board of 24 ft gives; longer boards must be found",
        ],
    ]


def from_perpendicular(r: Record) -> Decimal:
    return FORE_PERPENDICULAR - Decimal(r["x_ft_fwd_of_deadflat"])


def packet_line(r: Record) -> tuple[str, str]:
    if r["line"].startswith("WL"):
        return "waterline", r["line_height_ft"]
    return f"{r['line']} {r['quantity'].replace('_', '-')}", ""


def packet_cell(r: Record) -> str:
    doubtful = r["read_from"] == "doubtful" or r["read_from"].startswith("INTERPOLATED")
    return r["value_ft_as_digitised"] + ("?" if doubtful else "")


def packet_vessel() -> Table:
    return [
        ["item", "value", "notes"],
        ["vessel", "Packet ship of 1825", PACKET_SOURCE],
        ["built", "1825", ""],
        ["length", "103", "between perpendiculars"],
        ["beam", "27", "moulded"],
        ["unit", "ft", "digitised from the drawing; two views agree usually within 0.15 ft"],
        ["planking", "3 in", "as usual in a ship of this size and date (the same source)"],
        ["rough", "3 3/8 in", "common practice; not in the source"],
        ["species", "white oak", "common practice for such a ship; not in the source"],
        ["measured to", "frame", "lines are to the inside of the plank"],
        ["side", "both", ""],
    ]


def packet_frames() -> Table:
    """Fifty frames at the source's timber and room of 2 ft, from the dead flat both ways."""
    rows = [["frame", "position", "sided", "moulded", "double", "notes"]]
    return rows + [[str(n), str(2 * n - 1), "", "", "", ""] for n in range(1, 51)]


def packet_ends(profile: list[Record], half_siding: str) -> Table:
    rows = [["end", "height", "position", "half_siding", "notes"]]
    for r in profile:
        if r["profile"].startswith("stem"):
            rows.append(
                ["stem", r["height_ft"], f"{from_perpendicular(r)}", half_siding, r["note"]]
            )
        else:
            x = from_perpendicular(r)
            where = f"sternpost rabbet at height {r['height_ft']} ft: position {x} ft; {r['note']}"
            rows.append(note(f"{where}; not used: the planking is ended at station 30"))
    return rows


# the launch of 1905 -----------------------------------------------------------------------------

LINES = {
    ("sheer", "height"): "sheer height",
    ("deck", "half_breadth"): "sheer half-breadth",
    ("rabbet", "height"): "rabbet height",
}


def launch(data: Path) -> dict[str, Table]:
    rows = records(data / "clark_1905_21ft_launch_offsets.csv")
    kept = [r for r in rows if r["mould"] != "Stern" and r["line"] != "keel_bottom"]
    kept.sort(key=lambda r: Decimal(r["line_height_in_above_base"] or 0))
    stations = {r["mould"]: inches(r["x_in_aft_of_mould1"]) for r in kept}
    cells = {(*launch_line(r), r["mould"]): launch_cell(r) for r in kept}
    table = offsets(stations, cells)
    table[1:1] = [note(f"not used: {said(r)}") for r in rows if r["mould"] == "Stern"]
    return {"vessel": launch_vessel(), "frames": launch_frames(), "offsets": table}


def inches(text: str) -> str:
    feet, over = divmod(int(text), 12)
    return f"{feet}-{over}-0"


def launch_line(r: Record) -> tuple[str, str]:
    named = LINES.get((r["line"], r["quantity"]))
    return (named, "") if named else ("waterline", inches(r["line_height_in_above_base"]))


def launch_cell(r: Record) -> str:
    return r["value_ft_in_eighths"] + ("" if r["confidence"] == "clear" else "?")


def said(r: Record) -> str:
    what = f"{r['line']} {r['quantity'].replace('_', '-')}"
    return f"stern {what} {r['value_ft_in_eighths']}; the stern's position is not printed"


def launch_vessel() -> Table:
    return [
        ["item", "value", "notes"],
        ["vessel", "Launch of 21 ft, 1905", LAUNCH_SOURCE],
        ["built", "1905", ""],
        ["length", "21-0-0", ""],
        [
            "unit",
            "ft-in-8ths",
            "? marks a cell that lost its fraction or was overruled",
        ],
        ["planking", "0-0-5", "assumed; not in the table"],
        ["rough", "0-0-7", "assumed; not in the table"],
        ["half siding", "0-0-7", "assumed: half a 1 3/4 in keel; not in the table"],
        ["measured to", "frame", "assumed; the table is for moulds"],
        ["side", "both", ""],
    ]


def launch_frames() -> Table:
    rows = [["frame", "position", "sided", "moulded", "double", "notes"]]
    rows.append(note("spacing assumed: the table gives the moulds only; they are 2 ft 6 in apart"))
    return rows + [[str(n + 1), inches(str(9 * n)), "", "", "", ""] for n in range(21)]


def main(data: Path, folder: Path) -> None:
    makers: dict[str, tuple[str, Callable[[Path], dict[str, Table]]]] = {
        "packet_1825": ("ohio_1825", packet),
        "launch_1905": ("launch_1905", launch),
    }
    for name, (source, make) in makers.items():
        write(folder / name, make(data / source))


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    main(Path(sys.argv[1]), Path(sys.argv[2]) if len(sys.argv) > 2 else EXAMPLES)
