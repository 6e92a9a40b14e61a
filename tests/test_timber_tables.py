"""The timber tables of the demo, looked over from the CSV files alone with another library."""

from __future__ import annotations

import csv
from collections import defaultdict
from itertools import combinations
from pathlib import Path

import pytest
from shapely import MultiPoint, Point, Polygon
from shapely.affinity import rotate, scale, translate
from shapely.geometry.base import BaseGeometry

from made_kept import planned_copy
from ribband.app.entering.jobs import take
from ribband.app.papers.tables import tables
from ribband.app.plan.inputs import read_inputs

NEAR = 0.05  # mm: the tables carry four decimals, of millimetres and of degrees


def read(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """The job of the demo and the folder of its tables."""
    home = tmp_path_factory.mktemp("demo")
    job = planned_copy(home / "heron.ribband", "order")
    return job, tables(job, home / "tables").folder


@pytest.fixture(scope="module")
def folder(written: tuple[Path, Path]) -> Path:
    return written[1]


def rings(rows: list[dict[str, str]], *keys: str) -> dict[tuple[str, ...], Polygon]:
    points = defaultdict(list)
    for row in rows:
        points[tuple(row[key] for key in keys)].append((float(row["x_mm"]), float(row["y_mm"])))
    return {key: Polygon(ring) for key, ring in points.items()}


def lies(shape: BaseGeometry, cut: dict[str, str]) -> BaseGeometry:
    """Mirror in the x axis if flipped, turn, shift: as the table says."""
    turned = scale(shape, 1, -1, origin=(0, 0)) if cut["flipped"] == "true" else shape
    turned = rotate(turned, float(cut["turn_deg"]), origin=(0, 0))
    return translate(turned, float(cut["x_mm"]), float(cut["y_mm"]))


def drawn_out(shape: Polygon, cut: dict[str, str]) -> list[Point]:
    """The points of both ends of a flat shape, moved out along it by the end allowance."""
    out, corners = float(cut["end_mm"]), list(shape.exterior.coords)
    first, last = min(x for x, _ in corners), max(x for x, _ in corners)
    fore = [(x - out, y) for x, y in corners if x < first + 1.0]
    aft = [(x + out, y) for x, y in corners if x > last - 1.0]
    return list(lies(MultiPoint([*fore, *aft]), cut).geoms)


@pytest.mark.filterwarnings("ignore")
def test_an_outside_reader_finds_the_package_valid(folder: Path) -> None:
    frictionless = pytest.importorskip("frictionless")
    report = frictionless.validate(str(folder / "datapackage.json"))
    assert report.valid, report.flatten(["title", "note", "type"])


def test_every_plank_has_a_board_or_is_in_the_order(folder: Path) -> None:
    boards = {row["board"]: row["use"] for row in read(folder / "boards.csv")}
    cuts = {row["plank"]: row["board"] for row in read(folder / "cuts.csv")}
    planks = read(folder / "planks.csv")
    assert len(cuts) > 0.6 * len(planks)
    for plank in planks:
        assert plank["board"] == cuts.get(plank["plank"], plank["board"])
        if plank["board"]:
            on_pile = plank["plank"] in cuts
            assert boards[plank["board"]] == ("planks" if on_pile else "bought")


def test_planks_lie_inside_their_boards_clear_of_flaws(folder: Path) -> None:
    shapes = {k[0]: p for k, p in rings(read(folder / "shapes.csv"), "plank").items()}
    outlines = rings(read(folder / "board_outlines.csv"), "board", "ring")
    live = {row["board"]: row["live"] == "true" for row in read(folder / "board_outlines.csv")}
    for cut in read(folder / "cuts.csv"):
        name, edge = cut["board"], float(cut["edge_mm"])
        plank = lies(shapes[cut["plank"]], cut)
        kept = edge + (float(cut["live_edge_mm"]) if live[name] else 0.0)
        board = outlines[name, "outline"]
        assert board.contains(plank)
        assert plank.distance(board.exterior) > kept - NEAR
        assert all(board.contains(end) for end in drawn_out(shapes[cut["plank"]], cut))
        lean = abs((float(cut["turn_deg"]) + 90) % 180 - 90)
        assert lean <= float(cut["turn_most_deg"]) + 1e-3
        for (of, ring), flaw in outlines.items():
            if of == name and ring != "outline":
                assert plank.distance(flaw) > edge - NEAR


def test_a_kerf_is_kept_between_planks(folder: Path) -> None:
    shapes = {k[0]: p for k, p in rings(read(folder / "shapes.csv"), "plank").items()}
    on = defaultdict(list)
    for cut in read(folder / "cuts.csv"):
        on[cut["board"]].append(cut)
    assert max(map(len, on.values())) > 1  # else nothing is tested
    for cuts in on.values():
        for one, two in combinations(cuts, 2):
            gap = lies(shapes[one["plank"]], one).distance(lies(shapes[two["plank"]], two))
            apart = float(one["kerf_mm"]) + float(one["edge_mm"]) + float(two["edge_mm"])
            assert gap > apart - NEAR


def test_offcuts_are_ends_that_no_plank_lies_on(folder: Path) -> None:
    shapes = {k[0]: p for k, p in rings(read(folder / "shapes.csv"), "plank").items()}
    path = folder / "offcuts.csv"
    for part in read(path) if path.exists() else []:
        letters = part["offcut"].removeprefix(part["board"])
        assert letters.isalpha()  # as the lay listing marks it: "A7a" of "A7"
        for cut in read(folder / "cuts.csv"):
            if cut["board"] == part["board"]:
                x = [p[0] for p in lies(shapes[cut["plank"]], cut).exterior.coords]
                assert max(x) < float(part["from_mm"]) or min(x) > float(part["to_mm"])


def test_the_sums_of_boards_and_order_are_those_of_their_sizes(folder: Path) -> None:
    outlines = rings(read(folder / "board_outlines.csv"), "board", "ring")
    for row in read(folder / "boards.csv"):
        if row["use"] != "bought":
            area = outlines[row["board"], "outline"].area
            volume = area * float(row["thickness_mm"]) / 1e9
            assert float(row["volume_m3"]) == pytest.approx(volume, abs=1e-4)
            assert float(row["weight_kg"]) > 0
    lines = [row for row in read(folder / "order.csv") if row["unit"] == "boards"]
    bought = [row for row in read(folder / "boards.csv") if row["use"] == "bought"]
    assert sum(float(row["quantity"]) for row in lines) == len(bought)
    whole = next(row for row in read(folder / "order.csv") if row["unit"] == "m3")
    assert float(whole["quantity"]) == pytest.approx(
        sum(float(row["volume_m3"]) for row in bought), abs=1e-3
    )


def test_taking_the_tables_in_again_changes_nothing(written: tuple[Path, Path]) -> None:
    job, folder = written
    assert take(job, folder, "Ada").revision is None
    assert read_inputs(folder).keys() >= {"boards", "stock"}
