"""Papers for the bench: patterns and tickets of 175 planks."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time
from typing import Any

from benchmarks.drawing import least, made
from benchmarks.table import Row
from ribband import butts, hull, lining, planks
from ribband.drawing import patterns, pdf, ticket
from ribband.drawing.bench import Bench, pairs


def rows() -> list[Row]:
    """Measure making and writing, processor seconds."""
    many = made("made_strips").many(175)
    bench = Bench("Marl Heron")
    sheets = [patterns.full_size(shape, plank, bench) for plank, shape in many]
    tickets = [page for plank, shape in many for page in ticket.ticket(shape, plank, bench)]
    with TemporaryDirectory() as name:
        folder = Path(name)
        spent = {
            "175 patterns as sheets": least(
                lambda: [patterns.full_size(shape, plank, bench) for plank, shape in many], 2
            ),
            "175 patterns made and written to dxf": least(
                lambda: patterns.write_folder(many, bench, folder), 2
            ),
            "one pattern to a roll": least(
                lambda: pdf.write(patterns.roll(sheets[0]), folder / "a.pdf")
            ),
            "one pattern to A4 tiles": least(
                lambda: pdf.write(patterns.tiles(sheets[0], "A4"), folder / "b.pdf")
            ),
            "175 tickets as sheets": least(
                lambda: [page for plank, shape in many for page in
                         ticket.ticket(shape, plank, bench)], 1
            ),
            "175 tickets to one pdf": least(lambda: ticket.write(tickets, folder / "c.pdf"), 1),
        }  # fmt: skip
    target = {"175 patterns made and written to dxf": 5.0}
    rows = [Row(f"bench: {what}", s, "s", target.get(what)) for what, s in spent.items()]
    return [*rows, from_survey()]


def from_survey() -> Row:
    """Time the way from a survey of 60 frames to every pattern of both sides as a sheet."""
    survey = made("made_surveys").surveyed(60, seed=3)[0]
    thick = replace(survey.particulars, planking_mm=38.0, rough_mm=44.0)
    survey = replace(survey, particulars=thick)
    spent, sheets = [], []
    for _ in range(3):  # the first compiles the search for butts
        begun = process_time()
        sheets = all_patterns(survey)
        spent.append(process_time() - begun)
    note = f"{len(sheets)} patterns, 25 strakes; butts given 1 s; first run {spent[0]:.1f} s"
    return Row("survey of 60 frames to all patterns, before files", min(spent), "s", 3.0, note)


def all_patterns(survey: Any) -> list[Any]:
    """Fair, line out, lay the butts, roll out and draw."""
    fair = hull.fit(survey)
    lined = lining.line_out(fair, lining.LiningRules(), (lining.Wish("strakes", 25),))
    rules = butts.rule_sets()["house"]
    ways = butts.ways(fair, lined, rules)
    layout = butts.lay(ways, rules, seconds=1.0)
    shapes = planks.get_shapes(fair, lined, ways, layout).shapes
    listed = planks.list_planks(fair, lined, ways, layout).planks
    bench = Bench.of(fair)
    return [patterns.full_size(shape, plank, bench) for plank, shape in pairs(listed, shapes)]
