"""Scarfed planks as bodies: closed, of one thickness together, and lying on each other."""

from __future__ import annotations

from itertools import groupby, pairwise

import ezdxf
import numpy as np
import pytest
import trimesh

import made_hulls
import made_planking as mp
from made_shapes import splined
from ribband import planks
from ribband.drawing.model3d import bodies, write_gltf, write_polyfaces

SLOPES = {"steep": 8.0, "flat": 12.0}


def scarfed(hull, strakes, scarf_mm):
    lined = mp.even_lining(hull, strakes)
    ways = mp.ways_of(hull, lined)
    layout = mp.stepped_layout(ways)
    return hull, lined, ways, planks.list_planks(hull, lined, ways, layout, scarf_mm=scarf_mm)


@pytest.fixture(scope="module")
def launch():
    return scarfed(splined(made_hulls.launch(30, 41)), 8, 12.0 * 38.0)


@pytest.fixture(scope="module")
def made(launch):
    return bodies(*launch)


def solid(body):
    return trimesh.Trimesh(body.points, body.triangles, process=False)


def joints(listed, made):
    by_name = dict(zip((p.name for p in listed.planks), made, strict=True))
    for _, group in groupby(listed.planks, lambda p: (p.side, p.strake)):
        for fore, aft in pairwise(group):
            yield by_name[fore.name], by_name[aft.name]


def shared(fore, aft):
    """Give the facets of one body that stand on points of both."""
    tree = {tuple(p) for p in aft.points.round(6).tolist()}
    on = np.array([tuple(p) in tree for p in fore.points.round(6).tolist()])
    return fore.triangles[on[fore.triangles].all(axis=1)]


def test_every_body_is_closed_and_turned_outward(made) -> None:
    for body in made:
        mesh = solid(body)
        assert mesh.is_watertight, body.name
        assert mesh.is_winding_consistent, body.name
        assert mesh.volume > 0, body.name
        assert mesh.area_faces.min() > 0, body.name


def test_two_planks_of_a_scarf_share_its_face_facet_by_facet(launch, made) -> None:
    """The same triangles turned the other way: nothing between the bodies, nothing twice."""
    count = 0
    for fore, aft in joints(launch[3], made):
        one, other = shared(fore, aft), shared(aft, fore)
        corners = [
            {tuple(sorted(map(tuple, body.points[t].round(6).tolist()))) for t in faces}
            for body, faces in ((fore, one), (aft, other))
        ]
        assert corners[0] == corners[1]
        assert len(corners[0]) >= 2 * 4 * 4  # stations of 456 mm by four facets across, in halves
        normals = [
            np.cross(*(body.points[faces[:, k]] - body.points[faces[:, 0]] for k in (1, 2))).sum(0)
            for body, faces in ((fore, one), (aft, other))
        ]
        assert normals[0] == pytest.approx(-normals[1], abs=1e-3)
        count += 1
    assert count == 2 * sum(p.side == "port" and p.aft_scarf_mm > 0 for p in launch[3].planks)


def test_the_scarf_is_as_long_and_as_the_rules_cut_it(launch, made) -> None:
    """The fore plank ends on the outer face, the one behind it begins on the frames."""
    surface = launch[0].surface
    for fore, aft in list(joints(launch[3], made))[:16:5]:
        ends = set(np.unique(shared(fore, aft)).tolist())
        feather = [k for k in ends if k >= len(fore.points) - 5]  # its last station, inner is outer
        assert len(feather) == 5
        begins = [k for k in ends if off(surface, fore.points[k]) < 0.5]
        assert len(begins) == 5
        for k in feather:
            assert off(surface, fore.points[k]) == pytest.approx(38.0, abs=0.5)
        long = fore.points[feather].mean(axis=0) - fore.points[begins].mean(axis=0)
        assert np.linalg.norm(long) == pytest.approx(np.hypot(456.0, 38.0), rel=0.01)


def off(surface, point):
    """Give how far a point lies outside a surface, by search on finer and finer grids."""
    point = point * (1.0, np.sign(point[1]), 1.0)
    u, v, reach = 0.5, 0.5, 0.5
    for _ in range(12):
        grid = np.meshgrid(
            np.clip(u + reach * np.linspace(-1, 1, 21), 0, 1),
            np.clip(v + reach * np.linspace(-1, 1, 21), 0, 1),
            indexing="ij",
        )
        gap = np.linalg.norm(surface.point(*grid) - point, axis=-1)
        i, j = np.unravel_index(gap.argmin(), gap.shape)
        u, v, reach = grid[0][i, j], grid[1][i, j], reach / 3
    return float(gap.min())


def test_together_they_hold_what_butted_planks_hold(launch, made) -> None:
    hull, lined, ways, listed = launch
    butted = planks.list_planks(hull, lined, ways, mp.stepped_layout(ways))
    plain = bodies(hull, lined, ways, butted)
    for strake in ("1", "5", "8"):
        whole = sum(solid(b).volume for b in made if b.strake == strake)
        assert whole == pytest.approx(
            sum(solid(b).volume for b in plain if b.strake == strake), rel=2e-3
        )
    weighed = sum(p.covers_m2 * p.dressed_mm / 1000 for p in listed.planks)
    assert sum(solid(b).volume for b in made) / 1e9 == pytest.approx(weighed, rel=0.02)


@pytest.mark.parametrize("slope", SLOPES.values(), ids=SLOPES)
def test_on_a_cylinder_no_plank_runs_into_another_and_nothing_is_left_out(slope) -> None:
    """Rays from the axis: the thickness they find in all bodies together is one planking's."""
    job = scarfed(made_hulls.barrel(), 4, slope * 38.0)
    port = [b for b in bodies(*job, across=16) if b.side == "port"]
    assert sum(solid(b).volume for b in port) == pytest.approx(
        1019.0 * 38.0 * np.pi / 2 * 12_000.0, rel=3e-4
    )
    whole = trimesh.util.concatenate([solid(b) for b in port if b.strake == "2"])
    x = np.linspace(310.0, 11_690.0, 400)
    angle = np.pi / 2 * 0.37  # the middle of the second strake, between stations' facets
    way = np.array([0.0, -np.sin(angle), -np.cos(angle)])
    hits = thickness_along(whole, np.stack([x, 0 * x, 0 * x + 1000.0], axis=1), way)
    assert hits == pytest.approx(38.0, abs=0.1)


@pytest.mark.parametrize("scarf_mm", [300.1, 333.3, 762.0])
def test_a_feather_edge_is_one_edge_whatever_its_length(scarf_mm) -> None:
    """No sliver is left at a tip by the rounding of where it lies."""
    for body in bodies(*scarfed(made_hulls.barrel(), 4, scarf_mm)):
        mesh = solid(body)
        assert mesh.is_watertight
        assert mesh.area_faces.min() > 1.0


def thickness_along(mesh, origins, way):
    """Sum what each ray passes through of closed bodies: far sides less near sides."""
    a, b, c = (mesh.vertices[mesh.faces[:, k]] for k in range(3))
    square = np.cross(b - a, c - a)
    facing = square @ way
    thick = []
    for origin in origins:
        with np.errstate(divide="ignore", invalid="ignore"):
            reach = np.einsum("fi,fi->f", a - origin, square) / facing
            at = origin + reach[:, None] * way
            inside = np.ones(len(a), bool)
            for p, q in ((a, b), (b, c), (c, a)):
                inside &= np.einsum("fi,fi->f", np.cross(q - p, at - p), square) >= 0
        hit = inside & np.isfinite(reach) & (reach > 0)
        thick.append(np.sum(reach[hit] * np.sign(facing[hit])))
    return np.array(thick)


def test_both_files_read_back_closed(made, tmp_path) -> None:
    some = made[:4]
    scene = trimesh.load_scene(write_gltf(some, tmp_path / "a.glb"))
    drawing = ezdxf.readfile(write_polyfaces(some, tmp_path / "a.dxf"))
    assert not drawing.audit().errors
    for body in some:
        volume = solid(body).volume
        mesh = scene.geometry[body.name]
        assert mesh.is_watertight
        assert mesh.volume * 1e9 == pytest.approx(volume, rel=1e-4)
        (polyface,) = drawing.blocks[body.name]
        points, faces = polyface.indexed_faces()
        corners = np.array([p.dxf.location for p in points])
        corners_of = [tuple(face.indices) for face in faces]
        triangles = [
            t for f in corners_of for t in ([f] if len(f) == 3 else [f[:3], f[:1] + f[2:]])
        ]
        back = trimesh.Trimesh(corners, triangles, process=False)
        assert back.is_watertight
        assert back.volume == pytest.approx(volume, rel=1e-4)
