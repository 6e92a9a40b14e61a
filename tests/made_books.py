"""Books made from made hulls: everything by hand, so that pages can be tried without the stages."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from functools import cache

import numpy as np

import made_hulls
from made_planking import even_lining, stepped_layout, ways_of
from ribband.butts.model import Butt, Goal, Layout
from ribband.butts.rules import rule_sets, shown
from ribband.drawing.book import Book, Proof
from ribband.drawing.views.expansion import expansion
from ribband.findings import Finding, Severity
from ribband.hull.model import Doubt, Hull, SideDifference
from ribband.lining.model import Alternative, Bind, Lining
from ribband.lining.rules import LiningRules
from ribband.planks import PlankRules, list_planks
from ribband.record import Got, old_and_new
from ribband.rulebook import describe
from ribband.survey.model import Cell, OldButt, OldFastening, OldWidth, Survey
from ribband.timber import species_named
from ribband.units import format_length

CALLED = {1: "garboard", 2: "first broad", 3: "second broad"}


@cache
def launch_hull(frames: int = 44) -> Hull:
    return made_hulls.launch(frames)


def named(hull: Hull, unit: str) -> Hull:
    """Give the hull the particulars a yard would, some doubts, gaps and differing sides."""
    p = replace(
        hull.particulars,
        vessel="Marl Heron",
        unit=unit,
        yard="Ebbmere Slip",
        built="1934",
        measured_by="the slip's loftsman",
        measured_on="2026-03-14",
        species="white oak",
        more=(("Length", "55-9-2"), ("Beam", "13-9-3")) if unit == "ft-in-8ths" else (),
    )
    basis = tuple("between" if i in {6, 7, 20} else "faired" for i in range(len(hull.marks)))
    frames = replace(hull.frames, basis=basis)
    sides = tuple(
        SideDifference(n, 14.0 * np.sin(i / 5), 8.0 + 9.0 * np.cos(i / 6) ** 2, "turn of the bilge")
        for i, n in enumerate(hull.frames.names)
    )
    return replace(hull, particulars=p, frames=frames, doubts=doubts(unit), sides=sides, rms_mm=2.1)


def doubts(unit: str) -> tuple[Doubt, ...]:
    def one(frame: str, line: str, value: float, off: float, why: str, decision: str) -> Doubt:
        typed = format_length(value, unit)
        key = f"offsets {line} {frame}"
        return Doubt(key, frame, line, typed, value, value - off, off, why, decision,
                     "offsets.csv", 7, f"station {frame}")  # fmt: skip

    return (
        one("12", "waterline 3", 1108.1, 25.9, "an inch", ""),
        one("23", "buttock 2", 911.2, -304.1, "a foot", ""),
        one("31", "diagonal 1", 1622.4, 6.1, "two eighths", "keep"),
    )


FINDINGS = (
    Finding("S014", Severity.NOTE, "survey", "frames 7 and 8", "No readings; the frames were "
            "boxed in by the tanks.", "The girths are faired in between."),
    Finding("H003", Severity.CAUTION, "hull", "frame 23, buttock 2", "A reading lies 304.1 mm "
            "out.", "A foot misread would account for it."),
    Finding("L011", Severity.CAUTION, "lining", "strake 9, frames 18 to 22", "Wider than can be "
            "backed out of the rough plank.", "Hollow of 7 mm wanted, 6 mm to be had."),
    Finding("P004", Severity.CAUTION, "planks", "the plank list", "The heaviest plank wants the "
            "lift planned.", "Local safety rules come first.", "niosh-94-110"),
)  # fmt: skip
FAULT = Finding("B002", Severity.FAULT, "butts", "strakes 4 and 5, frame 19",
                "Butts of adjacent strakes stand three frame spaces apart.",
                "The rule asks for four.", "common-practice")  # fmt: skip


def lined(hull: Hull, strakes: int) -> Lining:
    lining = even_lining(hull, strakes)
    called = tuple(
        replace(s, called=CALLED.get(i + 1, "sheer strake" if i == strakes - 1 else "topsides"))
        for i, s in enumerate(lining.strakes)
    )
    return replace(
        lining,
        strakes=called,
        cost=14.2,
        sweep_rms_per_m=0.0153,
        reasons=(
            f"{strakes} strakes keep the widest under the greatest width with 4 mm to spare.",
            "One strake fewer would have to be backed out more than the rough plank allows.",
        ),
        binds=(Bind("greatest width amidships", "strakes 6 to 8, frames 17 to 25",
                    "10 mm more would save a strake"),),
        alternatives=(
            Alternative(strakes - 1, 1, 14.9, 0.0161, 212.0, 71.0, "One plank fewer to hang on "
                        "each side; breaks the backing out at the bilge."),
            Alternative(strakes + 1, 0, 15.6, 0.0149, 181.0, 60.0, "Easier to hang, two more seams "
                        "to caulk."),
        ),
    )  # fmt: skip


def planned(layout: Layout) -> Layout:
    goals = (
        Goal("rules relaxed", 0, 0, proved=True),
        Goal("fewest butts", len(layout.butts), len(layout.butts) - 1, proved=False),
        Goal("fewest frames with more than one butt", 9, 7, proved=False),
    )
    return replace(layout, goals=goals, seconds=1.4)


def surveyed(hull: Hull, unit: str) -> Survey:
    cell = Cell("old_strakes.csv", 2, "width")
    return Survey(
        hull.particulars,
        hull.marks,
        old_widths=tuple(
            OldWidth("both", str(s), f, 150.0 + 3 * s, 38.0, cell)
            for s in (1, 4, 9)
            for f in ("4", "12", "22", "31", "40")
        ),
        old_butts=(
            OldButt("port", "4", "13", "block", cell),
            OldButt("both", "4", "27", "frame", cell),
        ),
        old_fastenings=(OldFastening("topsides", "copper nail, roved", "8", 88.9, "2", cell),),
    )  # fmt: skip


def rules(set_name: str = "house") -> dict:
    return {
        "lining": describe(LiningRules()),
        "butts": shown(rule_sets()[set_name]),
        "planks": describe(PlankRules()),
    }


def book(unit: str = "ft-in-8ths", strakes: int = 16, frames: int = 44) -> Book:
    """Marl Heron as a yard would have her: doubts, gaps, old planking, everything run."""
    hull = named(launch_hull(frames), unit)
    lining = lined(hull, strakes)
    ways = replace(ways_of(hull, lining), why_closed=(("", "20", "23", "engine bed"),))
    layout = planned(stepped_layout(ways))
    planks = list_planks(hull, lining, ways, layout, PlankRules(), species_named("white oak"))
    survey = surveyed(hull, unit)
    got = defaultdict(lambda: Got("", "white oak", fastening="copper nail 8"))
    sides = {"port": lining, "starboard": lining}
    return Book(
        survey=survey,
        hull=hull,
        lining=lining,
        ways=ways,
        layout=layout,
        planks=planks,
        rules=rules(),
        butt_set="house",
        findings=FINDINGS,
        sheets={"expansion": expansion(hull, lining, layout, planks)},
        old=old_and_new(survey.old_widths, sides, planks.planks, got),
        proofs=(Proof("fewest butts", 41, 40, proved=False, seconds=30.0, says="stopped on time"),),
        revision=3,
        when="2026-11-25 14:02",
        who="Lead shipwright",
        why="frame 23 measured again",
        inputs="9f2c41d07ab3e6",
        version="0.1.0",
    )


def taped(unit: str = "mm") -> Book:
    """Girths off a tape and nothing else: no space, no doubts, no old planking."""
    hull = made_hulls.tape()
    hull = replace(hull, particulars=replace(hull.particulars, unit=unit))
    lining = even_lining(hull, 12)
    ways = ways_of(hull, lining)
    layout = stepped_layout(ways)
    planks = list_planks(hull, lining, ways, layout, PlankRules(), None)
    return Book(Survey(hull.particulars, hull.marks), hull, lining, ways, layout, planks)


def butt(strake: int, landing: int) -> Butt:
    return Butt(strake, landing)
