"""A repair of nine planks on the packet, from the form to tables, patterns and tickets."""

from __future__ import annotations

import csv
import json
import re
import shutil
from importlib.resources import files
from pathlib import Path

import pypdfium2 as pdfium
import pytest
from click.testing import CliRunner

from made_kept import planned_copy
from ribband.app.entering.jobs import new_job, take
from ribband.app.entering.record_use import log_step
from ribband.app.papers.bench import pairs_of, patterns_job
from ribband.app.papers.downloads import listed, made
from ribband.app.plan.planning import plan
from ribband.app.plan.repair_steps import renewed_alone
from ribband.app.screens.job import job_view
from ribband.app.screens.overview import overview
from ribband.app.screens.planks import plank_sheet, planks_page
from ribband.app.screens.record import plank_record, record_page
from ribband.app.screens.shop import shop_page
from ribband.app.screens.timber import timber_page
from ribband.app.why.traced import why
from ribband.cli import cli
from ribband.errors import InputError
from ribband.planks.model import Plank
from ribband.units import format_length

PACKET = Path(str(files("ribband").joinpath("data", "examples", "packet_1825")))
NINE, WHOLE = 9, 6  # planks renewed; of them from old joint to old joint


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("yard")
    forms = folder / "forms"
    shutil.copytree(PACKET, forms)
    path = folder / "packet.ribband"
    rules = (forms / "rules.csv").read_text("utf-8").rstrip("\n")
    quick = "\nwork.seconds,0.3,\norder.seconds,1,\n"  # searches are looked at elsewhere
    (forms / "rules.csv").write_text(rules + quick, "utf-8")
    new_job(path, forms, "a hand", "begun")
    run = plan(path, "planks", seconds=1.0).run
    shutil.copyfile(path, folder / "whole.ribband")  # before anything was found
    planks = [p for p in run.result("planks").planks if p.side == "port" and p.fore != "stem"]
    chosen = [p for p in planks if p.aft != "stern" and p.length_mm > 4500.0][3::7][:NINE]
    rows = [f"port,{p.strake},{p.fore},{p.aft},,rot,\n" for p in chosen[:WHOLE]]
    rows += [_in_the_middle(p, run.result("hull").frames.names) for p in chosen[WHOLE:]]
    (forms / "renew.csv").write_text(
        "side,strake,from_frame,to_frame,joint,found,notes\n" + "".join(rows), "utf-8"
    )
    take(path, forms, "a hand", "what the surveyor found")
    return path


def _in_the_middle(plank: Plank, names: tuple[str, ...]) -> str:
    """Say that two frame spaces in the middle of a plank are bad, and that new joints be scarfs."""
    ends = [names.index(end.removeprefix("block aft of ")) for end in (plank.fore, plank.aft)]
    middle = sum(ends) // 2
    return f"port,{plank.strake},{names[middle]},{names[middle + 2]},scarf,split at the nails,\n"


def said(*words: str, code: int = 0) -> str:
    result = CliRunner().invoke(cli, list(words))
    assert result.exit_code == code, result.output
    return result.stdout if code == 0 else result.output


def test_nine_old_planks_are_renewed_as_they_are(job: Path) -> None:
    answer = json.loads(said("repair", str(job), "--json"))
    rows = answer["renewals"]
    assert len(rows) == NINE
    repair = plan(job, "repair").run.result("repair")
    assert repair.planks.totals[0].planks == NINE  # old butt to old butt is the least
    assert repair.length_mm == pytest.approx(repair.bound_mm, rel=0.001)
    assert not [f for f in repair.findings if f.severity == "fault"]
    assert {row["new_joints"] for row in rows if row["joint"] == "butt"} == {0}
    lapped = [row for row in rows if row["joint"] == "scarf"]
    assert len(lapped) == NINE - WHOLE
    assert all(0 < row["new_joints"] <= 2 for row in lapped)
    for row in lapped:  # less of it comes out than the old plank was long
        assert row["bad_mm"] < row["length_mm"] < 5000.0
    cuts = {(c["strake"], c["stays"]): c for c in answer["cut_backs"]}
    assert len(cuts) == sum(row["new_joints"] for row in lapped)
    for cut in cuts.values():
        assert cut["length_mm"] == pytest.approx(8 * 76.2)
        assert abs(cut["full_mm"] - cut["tip_mm"]) == pytest.approx(8 * 76.2)
        assert cut["face"] == ("inner" if cut["stays"] == "forward" else "outer")
    told = said("repair", str(job))
    assert "surveyor" in told
    assert "the plan's own, none being recorded" in told
    assert {f["code"] for f in answer["findings"]} >= {"R030", "R032", "R047"}


def test_the_page_lists_the_new_planks_alone_in_the_order_they_are_opened(job: Path) -> None:
    said("repair", str(job))
    page = record_page(job)
    repair = plan(job, "repair").run.result("repair")
    turn = {name: r.turn for r in repair.renewals for name in r.planks}
    assert {p.name for p in page.planks} == set(turn)
    in_turn = [turn[p.name] for p in sorted(page.planks, key=lambda p: p.place or 0)]
    assert in_turn == sorted(in_turn)
    assert "all others stay" in " ".join(page.left.notes)
    assert "surveyor" in " ".join(page.repair.notes)
    assert any("stand in" in words for _, _, words in page.repair.says)  # what was not recorded
    told = plank_record(job, page.planks[0].name)
    assert "by the local rules" in " ".join(told.cautions)  # who lifts it, of the new plank itself
    assert "steam" in dict(told.facts)


def _both_seams_of_a_renewal_are_opened(rows: dict[str, list[dict[str, str]]]) -> None:
    """Lower and upper, but where two renewals lie one above the other theirs is one seam."""
    at = {r["frame"]: n for n, r in enumerate(rows["frames"])}
    bays: dict[int, set[int]] = {}
    for r in rows["planks"]:
        fore, aft = (at[r[end].removeprefix("block aft of ")] for end in ("fore", "aft"))
        bays.setdefault(int(r["strake"]), set()).update(range(fore, aft))
    seams = {r["of"]: float(r["length_mm"]) for r in rows["seams"]}
    for strake, own in bays.items():
        old = own - bays.get(strake + 1, set())
        part = seams.get(f"strake {strake}, upper edge", 0.0) / seams[f"strake {strake}"]
        assert part == pytest.approx(len(old) / len(own), abs=0.04), strake


def test_everything_is_written_for_those_planks_alone(job: Path, tmp_path: Path) -> None:
    said("repair", str(job), "--out", str(tmp_path))
    rows = {
        name: list(csv.DictReader((tmp_path / "tables" / f"{name}.csv").read_text("utf-8-sig")
                                  .splitlines()))
        for name in ("planks", "sequence", "steps", "renewals", "cut_backs", "seams", "findings",
                     "frames")
    }  # fmt: skip
    own = {r["plank"] for r in rows["planks"]}
    assert len(own) == NINE
    assert {r["plank"] for r in rows["sequence"]} == own
    assert {r["plank"] for r in rows["steps"]} == own
    assert {name for r in rows["renewals"] for name in r["planks"].split("; ")} == own
    assert (tmp_path / "tickets.pdf").stat().st_size > 10_000
    assert len(list((tmp_path / "patterns").glob("*.dxf"))) == NINE
    assert not [r for r in rows["findings"] if r["severity"] == "fault"], rows["findings"]
    _both_seams_of_a_renewal_are_opened(rows)
    cuts = rows["cut_backs"]
    assert {r["plank"] for r in cuts} < own
    sheets = sorted(p.name for p in (tmp_path / "drawings").glob("cut-back*"))
    assert len(sheets) == 1 + 2 * len(cuts)  # the PDF, and each as SVG and DXF
    assert sheets[-1] == "cut-backs.pdf"
    with pdfium.PdfDocument(tmp_path / "tickets.pdf") as tickets:
        text = "".join(tickets[n].get_textpage().get_text_range() for n in range(len(tickets)))
    assert text.count("the old plank") == len(cuts)
    assert "(old)" in text
    assert "the rabbet: no plank" not in text  # none of them is a garboard
    assert "no other plank" not in text


def test_its_papers_can_be_taken_from_the_app_only_where_something_is_renewed(
    job: Path, tmp_path: Path
) -> None:
    path = planned_copy(tmp_path / "heron.ribband", "shapes")
    assert "repair" not in {one.name for one in listed(path)}
    with pytest.raises(InputError, match=r"not up to date|nothing to renew"):
        made(path, "repair")
    (own,) = [one for one in listed(job) if one.name == "repair"]
    assert own.file.endswith("papers of the repair.zip")


def test_no_plank_is_hung_before_the_turn_before_its_own_is_fast(job: Path) -> None:
    alone = renewed_alone(job, "work").run
    repair, worked = alone.result("repair"), alone.result("work")
    turn = {name: r.turn for r in repair.renewals for name in r.planks}
    assert len(set(turn.values())) > 1
    by_step = {(s.plank, s.operation): s for s in worked.plan.steps}
    for plank, own in turn.items():
        earlier = [other for other in turn if turn[other] < own]
        hung = by_step[plank, "hang"].start
        assert all(by_step[other, "fasten"].end <= hung for other in earlier)
    order = [p.plank for p in alone.result("hanging").places]
    assert [turn[name] for name in order] == sorted(turn.values())
    assert not [f for f in alone.bench.made["hanging"].findings if f.severity == "fault"]


def test_a_new_plank_spoilt_in_the_repair_takes_its_timber_with_it(tmp_path: Path) -> None:
    """The renewed planks have a laying of their own, whatever the whole vessel was laid on."""
    path = planned_copy(tmp_path / "heron.ribband", "shapes")
    (tmp_path / "renew.csv").write_text(
        "side,strake,from_frame,to_frame,joint,found,notes\n"
        "port,7,20,26,,rot,\nport,4,12,16,scarf,rot,\nport,10,30,34,,rot,\n", "utf-8",
    )  # fmt: skip
    take(path, tmp_path / "renew.csv", "a hand", "found")
    first = renewed_alone(path, "laying").run.result("laying")
    was = {cut.plank: cut for cut in first.laying.cuts}
    assert len(was) == 3
    again = renewed_alone(path, "laying").run.result("laying")
    assert {cut.plank: cut for cut in again.laying.cuts} == was  # as it was told the first time
    name = min(was)
    log_step(path, {"plank": name, "state": "got out", "at": "2027-03-02", "by": "Bo"})
    log_step(path, {"plank": name, "state": "spoilt", "at": "2027-03-03", "by": "Bo"})
    planned = renewed_alone(path, "laying")
    laid = planned.run.result("laying")
    now = {cut.plank: cut for cut in laid.laying.cuts}
    board = next(b for b in laid.boards if b.name == was[name].board)
    assert [f.kind for f in board.flaws if f.kind.startswith("spoilt")] == [f"spoilt {name} 1"]
    assert now.get(name) != was[name]
    assert all(now[plank] == cut for plank, cut in was.items() if plank != name)
    found = planned.run.bench.made["laying"].findings  # those of the check with them
    assert not [f for f in found if f.severity == "fault"]
    assert "T141" not in {f.code for f in found}  # its place was known


def test_a_repair_to_starboard_alone_has_boards_patterns_and_its_own_joints_in_the_record(
    tmp_path: Path,
) -> None:
    path = planned_copy(tmp_path / "heron.ribband", "shapes")
    _found_rot(path, tmp_path)
    alone = renewed_alone(path, "laying")
    new = {plank.name for plank in alone.run.result("repair").planks.planks}
    assert new
    assert {plank.name for plank, _ in pairs_of(alone, ())} == new
    assert {cut.plank for cut in alone.run.result("laying").laying.cuts} == new
    said("record", str(path), "--out", str(tmp_path / "record.pdf"))
    with pdfium.PdfDocument(tmp_path / "record.pdf") as pdf:
        text = "".join(pdf[n].get_textpage().get_text_range() for n in range(len(pdf)))
    assert "joints of 3 strakes recorded" in text
    assert text.count("stays as it was") == 2 + (not alone.run.result("repair").renewals[0].new)


def test_while_a_repair_stands_a_name_is_its_new_plank_everywhere(tmp_path: Path) -> None:
    """A plank of the whole hull may bear the same name: it is never given in its place."""
    path = planned_copy(tmp_path / "heron.ribband", "shapes")
    whole = {plank.name: plank for plank in plan(path, "planks").run.result("planks").planks}
    _found_rot(path, tmp_path)
    repair = plan(path, "repair").run.result("repair")
    (new,) = [p for p in repair.planks.planks if p.fore != whole[p.name].fore]
    ends = f"{new.fore} to {new.aft}"
    assert dict(plank_sheet(path, new.name).facts)["from"] == ends
    page = planks_page(path)
    assert {row.name for row in page.planks} == {plank.name for plank in repair.planks.planks}
    assert "new planks alone" in page.alone
    told = why(path, f"{new.name} length")
    assert format_length(new.length_mm, "ft-in-8ths") in {own.value for own in told.values}
    (drawn,) = patterns_job(path, tmp_path / "patterns", [new.name], ["dxf"])
    blank = json.loads(said("spiling", str(path), new.name, "--json"))["spiling"][new.name]
    assert blank["blank_length_mm"] == pytest.approx(new.length_mm, rel=0.01)
    assert drawn.stem.endswith(new.name)
    other = next(name for name in whole if name not in {p.name for p in repair.planks.planks})
    with pytest.raises(InputError, match="a plank of the list"):
        patterns_job(path, tmp_path / "none", [other], ["dxf"])


@pytest.fixture(scope="module")
def rotten(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The launch with one plank renewed, which bears the name of a longer one of the whole hull."""
    folder = tmp_path_factory.mktemp("slip")
    path = planned_copy(folder / "heron.ribband", "shapes")
    _found_rot(path, folder)
    return path


def test_while_a_repair_stands_every_verb_of_the_work_is_of_its_new_planks(rotten: Path) -> None:
    """A sawyer with board sheet and ticket in hand: P7-1 of one is P7-1 of the other."""
    new = {p.name: p for p in plan(rotten, "repair").run.result("repair").planks.planks}
    rows = {
        "planks": json.loads(said("planks", str(rotten), "--json"))["planks"],
        "lay": json.loads(said("lay", str(rotten), "--json"))["cuts"],
        "hanging": json.loads(said("hanging", str(rotten), "--json"))["sequence"],
        "work": json.loads(said("work", str(rotten), "--json"))["steps"],
        "steaming": json.loads(said("steaming", str(rotten), "--json"))["steaming"],
        "fastenings": json.loads(said("fastenings", str(rotten), "--json"))["fastenings"],
        "handling": json.loads(said("handling", str(rotten), "--json"))["handling"],
    }
    for verb, own in rows.items():
        assert {row["plank"] for row in own} == set(new), verb
    for verb in ("planks", "lay", "order", "hanging", "work", "caulking", "handling", "plan"):
        assert "the repair, 1 new plank alone" in said(verb, str(rotten)), verb
    (length,) = (float(row["length_mm"]) for row in rows["planks"])
    assert length == pytest.approx(next(iter(new.values())).length_mm)


def test_the_whole_hull_is_asked_for_by_a_word_and_says_that_it_is(rotten: Path) -> None:
    whole = json.loads(said("planks", str(rotten), "--whole", "--json"))["planks"]
    assert len(whole) == planned_count(rotten)
    told = said("hanging", str(rotten), "--whole")
    assert "THE WHOLE HULL" in told
    assert "saw nothing by this" in told
    assert "for the screen" in said("plan", str(rotten), "--whole", "--out", "x", code=2)
    again = json.loads(said("planks", str(rotten), "--json"))["planks"]
    assert len(again) == 1  # the one does not stand in the other's place


def planned_count(path: Path) -> int:
    return len(plan(path, "planks", aside=("renew",)).run.result("planks").planks)


def test_the_papers_for_the_saw_are_of_the_new_planks_and_say_so(
    rotten: Path, tmp_path: Path
) -> None:
    new = {p.name for p in plan(rotten, "repair").run.result("repair").planks.planks}
    said("draw", str(rotten), "boards", "--out", str(tmp_path))
    said("draw", str(rotten), "milling", "--out", str(tmp_path))
    said("labels", str(rotten), "--out", str(tmp_path / "labels.pdf"))
    others = {p.name for p in plan(rotten, aside=("renew",)).run.result("planks").planks} - new
    for name in ("boards", "milling", "labels"):
        with pdfium.PdfDocument(tmp_path / f"{name}.pdf") as pdf:
            text = "".join(pdf[n].get_textpage().get_text_range() for n in range(len(pdf)))
        assert all(plank in text for plank in new), name
        assert not [other for other in others if re.search(rf"\b{other}\b", text)], name
        assert name == "labels" or "of the repair" in text, name


def test_the_pages_of_the_work_are_of_the_new_planks_and_say_so(rotten: Path) -> None:
    new = {p.name for p in plan(rotten, "all").run.result("repair").planks.planks}
    timber, shop, first = timber_page(rotten), shop_page(rotten), overview(rotten)
    for page in (timber, shop, first):
        assert "the repair, 1 new plank alone" in page.alone
    assert {own.name for board in timber.boards for own in board.planks} == new
    (hanging,) = (part for part in shop.parts if part.name == "hanging")
    assert {row[1] for row in hanging.listings[0].rows} == new
    assert {line.what: line.value for line in first.figures}["planks"] == "1"


def test_a_hull_planned_before_is_never_shown_for_the_repair(tmp_path: Path) -> None:
    path = planned_copy(tmp_path / "heron.ribband", "shapes")
    before = plan(path, "work").run.result("hanging")
    assert len(before.places) > 1
    _found_rot(path, tmp_path)  # nothing is planned of it yet
    assert not timber_page(path).laying
    assert {part.state for part in shop_page(path).parts} == {"not made"}
    with pytest.raises(InputError, match="not up to date"):
        made(path, "tickets")


def test_its_papers_can_be_read_and_its_end_and_what_to_buy_stand_on_the_screen(
    rotten: Path, tmp_path: Path
) -> None:
    told = said("repair", str(rotten))
    assert "planned end" in told
    assert "to buy" in told or "planks laid" in told
    said("repair", str(rotten), "--out", str(tmp_path))
    there = {p.name for p in tmp_path.rglob("*")}
    assert {"boards.pdf", "milling.pdf", "expansion.pdf", "tickets.pdf"} <= there
    (book,) = tmp_path.glob("*planking book.pdf")
    with pdfium.PdfDocument(book) as pdf:
        pages = [pdf[n].get_textpage().get_text_range() for n in range(len(pdf))]
    assert "of the repair, 1 new plank alone" in pages[2]
    assert "Of the repair, 1 new plank alone" in pages[0]


def test_butts_are_not_moved_for_boards_while_a_repair_stands(rotten: Path) -> None:
    assert "a whole hull" in said("lay", str(rotten), "suit", "--seconds", "5", code=3)


def _found_rot(path: Path, folder: Path) -> None:
    """Say of one strake to starboard that it is rotten, and where old butts stand beside it."""
    forms = {
        "renew": "side,strake,from_frame,to_frame,joint,found,notes\nstarboard,7,20,24,,rot,\n",
        "old_butts": "side,strake,frame,landing,notes\n"
        "both,5,14,frame,\nboth,7,17,frame,\nboth,7,31,frame,\nboth,9,26,frame,\n",
    }
    for name, text in forms.items():
        (folder / f"{name}.csv").write_text(text, "utf-8")
        take(path, folder / f"{name}.csv", "a hand", "found")


def test_a_plank_spoilt_before_the_repair_was_laid_is_told(tmp_path: Path) -> None:
    path = planned_copy(tmp_path / "heron.ribband", "shapes")
    (tmp_path / "renew.csv").write_text(
        "side,strake,from_frame,to_frame,joint,found,notes\nport,7,20,26,,rot,\n", "utf-8"
    )
    take(path, tmp_path / "renew.csv", "a hand", "found")
    repair = plan(path, "repair").run.result("repair")
    name = repair.planks.planks[0].name
    for state in ("got out", "spoilt"):
        log_step(path, {"plank": name, "state": state, "at": "2027-03-02", "by": "Bo"})
    made = renewed_alone(path, "laying").run.bench.made["laying"]
    assert "T141" in {f.code for f in made.findings}


def test_a_job_with_nothing_to_renew_says_so(job: Path, tmp_path: Path) -> None:
    path = shutil.copyfile(job.parent / "whole.ribband", tmp_path / "packet.ribband")
    assert "nothing" in said("repair", str(path), "--out", str(tmp_path / "out"), code=3)


def test_nobody_is_sent_to_a_repair_that_nobody_asks_for(tmp_path: Path) -> None:
    job = planned_copy(tmp_path / "heron.ribband", "order")
    assert "Bring the plan up to date, from" in job_view(job).next.says
    assert "renewed" not in job_view(job).next.says
