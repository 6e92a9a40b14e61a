"""Forty days at the slip, told day by day to a job, up to the shutters that must fit."""

from __future__ import annotations

import csv
import shutil
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest

from made_story import CREW, ORDER, SHUTTER, SICK, SPOILT_ON, at_day, some_days
from ribband.app.entering.jobs import new_job, take
from ribband.app.papers.drawings import Paper
from ribband.app.papers.tables import write
from ribband.app.plan.planning import Planned, plan
from ribband.app.plan.recorded import record_of, write_record_of
from ribband.lining.model import Lining
from ribband.record import SideLeft
from ribband.shop import check_work, done_of
from ribband.shop.work.rates import default_rates, hours_of, wanted
from ribband.store.table_record import RECORD_SHAPES
from ribband.timber.board_model import Cut

HERON = Path(str(files("ribband").joinpath("data", "examples", "marl_heron")))
LOG = "plank,state,at,by,note,notes\n"
SEAMS = "side,strake,edge,frame,girth,at,notes\n"
CREW_FORM = (
    f"name,skills,days,from,to,notes\nAnn,all,,,{at_day(SICK[0] - 1)},\n"
    f"Ann,all,,{at_day(SICK[-1] + 1)},,back\nBo,all,,,,\nCy,all,,,,\n"
)
LOOKED_AT = (13, 24, 40)
Told = tuple[Path, list[tuple[int, Planned]], str]


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Told:
    """Tell a job what was done, and plan everything that is left at four days of the forty."""
    folder = tmp_path_factory.mktemp("slip")
    job, forms = folder / "heron.ribband", folder / "forms"
    _begun(job, forms)
    first, seen = plan(job, "planks", seconds=1.0).run.result("lining"), []
    log, seams, lost, day = "", "", "", 0
    for until in LOOKED_AT:
        now = plan(job, "stands").run.present
        assert now is not None
        laid = {c.plank for c in seen[-1][1].run.result("laying").laying.cuts} if seen else ()
        for each in some_days(now.planks.planks, first, day + 1, until, laid):
            log += "".join(",".join((*row, "")) + "\n" for row in each.log)
            seams += "".join(",".join((*row, "")) + "\n" for row in each.seams)
        (forms / "log.csv").write_text(LOG + log, "utf-8")
        (forms / "as_hung.csv").write_text(SEAMS + seams, "utf-8")
        if until > SPOILT_ON and not lost:
            lost = _board_lost(forms / "boards.csv", seen[-1][1])
        take(job, forms, "a hand", f"day {until}")
        seen.append((until, _planned(job, whole=until == LOOKED_AT[-1])))
        day = until
    return job, seen, lost


def _planned(job: Path, *, whole: bool) -> Planned:
    """Plan what is left; before the last day without what has no part in the story."""
    planned = plan(job, "all" if whole else "work")
    for step in ("laying", "relined"):
        planned.run.bench.made.setdefault(step, plan(job, step).run.bench.made[step])
    return planned


def _board_lost(form: Path, planned: Planned) -> str:
    """Write into the tally that a board is shaken: one with planks that are not got out yet."""
    out = {line.plank for line in planned.run.result("work").log if line.state == "got out"}
    cuts = planned.run.result("laying").laying.cuts
    lost = next(c.board for c in cuts if c.plank not in out and c.plank[1] in "789"
                and not {o.plank for o in cuts if o.board == c.board} & out)  # fmt: skip
    head, *rows = form.read_text("utf-8").splitlines()
    rows = [f"{row},{'spoilt' if row.startswith(f'{lost},') else ''}" for row in rows]
    form.write_text("\n".join([f"{head},state", *rows, ""]), "utf-8")
    return lost


def _begun(job: Path, forms: Path) -> None:
    shutil.copytree(HERON, forms)
    head = "wish,strake,frame,to_frame,value,weight,notes\nstrakes,,,,12,,\n"
    (forms / "lining.csv").write_text(head, "utf-8")
    (forms / "crew.csv").write_text(CREW_FORM, "utf-8")
    head, *rows = (forms / "boards.csv").read_text("utf-8").splitlines()
    few = [head, *rows[::5]]  # of the pile; what finds no room is ordered
    (forms / "boards.csv").write_text("\n".join([*few, ""]), "utf-8")
    rules = forms / "rules.csv"
    more = "work.begins,2027-03-01,\nwork.seconds,0.2,\norder.seconds,0.2,\ndressing.bar,no,\n"
    wide = rules.read_text("utf-8").replace("greatest_width,0-7-6", "greatest_width,0-10-4")
    rules.write_text(wide + more, "utf-8")
    new_job(job, forms, "a hand", "begun")


def sides(told: Told) -> list[tuple[Planned, SideLeft]]:
    """Give each side at each day looked at."""
    return [(p, one) for _, p in told[1] for one in p.run.result("relined").sides]


def seams_of(lining: Lining) -> np.ndarray:
    lower, upper = lining.lower_girth_mm, lining.upper_girth_mm
    return np.vstack([lower[:1], upper])


def test_nothing_that_hangs_moves_as_the_days_go(told: Told) -> None:
    for planned, one in sides(told):
        assert one.relined is not None
        faults = [f for f in planned.run.result("relined").findings if f.severity == "fault"]
        assert not faults, [f"{f.code} {f.where} {f.says}" for f in faults]
        new = one.relined.lining
        held = 0
        for drift in one.drifts:
            if np.isfinite(one.relined.seam_held[drift.seam, new.columns.index(drift.frame)]):
                row, column = drift.seam - 1, new.columns.index(drift.frame)
                assert abs(float(new.upper_girth_mm[row, column]) - drift.measured_mm) < 1.0
                held += 1
        assert held


def test_a_hung_plank_keeps_its_name_and_shape_from_then_on(told: Told) -> None:
    shapes: dict[str, object] = {}
    for day, planned in told[1]:
        now = planned.run.present
        assert now is not None
        port = {s.name: s for s in now.shapes.shapes}
        other = {s.name: s for s in (now.starboard_shapes or now.shapes).shapes}
        done = {n for n, s in planned.run.result("relined").states.items() if s == "fastened"}
        assert done <= {p.name for p in now.planks.planks}, day
        for name in sorted(done):
            shape = (port if name[0] == "P" else other)[name[1:]]
            if name in shapes:
                assert np.allclose(shapes[name], shape.lower, atol=0.05), (day, name)
            shapes[name] = shape.lower


def test_the_boards_follow_and_what_is_cut_keeps_its_place(told: Told) -> None:
    """A plank spoilt, a board shaken, shapes divided anew: only what must lie elsewhere does."""
    _, seen, lost = told
    was: dict[str, Cut] = {}
    before: dict[str, np.ndarray] = {}
    cut_then: set[str] = set()
    kept = moved = 0
    for day, planned in seen:
        laid, left = planned.run.result("laying"), planned.run.result("relined")
        found = planned.run.bench.made["laying"].findings  # those of the check with them
        assert not [f for f in found if f.severity == "fault"]
        cuts = {cut.plank: cut for cut in laid.laying.cuts}
        shapes = {plank: piece.outline for piece in laid.pieces for plank in piece.planks}
        out = {line.plank for line in planned.run.result("work").log if line.state == "got out"}
        for name, cut in was.items():
            same = name in shapes and as_cut(shapes[name], before[name])
            if same and cut.board != lost and name != spoilt_plank(planned):
                assert cuts.get(name) == cut, (day, name)  # it lies where it lay
                kept += 1
            elif name in cut_then - {spoilt_plank(planned)}:
                assert same, (day, name)  # it is cut: it has the shape it was cut to
            moved += name in cuts and cuts[name] != cut
        was, before, cut_then = cuts, shapes, out
        assert set(left.states) <= {p.name for p in planned.run.present.planks.planks}
    assert kept > 8
    assert moved > 2


def as_cut(one: np.ndarray, two: np.ndarray) -> bool:
    """Tell whether two outlines are the same to a millionth of a mm; reckoned anew, bits differ."""
    return one.shape == two.shape and np.allclose(one, two, rtol=0.0, atol=1e-6)


def spoilt_plank(planned: Planned) -> str:
    log = planned.run.result("work").log
    return next((line.plank for line in log if line.state == "spoilt"), "")


def test_the_timber_of_the_spoilt_plank_and_the_shaken_board_are_gone(told: Told) -> None:
    _, seen, lost = told
    first, second, last = (planned.run.result("laying") for _, planned in seen)
    name = spoilt_plank(seen[1][1])
    place = next(cut for cut in first.laying.cuts if cut.plank == name)
    board = next(b for b in second.boards if b.name == place.board)
    assert [f.kind for f in board.flaws if f.kind.startswith("spoilt")] == [f"spoilt {name} 1"]
    again = [cut for cut in second.laying.cuts if cut.plank == name]
    assert place not in again
    assert again or name in second.laying.unlaid
    assert [cut for cut in first.laying.cuts if cut.board == lost]
    for laid in (second, last):
        assert not [cut for cut in laid.laying.cuts if cut.board == lost]
    steps = {(s.plank, s.operation) for s in seen[1][1].run.result("work").plan.steps}
    assert (name, "get out") in steps or name in seen[1][1].run.result("relined").states


def test_every_opening_left_is_filled_and_fair(told: Told) -> None:
    """By girths alone: openings are filled to the hair, and free seams go along without bumps."""
    for planned, one in sides(told):
        assert one.relined is not None
        new, hull = one.relined.lining, planned.run.bench.hull
        assert np.allclose(
            np.nansum(new.upper_girth_mm - new.lower_girth_mm, axis=0)[1:-1],
            hull.frames.girth_mm, atol=0.01,
        )  # fmt: skip
        free = np.isfinite(new.width_mm) & ~one.standing.held
        assert np.all(new.width_mm[free] > -0.01)
        moved = seams_of(new) - seams_of(planned.run.bench.lining)
        loose = ~np.isfinite(one.relined.seam_held)
        for seam in range(1, len(new.strakes)):
            if not loose[seam, 3:-3].all() or not np.isfinite(moved[seam]).all():
                continue
            run = moved[seam, 3:-3]
            at = np.linspace(-1.0, 1.0, len(run))
            off = run - np.polynomial.Chebyshev.fit(at, run, 8)(at)
            assert np.abs(off).max() < 1.0, (one.side, seam, np.abs(off).max())


def test_the_plan_of_work_is_of_what_is_left_and_keeps_its_hands(told: Told) -> None:
    for day, planned in told[1]:
        worked = planned.run.result("work")
        work, own = worked.work, worked.plan
        assert not [f for f in check_work(work, own, planned.run.bench.rules["work"])
                    if f.severity == "fault"]  # fmt: skip
        logged = [n for n in range(1, day + 1) if at_day(n) in {x.at[:10] for x in worked.log}]
        assert work.begins == at_day(logged[-1] + 1)
        said = set(done_of(worked.log))
        left = set()
        for m in work.measures:
            order = wanted(m)
            far = max((order.index(op) for p, op in said if p == m.plank and op in order),
                      default=-1)  # fmt: skip
            left |= {(m.plank, op) for op in order[far + 1 :]}
        assert {(s.plank, s.operation) for s in own.steps} == left
        assert worked.forecast.dates[0] >= work.begins
        if logged[-1] + 1 in SICK:
            away = range((SICK[-1] - logged[-1]) * own.days.slots)
            assert not [s for s in own.stints if s.hand == "Ann" and s.start in away]
            assert [s for s in own.stints if s.hand == "Ann"]  # she comes back


def test_the_shutters_fit_their_measured_openings(told: Told) -> None:
    planned = told[1][-1][1]
    for one in planned.run.result("relined").sides:
        assert one.relined is not None
        assert {plank.strake for plank in one.planks} == {str(SHUTTER)}
        new = one.relined.lining
        assert len(new.strakes) == 1 + len(ORDER)
        row = [s.name for s in new.strakes].index(str(SHUTTER))
        at = {(d.seam, d.frame): d.measured_mm for d in one.drifts}
        both = [f for seam, f in at if seam == row and (row + 1, f) in at]
        assert len(both) > 3
        for frame in both:  # the girth between what was measured, and nothing of the program's
            column = new.columns.index(frame)
            girth = float(new.upper_girth_mm[row, column] - new.lower_girth_mm[row, column])
            assert girth == pytest.approx(at[row + 1, frame] - at[row, frame], abs=0.5)
        off = max(abs(o.left_mm - o.planned_mm) for o in one.openings if o.measured)
        assert off > 2.0  # by the first plan it would not have gone in
        tail = [p for p in planned.run.result("hanging").places if p.side == one.side]
        assert tail[-1].plank in {p.name for p in one.planks}


def test_the_record_tells_the_spoilt_plank_the_hands_and_the_hours(
    told: Told, tmp_path: Path
) -> None:
    planned = told[1][-1][1]
    out = write_record_of(planned, tmp_path / "record.pdf", Paper("A4"))
    record = record_of(planned)
    _a_surveyor_reads(out, planned)
    assert sum(own.spoilt for own in record.planks) == 1
    again = next(own for own in record.planks if own.spoilt)
    assert again.state == "fastened"  # got out anew and hung
    hung = [own for own in record.planks if own.plank.side == "port" and own.state]
    assert all(own.first <= own.last for own in hung)
    sick = [own for own in hung if own.first >= at_day(SICK[0]) and own.last <= at_day(SICK[-1])]
    assert sick
    assert all("Ann" not in own.hands for own in sick)
    assert {hand for own in hung for hand in own.hands} == set(CREW)
    hang = next(line for line in record.hours if line.operation == "hang")
    assert hang.logged > 5
    assert hang.spent > 0
    _only_hollow_planks_are_hollowed(planned)
    assert max(abs(own.drift_mm) for own in hung if own.drift_mm is not None) > 8.0


def _only_hollow_planks_are_hollowed(planned: Planned) -> None:
    measures = planned.run.result("work").work.measures
    assert any(not own.hollow for own in measures)
    hollow = next(line for line in record_of(planned).hours if line.operation == "hollow")
    rates = default_rates()
    wanted = sum(hours_of("hollow", own, rates) for own in measures if own.hollow)
    assert hollow.planned == pytest.approx(wanted)


def _a_surveyor_reads(out: Path, planned: Planned) -> None:
    """What is asked first stands on the first page, with a judgement, and no page is empty."""
    pages = [page.get_textpage().get_text_range() for page in pdfium.PdfDocument(out)]
    assert all(len(page) > 200 for page in pages)
    first = " ".join(pages[0].split())
    hung = len([p for p in planned.run.present.planks.planks if p.strake != str(SHUTTER)])
    drifts = [d for one in planned.run.result("relined").sides for d in one.drifts]
    limit = planned.run.bench.rules["record"].drift_mm
    near = sum(abs(d.drift_mm) <= limit for d in drifts)
    for said in ("Marl Heron", "port and starboard", f"{hung} hang", "Ann", "1 plank spoilt",
                 f"Of {len(drifts)} places measured {near} lie within",
                 "surveyor’s to say", "the cost of", "what lies behind the planks"):  # fmt: skip
        assert said in first, said


@pytest.mark.filterwarnings("ignore")
def test_tables_for_the_archive_are_written(told: Told, tmp_path: Path) -> None:
    frictionless = pytest.importorskip("frictionless")
    write(told[1][-1][1], tmp_path)
    package = frictionless.Package(str(tmp_path / "datapackage.json"))
    own = [r for r in package.resources if r.name in {s.name for s in RECORD_SHAPES}]
    assert {"record", "hours", "wages", "costs", "drift", "relined_edges"} <= {r.name for r in own}
    for resource in own:  # the others are validated where they are made
        report = resource.validate()
        assert report.valid, report.flatten(["title", "note", "type"])
    rows = list(csv.DictReader((tmp_path / "record.csv").read_text("utf-8-sig").splitlines()))
    assert sum(int(row["spoilt"]) for row in rows) == 1
    assert {row["state"] for row in rows if row["plank"].startswith("P1-")} == {"fastened"}
    hours = list(csv.DictReader((tmp_path / "hours.csv").read_text("utf-8-sig").splitlines()))
    assert float(next(r for r in hours if r["operation"] == "hang")["real_hours"]) > 0


def test_a_step_too_early_would_be_seen(told: Told) -> None:
    """The check apart from the solver is no rubber stamp."""
    worked = told[1][1][1].run.result("work")
    n, step = next((n, s) for n, s in enumerate(worked.plan.steps) if s.operation == "fasten")
    steps = list(worked.plan.steps)
    steps[n] = replace(step, start=0, end=step.end - step.start)
    bad = replace(worked.plan, steps=tuple(steps))
    rules = told[1][1][1].run.bench.rules["work"]
    assert [f for f in check_work(worked.work, bad, rules) if f.severity == "fault"]
