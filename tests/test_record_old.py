"""The old planking beside the new: place by place, and strake by strake."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from functools import cache

import made_books
from ribband.drawing.book import Book
from ribband.record import Got, OldNew, old_and_new, old_by_strake
from ribband.store.table_record import RECORD_SHAPES, filled_old
from ribband.survey.model import Cell, OldWidth

CELL = Cell("old_strakes.csv", 2, "width")
GOT = defaultdict(lambda: Got("", "larch", fastening="bronze screw 14"))


def old(strake: str, frame: str, **words: str) -> OldWidth:
    return OldWidth("port", strake, frame, 150.0, 38.0, CELL, **words)


@cache
def book() -> Book:
    return made_books.book()


def set_beside(*recorded: OldWidth, without: str = "") -> tuple[OldNew, ...]:
    planks = [p for p in book().planks.planks if p.strake != without]
    linings = {"port": book().lining, "starboard": book().lining}
    return old_and_new(recorded, linings, planks, GOT)


def test_a_place_is_set_beside_the_plank_that_crosses_it_now() -> None:
    (row,) = set_beside(old("4", "12", timber="pitch pine", fastening="iron nails",
                            condition="soft"))  # fmt: skip
    plank = next(p for p in book().planks.planks if p.name == row.plank)
    assert (plank.side, plank.strake) == ("port", "4")
    assert row.new_mm == float(book().lining.width_mm[3, book().lining.columns.index("12")])
    assert row.new_thick_mm == plank.dressed_mm
    assert (row.old_timber, row.new_timber) == ("pitch pine", "larch")
    assert (row.old_fastening, row.new_fastening) == ("iron nails", "bronze screw 14")
    assert row.condition == "soft"
    assert not row.stays


def test_where_no_new_plank_is_the_old_one_stays_and_past_the_end_there_is_none() -> None:
    stays, none = set_beside(old("4", "12"), old("40", "12"), without="4")
    assert stays.stays
    assert (stays.plank, stays.new_timber, stays.new_fastening) == ("", "", "")
    assert (none.new_mm, none.stays) == (None, False)


def test_a_butt_on_a_block_leaves_its_frame_to_the_plank_forward_of_it() -> None:
    fore, aft = [p for p in book().planks.planks if p.side == "port" and p.strake == "4"][:2]
    fore, aft = replace(fore, aft_landing="block"), replace(aft, fore_landing="block")
    linings, where = {"port": book().lining}, [old("4", fore.aft)]
    (both,) = old_and_new(where, linings, (aft, fore), GOT)
    assert both.plank == fore.name
    (alone,) = old_and_new(where, linings, (aft,), GOT)
    assert alone.stays
    on_frame = replace(aft, fore_landing="frame")
    (met,) = old_and_new(where, linings, (on_frame,), GOT)
    assert met.plank == aft.name


def test_strakes_are_gathered_with_frames_where_they_differ() -> None:
    rows = set_beside(
        old("4", "4", timber="oak", condition="sound"),
        old("4", "12", timber="oak", condition="soft"),
        old("4", "22", timber="oak"),
    )
    half = replace(rows[2], plank="", new_timber="", new_fastening="")
    (own,) = old_by_strake([*rows[:2], half])
    assert own.old_timber == "oak"
    assert own.condition == "sound (4); soft (12)"
    assert own.new_timber == "larch where renewed"
    assert own.old_thick_mm == (38.0,)
    (kept,) = old_by_strake([replace(row, plank="") for row in rows])
    assert (kept.new_timber, kept.new_fastening) == ("stays", "stays")


def test_where_only_widths_were_recorded_no_table_is_made() -> None:
    bare = replace(old("4", "4"), thickness_mm=None)
    assert old_by_strake(set_beside(bare)) == ()


def test_the_table_has_a_row_a_place() -> None:
    rows = filled_old(set_beside(old("4", "12", timber="pitch pine")))["old_planking"]
    shape = next(s for s in RECORD_SHAPES if s.name == "old_planking")
    told = dict(zip((c.name for c in shape.columns), rows[0], strict=True))
    assert (told["strake"], told["frame"], told["old_timber"]) == ("4", "12", "pitch pine")
    assert told["new_timber"] == "larch"
