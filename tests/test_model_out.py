"""The planked hull as bodies: read back by another library, weighed and fitted together."""

from __future__ import annotations

import json
import struct
import time
from dataclasses import replace
from itertools import pairwise

import ezdxf
import numpy as np
import pytest
import trimesh

import made_hulls
import made_planking as mp
from made_shapes import NO_BUTTS, with_seams
from ribband import butts, lining, planks
from ribband.drawing.model3d import bodies, write_gltf, write_polyfaces
from ribband.errors import InputError
from ribband.lining.model import Wish
from ribband.lining.rules import LiningRules
from ribband.planks.rules import PlankRules


def planked(hull, strakes=12):
    lined = mp.even_lining(hull, strakes)
    ways = mp.ways_of(hull, lined)
    layout = mp.stepped_layout(ways)
    return hull, lined, ways, planks.list_planks(hull, lined, ways, layout)


@pytest.fixture(scope="module")
def launch():
    return planked(made_hulls.launch(44))


@pytest.fixture(scope="module")
def launch_bodies(launch):
    return bodies(*launch)


@pytest.fixture(scope="module")
def launch_file(launch_bodies, tmp_path_factory):
    path = tmp_path_factory.mktemp("model") / "launch.glb"
    return write_gltf(launch_bodies, path, "Marl Heron")


@pytest.fixture(scope="module")
def stealers():
    hull = made_hulls.launch(30)
    wishes = (Wish("strakes", 11), Wish("stealer", 0, "6", "20", "stern"))
    lined = lining.line_out(hull, LiningRules(), wishes)
    rules = next(iter(butts.rule_sets().values()))
    ways = butts.ways(hull, lined, rules)
    layout = butts.lay(ways, rules, seconds=1.0)
    return hull, lined, ways, planks.list_planks(hull, lined, ways, layout)


def face_area(body, outer):
    own = body.quads[(body.quads % 2 == int(outer)).all(axis=1)]
    mesh = trimesh.Trimesh(body.points, np.concatenate([own[:, :3], own[:, [0, 2, 3]]]))
    return mesh.area


def test_read_back_every_plank_is_there_by_name_and_closed(launch, launch_file):
    listed = [p.name for p in launch[3].planks]
    scene = trimesh.load_scene(launch_file)
    assert sorted(scene.geometry) == sorted(listed)
    for mesh in scene.geometry.values():
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        assert mesh.volume > 0


def test_metres_y_up_bow_to_z_and_starboard_to_minus_x(launch, launch_file):
    scene = trimesh.load_scene(launch_file)
    low, high = scene.bounds
    assert high[1] - low[1] == pytest.approx(3.02, abs=0.1)  # keel to stem head
    assert high[2] - low[2] == pytest.approx(18.45, abs=0.1)  # stem to stern
    heights = {n: scene.geometry[n].centroid for n in ("P1-1", "P12-1", "S12-1", "P12-3")}
    assert heights["P12-1"][1] > heights["P1-1"][1]
    assert heights["P12-1"][2] > heights["P12-3"][2]
    assert heights["P12-1"][0] > 0 > heights["S12-1"][0]
    assert scene.geometry["P5-2"].volume == pytest.approx(scene.geometry["S5-2"].volume, rel=1e-4)


def test_inner_faces_have_the_areas_of_the_plank_list(launch, launch_bodies):
    for plank, body in zip(launch[3].planks, launch_bodies, strict=True):
        assert face_area(body, outer=False) == pytest.approx(plank.area_m2 * 1e6, rel=0.01)


def test_volumes_are_area_by_thickness(launch, launch_bodies, launch_file):
    """Area on the frames by thickness, made greater or less by the roundness of the hull."""
    scene = trimesh.load_scene(launch_file)
    for plank, body in zip(launch[3].planks, launch_bodies, strict=True):
        volume = scene.geometry[plank.name].volume * 1e9
        mean = (plank.area_m2 * 1e6 + face_area(body, outer=True)) / 2
        rough = plank.strake == "1"  # the formula has no curvature at the keel rabbet, right aft
        assert volume == pytest.approx(mean * plank.dressed_mm, rel=0.04 if rough else 0.007)
    whole = sum(mesh.volume for mesh in scene.geometry.values())
    listed = sum(p.area_m2 * p.dressed_mm / 1000 for p in launch[3].planks)
    assert whole == pytest.approx(listed, rel=0.02)


def test_a_cylinder_exactly():
    """R 1000, 38 thick: the quarter is (R + t / 2) t pi / 2 by its length, less the facets."""
    found = bodies(*planked(made_hulls.barrel(), 8), across=16)
    port = sum(
        trimesh.Trimesh(b.points, b.triangles, process=False).volume
        for b in found
        if b.side == "port"
    )
    assert port == pytest.approx(1019.0 * 38.0 * np.pi / 2 * 12_000.0, rel=2e-4)
    for body in found:
        radius = np.hypot(body.points[:, 1], body.points[:, 2] - 1000.0)
        inner, outer = radius[::2], radius[1::2]
        assert np.allclose(inner, 1000.0, atol=0.01)
        assert np.allclose(outer, 1038.0, atol=0.01)


def test_butts_are_square_and_planks_meet_there(launch_bodies):
    found = {b.name: b.points.reshape(-1, 5, 2, 3) for b in launch_bodies}
    fore, aft = found["S6-1"], found["S6-2"]
    assert np.allclose(fore[-1], aft[0], atol=0.01)
    across = aft[0, -1, 0] - aft[0, 0, 0]
    along = aft[1, 2, 0] - aft[0, 2, 0]
    cosine = across @ along / np.linalg.norm(across) / np.linalg.norm(along)
    assert abs(cosine) < 0.02


def test_neighbours_touch_and_do_not_overlap(launch_bodies):
    """Edges of neighbours lie on each other: stations differ, so within the facets' sagitta."""
    found = {b.name: b.points.reshape(-1, 5, 2, 3) for b in launch_bodies if b.side == "starboard"}
    strakes = sorted({int(name[1:].split("-")[0]) for name in found})
    for strake in strakes[:-1]:
        upper = np.concatenate([p[:, -1] for n, p in found.items() if n.startswith(f"S{strake}-")])
        lower = np.concatenate(
            [p[:, 0] for n, p in found.items() if n.startswith(f"S{strake + 1}-")]
        )
        for face in (0, 1):
            assert gap(upper[:, face], lower[:, face]) < 2.0


def gap(points, line):
    """Greatest distance of points (n, 3) from a polyline (m, 3)."""
    a, step = line[:-1], np.diff(line, axis=0)
    length = np.maximum(np.sum(step**2, axis=1), 1e-12)
    t = np.clip(np.sum((points[:, None] - a) * step, axis=-1) / length, 0.0, 1.0)
    return np.linalg.norm(points[:, None] - a - t[..., None] * step, axis=-1).min(axis=1).max()


def test_a_stealer_ends_at_its_nib_and_its_neighbour_fills_the_notch(stealers):
    found = bodies(*stealers)
    hull, lined = stealers[0], stealers[1]
    row = [s.name for s in lined.strakes].index("6s")
    nib = hull.frames.x_mm[19]
    stealer = next(b for b in found if b.name == "S6s-1").points.reshape(-1, 5, 2, 3)
    assert stealer[0, 2, 0, 0] == pytest.approx(nib, abs=15.0)
    width = np.linalg.norm(stealer[0, -1, 0] - stealer[0, 0, 0])
    assert width == pytest.approx(lined.width_mm[row, 20], rel=0.05)
    port = [b for b in found if b.side == "port"]
    inner = sum(face_area(b, outer=False) for b in port)
    u, v = np.meshgrid(np.linspace(0, 1, 400), np.linspace(0, 1, 100), indexing="ij")
    assert inner == pytest.approx(area_of(hull.surface.point(u, v)), rel=0.005)
    assert all(trimesh.Trimesh(b.points, b.triangles, process=False).is_watertight for b in port)


def area_of(net):
    a, b = net[1:, 1:] - net[:-1, :-1], net[1:, :-1] - net[:-1, 1:]
    return np.linalg.norm(np.cross(a, b), axis=-1).sum() / 2


def test_polyfaces_read_back(launch_bodies, tmp_path):
    path = write_polyfaces(launch_bodies[:20], tmp_path / "launch.dxf", "Marl Heron")
    drawing = ezdxf.readfile(path)
    audit = drawing.audit()
    assert not audit.errors
    assert not audit.fixes
    assert drawing.units == ezdxf.units.MM
    placed = {insert.dxf.name: insert.dxf.layer for insert in drawing.modelspace()}
    assert placed == {b.name: f"P{b.strake}" for b in launch_bodies[:20]}
    for body in launch_bodies[:20]:
        (mesh,) = drawing.blocks[body.name]
        assert mesh.is_poly_face_mesh
        points, faces = mesh.indexed_faces()
        corners = np.array([v.dxf.location for v in points])
        quads = np.array([face.indices for face in faces])
        assert np.allclose(corners, body.points, atol=0.001)
        triangles = np.concatenate([quads[:, :3], quads[:, [0, 2, 3]]])
        solid = trimesh.Trimesh(corners, triangles, process=False)
        assert solid.is_watertight
        assert solid.volume == pytest.approx(
            trimesh.Trimesh(body.points, body.triangles, process=False).volume, rel=1e-4
        )


def test_a_handle_is_used_once(launch_bodies, tmp_path):
    text = write_polyfaces(launch_bodies[:6], tmp_path / "a.dxf").read_text("utf-8").splitlines()
    pairs = list(zip(text[::2], text[1::2], strict=True))
    handles = [value for code, value in pairs if code.strip() == "5"]
    seed = next(v for (_, a), (_, v) in pairwise(pairs) if a == "$HANDSEED")
    handles.remove(seed)
    assert len(set(handles)) == len(handles)
    assert int(seed, 16) > max(int(h, 16) for h in handles)


def test_the_file_is_as_the_standard_has_it(launch_file):
    data = launch_file.read_bytes()
    magic, version, length = struct.unpack("<4sII", data[:12])
    assert (magic, version, length) == (b"glTF", 2, len(data))
    size, kind = struct.unpack("<I4s", data[12:20])
    said = json.loads(data[20 : 20 + size])
    assert kind == b"JSON"
    assert size % 4 == 0
    assert said["asset"]["version"] == "2.0"
    for accessor in said["accessors"]:
        view = said["bufferViews"][accessor["bufferView"]]
        assert view["byteOffset"] % 4 == 0
        assert view["byteOffset"] + view["byteLength"] <= said["buffers"][0]["byteLength"]
    assert {n["extras"]["side"] for n in said["nodes"]} == {"port", "starboard"}


def test_staggered_butts_give_each_side_its_own_planks(launch):
    hull, lined, ways, _ = launch
    one, other = mp.stepped_layout(ways), mp.stepped_layout(ways, step=3)
    listed = planks.list_planks(hull, lined, ways, one, None, None, other)
    found = bodies(hull, lined, ways, listed)
    assert [b.name for b in found] == [p.name for p in listed.planks]
    for plank, body in zip(listed.planks, found, strict=True):
        assert face_area(body, outer=False) == pytest.approx(plank.area_m2 * 1e6, rel=0.01)
        assert (body.points[:, 1].mean() < 0) == (plank.side == "port")


def test_a_side_alone(launch):
    hull, lined, ways, _ = launch
    layout = mp.stepped_layout(ways)
    listed = planks.list_planks(hull, lined, ways, layout, PlankRules(sides="starboard"))
    assert {b.side for b in bodies(hull, lined, ways, listed)} == {"starboard"}


def test_nothing_to_write_is_still_a_file(tmp_path):
    path = write_gltf((), tmp_path / "none.glb")
    assert path.stat().st_size > 20
    assert ezdxf.readfile(write_polyfaces((), tmp_path / "none.dxf")).units == ezdxf.units.MM


def test_girths_alone_have_no_shape():
    with pytest.raises(InputError, match="girths alone"):
        bodies(*planked(made_hulls.tape(), 9))


def test_a_plank_without_thickness_has_no_body():
    hull = made_hulls.hull_of(
        made_hulls.launch_shape(), np.linspace(0, 16000, 20), 31, planking_mm=0.0
    )
    bare = replace(hull, particulars=replace(hull.particulars, rough_mm=0.0))
    with pytest.raises(InputError, match="thickness"):
        bodies(*planked(bare, 6))


def test_a_body_too_fine_for_a_polyface_is_refused(launch, tmp_path):
    few = replace(launch[3], planks=launch[3].planks[4:6])
    fine = bodies(*launch[:3], few, across=64, station_mm=10.0)
    with pytest.raises(ValueError, match="less finely"):
        write_polyfaces(fine, tmp_path / "a.dxf")


def test_it_is_quick(launch, tmp_path):
    """A formula's surface is slower than a fair hull's; the bench times that."""
    spent = []
    for _ in range(2):
        start = time.process_time()
        write_gltf(bodies(*launch), tmp_path / "a.glb")
        spent.append(time.process_time() - start)
    assert min(spent) < 4.0


def test_where_the_ends_were_not_measured_planks_end_along_the_last_frames():
    """Leaning strakes on a quarter cylinder that begins and ends at a frame, not at a rabbet."""
    shape = made_hulls.barrel()
    names = tuple(str(n) for n in range(1, len(shape.lines.names) + 1))
    frames = replace(shape.lines, names=names)
    hull = replace(shape, has_stem=False, has_stern=False, frames=frames)
    lined, ways = with_seams(hull, lambda u: np.linspace(0, 1, 7)[:, None] ** (1 + 0.5 * u), 6)
    listed = planks.list_planks(hull, lined, ways, NO_BUTTS)
    assert {plank.fore_landing for plank in listed.planks} == {"frame"}
    edges = {}
    for body in bodies(hull, lined, ways, listed):
        at = body.points.reshape(-1, 5, 2, 3)[:, :, 0]  # the inner face
        assert np.ptp(at[0, :, 0]) == pytest.approx(0.0, abs=1e-6)
        assert np.ptp(at[-1, :, 0]) == pytest.approx(0.0, abs=1e-6)
        long = np.linalg.norm(np.diff(at[:, [0, -1]], axis=0), axis=2).sum(axis=0)
        edges[body.side, int(body.strake)] = long
    for (side, strake), (_, upper) in edges.items():
        if (above := edges.get((side, strake + 1))) is not None:
            assert upper == pytest.approx(above[0], abs=1.0)
