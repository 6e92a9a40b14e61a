"""A repair at the hull: the log and the seams as hung are of its new planks and the old seams."""

from __future__ import annotations

import json
import re
import shutil
from functools import lru_cache
from pathlib import Path

import pypdfium2 as pdfium
import pytest
from click.testing import CliRunner

from made_hung import planned
from made_kept import planned_copy
from ribband.app.entering.jobs import take
from ribband.app.plan.planning import plan
from ribband.app.screens.record import plank_record, record_page
from ribband.app.screens.seam_off import seam_off
from ribband.butts import ButtRules
from ribband.cli import cli
from ribband.errors import InputError
from ribband.findings import Finding, Severity
from ribband.planks import PlankRules, ShapeRules
from ribband.record import (
    Bad,
    HungPoint,
    Left,
    Recorded,
    RecordRules,
    Repair,
    RepairRules,
    Stuff,
    left_of_repair,
    plan_repair,
)
from ribband.shop.work.forms import Logged
from ribband.units import format_bare, format_length

UNIT = "ft-in-8ths"


def said(*args: str, code: int = 0) -> str:
    done = CliRunner().invoke(cli, list(args))
    assert done.exit_code == code, done.output
    return done.output


@lru_cache(maxsize=1)
def renewed() -> Repair:
    """Strakes 6 and 7 of the launch to port, one above the other, renewed amidships."""
    own = planned()
    butts = {"port": own.layout.butts, "starboard": own.layout.butts}
    names = own.ways.frames
    bads = [Bad("port", strake, names[14], names[18], "butt") for strake in ("6", "7")]
    stuff = Stuff(PlankRules(), ShapeRules())
    recorded = Recorded(own.hull, own.lining, own.ways, butts)
    return plan_repair(recorded, bads, ButtRules(), RepairRules(), stuff)


def left(log: list[tuple[str, str]], *points: HungPoint) -> Left:
    lines = [Logged(plank, state, "", ()) for plank, state in log]
    return left_of_repair(planned().hull, renewed(), lines, points, RecordRules())


def seam(strake: str, column: int, off_mm: float, side: str = "port") -> HungPoint:
    lining = renewed().lining
    row = [one.name for one in lining.strakes].index(strake)
    girth = float(lining.upper_girth_mm[row, column]) + off_mm
    return HungPoint(side, strake, "upper", lining.columns[column], girth)


def test_every_new_plank_is_on_the_list_and_no_other() -> None:
    names = [plank.name for plank in renewed().planks.planks]
    assert not left([(name, "hung") for name in names]).findings
    (found,) = left([("P12-1", "hung")]).findings
    assert found.code == "R001"
    assert "not among the new planks of the repair" in found.says
    assert "P12-1" not in left([("P12-1", "hung")]).states


def test_old_planks_are_counted_nowhere_and_nothing_is_divided_anew() -> None:
    names = [plank.name for plank in renewed().planks.planks]
    own = left([(names[0], "hung")], seam("6", 16, 8.0))
    (side,) = own.sides
    assert side.side == "port"
    assert set(side.standing.planks) == set(names)
    assert {plank.name for plank in (*side.planks, *side.done)} == set(names)
    assert side.relined is None


def test_a_seam_is_set_against_the_recorded_one_and_its_opening_is_told() -> None:
    six = [p.name for p in renewed().planks.planks if p.strake == "6"]
    own = left([(name, "hung") for name in six], seam("6", 16, 8.0))
    (drift,) = own.sides[0].drifts
    assert drift.drift_mm == pytest.approx(8.0)
    (opening,) = own.sides[0].openings  # of strake 7, between that seam and the old plank above
    assert (opening.strake, opening.frame) == ("7", renewed().lining.columns[16])
    assert opening.planned_mm - opening.left_mm == pytest.approx(8.0, abs=0.5)
    codes = {f.code for f in own.findings}
    assert "R011" in codes
    assert not {"R010", "R014", "R015"} & codes  # it hangs, and old planks moved with nothing


def test_a_seam_that_moved_by_nothing_is_said_to_be_taken_as_planned() -> None:
    six = [p.name for p in renewed().planks.planks if p.strake in {"6", "7"}]
    found = left([(name, "hung") for name in six], seam("7", 16, 0.2)).findings
    assert not [f.says for f in found if f.code == "R014"]
    (said_of,) = [f.says for f in found if f.code == "R013"]
    assert said_of.endswith("above strake 6")


def test_what_is_measured_of_an_opening_before_its_plank_hangs_counts() -> None:
    """The old plank hangs beside it, whatever the log says of new ones."""
    own = left([], seam("7", 16, -5.0))
    assert [d.drift_mm for d in own.sides[0].drifts] == pytest.approx([-5.0])
    assert "R015" not in {f.code for f in own.findings}


def test_what_is_measured_where_nothing_hangs_or_nothing_is_renewed_is_told() -> None:
    (open_,) = left([], seam("6", 16, 2.0)).findings
    assert open_.code == "R015"
    (other,) = left([], seam("6", 16, 2.0, "starboard")).findings
    assert "nothing is renewed to starboard" in other.says


# -- at the hull ----------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The launch with other strakes recorded than she would be lined out with, strake 5 renewed."""
    folder = tmp_path_factory.mktemp("slip")
    path = planned_copy(folder / "heron.ribband", "shapes")
    lining = plan(path, "lining").run.result("lining")
    rows = ["side,strake,frame,width,thickness,timber,fastening,condition,notes"]
    for column in range(6, 36, 6):
        widths = lining.width_mm[:, column]
        for n, strake in enumerate(lining.strakes):
            wide = widths[n] + (25.0 if n % 2 else -25.0) * (n < 2 * (len(widths) // 2))
            text = format_bare(float(wide), UNIT)
            rows.append(f"both,{strake.name},{lining.columns[column]},{text},,,,,")
    forms = {
        "old_strakes": "\n".join(rows) + "\n",
        "renew": "side,strake,from_frame,to_frame,joint,found,notes\nport,5,stem,stern,,soft,\n",
    }
    for name, text in forms.items():
        (folder / f"{name}.csv").write_text(text, "utf-8")
        take(path, folder / f"{name}.csv", "a hand", "found")
    return path


def _seam(job: Path, frame: str = "18") -> tuple[float, float, float]:
    """Give the girth of the seam above strake 5, recorded and as lined out, and its width."""
    run = plan(job, "repair").run
    hull = plan(job, "lining", aside=("renew",)).run
    old, lined = run.result("repair").lining, hull.result("lining")
    column = old.columns.index(frame)
    low, high = (float(girth[4, column]) for girth in (old.lower_girth_mm, old.upper_girth_mm))
    return high, float(lined.upper_girth_mm[4, column]), high - low


def test_one_seam_has_one_plan_on_command_line_page_and_paper(job: Path, tmp_path: Path) -> None:
    recorded, lined, _ = _seam(job)
    assert abs(recorded - lined) > 5.0  # else nothing is tried here
    names = [p.name for p in plan(job, "repair").run.result("repair").planks.planks]
    for name in names:
        said("log", str(job), name, "hung", "--at", "2027-03-02", "--by", "Bo")
    told = said("as-hung", str(job), "port", "5", "18", format_bare(recorded + 6.35, UNIT))
    assert "half" not in told
    answer = json.loads(said("left", str(job), "--json"))
    (row,) = answer["drift"]
    assert row["planned_mm"] == pytest.approx(recorded, abs=0.01)
    planned_text = format_bare(recorded, UNIT)
    shown = {s.frame: s for s in plank_record(job, _crossing(job, "18")).seams}
    assert shown["18"].upper == planned_text
    page = " ".join(" ".join(row) for one in record_page(job).left.listings for row in one.rows)
    assert planned_text in page
    words = said("left", str(job))
    assert f"{len(names)} hang, 0 cut, 0 to be got out" in words
    assert "not on the list" not in words
    assert not re.search(r"as they were\n|divided anew round", words)
    said("record", str(job), "--out", str(tmp_path / "record.pdf"))
    with pdfium.PdfDocument(tmp_path / "record.pdf") as pdf:
        text = "".join(pdf[n].get_textpage().get_text_range() for n in range(len(pdf)))
    assert planned_text in text
    assert "divided anew" not in text
    assert "not on the list" not in text


def _crossing(job: Path, frame: str) -> str:
    names = plan(job, "hull").run.result("hull").frames.names
    planks = plan(job, "repair").run.result("repair").planks.planks
    order = ("stem", *names, "stern")
    return next(p.name for p in planks
                if order.index(p.fore) <= order.index(frame) < order.index(p.aft))  # fmt: skip


def test_a_plank_that_is_not_renewed_is_not_logged_without_a_word(job: Path) -> None:
    plan(job, "repair")
    told = said("log", str(job), "P8-1", "hung")
    assert "No plank P8-1 is among the new planks of the repair" in told
    said("undo", str(job))
    name = plan(job, "repair").run.result("repair").planks.planks[-1].name
    assert "No plank" not in said("log", str(job), name, "caulked")
    said("undo", str(job))


def test_a_seam_far_off_its_plan_is_told_at_once_and_asked_about_on_the_page(job: Path) -> None:
    recorded, _, wide = _seam(job)
    row = {"side": "port", "strake": "5", "edge": "upper", "frame": "18"}
    near = seam_off(job, {**row, "girth": format_bare(recorded + 0.4 * wide, UNIT)})
    assert not near.ask
    girth = format_bare(recorded + 0.6 * wide, UNIT)
    far = seam_off(job, {**row, "girth": girth})
    assert "Was the tape read so?" in far.ask
    assert format_length(recorded, UNIT) in far.ask
    by_name = str(job.with_suffix(""))  # as it is typed at the hull
    assert "Was the tape read so?" in said("as-hung", by_name, "port", "5", "18", girth)
    said("undo", str(job))


def test_a_fault_its_papers_are_stamped_with_is_told_by_verb_and_page(
    job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = shutil.copyfile(job, tmp_path / "heron.ribband")
    change = "rule,value,notes\ncaulking.opening_part,0.12,\n"  # so that it is made anew
    (tmp_path / "rules.csv").write_text(change, "utf-8")
    take(path, tmp_path / "rules.csv", "a hand", "wider seams")
    says = "seams are 2.0 m long, the planks' edges 1.0 m"
    fault = Finding("W071", Severity.FAULT, "shop", "caulking", says)
    monkeypatch.setattr("ribband.shop.whole.check_caulking", lambda *_: (fault,))
    told = said("repair", str(path), code=1)
    assert says in told
    assert ("fault", "caulking", says) in record_page(path).repair.says


def test_a_girth_beyond_the_frames_own_is_refused_as_it_is_entered(job: Path) -> None:
    lining = plan(job, "repair").run.result("repair").lining
    frame = float(max(lining.upper_girth_mm[:, lining.columns.index("18")]))
    most = format_bare(frame, UNIT)
    far = format_bare(frame + 900.0, UNIT)
    before = json.loads(said("history", str(job), "--json"))
    told = said("as-hung", str(job), "port", "5", "18", far, code=3)
    assert f"0 to {most}, the girth of frame 18 itself" in told
    assert json.loads(said("history", str(job), "--json")) == before
    row = {"side": "port", "strake": "5", "edge": "upper", "frame": "18", "girth": far}
    with pytest.raises(InputError, match="the girth of frame 18 itself"):
        seam_off(job, row)
