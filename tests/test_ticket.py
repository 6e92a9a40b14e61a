"""The plank's ticket: read back from its PDF, laid out by its figures, its code deciphered."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
from scipy.interpolate import CubicSpline

from made_strips import cone_sector, cylinder_strip, many, plank_for
from pdf_reading import paths, texts
from ribband.drawing import pdf, svg, ticket
from ribband.drawing.bench import Bench
from ribband.drawing.labels import text_box
from ribband.drawing.patterns.flat import laid
from ribband.drawing.sheet import Text
from ribband.drawing.ticket.code import modules
from ribband.drawing.ticket.table import rows
from ribband.drawing.ticket.words import cautions, hanging, steam, timber
from ribband.units import parse_length

METRIC = Bench("Marl Heron", "mm", "Ebbmere Slip", "heron", "1936-04-02", "B")
FEET = replace(METRIC, unit="ft-in-8ths")
SECTOR = cone_sector("3-1", 6_300.0, 200.0, 40_000.0)
SHAPES = {
    "swept": SECTOR,
    "to a point": cylinder_strip("12-3", 2_600.0, 150.0, 1_200.0, 0.3, taper=0.97),
    "many frames": cylinder_strip("7-2", 12_000.0, 180.0, space=380.0),
    "very many frames": cylinder_strip("7-3", 12_000.0, 180.0, space=200.0),
    "one frame": cylinder_strip("4-3", 700.0, 140.0, space=1_000.0),
}
FULL = ticket.Facts(
    ticket.Beside(("S4-1", "S4-2"), ("S2-1",), "", "S3-2"), "second broad", "larch", "memory", 15.0,
    doubts=("Frame 9: half-breadth read as 1108 is in doubt.",
            "Nothing was measured at frames 12, 13: faired in between."),
)  # fmt: skip


def read(sheets, path: Path) -> list[str]:
    doc = pdfium.PdfDocument(ticket.write(sheets, path))
    said = []
    for page in doc:
        said.append(texts(page))
        page.close()
    doc.close()
    return said


# --- the page ------------------------------------------------------------------------------------


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("facts", [ticket.Facts(), FULL], ids=["bare", "full"])
@pytest.mark.parametrize("bench", [METRIC, FEET], ids=["mm", "feet"])
@pytest.mark.parametrize("shape", SHAPES.values(), ids=SHAPES)
def test_nothing_runs_into_anything_or_off_the_page(shape, bench, facts, paper) -> None:
    hard = replace(
        shape, grade="steam and force", why_grade="fibre strain 2.1 % over the 1.5 % of steam",
        thickness_mm=70.0, strain=0.0013, strain_at="frame 12", seam_error_mm=0.4,
    )  # fmt: skip
    for sheet in ticket.ticket(hard, plank_for(shape, "starboard"), bench, facts, paper=paper):
        letters = [i for i in sheet.paper if isinstance(i, Text)]
        boxes = [(text_box(t), t.text) for t in letters]
        inner = sheet.page.inner.grown(0.6)
        for b, text in boxes:
            assert b.left >= inner.left, text
            assert b.right <= inner.right, text
            assert b.lower >= inner.lower, text
            assert b.upper <= inner.upper, text
        for (a, one), (b, other) in itertools.combinations(boxes, 2):
            assert not a.meets(b), (one, other)
        assert min(t.height_mm for t in letters) >= 1.8


def test_up_to_thirty_frames_go_on_one_page() -> None:
    one = ticket.ticket(SHAPES["many frames"], plank_for(SHAPES["many frames"]), METRIC)
    two = ticket.ticket(SHAPES["very many frames"], plank_for(SHAPES["very many frames"]), METRIC)
    assert (len(one), len(two)) == (1, 2)


def test_the_width_at_each_frame_and_the_diagonals_prove_what_was_struck() -> None:
    lines = rows(SECTOR, "mm")
    for cells in lines[2:-2]:
        down, up, wide = (int(cell.replace("−", "-")) for cell in cells[2:5])
        assert abs(wide - down - up) <= 1
    x, y = (SECTOR.upper[0] - SECTOR.lower[-1]).tolist()
    (sheet,) = ticket.ticket(SECTOR, plank_for(SECTOR), METRIC)
    said = " ".join(item.text for item in sheet.paper if isinstance(item, Text))
    assert f"check, corner to corner: {math.hypot(x, y):.0f} mm falling aft" in said
    off = abs(SECTOR.upper[0, 0] - SECTOR.lower[0, 0])
    assert f"fore, top {off:.0f} mm " in said
    assert lines[1][4] == f"{SECTOR.upper[0, 1] - SECTOR.lower[0, 1]:.0f}"


def test_there_is_room_for_notes() -> None:
    (sheet,) = ticket.ticket(SECTOR, plank_for(SECTOR), METRIC, FULL)
    at = {t.text: t.at[1] for t in sheet.paper if isinstance(t, Text)}
    assert at["Notes, and as hung"] - at["Timber"] > 25.0


def test_every_frame_of_a_two_page_ticket_is_on_it(tmp_path: Path) -> None:
    shape = SHAPES["very many frames"]
    said = " ".join(read(ticket.ticket(shape, plank_for(shape), METRIC), tmp_path / "a.pdf"))
    for along in shape.along_mm:
        assert f" {along:.0f} " in said


def test_the_shape_is_drawn_to_scale(tmp_path: Path) -> None:
    (sheet,) = ticket.ticket(SECTOR, plank_for(SECTOR), METRIC)
    assert 1 / sheet.scale == pytest.approx(40.0)
    doc = pdfium.PdfDocument(ticket.write([sheet], tmp_path / "a.pdf"))
    page = doc[0]
    ring = laid(SECTOR, "port").ring
    found = next(p[: len(ring)] for p in paths(page) if len(ring) <= len(p) <= len(ring) + 1)
    assert np.abs((found - found[0]) * 40.0 - (ring - ring[0])).max() < 0.8
    page.close()
    doc.close()
    assert 'id="outline"' in svg.written(sheet)


# --- the figures ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("unit", "step"), [("mm", 0.5), ("ft-in-8ths", 25.4 / 32), ("ft", 1.53)])
def test_the_plank_can_be_laid_out_from_the_figures_alone(unit: str, step: float) -> None:
    lines = rows(SECTOR, unit)

    def mm(text: str) -> float:
        return math.nan if not text else parse_length(text.replace("−", "-"), unit)

    frames = {line[0]: line for line in lines if line[0].isdigit()}
    assert tuple(frames) == SECTOR.frames
    for k, frame in enumerate(SECTOR.frames):
        _, along, down, up, *_ = frames[frame]
        assert mm(along) == pytest.approx(SECTOR.along_mm[k], abs=step + 1e-6)
        assert mm(down) == pytest.approx(-SECTOR.lower_mm[k], abs=step + 1e-6)
        assert mm(up) == pytest.approx(SECTOR.upper_mm[k], abs=step + 1e-6)
    corners = {line[0]: line for line in lines if not line[0].isdigit()}
    for name, edge, i, sign in (
        ("fore, upper", SECTOR.upper, 0, 1), ("fore, lower", SECTOR.lower, 0, -1),
        ("aft, upper", SECTOR.upper, -1, 1), ("aft, lower", SECTOR.lower, -1, -1),
    ):  # fmt: skip
        _, along, down, up, *_ = corners[name]
        assert mm(along) == pytest.approx(edge[i, 0], abs=step + 1e-6)
        assert mm(up or down) == pytest.approx(sign * edge[i, 1], abs=step + 1e-6)


def sprung(lines: list[tuple[str, ...]], edge: str) -> np.ndarray:
    """Spring a batten through a ticket's printed figures, anew from every corner; dense, (n, 2)."""
    column, sign = (2, -1) if edge == "lower" else (3, 1)
    given = [(float(c[1].replace("−", "-")), sign * float(c[column].replace("−", "-")), c[0])
             for c in lines if c[column] and "(" not in c[column]]  # fmt: skip
    stops = [mark for mark in given if mark[2].endswith(f", {edge}")]
    runs = []
    for a, b in itertools.pairwise(stops):
        marks = [a, *(m for m in given if a[0] + 20 < m[0] < b[0] - 20 and m not in stops), b]
        x, y = np.array([mark[:2] for mark in marks]).T
        if b[0] - a[0] > 1.0:
            at = np.linspace(x[0], x[-1], 200)
            runs.append(np.column_stack([at, CubicSpline(x, y, bc_type="natural")(at)]))
    return np.concatenate(runs)


def test_marks_between_frames_keep_a_batten_on_the_edge() -> None:
    """A bow plank on one frame: sprung through its ends and that frame alone it runs wide."""
    swept = cone_sector("30-1", 2_600.0, 240.0, 3_500.0)
    few = slice(2, 3)
    lonely = replace(swept, frames=swept.frames[few], frame_lines=None, **{
        name: getattr(swept, name)[few] for name in (
            "along_mm", "lower_mm", "upper_mm", "lower_bevel_rad", "upper_bevel_rad",
            "lower_fit_rad", "upper_fit_rad", "hollow_mm", "round_mm", "twist_rad_per_m",
            "bend_radius_mm")})  # fmt: skip
    lines = rows(lonely, "mm")
    frames_alone = [cells for cells in lines if cells[0] != "between"]
    assert len(lines) > len(frames_alone)
    for edge in ("lower", "upper"):
        true = getattr(lonely, edge)
        for given, least, most in ((lines, 0.0, 2.5), (frames_alone, 4.0, 200.0)):
            batten = sprung(given, edge)
            off = np.abs(np.interp(true[2:-2, 0], *batten.T) - true[2:-2, 1]).max()
            assert least <= off <= most


def test_a_notch_is_given_by_both_its_corners() -> None:
    """Sprung through the frames on either side, a batten would cut the notch away."""
    edge = SECTOR.lower.copy()
    at = len(edge) // 2
    notched = replace(SECTOR, lower=np.concatenate(
        [edge[: at + 1], edge[at:] + np.array([0.0, 45.0])]))  # fmt: skip
    named = [cells for cells in rows(notched, "mm") if cells[0] == "notch, lower"]
    assert [cells[1] for cells in named] == [f"{edge[at, 0]:.0f}"] * 2
    downs = [float(cells[2].replace("−", "-")) for cells in named]
    assert downs[0] - downs[1] == pytest.approx(45.0, abs=1.01)


def test_bevels_as_degrees_and_as_rise() -> None:
    shape = replace(
        SECTOR, lower_fit_rad=np.full(len(SECTOR.frames), math.atan(0.1)),
        upper_fit_rad=np.full(len(SECTOR.frames), -math.atan(1 / 24)),
    )  # fmt: skip
    assert rows(shape, "mm")[2][5:9] == ("5.7°", "10", "−2.4°", "−4")
    assert rows(shape, "ft-in-8ths")[2][5:9] == ("5.7°", "1 3/16", "−2.4°", "−1/2")


def test_a_vessel_in_feet_shows_feet(tmp_path: Path) -> None:
    sheets = ticket.ticket(SECTOR, plank_for(SECTOR), FEET, FULL)
    (said,) = read(sheets, tmp_path / "a.pdf")
    assert "feet-inches-eighths" in said
    assert "lb rough" in said
    assert " mm" not in said
    assert " kg" not in said


# --- the words -----------------------------------------------------------------------------------


def test_a_ticket_says_what_it_knows(tmp_path: Path) -> None:
    sheets = ticket.ticket(SECTOR, plank_for(SECTOR, "starboard"), METRIC, FULL)
    (said,) = read(sheets, tmp_path / "a.pdf")
    for words in (
        "S3-1", "Marl Heron", "Ebbmere Slip", "revision B", "starboard, strake 3 (second broad)",
        "from frame 4 to a butt on the block aft of frame 19", "In doubt",
        "half-breadth read as 1108 is in doubt", "S4-1, S4-2", "S2-1", "S3-2 aft", "larch",
        "at 15 % ‡", "not planned yet", "58 mm rough, 48 mm dressed", "NIOSH starts from 23 kg",
        "Local codes and the surveyor come first", "ribband:heron/plank/S3-1", "Notes",
    ):  # fmt: skip
        assert words in said, words


def test_what_is_not_known_is_said_to_be_so(tmp_path: Path) -> None:
    shape = replace(SECTOR, grade="", why_grade="")
    plank = plank_for(SECTOR, rough_kg=None, dressed_kg=None, dressed_mm=0.0, rough_mm=0.0)
    (said,) = read(ticket.ticket(shape, plank, METRIC), tmp_path / "a.pdf")
    for words in (
        "not known: weigh it", "Weight not known.", "not named", "not graded", "not computed yet",
        "not given rough, not given dressed", "none given",
    ):  # fmt: skip
        assert words in said, words
    assert "In doubt" not in said


def test_lettered_frames_and_unknown_ends_are_named_as_they_are(tmp_path: Path) -> None:
    names = tuple("ABCDEFGHIJKLMNOP"[: len(SECTOR.frames)])
    alone = ticket.Facts(ticket.Beside(above=("P4-1",)))
    plank = plank_for(SECTOR, fore="A", aft="P", aft_landing="frame")
    sheets = ticket.ticket(replace(SECTOR, frames=names), plank, METRIC, alone)
    (said,) = read(sheets, tmp_path / "a.pdf")
    assert "from frame A to frame P" in said
    bold = {t.text for t in sheets[0].paper if isinstance(t, Text) and t.face == "Sans-Semibold"}
    assert set(names) <= bold


def test_many_doubts_are_counted() -> None:
    facts = ticket.Facts(doubts=tuple(f"Frame {n} is in doubt." for n in range(30)))
    (sheet,) = ticket.ticket(SECTOR, plank_for(SECTOR), METRIC, facts)
    said = [t.text for t in sheet.paper if isinstance(t, Text)]
    assert "– Frame 4 is in doubt." in said
    assert "– and 25 more: see the planking book." in said


def test_minus_signs_are_explained_where_there_are_any() -> None:
    count = len(SECTOR.frames)
    hollow = replace(SECTOR, hollow_mm=np.full(count, -0.4), lower_fit_rad=np.full(count, -0.12))
    plank = plank_for(SECTOR)
    said = " ".join(cautions(hollow, plank, METRIC, ticket.Facts()))
    assert "the outer face is the wider" in said
    assert "the inner face is rounded" in said
    hair = " ".join(cautions(SECTOR, plank, METRIC, ticket.Facts()))
    assert "wider by a hair. Cut outside the line" in hair
    square = replace(SECTOR, lower_fit_rad=np.zeros(count), upper_fit_rad=np.zeros(count))
    calm = " ".join(cautions(square, plank, METRIC, ticket.Facts()))
    assert "wider" not in calm
    assert "rounded" not in calm
    assert rows(hollow, "mm")[2][9] == "−0.4"
    feet = " ".join(cautions(hollow, plank, FEET, ticket.Facts()))
    assert "rounded" not in feet  # prints as 0 of a sixteenth
    assert said.index("Leave wood on") < said.index("then cut square") < said.index("then plane")


def test_steam_is_given_or_the_common_rule_is_named_as_such() -> None:
    hot = replace(SECTOR, grade="steam")
    plank = plank_for(SECTOR, dressed_mm=50.8)
    assert steam(hot, plank, ticket.Facts()) == (
        "not computed yet; an hour to the inch gives 2 h 00 min §"
    )
    given = ticket.Facts(steam_min=110.0, steam_source="memory")
    assert steam(hot, plank, given) == "1 h 50 min ‡"
    assert steam(SECTOR, plank, ticket.Facts()) == "none asked for by its grade"


def test_cautions_are_those_of_the_plank() -> None:
    light, heavy = plank_for(SECTOR, rough_kg=8.0), plank_for(SECTOR, rough_kg=23.1)
    hot = replace(SECTOR, grade="steam")

    def said(shape, plank) -> str:
        return " ".join(cautions(shape, plank, METRIC, ticket.Facts()))

    assert "NIOSH" not in said(SECTOR, light)
    assert "23.1 kg rough: no lift for one" in said(SECTOR, heavy)
    assert "Steam box vented" in said(hot, light)
    assert "Steam box" not in said(SECTOR, light)
    for word in ("saw", "dust", "Local codes"):
        assert word.lower() in said(SECTOR, light).lower()


def test_rough_stuff_too_thin_for_the_hollow_is_loud() -> None:
    thick = replace(SECTOR, thickness_mm=61.0)
    needs = {p.label: p for p in timber(thick, plank_for(SECTOR), METRIC, FULL)}["needs"]
    assert needs.loud
    assert needs.says == "61 mm, to hollow inside and round outside: the rough stuff is only 58 mm"
    calm = {p.label: p for p in timber(SECTOR, plank_for(SECTOR), METRIC, FULL)}["needs"]
    assert not calm.loud


def test_what_to_plane_to_is_never_barer_than_the_milling_list_has_it() -> None:
    """40.33 mm is 0-1-4+ to the nearest, which is 0.6 mm too bare for its hollow."""
    thick = replace(SECTOR, thickness_mm=40.33)
    needs = {p.label: p for p in timber(thick, plank_for(SECTOR), FEET, FULL)}["needs"]
    assert needs.says.startswith("0-1-5, to hollow")


def test_how_well_the_seams_close_is_said_in_the_vessels_unit() -> None:
    near = replace(SECTOR, seam_error_mm=0.9)
    said = [{p.label: p.says for p in timber(near, plank_for(near), bench, FULL)}["fit"]
            for bench in (METRIC, FEET)]  # fmt: skip
    assert said[0].endswith("seams close within 0.9 mm as reckoned")
    assert said[1].endswith("seams close within 0.04 in as reckoned")
    least = replace(SECTOR, seam_error_mm=0.07)
    fit = {p.label: p.says for p in timber(least, plank_for(least), FEET, FULL)}["fit"]
    assert fit.endswith("seams close within 0.01 in as reckoned")  # never "within 0.00"


def test_a_straight_plank_has_no_radius() -> None:
    flat = cylinder_strip("7-2", 4_000.0, lean=0.0)
    said = {p.label: p.says for p in hanging(flat, METRIC, ticket.Facts(), plank_for(flat))}
    assert (said["bend"], said["twist"]) == ("straight", "none")


# --- neighbours ----------------------------------------------------------------------------------


def run(name: str, first: int, last: int, strake: int):
    """A plank that crosses frames first to last, 500 mm apart, and ends on both."""
    at = np.arange(first, last + 1) * 500.0
    n = len(at)
    long = float(np.ptp(at))
    made = replace(
        cylinder_strip(name, long + 200.0), strake=strake,
        frames=tuple(map(str, range(first, last + 1))), along_mm=at - at[0],
        lower=np.array([[0.0, -90.0], [long, -90.0]]), upper=np.array([[0.0, 90.0], [long, 90.0]]),
        lower_mm=np.full(n, -90.0), upper_mm=np.full(n, 90.0),
    )  # fmt: skip
    return plank_for(made), made


def test_neighbours_touch_along_an_edge_and_not_at_a_corner() -> None:
    planks = [
        run("1-1", 0, 10, 0), run("1-2", 10, 20, 0),
        run("2-1", 0, 6, 1), run("2-2", 6, 20, 1),
        run("2a-1", 8, 14, 2),  # a stealer
        run("3-1", 0, 10, 3), run("3-2", 10, 20, 3),
    ]  # fmt: skip
    found = ticket.beside(planks)
    assert found["P1-1"] == ticket.Beside(("P2-1", "P2-2"), (), "", "P1-2")
    assert found["P1-2"] == ticket.Beside(("P2-2",), (), "P1-1", "")
    assert found["P2-1"] == ticket.Beside(("P3-1",), ("P1-1",), "", "P2-2")
    assert found["P2-2"].above == ("P3-1", "P2a-1", "P3-2")
    assert found["P2a-1"] == ticket.Beside(("P3-1", "P3-2"), ("P2-2",), "", "")
    assert found["P3-2"].below == ("P2a-1", "P2-2")


def past(name: str, first: int, last: int, strake: int, *, fore: float = 0.0, aft: float = 0.0):
    """The like, but carried on past its first and last frame by half a scarf, or to a block."""
    plank, made = run(name, first, last, strake)
    ends = np.array([-fore, float(np.ptp(made.along_mm)) + aft])
    edges = [np.stack([ends, [y, y]], axis=1) for y in (-90.0, 90.0)]
    return plank, replace(made, lower=edges[0], upper=edges[1])


def test_planks_that_end_in_a_bay_lie_beside_what_runs_through_it() -> None:
    """In the bay where two planks end, only the next strake is a neighbour, not one further up."""
    planks = [
        past("1-1", 0, 10, 0, aft=200.0), past("1-2", 10, 20, 0, fore=200.0),
        run("2-1", 0, 20, 1), run("3-1", 0, 20, 2),
        past("9-1", 0, 10, 8, aft=200.0), past("9-2", 10, 20, 8, fore=200.0),
    ]  # fmt: skip
    found = ticket.beside(planks)
    assert found["P1-1"].above == ("P2-1",)
    assert found["P1-2"].above == ("P2-1",)
    assert found["P9-2"].below == ("P3-1",)
    assert found["P2-1"] == ticket.Beside(("P3-1",), ("P1-1", "P1-2"), "", "")


def test_sides_are_not_neighbours() -> None:
    port, below = run("2-1", 0, 6, 1), run("1-1", 0, 6, 0)
    across = replace(below[0], name="S1-1", side="starboard"), below[1]
    assert ticket.beside([port, across])["P2-1"] == ticket.Beside()


# --- the code ------------------------------------------------------------------------------------


def deciphered(dark: list[list[bool]]) -> str:
    """Read a QR code of up to version 3, level M, without mending errors (ISO/IEC 18004)."""
    n = len(dark)
    version = (n - 17) // 4
    form = [dark[8][i] for i in (0, 1, 2, 3, 4, 5, 7)] + [dark[8][8]]
    bits = sum(bit << (14 - i) for i, bit in enumerate(form)) ^ 0b101010000010010
    assert bits >> 13 == 0b00, "level M"
    mask = (bits >> 10) & 7
    rule = [
        lambda i, j: (i + j) % 2, lambda i, j: i % 2, lambda i, j: j % 3, lambda i, j: (i + j) % 3,
        lambda i, j: (i // 2 + j // 3) % 2, lambda i, j: i * j % 2 + i * j % 3,
        lambda i, j: (i * j % 2 + i * j % 3) % 2, lambda i, j: ((i + j) % 2 + i * j % 3) % 2,
    ][mask]  # fmt: skip
    kept = np.zeros((n, n), bool)
    kept[:9, :9] = kept[:9, n - 8 :] = kept[n - 8 :, :9] = True
    kept[6, :] = kept[:, 6] = True
    if version > 1:
        kept[n - 9 : n - 4, n - 9 : n - 4] = True
    stream, up = [], True
    for right in [c for c in range(n - 1, 0, -2) if c > 6] + [5, 3, 1]:
        for i in range(n - 1, -1, -1) if up else range(n):
            for j in (right, right - 1):
                stream += [] if kept[i, j] else [int(dark[i][j]) ^ (rule(i, j) == 0)]
        up = not up
    number = int("".join(map(str, stream[4:12])), 2)
    assert stream[:4] == [0, 1, 0, 0], "bytes"
    text = stream[12 : 12 + 8 * number]
    octets = [int("".join(map(str, text[k : k + 8])), 2) for k in range(0, len(text), 8)]
    return bytes(octets).decode("utf-8")


@pytest.mark.parametrize("name", ["P7-2", "S12-3", "P2a-1"])
def test_the_code_says_the_link(name: str) -> None:
    link = ticket.plank_link("heron", name)
    assert deciphered(modules(link)) == link == f"ribband:heron/plank/{name}"


def test_the_printed_code_is_the_code(tmp_path: Path) -> None:
    """Render the page and read the squares off the picture."""
    (sheet,) = ticket.ticket(SECTOR, plank_for(SECTOR), METRIC, base="https://bench.local")
    doc = pdfium.PdfDocument(ticket.write([sheet], tmp_path / "a.pdf"))
    page = doc[0]
    picture = np.asarray(page.render(scale=12 / pdf.MM, grayscale=True).to_pil()) < 128
    page.close()
    doc.close()
    corner = picture[: 40 * 12, -45 * 12 :]
    corner = corner[: 35 * 12]
    ys, xs = np.nonzero(corner)
    # the code is the highest thing in that corner; its finder gives the size of a square
    top, left = ys.min(), xs[ys < ys.min() + 6].min()
    right = xs[ys < ys.min() + 6].max()
    wanted = modules("https://bench.local/planks/P3-1")
    step = (right - left + 1) / len(wanted)
    seen = [
        [bool(corner[int(top + (i + 0.5) * step), int(left + (j + 0.5) * step)])
         for j in range(len(wanted))] for i in range(len(wanted))
    ]  # fmt: skip
    assert deciphered(seen) == "https://bench.local/planks/P3-1"


# --- many tickets --------------------------------------------------------------------------------


def test_many_tickets_are_bookmarked_by_strake(tmp_path: Path) -> None:
    sheets = [s for plank, shape in many(12) for s in ticket.ticket(shape, plank, METRIC)]
    doc = pdfium.PdfDocument(ticket.write(sheets, tmp_path / "a.pdf"))
    marks = [(item.level, item.get_title()) for item in doc.get_toc()]
    assert len(doc) == 12
    assert marks[0] == (0, "port, strake 1")
    assert marks[1:6] == [(1, f"P1-{n}") for n in range(1, 6)]
    assert [t for level, t in marks if level == 0] == [f"port, strake {n}" for n in (1, 2, 3)]
    doc.close()


def test_the_same_tickets_give_the_same_bytes(tmp_path: Path) -> None:
    sheets = ticket.ticket(SECTOR, plank_for(SECTOR), METRIC, FULL)
    one, two = (ticket.write(sheets, tmp_path / name) for name in ("a.pdf", "b.pdf"))
    assert one.read_bytes() == two.read_bytes()
    with pytest.raises(ValueError, match="at least one"):
        ticket.write([], tmp_path / "c.pdf")


def test_a_frame_past_an_edges_corner_is_in_brackets() -> None:
    """The fore end leans: the lower edge begins aft of the first frame."""
    lower = SECTOR.lower[SECTOR.lower[:, 0] > SECTOR.along_mm[0] + 20.0]
    leaning = replace(SECTOR, lower=lower)
    first, second = (row for row in rows(leaning, "mm") if row[0] in SECTOR.frames[:2])
    assert first[2].startswith("(")
    assert not first[3].startswith("(")
    assert not second[2].startswith("(")
