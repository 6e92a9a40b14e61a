"""The open tables are a valid data package and say what the results say."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

import made_hulls
import made_planking
from ribband.butts.model import Butt, Layout, Ways
from ribband.findings import Finding, Severity
from ribband.hull.model import Hull
from ribband.lining.model import Lining, Strake
from ribband.planks import get_shapes, list_planks
from ribband.store import Known, write_tables
from ribband.store.table_record import RECORD_SHAPES
from ribband.store.table_shapes import NOT_YET, SHAPES
from ribband.survey.defused import defused, taken_back
from ribband.survey.model import Cell, OldWidth, Particulars, Survey
from ribband.survey.rows import Row
from ribband.timber import Wanted, gather, read_boards

SHOP = {"steaming", "fastenings", "butt_blocks", "seams", "handling"}
UNFILLED = {
    "planks",
    "shapes",
    "spiling",
    "cuts",
    "offcuts",
    "order",
    "planned_butts",
    "planned_strake_edges",
    "planned_strakes",
    "sequence",
    "steps",
    "log",
    *(shape.name for shape in RECORD_SHAPES),
} | SHOP


def even_lining(hull: Hull, strakes: int) -> Lining:
    """Equal division of the girth, the ends left out."""
    girth = hull.frames.girth_mm
    f = len(girth)
    edges = np.outer(np.arange(strakes + 1) / strakes, girth)
    lower, upper = (np.full((strakes, f + 2), np.nan) for _ in range(2))
    lower[:, 1:-1], upper[:, 1:-1] = edges[:-1], edges[1:]
    names = hull.frames.names
    xyz = None
    if hull.frames.xyz is not None:
        xyz = np.full((strakes, f + 2, 3), np.nan)
        xyz[:, 1:-1] = 1.5
    made = tuple(
        Strake(str(s + 1), "bottom", names[0], names[-1], stealer=s == 3) for s in range(strakes)
    )
    return Lining(
        ("stem", *names, "stern"), made, lower, upper, upper - lower, xyz, xyz, lower,
        np.zeros(2), np.zeros((strakes + 1, 2)), np.zeros((strakes, 2)), True, 1.0, 0.1,
    )  # fmt: skip


def known_of(hull: Hull) -> Known:
    lining = even_lining(hull, 6)
    names = hull.frames.names
    n, f = 6, len(names)
    along = np.zeros((n, 2 * f - 1))
    ways = Ways(
        tuple(s.name for s in lining.strakes), names, hull.frames.x_mm, along,
        along.astype(np.int64), np.ones(n), along == 0,
    )  # fmt: skip
    layout = Layout((Butt(0, 8, True), Butt(1, 11)), True, (), 0.1, 0)
    old = tuple(
        OldWidth(side, "2", names[3], width, None, Cell("a", 1, "b"))
        for side, width in (("port", 150.0), ("starboard", 152.0))
    )
    cells = {
        "board": "=HYPERLINK(1)", "length": 6000.0, "width_butt": 300.0, "width_middle": 280.0,
        "width_top": 220.0, "thickness": 50.0, "species": "white oak", "moisture": 18.0,
        "flaws": "knot at 900 up 80 size 30",
    }  # fmt: skip
    boards = read_boards([Row(cells, "boards.csv", 2)], "mm")
    return Known(
        survey=Survey(Particulars("x"), (), old_widths=old),
        hull=hull, lining=lining, ways=ways, layout=layout,
        pile=gather(boards, Wanted("white oak", 38.0)),
        findings=(Finding("L001", Severity.CAUTION, "lining", "strake 2", "@wide, é\n", "", "h"),),
    )  # fmt: skip


def read(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(params=["tape", "barrel"])
def folder(tmp_path: Path, request: pytest.FixtureRequest) -> Path:
    hull = made_hulls.tape() if request.param == "tape" else made_hulls.barrel()
    write_tables(tmp_path / "tables", known_of(hull), "Marl Heron", {"totals": {"planks": 3}})
    return tmp_path / "tables"


@pytest.mark.filterwarnings("ignore")
def test_an_outside_reader_finds_the_package_valid(folder: Path) -> None:
    frictionless = pytest.importorskip("frictionless")
    report = frictionless.validate(str(folder / "datapackage.json"))
    assert report.valid, report.flatten(["title", "note", "type"])
    assert {task.name for task in report.tasks} == set(SHAPES) - UNFILLED


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize(
    ("table", "old", "new"),
    [
        ("butts", "true", "yes"),
        ("butts", "frame,true", "beam,true"),
        ("butts", "both,1,", "both,99,"),
        ("strakes", "both,2,", "both,1,"),
        ("frames", "measured", "guessed"),
    ],
)
def test_the_outside_reader_would_tell(folder: Path, table: str, old: str, new: str) -> None:
    frictionless = pytest.importorskip("frictionless")
    path = folder / f"{table}.csv"
    assert old in path.read_text("utf-8")
    path.write_text(path.read_text("utf-8").replace(old, new, 1), "utf-8")
    assert not frictionless.validate(str(folder / "datapackage.json")).valid


def test_the_numbers_are_the_results(folder: Path) -> None:
    edges = read(folder / "strake_edges.csv")
    girth = {row["frame"]: float(row["girth_mm"]) for row in read(folder / "frames.csv")}
    for frame, whole in girth.items():
        own = [row for row in edges if row["frame"] == frame]
        widths = [float(r["upper_girth_mm"]) - float(r["lower_girth_mm"]) for r in own]
        assert sum(widths) == pytest.approx(whole, abs=0.01)
    assert not [row for row in edges if row["frame"] in {"stem", "stern"}]
    recorded = [row for row in edges if row["recorded_width_mm"]]
    assert [(r["strake"], r["frame"], r["recorded_width_mm"]) for r in recorded] == [
        ("2", "4", "151.0")
    ]
    butts = [tuple(row.values()) for row in read(folder / "butts.csv")]
    assert butts == [("both", "1", "5", "frame", "true"), ("both", "2", "6", "block", "false")]
    assert [row["stealer"] for row in read(folder / "strakes.csv")].count("true") == 1
    (board,) = read(folder / "boards.csv")
    assert float(board["volume_m3"]) == pytest.approx(6.0 * 0.27 * 0.05)
    assert (board["use"], board["state"], board["dresses"]) == ("spare", "sound", "true")
    assert 40 < float(board["weight_kg"]) < 80
    rings = {row["ring"] for row in read(folder / "board_outlines.csv")}
    assert rings == {"outline", "flaw 1"}


def test_formulas_are_defused(folder: Path) -> None:
    assert read(folder / "boards.csv")[0]["board"] == "'=HYPERLINK(1)"
    assert read(folder / "findings.csv")[0]["says"] == "'@wide, é\n"


def test_what_cannot_be_filled_is_left_out_and_said(tmp_path: Path, folder: Path) -> None:
    summary = json.loads((folder / "summary.json").read_text("utf-8"))
    assert set(summary["tables_left_out"]) == {*NOT_YET, *UNFILLED}
    assert summary["totals"] == {"planks": 3}
    (folder / "mine.csv").write_text("kept")
    write_tables(folder, Known(), "Marl Heron", {})
    left = {path.name for path in folder.iterdir()}
    assert left == {"mine.csv", "findings.csv", "datapackage.json", "summary.json"}


@given(st.text())
def test_no_text_starts_a_formula(text: str) -> None:
    out = defused(text)
    assert out in {text, f"'{text}"}
    number = re.fullmatch(r"[+-]?[0-9.]+|-{1,3}", out)
    assert number or not out.lstrip().startswith(("=", "+", "-", "@"))
    assert taken_back(out) == text


def test_every_column_of_the_contract_is_there() -> None:
    contract = {
        "frames": "frame, x_mm, girth_mm, basis",
        "strake_edges": "side, strake, frame, lower_girth_mm, upper_girth_mm, lower_x_mm, "
        "lower_y_mm, lower_z_mm, upper_x_mm, upper_y_mm, upper_z_mm, recorded_width_mm",
        "strakes": "side, strake, called, first_frame, last_frame, stealer, width_max_mm, "
        "width_min_mm, planks",
        "butts": "side, strake, frame, landing, fixed",
        "planks": "plank, side, strake, fore, aft, length_mm, width_max_mm, width_min_mm, "
        "dressed_mm, rough_mm, blank_length_mm, blank_width_mm, sweep_mm, area_m2, weight_kg, "
        "steam_min, board, state",
        "boards": "board, length_mm, width_mm, thickness_mm, species, moisture_percent, "
        "volume_m3, weight_kg, use",
        "board_outlines": "board, ring, point, x_mm, y_mm",
        "cuts": "plank, board, flipped, turn_deg, x_mm, y_mm",
        "order": "item, quantity, unit, allowance_percent, of",
        "findings": "code, severity, stage, where, says, source",
    }
    for name, columns in contract.items():
        own = ", ".join(c.name for c in SHAPES[name].columns)
        assert own == columns or own.startswith(f"{columns}, ")


def test_shapes_go_round_the_plank_and_stand_in_the_spiling(tmp_path: Path) -> None:
    hull = made_hulls.launch(24, 41)
    lining = made_planking.even_lining(hull, 12)
    ways = made_planking.ways_of(hull, lining)
    layout = made_planking.stepped_layout(ways)
    planks = list_planks(hull, lining, ways, layout)
    shapes = get_shapes(hull, lining, ways, layout)
    known = Known(hull=hull, lining=lining, ways=ways, layout=layout, planks=planks, shapes=shapes)
    write_tables(tmp_path, known, "x", {})
    by_plank: dict[str, list[tuple[float, float]]] = {}
    for row in read(tmp_path / "shapes.csv"):
        by_plank.setdefault(row["plank"], []).append((float(row["x_mm"]), float(row["y_mm"])))
    area = {row["plank"]: float(row["area_m2"]) for row in read(tmp_path / "planks.csv")}
    assert by_plank.keys() == area.keys()
    for name, ring in by_plank.items():  # a ring that ran back and forth would not hold the area
        assert Polygon(ring).is_valid
        assert Polygon(ring).area / 1e6 == pytest.approx(area[name], rel=0.01)
    spiling = read(tmp_path / "spiling.csv")
    assert {row["plank"] for row in spiling} == by_plank.keys()
    assert all(float(row["lower_mm"]) < float(row["upper_mm"]) for row in spiling)
    blanks = read(tmp_path / "planks.csv")
    assert all(float(r["blank_length_mm"]) >= float(r["length_mm"]) * 0.9 for r in blanks)
