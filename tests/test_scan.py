"""A scan read, set upright and cut: recovered poses, girths, and what is refused."""

from __future__ import annotations

import struct
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from scipy.spatial import cKDTree

import made_hulls
import made_scans
from ribband import hull
from ribband.errors import Ambiguous, InputError
from ribband.survey import Form, read_survey, typed
from ribband.survey.model import FrameMark
from ribband.survey.scan import Cloud, Datum, Placing, cut_at_frames, place, read_scan
from ribband.survey.scan_clean import clean, thin
from ribband.survey.scan_file import MOST_POINTS

FRAMES = tuple(
    FrameMark(str(i + 1), float(x)) for i, x in enumerate(np.linspace(-700.0, 16_700.0, 30))
)


def word(scan, noise=0.0, **more):
    """What a shipwright would say of a made scan."""
    picked = made_scans.picks(scan, noise=noise)
    datum = Datum(picked.pop("datum"), 1000.0, 0.0)
    return Placing(**{**picked, "datum": datum, **more})


def cloud_of(scan):
    return Cloud(scan.points, 1.0, "made.ply")


def pose_error(placed, scan):
    """Degrees of roll, trim and yaw, and greatest mm off the centreline, of the hull as placed."""
    left = placed.turn @ scan.turn
    degrees = np.degrees([left[2, 1], left[0, 2], left[1, 0]])
    line = np.array([[0.0, 0, 0], [17_000.0, 0, 2000.0]]) @ scan.turn.T + scan.shift
    return degrees, float(np.abs((line @ placed.turn.T + placed.shift)[:, 1]).max())


@pytest.fixture(scope="module")
def scan():
    return made_scans.scanned(seed=1)


@pytest.fixture(scope="module")
def coarse():
    """A quarter as many points, for what does not hang on how many there are."""
    return made_scans.scanned(count=75_000, seed=1)


@pytest.fixture(scope="module")
def placed(scan):
    return place(cloud_of(scan), word(scan))


@pytest.fixture(scope="module")
def cut(placed):
    return cut_at_frames(placed, FRAMES, "mm")


def codes(findings):
    return {f.code for f in findings}


# --- placing ---------------------------------------------------------------------------------


def test_any_pose_is_found_with_shores_floor_and_a_bystander(scan, placed):
    degrees, off = pose_error(placed, scan)
    assert np.abs(degrees).max() < 0.02
    assert off < 1.0
    assert np.linalg.det(placed.turn) == pytest.approx(1.0)
    keel = np.array([5000.0, 0.0, 0.0]) @ scan.turn.T + scan.shift
    assert placed.turn @ keel + placed.shift == pytest.approx([5000.0, 0.0, 0.0], abs=2.0)


@pytest.mark.parametrize("seed", [2, 3])
def test_without_a_word_all_is_found_but_the_guesses_are_said(seed):
    scan = made_scans.scanned(count=120_000, seed=seed)
    placed = place(cloud_of(scan))
    degrees, off = pose_error(placed, scan)
    assert np.abs(degrees).max() < 0.1  # upright from the floor, which is level
    assert off < 2.0
    assert {"S108", "S109", "S111", "S112"} <= codes(placed.findings)


def test_without_a_floor_the_trim_is_said_to_be_unknown():
    scan = made_scans.scanned(count=60_000, seed=5, clutter=False)
    placed = place(cloud_of(scan))
    (roll, _, yaw), off = pose_error(placed, scan)
    assert abs(roll) < 0.02
    assert abs(yaw) < 0.02
    assert off < 1.0
    assert "S110" in codes(placed.findings)
    exact = place(cloud_of(scan), word(scan))
    assert np.abs(pose_error(exact, scan)[0]).max() < 0.02


def test_what_stood_about_her_is_counted_and_gone(scan, placed):
    _, y, z = placed.points.T
    assert np.mean(z < -400.0) == 0.0  # the floor
    assert np.mean(np.abs(y) > 2300.0) < 2e-4  # shores' feet, staging, the bystander
    assert placed.dropped == pytest.approx(scan.clutter, rel=0.06)
    said = [f.says for f in placed.findings if f.code in {"S102", "S103", "S104"}]
    assert len(said) == 3
    assert sum(int(s.split()[0]) for s in said) == placed.dropped


def test_the_hull_herself_is_kept():
    scan = made_scans.scanned(count=120_000, seed=7, clutter=False)
    found = clean(scan.points)
    fine, _ = thin(scan.points, 10.0)
    assert len(found.fine) > 0.998 * len(fine)


@pytest.mark.parametrize(
    "seen", ["a third of a side missing", "keel hidden", "fore part", "keel up"]
)
def test_a_poor_scan_is_placed_too(seen):
    scan = made_scans.scanned(count=100_000, seed=31)
    x, y, z = ((scan.points - scan.shift) @ scan.turn).T
    rng, points = np.random.default_rng(0), scan.points
    if seen == "keel up":
        roof = np.stack([rng.uniform(-3000, 19_000, 40_000), rng.uniform(-4500, 4500, 40_000)], 1)
        roof = np.column_stack([roof, rng.normal(4200, 3, 40_000)]) @ scan.turn.T + scan.shift
        points = np.concatenate([points[z > -540], roof])
    else:
        points = points[{
            "a third of a side missing": (y > 0) | (x < 9000) | (x > 14_000),
            "keel hidden": (z > 900) | (z < -400),
            "fore part": x < 9000,
        }[seen]]  # fmt: skip
    placed = place(Cloud(points, 1.0, "made.ply"))
    degrees, off = pose_error(placed, scan)
    assert np.abs(degrees).max() < 0.1
    assert off < 2.0
    assert ("S107" in codes(placed.findings)) == (seen == "keel up")


def test_one_side_alone_needs_the_centreline():
    scan = made_scans.scanned(count=80_000, seed=6, clutter=False, sides=(1,))
    with pytest.raises(Ambiguous, match="centreline"):
        place(cloud_of(scan))
    surface = scan.surface
    middle = np.concatenate(
        [surface.point(np.linspace(0, 1, 9), 0.0), surface.point(0.0, [0.5, 1])]
    )
    said = word(scan, centreline=scan.seen(middle * [1, 0, 1]))
    placed = place(cloud_of(scan), said)
    degrees, off = pose_error(placed, scan)
    assert np.abs(degrees).max() < 0.01
    assert off < 0.1
    found = cut_at_frames(placed, FRAMES[4:9], "mm")
    assert {row[1] for row in found.form.rows if row[0]} == {"starboard"}
    assert "S120" in codes(found.findings)


def barrel(u, v):
    a = v * np.pi  # round all about
    return np.stack([12_000 * u, 1000 * np.sin(a) + 0 * u, 1000 * (1 - np.cos(a)) + 0 * u], -1)


def canoe(u, v):
    a, w = v * np.pi / 2, np.maximum(1 - (2 * u - 1) ** 2, 0) ** 0.7
    x, y = 9000 * u, (30 + 900 * w) * np.sin(a)
    return np.stack([x, y, (1 - w) * 400 + (500 + 400 * w) * (1 - np.cos(a))], -1)


def test_questions_with_two_answers_are_put_back():
    round_one = made_scans.scanned(count=60_000, seed=10, clutter=False, shape=barrel)
    with pytest.raises(Ambiguous, match="two planes"):
        place(cloud_of(round_one))
    double = made_scans.scanned(count=60_000, seed=11, clutter=False, shape=canoe)
    with pytest.raises(Ambiguous, match="bow or stern"):
        place(cloud_of(double))
    for sign in (1.0, -1.0):
        bow = tuple(sign * double.turn @ [-1.0, 0, 0])
        placed = place(cloud_of(double), Placing(bow=bow))
        assert (placed.turn @ double.turn)[0, 0] == pytest.approx(sign, abs=0.01)


def test_up_is_asked_where_keel_and_deck_are_as_broad():
    def slab(u, v):
        y = 300 + 500 * (1 - (2 * u - 1) ** 2) * (0.6 + 0.4 * u)
        return np.stack([8000 * u, y + 0 * v, (1700 + 900 * u**2) * v], -1)

    scan = made_scans.scanned(count=60_000, seed=12, clutter=False, shape=slab)
    with pytest.raises(Ambiguous, match="up"):
        place(cloud_of(scan), Placing(floor=False))


def test_the_word_goes_before_the_cloud(coarse):
    aft = tuple(coarse.turn @ [1.0, 0, 0])
    turned = place(cloud_of(coarse), Placing(bow=aft))
    assert (turned.turn @ coarse.turn)[0, 0] == pytest.approx(-1.0, abs=0.01)
    leaning = tuple(coarse.turn @ [np.sin(0.02), 0.0, np.cos(0.02)])
    trimmed = place(cloud_of(coarse), Placing(up=leaning))
    assert (trimmed.turn @ coarse.turn)[0, 2] == pytest.approx(-0.02, abs=2e-4)
    off = made_scans.picks(coarse)
    middle = coarse.surface.point([0.1, 0.5, 0.9, 0.0], [0.0, 0.0, 0.0, 1.0]) * [1, 0, 1]
    shifted = coarse.seen(middle + np.array([0.0, 40.0, 0.0]))
    moved = place(cloud_of(coarse), Placing(centreline=shifted, level=off["level"]))
    assert "S106" in codes(moved.findings)
    assert pose_error(moved, coarse)[1] == pytest.approx(40.0, abs=0.5)


def test_a_measured_length_sets_the_scale(coarse):
    shrunk = Cloud(coarse.points / 1.01, 1.0, "made.ply")
    picked = made_scans.picks(coarse)
    level = tuple(tuple(c / 1.01 for c in p) for p in picked["level"])
    placed = place(shrunk, Placing(scale=1.01, level=level, datum=Datum(level[0], 1000.0, 0.0)))
    far = np.array(level[1]) * 1.01 @ placed.turn.T + placed.shift
    assert far == pytest.approx([15_000.0, 0.0, 0.0], abs=1.5)


@pytest.mark.parametrize(
    "said",
    [
        {"scale": 0.0}, {"up": (0.0, 0.0, 0.0)}, {"bow": (np.nan, 0, 1)},
        {"centreline": ((0.0, 0, 0), (1.0, 0, 0))}, {"rabbet": ((np.inf, 0, 0),)},
        {"centreline": tuple((float(k), 2.0 * k, 0.0) for k in range(5))},
    ],
)  # fmt: skip
def test_a_word_that_says_nothing_is_refused(said):
    scan = made_scans.scanned(count=20_000, seed=13, clutter=False)
    with pytest.raises(InputError):
        place(cloud_of(scan), Placing(**said))


# --- cutting ---------------------------------------------------------------------------------


def surveyed(form, unit="mm", frames=FRAMES):
    size = {"mm": 1.0, "m": 1000.0}[unit]
    rows = tuple((m.name, f"{m.x_mm / size:.4f}", "") for m in frames)
    numbers = tuple(range(2, len(rows) + 2))
    marks = Form("frames", ("frame", "position", "notes"), rows, "frames.csv", numbers)
    said = (("vessel", "Marl Heron", ""), ("unit", unit, ""), ("planking", "38 mm", ""))
    vessel = Form("vessel", ("item", "value", "notes"), said, "vessel.csv", (2, 3, 4))
    return read_survey({"vessel": vessel, "frames": marks, "points": form})


def girth_errors(fitted, scan, frames=FRAMES):
    true = made_hulls.hull_of(scan.surface.shape, np.array([m.x_mm for m in frames]), 31)
    known = dict(zip(true.frames.names, true.frames.girth_mm, strict=True))
    return np.array(
        [g - known[n] for n, g in zip(fitted.frames.names, fitted.frames.girth_mm, strict=True)]
    )


def test_girths_come_out_within_a_few_millimetres(scan, cut):
    fitted = hull.fit(surveyed(cut.form))
    off = girth_errors(fitted, scan)
    assert len(off) == len(FRAMES)
    assert np.sqrt(np.mean(off**2)) < 1.5
    assert np.abs(off).max() < 4.0
    assert fitted.has_stem
    assert fitted.has_stern
    assert fitted.rms_mm < 1.5
    assert {s.frame for s in fitted.sides} >= {m.name for m in FRAMES[3:]}


def test_points_lie_on_the_hull_under_the_heads_of_shores(scan, cut):
    u, v = np.meshgrid(np.linspace(0, 1, 1200), np.linspace(0, 1, 400), indexing="ij")
    net, normal = scan.surface.point(u, v).reshape(-1, 3), scan.surface.normal(u, v).reshape(-1, 3)
    points = np.array([[float(c) for c in row[3:6]] for row in cut.form.rows if row[2] == ""])
    at = cKDTree(net).query(points)[1]
    off = np.abs(np.sum((points - net[at]) * normal[at], axis=1))
    assert len(off) > 850
    assert np.sqrt(np.mean(off**2)) < 1.0
    assert off.max() < 5.0


def test_rows_read_as_points_in_every_unit(placed):
    for unit, near in (("mm", 0.06), ("m", 0.06), ("in", 0.9), ("ft-in-8ths", 0.9), ("ft", 1.6)):
        form = cut_at_frames(placed, FRAMES[10:12], unit).form
        rows, problems = typed(form, unit)
        assert not problems
        true = cut_at_frames(placed, FRAMES[10:12], "mm").form
        exact, _ = typed(true, "mm")
        for a, b in zip(rows, exact, strict=True):
            assert a.values["y"] == pytest.approx(b.values["y"], abs=near)


def test_labels_and_ends(cut):
    rows = cut.form.rows
    assert {row[2] for row in rows} == {"", "rabbet", "sheer", "stem", "stern"}
    assert all(row[0] == "" for row in rows if row[2] in {"stem", "stern"})
    first = [row for row in rows if row[:2] == ("1", "port")]
    assert "rabbet" not in {row[2] for row in first}  # its section starts on the stem
    heights = [float(row[5]) for row in first]
    assert heights == sorted(heights)


def test_careless_picks_still_give_a_hull(scan):
    placed = place(cloud_of(scan), word(scan, noise=4.0))
    fitted = hull.fit(surveyed(cut_at_frames(placed, FRAMES, "m").form, "m"))
    assert np.abs(girth_errors(fitted, scan)).max() < 20.0


def test_a_hole_is_left_a_hole(placed):
    x, y, z = placed.points.T
    hole = (np.abs(x - FRAMES[12].x_mm) < 400) & (y > 0) & (z > 700) & (z < 1300)
    torn = replace(placed, points=placed.points[~hole])
    found = cut_at_frames(torn, FRAMES[12:13], "mm")
    (said,) = [f for f in found.findings if f.code == "S121"]
    assert "starboard" in said.where
    inside = [float(r[5]) for r in found.form.rows if r[1] == "starboard"]
    assert not [z for z in inside if 780 < z < 1220]


def test_picks_of_stem_or_stern_off_the_hull_are_named(placed, cut):
    assert "S124" not in codes(cut.findings)
    off = replace(placed, stern=np.add(placed.stern, (0.0, 400.0, 0.0)))
    [told] = [f for f in cut_at_frames(off, FRAMES[12:13], "mm").findings if f.code == "S124"]
    assert told.where == "picks of the stern"
    far = replace(placed, stem=np.add(placed.stem, (9e4, 0.0, 0.0)))
    [told] = [f for f in cut_at_frames(far, FRAMES[12:13], "mm").findings if f.code == "S124"]
    assert told.says == "picks of the stem are over 1000 mm from any point that was seen"


def test_frames_off_the_hull_are_named(placed):
    far = FrameMark("99", 30_000.0)
    found = cut_at_frames(placed, [FRAMES[5], far], "mm")
    assert any("99" in f.where for f in found.findings if f.code == "S122")
    with pytest.raises(InputError, match="cross the scan"):
        cut_at_frames(placed, [far], "mm")


def test_picks_are_needed(coarse):
    placed = place(cloud_of(coarse))
    with pytest.raises(InputError) as caught:
        cut_at_frames(placed, FRAMES, "mm")
    assert {p.column for p in caught.value.problems} == {"rabbet", "sheer"}


# --- files -----------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def small():
    return made_scans.scanned(count=3000, seed=20, clutter=False).points / 1000.0


def same(cloud, points):
    assert cloud.points.shape == points.shape
    order = [np.lexsort(p.T.round(3)) for p in (cloud.points, points * 1000.0)]
    assert np.allclose(cloud.points[order[0]], (points * 1000.0)[order[1]], atol=0.01)


@pytest.mark.parametrize("coding", ["binary", "ascii"])
def test_ply_cloud(small, tmp_path, coding):
    path = tmp_path / "a.ply"
    path.write_bytes(trimesh.PointCloud(small).export(file_type="ply", encoding=coding))
    same(read_scan(path, "m"), small)


@pytest.mark.parametrize("gap", [" ", ",", "; ", "\t"])
def test_text(small, tmp_path, gap):
    path = tmp_path / "a.xyz"
    rows = [gap.join(f"{c:.6f}" for c in p) + gap + "17" for p in small]
    path.write_text("# scanned on a dry day\nx y z i\n" + "\n".join(rows))
    same(read_scan(path, "m"), small)


def test_obj_of_points(small, tmp_path):
    path = tmp_path / "a.obj"
    rows = [f"v {x:.6f} {y:.6f} {z:.6f}" for x, y, z in small]
    path.write_text("mtllib ../../etc/secret.mtl\n" + "\n".join(rows))
    same(read_scan(path, "m"), small)


@pytest.mark.parametrize("kind", ["ply", "obj", "stl", "stl_ascii"])
def test_meshes_of_large_facets_are_strewn_with_points(tmp_path, kind):
    u, v = np.meshgrid(np.linspace(0, 1, 41), np.linspace(0, 1, 13), indexing="ij")
    net = made_hulls.launch_shape()(u, v).reshape(-1, 3)
    at = np.arange(41 * 13).reshape(41, 13)
    a, b, c, d = (q.ravel() for q in (at[:-1, :-1], at[1:, :-1], at[1:, 1:], at[:-1, 1:]))
    faces = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    path = tmp_path / f"a.{kind[:3]}"
    said = trimesh.Trimesh(net, faces, process=False).export(file_type=kind)
    path.write_bytes(said if isinstance(said, bytes) else said.encode())
    found = read_scan(path, "mm").points
    assert len(found) > 100_000
    again = read_scan(path, "mm").points
    assert np.array_equal(found, again)
    mesh = trimesh.Trimesh(net, faces, process=False)
    some = found[:: len(found) // 40]
    assert np.abs(trimesh.proximity.closest_point_naive(mesh, some)[1]).max() < 0.01


def test_points_without_a_place_are_left_out_and_said(small, tmp_path):
    path = tmp_path / "a.xyz"
    rows = [f"{x} {y} {z}" for x, y, z in small]
    path.write_text("\n".join([*rows, "nan 1 2", "inf 0 0", "1e300 0 0"]))
    cloud = read_scan(path, "m")
    assert len(cloud.points) == len(small)
    assert codes(cloud.findings) == {"S101"}


def test_a_wrong_unit_is_noticed_and_the_right_one_named(small, tmp_path):
    path = tmp_path / "a.xyz"
    path.write_text("\n".join(f"{x} {y} {z}" for x, y, z in small))
    with pytest.raises(InputError, match="in m or ft it would"):
        read_scan(path, "mm")
    with pytest.raises(InputError):
        read_scan(path, "cubits")


HEAD = b"ply\nformat binary_little_endian 1.0\nelement vertex %d\n"
ASCII = HEAD.replace(b"binary_little_endian", b"ascii")
XYZ = b"property float x\nproperty float y\nproperty float z\n"


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("a.ply", b""),
        ("a.ply", b"not a ply"),
        ("a.ply", HEAD % 10**9 + XYZ + b"end_header\n" + b"\0" * 1200),
        ("a.ply", HEAD % 1000 + XYZ + b"end_header\n" + b"\0" * 600),
        ("a.ply", HEAD % 0 + XYZ + b"end_header\n"),
        ("a.ply", b"ply\nformat ascii 1.0\nelement vertex -4\n" + XYZ + b"end_header\n"),
        ("a.ply", b"ply\nformat ascii 1.0\nelement vertex " + b"9" * 4000 + b"\nend_header\n"),
        ("a.ply", ASCII % 600 + XYZ + b"end_header\n" + b"1 x 3\n" * 600),
        ("a.ply", HEAD % 600 + b"property float q\nend_header\n" + b"\0" * 4000),
        ("a.stl", b""),
        ("a.stl", b"\0" * 80 + struct.pack("<I", 4_000_000_000) + b"\0" * 100),
        ("a.stl", b"solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\n"),
        ("a.obj", b"f 1 2 3\n"),
        ("a.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 99999999\n"),
        ("a.obj", b"v 0 0\n" * 600),
        ("a.xyz", b""),
        ("a.xyz", b"1 2\n" * 600),
        ("a.xyz", b"\0\1\2" * 6000),
        ("a.xyz", b"1 2 3\n" * 599 + b"1 2 three\n"),
        ("a.xyz", b"1,5 2,5 3,5\n" * 600),
        ("a.xyz", b"0 0 0\n" * 600),
        ("a.las", b"LASF"),
        ("a", b""),
    ],
)  # fmt: skip
def test_broken_files_are_refused_in_words(tmp_path, name, data):
    path = tmp_path / name
    path.write_bytes(data)
    with pytest.raises(InputError) as caught:
        read_scan(path, "m")
    assert caught.value.problems[0].file == name
    assert caught.value.problems[0].wanted


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(InputError, match="No such file"):
        read_scan(tmp_path / "none.ply", "m")
    (tmp_path / "folder.ply").mkdir()
    with pytest.raises(InputError):
        read_scan(tmp_path / "folder.ply", "m")


def test_too_many_points_are_refused_before_they_are_read(tmp_path):
    path = tmp_path / "a.ply"
    path.write_bytes(HEAD % (MOST_POINTS + 1) + XYZ + b"end_header\n")
    with pytest.raises(InputError, match="million"):
        read_scan(path, "m")


@pytest.mark.parametrize("kind", ["ply", "ply_ascii", "obj", "stl", "stl_ascii", "xyz"])
def test_torn_and_spoilt_files_never_do_worse_than_be_refused(small, tmp_path, kind):
    """Cut short or with bytes changed anywhere: a cloud or a refusal, nothing else."""
    if kind == "xyz":
        data = "\n".join(f"{x:.4f} {y:.4f} {z:.4f}" for x, y, z in small).encode()
    elif kind.startswith("ply"):
        coding = "ascii" if kind.endswith("ascii") else "binary"
        data = trimesh.PointCloud(small).export(file_type="ply", encoding=coding)
    else:
        faces = np.arange(len(small) // 3 * 3).reshape(-1, 3)
        data = trimesh.Trimesh(small, faces, process=False).export(file_type=kind)
        data = data if isinstance(data, bytes) else data.encode()
    rng = np.random.default_rng(0)
    path = tmp_path / f"a.{kind[:3]}"
    for trial in range(12 if kind.startswith("stl") else 40):
        spoilt = bytearray(data)
        reach = 300 if trial % 2 else len(spoilt)  # every other time in the heading
        for at in rng.integers(0, reach, 4):
            spoilt[at] = rng.integers(0, 256)
        path.write_bytes(
            bytes(spoilt[: rng.integers(1, len(spoilt))] if trial % 3 == 0 else spoilt)
        )
        try:
            cloud = read_scan(path, "m")
        except InputError:
            continue
        assert np.isfinite(cloud.points).all()
