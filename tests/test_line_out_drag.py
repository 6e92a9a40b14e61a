"""What a dragged seam and a dragged nib answer with: planks, hull, words; without a browser."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from made_kept import planned_copy
from ribband.app.entering.changes import Change, Edit, apply
from ribband.app.screens import drag
from ribband.app.screens.kept import lying
from ribband.app.screens.renumber import renumbering
from ribband.errors import InputError
from ribband.lining.model import Wish
from ribband.lining.solve import DRAGGED, GLANCED, settle
from ribband.lining.task import task_of
from ribband.planks import get_shapes
from ribband.store import JobFile

STEALER = {"wish": "stealer", "strake": "6", "frame": "15", "to_frame": "stem"}


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return planned_copy(tmp_path_factory.mktemp("drag") / "heron.ribband", "shapes")


@pytest.fixture(scope="module")
def with_stealer(job: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same job with a stealer wished for, and not planned again."""
    copy = tmp_path_factory.mktemp("nib") / "heron.ribband"
    copy.write_bytes(job.read_bytes())
    with JobFile.open(copy) as opened:
        form, revision = opened.forms()["lining"], opened.newest()
    row = tuple(STEALER.get(column, "") for column in form.header)
    edit = Edit("lining", None, row, len(form.rows))
    apply(copy, Change("a-stealer", "Ada", "a stealer", (edit,), revision))
    return copy


def answer(body: bytes) -> dict[str, Any]:
    said: dict[str, Any] = json.loads(body)
    return said


def test_planks_come_with_a_dragged_seam_as_they_would_be_planned(job: Path) -> None:
    """Held against the whole stage run on the seams as they were settled."""
    before = answer(drag.ready(job))
    moved = answer(drag.moved(job, "h", "9", "21", before["upper"][8][21] / 10 + 12.0, planks=True))
    found = moved["planks"]
    assert (found["strakes"], found["why"], found["butts"]) == (["9", "10"], "", "good")
    on = lying(job, drag.STEPS)
    held = drag._HOLDS["h"][1].lining()
    ways, layout, _ = on.result("butts")
    assert on.hull is not None
    shapes = get_shapes(on.hull, held, ways, layout, on.rules("shapes")).shapes
    wanted = [s for s in shapes if s.strake in {8, 9}]
    assert [p["name"] for p in found["planks"]] == [s.name for s in wanted]
    for plank, shape in zip(found["planks"], wanted, strict=True):
        lower = np.array(plank["lower"]).reshape(-1, 2) / 10
        assert lower == pytest.approx(shape.lower[::4], abs=0.051), "tenths of a mm"
        assert plank["strain"] == f"{1000 * shape.strain:.2f}"
        assert [name for name, *_ in plank["lines"]] == list(shape.frames)
    still = drag.beside(job, "", "9")
    assert still["planks"] != found["planks"], "what all have is not what the hand has"
    drag.let_go("h")
    assert drag.beside(job, "h", "9") == still


def test_while_the_hand_moves_the_planks_under_it_come_alone(job: Path) -> None:
    girth = answer(drag.ready(job))["upper"][8][21] / 10 + 9.0
    part = answer(drag.moved(job, "p", "9", "21", girth, planks=True, rests=False))["planks"]
    whole = drag.beside(job, "p", "9")
    assert part["part"]
    assert not whole["part"]
    own = {p["name"]: p for p in part["planks"]}
    on_frame = [p["name"] for p in whole["planks"] if "21" in [line[0] for line in p["lines"]]]
    assert sorted(own) == sorted(on_frame)
    for plank in whole["planks"]:
        if plank["name"] in own:
            near = [np.subtract(own[plank["name"]][e], plank[e]) for e in ("lower", "upper")]
            assert max(np.abs(edge).max() for edge in near) <= 2  # tenths: as it is laid flat
            assert own[plank["name"]]["length"] == plank["length"]


def test_a_glance_brings_the_seam_to_the_hand_and_the_others_along(job: Path) -> None:
    """Fewer unknowns: against all of them, after a step of 12 mm of one seam at one frame."""
    held = drag._base(lying(job, drag.STEPS))
    asked, row = held.asked, [s.name for s in held.strakes].index("9") + 1
    girth = held.settled.cut.girth[row, 21] + 12.0
    wish = Wish("fix", float(girth), "9", asked.ground.hull.frames.names[20])
    division = held.settled.division
    task = task_of(asked.ground.hull, asked.rules, division, (*asked.wishes, wish), asked.old)
    given = (asked.ground, division, task, asked.rules, held.settled.fraction,
             held.settled.forces.for_task(task))  # fmt: skip
    glance, whole = (settle(*given, stop, held.settled).cut.girth for stop in (GLANCED, DRAGGED))
    assert glance[row, 21] == pytest.approx(girth, abs=0.05)
    moved, off = np.abs(whole - held.settled.cut.girth), np.abs(glance - whole)
    assert moved.max() > 10.0
    assert off.max() < 0.7 * 12.0  # where the greatest width holds strakes beyond
    assert np.median(off) < 0.15 * 12.0


def test_the_hull_follows_on_the_same_stations(job: Path) -> None:
    before = answer(drag.ready(job))
    whole = drag.hull_now(job, "")
    size = int.from_bytes(whole[:4], "little")
    head = json.loads(whole[4 : 4 + size])
    assert head["mirrored"]
    assert head["points"] == sum(p["points"] for p in head["planks"]) // 2
    points = np.frombuffer(whole, "<f4", 3 * head["points"], 4 + size).reshape(-1, 3)
    triangles = np.frombuffer(whole, "<u4", offset=4 + size + points.nbytes)
    assert triangles.max() == head["points"] - 1
    assert len(triangles) == 3 * head["triangles"]
    drag.moved(job, "h", "9", "21", before["upper"][8][21] / 10 + 12.0)
    followed = np.frombuffer(drag.hull_points(job, "h"), "<f4").reshape(-1, 3)
    far = 1000 * np.linalg.norm(followed - points, axis=1)
    assert 8.0 < far.max() < 40.0, "by about what the seam was moved"
    assert far.min() < 0.01, "and nothing at the rabbet"
    on = lying(job, drag.STEPS)
    assert on.hull is not None and on.hull.surface is not None  # noqa: PT018
    sheer = on.hull.surface.point(np.linspace(0, 1, 400), 1.0) / 1000
    top = points[points[:, 2] > sheer[:, 2].min()]
    near = np.linalg.norm(top[:, None, ::2] - sheer[None, :, ::2], axis=-1).min()
    assert near < 0.02, "planks reach the sheer"
    drag.let_go("h")


def test_a_nib_goes_from_frame_to_frame_and_from_strake_to_strake(with_stealer: Path) -> None:
    began = answer(drag.ready(with_stealer))
    assert began["names"][6] == "6s", "a wish counts before the whole is planned again"
    moved = answer(drag.nib_moved(with_stealer, "n", "6s", "8", "20"))
    assert (moved["stealer"], moved["stands"]) == ("8s", True)
    stealer = moved["strakes"][moved["names"].index("8s")]
    assert (stealer["nib"], stealer["first"]) == ("20", "stem")
    assert moved["wishes"] == [STEALER | {"strake": "8", "frame": "20"}]
    row = moved["names"].index("8s")
    there = np.array(moved["width"])[row] >= 0
    assert there[20], "it stands on the frame of its nib"
    assert not there[21:-1].any(), "and on none beyond"
    assert {"8s", "9"} <= {p["strake"] for p in moved["planks"]["planks"]}
    back = answer(drag.nib_moved(with_stealer, "n", "6s", "6", "15"))
    assert back["names"] == began["names"]
    off = np.abs(np.array(back["upper"]) - np.array(began["upper"]))
    assert off.max() < 20, "back where it was, within 2 mm"


def test_what_a_nib_clashes_with_is_said_in_words(with_stealer: Path) -> None:
    drag.ready(with_stealer)
    short = answer(drag.nib_moved(with_stealer, "n", "6s", "6", "1"))
    assert not short["stands"]
    assert "no shorter than 3 bays" in short["clash"][0]
    near = answer(drag.nib_moved(with_stealer, "n", "6s", "6", "4"))
    assert near["stands"]
    assert any("near a hood end" in words for words in near["clash"])
    on = lying(with_stealer, drag.STEPS)
    ways, layout, _ = on.result("butts")
    butt = next(b for b in layout.butts if 3 < b.strake < 12 and 20 < b.landing < 60)
    above, frame = str(butt.strake), ways.frames[butt.landing // 2]  # the strake over it is above
    crossed = answer(drag.nib_moved(with_stealer, "n", "6s", above, frame))
    assert any("a notch must lie inside one plank" in words for words in crossed["clash"])


@pytest.mark.parametrize(
    ("stealer", "above", "frame"), [("7s", "6", "12"), ("6s", "16", "12"), ("6s", "6", "none")]
)
def test_a_nib_that_cannot_be_is_refused(with_stealer: Path, stealer, above, frame) -> None:
    with pytest.raises(InputError):
        drag.nib_moved(with_stealer, "n", stealer, above, frame)


def test_why_there_are_no_planks_is_said(tmp_path: Path) -> None:
    early = planned_copy(tmp_path / "early.ribband", "lining")
    found = drag.beside(early, "", "9")
    assert found["planks"] == []
    assert found["why"] == "the planks follow when the butts are laid"
    with pytest.raises(InputError, match="butts are laid"):
        drag.hull_now(early, "")


def test_wishes_stay_with_their_planks_when_strakes_are_more(job: Path, tmp_path: Path) -> None:
    copy = tmp_path / "heron.ribband"
    copy.write_bytes(job.read_bytes())
    with JobFile.open(copy) as opened:
        form, butts = opened.forms()["lining"], opened.forms()["butts"]
        revision = opened.newest()
    typed = [
        {"wish": "fix", "strake": "8", "frame": "12", "value": "3-0-0"},
        {"wish": "fix", "strake": "9", "frame": "12", "value": "3-4-0"},
        {"wish": "taper", "strake": "topside", "value": "0.6"},
        {"wish": "width", "strake": "16", "frame": "12", "value": "0-6-0"},
    ]
    rows = [tuple(one.get(c, "") for c in form.header) for one in typed]
    edits = tuple(Edit("lining", None, row, len(form.rows) + n) for n, row in enumerate(rows))
    apply(copy, Change("wishes", "Ada", "wishes", edits, revision))
    found = renumbering(copy, 32)
    lining = {w.strake: w.to for w in found.wishes if w.form == "lining"}
    assert (found.before, lining) == (16, {"8": "16", "9": "18", "16": "32"})
    strake = butts.header.index("strake")
    numbered = [row for row in butts.rows if row[strake].isdecimal() and row[strake] != "1"]
    assert len([w for w in found.wishes if w.form == "butts"]) == len(numbered)
    fewer = [w for w in renumbering(copy, 8).wishes if w.form == "lining"]
    assert [(w.strake, w.to, w.now is None) for w in fewer] == [
        ("8", "4", False), ("9", "4", True), ("16", "8", False),
    ]  # fmt: skip
    assert renumbering(copy, 16).wishes == ()
