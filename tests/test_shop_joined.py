"""The shop in a job: its step, tables, verbs, book and tickets."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import pytest

from made_shop import boat
from ribband.drawing.bench import Bench
from ribband.drawing.ticket import Facts
from ribband.drawing.ticket.words import cautions, hanging
from ribband.shop import Choice, ShopRules, work_shop
from ribband.store import Known, write_tables
from ribband.store.record_format import pack, unpack
from ribband.store.table_shop import order_of_shop, steam_of


def read(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


@pytest.fixture(scope="module")
def made():
    iron = Choice("iron", "spike", "galvanised iron", per_box=100, price=20.0)
    return work_shop(boat(), ShopRules(), (iron,))


def test_a_shop_s_work_comes_back_from_a_job_file_as_it_was(made) -> None:
    assert unpack(pack(made)) == made


def test_its_findings_are_of_all_five_and_none_is_a_fault(made) -> None:
    assert {f.code[:3] for f in made.findings} >= {"W00", "W03", "W06", "W08"}
    assert all(f.stage == "shop" and f.severity != "fault" for f in made.findings)


def test_the_tables_say_what_the_shop_says(made, tmp_path: Path) -> None:
    known = Known(hull=boat().hull, lining=boat().lining, planks=boat().planks, shop=made)
    write_tables(tmp_path, known, "x", {})
    planks = {row["plank"]: row for row in read(tmp_path / "planks.csv")}
    boxed = {row["plank"]: row for row in read(tmp_path / "steaming.csv")}
    for steamed in made.steaming.planks:
        wanted = 0.0 if steamed.needed is False else steamed.minutes
        for rows in (planks, boxed):
            assert float(rows[steamed.plank]["steam_min"]) == pytest.approx(wanted, abs=1e-3)
    fastened = read(tmp_path / "fastenings.csv")
    assert sum(int(row["count"]) for row in fastened) == made.fastenings.count
    seams = read(tmp_path / "seams.csv")
    total = sum(float(row["length_mm"]) for row in seams)
    assert total == pytest.approx(made.caulking.seam_mm, rel=1e-6)
    assert len(read(tmp_path / "butt_blocks.csv")) == len(made.blocks.blocks)
    lifted = {row["plank"]: row for row in read(tmp_path / "handling.csv")}
    assert {n for n, r in lifted.items() if r["by_hand"] == "false"} == {
        h.name for h in made.handling.craned
    }


def test_the_order_has_lines_for_fastenings_caulking_and_blocks(made, tmp_path: Path) -> None:
    write_tables(tmp_path, Known(planks=boat().planks, shop=made), "x", {})
    rows = read(tmp_path / "order.csv")
    assert {row["of"] for row in rows} == {"fastenings", "caulking", "butt blocks"}
    spikes = [row for row in rows if row["of"] == "fastenings"]
    assert sum(float(row["quantity"]) for row in spikes) == sum(
        line.to_buy for line in made.fastenings.lines
    )
    assert all(float(row["price"]) > 0 for row in spikes)
    assert not [row for row in rows if row["item"] == "oakum"]


def test_without_a_shop_there_is_nothing_of_it() -> None:
    assert order_of_shop(None) == []
    assert steam_of(None) == {}


def test_a_ticket_says_steam_fastenings_and_who_lifts_it() -> None:

    plank = boat().planks.planks[0]
    shape = boat().shape(plank)
    bench = Bench("Marl Heron", "ft-in-8ths")
    facts = Facts(
        steam_min=90.0, steam_source="steam-course", hot_min=5.2, bend_min=3.1, not_by_hand=True,
        fastenings="silicon bronze screw 22", hands="not by hand: crane or tackle",
    )  # fmt: skip
    said = {pair.label: pair for pair in hanging(shape, bench, facts, plank)}
    assert said["steam"].says.startswith("1 h 30 min")
    assert said["steam"].says.endswith(
        "; hot about 5 min, an estimate ¶: carried, bent and clamped in that time, about 3 min by "
        "the rules of handling; fitted cold before, fastened after"
    )
    assert said["fastened"].says == "silicon bronze screw 22"
    assert said["lift"].loud
    assert any("not to be lifted by hand" in text for text in cautions(shape, plank, bench, facts))
    cold = {p.label: p.says for p in hanging(shape, bench, Facts(steam_min=0.0), plank)}
    assert cold["steam"] == "none: hung cold"
    turned = replace(facts, steam_why="twist shears its faces by 1.64 %, cold up to 0.80 %")
    eased = replace(shape, grade="cold", why_grade="radius 73 times the thickness; 60 or more")
    graded = {p.label: p.says for p in hanging(eased, bench, turned, plank)}["grade"]
    assert graded.startswith("steam: twist shears its faces by 1.64 %, cold up to 0.80 %; its bend")
    assert "lift" not in cold


def test_a_plank_s_fastenings_are_said_in_a_few_words(made) -> None:
    said = made.fastenings.says("P7-2", "mm")
    assert said.startswith("galvanised iron spike, 76 mm")
    total = sum(row.count for row in made.fastenings.of("P7-2"))
    assert f"{total} in all" in said
    assert made.fastenings.says("P99-1", "mm") == ""
