"""Papers for the bench: patterns and tickets of 175 planks."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks.drawing import least, made
from benchmarks.table import Row
from ribband.drawing import patterns, pdf, ticket
from ribband.drawing.bench import Bench


def rows() -> list[Row]:
    """Measure making and writing, processor seconds."""
    planks = made("made_strips").many(175)
    bench = Bench("Marl Heron")
    sheets = [patterns.full_size(shape, plank, bench) for plank, shape in planks]
    tickets = [page for plank, shape in planks for page in ticket.ticket(shape, plank, bench)]
    with TemporaryDirectory() as name:
        folder = Path(name)
        spent = {
            "175 patterns as sheets": least(
                lambda: [patterns.full_size(shape, plank, bench) for plank, shape in planks], 2
            ),
            "175 patterns made and written to dxf": least(
                lambda: patterns.write_folder(planks, bench, folder), 2
            ),
            "one pattern to a roll": least(
                lambda: pdf.write(patterns.roll(sheets[0]), folder / "a.pdf")
            ),
            "one pattern to A4 tiles": least(
                lambda: pdf.write(patterns.tiles(sheets[0], "A4"), folder / "b.pdf")
            ),
            "175 tickets as sheets": least(
                lambda: [page for plank, shape in planks for page in
                         ticket.ticket(shape, plank, bench)], 1
            ),
            "175 tickets to one pdf": least(lambda: ticket.write(tickets, folder / "c.pdf"), 1),
        }  # fmt: skip
    target = {"175 patterns made and written to dxf": 5.0}
    return [Row(f"bench: {what}", s, "s", target.get(what)) for what, s in spent.items()]
