"""What a lining says for itself: reasons, what binds, the next best, and what is in doubt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ribband.findings import Finding, Severity
from ribband.hull.model import Floats
from ribband.lining.blanks import blank_area_m2
from ribband.lining.division import strakes_of
from ribband.lining.groups import master_of
from ribband.lining.model import KEPT_MM, POINT_MM, Alternative, Bind, Wish
from ribband.lining.places import frame_named, frames_named
from ribband.lining.search import Asked, Count, Found, tried, unlike
from ribband.lining.solve import Settled
from ribband.lining.task import columns_of, say
from ribband.lining.terms import seam_curvature
from ribband.lining.words import Words
from ribband.units import counted

__all__ = ["alternatives", "binds", "blanks_m2", "doubts", "findings", "reasons"]

_LITTLE_MM = 0.1  # a width off by less is not what stands in the way
_BUMP_PER_M = 0.015  # a given line that turns less than this is not called bumpy


def reasons(asked: Asked, count: Count, best: Found, found: Sequence[Found]) -> tuple[str, ...]:
    """Say why there are so many strakes and stealers."""
    limits = asked.limits
    words = _words(asked)
    asks = f"over {words.length(limits.greatest)}, the greatest width, rounded up, asks for"
    said = [f"Greatest girth {words.length(count.midship_mm)} {asks} {count.by_girth} strakes."]
    if count.by_roundness > count.by_girth:
        said.append(
            f"The round of the bilge, backed out no more than {words.small(limits.hollow)}, asks "
            f"for {count.by_roundness} (frame {count.at})."
        )
    given = [w for w in asked.wishes if w.kind == "strakes"]
    if given:
        said.append(f"{best.strakes} strakes were asked for.")
    elif best.strakes > count.fewest:
        said.append(_why_more(asked, found, best))
    if not given:
        said.append(_why_not_more(found, best))
    said.append(_why_stealers(asked, best, found))
    s = best.settled
    said.append(_master_line(asked, s))
    said.append(
        f"Seams sweep {words.sweep(s.sweep_rms_per_m)} (root mean square); strakes are "
        f"{words.length(_narrowest(s))} to {words.length(_widest(s))} wide."
    )
    return tuple(s for s in said if s)


def alternatives(asked: Asked, best: Found, found: Sequence[Found]) -> tuple[Alternative, ...]:
    """Give the two next best divisions."""
    others = [f for f in unlike(found) if f.kind != best.kind]
    return tuple(_alternative(asked, f, best) for f in others[:2])


def binds(asked: Asked, best: Found, most: int = 6) -> tuple[Bind, ...]:
    """Say which limits hold the lining where it is, the hardest first."""
    s, hull = best.settled, asked.ground.hull
    names = [k.name for k in strakes_of(s.division, hull)]
    columns = columns_of(hull)
    rows: list[tuple[float, Bind]] = []
    for k in range(len(names)):
        for what, force in _limit_forces(s, k).items():
            at = np.flatnonzero(force > 0)
            if not len(at):
                continue
            where = f"strake {names[k]}, {frames_named(columns, at.tolist())}"
            part = _gain(asked, s, float(force.sum()))
            rows.append((part, Bind(what, where, _ease(asked, what, part))))
    for number, held in _wish_forces(s):
        wish = s.task.wishes[number]
        rows.append((_gain(asked, s, held), Bind(say(wish), wish.frame, _give_up(asked, s, held))))
    rows.sort(key=lambda row: -row[0])
    return tuple(bind for part, bind in rows[:most] if part > 1e-3)


def blanks_m2(asked: Asked, s: Settled) -> float:
    """Estimate the area of one side's blanks, m2."""
    fine = s.fraction.shape[1] == len(asked.ground.u)
    return blank_area_m2(
        asked.ground if fine else asked.coarse, s.fraction, s.cut.spots, asked.rules
    )


def findings(asked: Asked, best: Found) -> tuple[Finding, ...]:
    """Say what is in doubt, and what to give up where limits could not be kept."""
    kept = best.settled.over_mm <= KEPT_MM
    return (*doubts(asked, best), *(() if kept else _what_to_give_up(asked, best)))


def doubts(asked: Asked, best: Found) -> tuple[Finding, ...]:
    """Say what is in doubt, without trying what might be given up."""
    said: list[Finding] = []
    if not asked.ground.hull.in_space:
        says = (
            "only girths are known: seams are fair on the planking expansion, not in space; widths "
            "are along the frame, and where a strake leans on it the plank comes out narrower"
        )
        said.append(Finding("L020", Severity.NOTE, "lining", "whole side", says))
    if best.settled.over_mm > KEPT_MM:
        said.append(_not_kept(asked, best))
    said += _less_than_least(asked, best)
    said += _given_lines(asked, best)
    return tuple(said)


def _words(asked: Asked) -> Words:
    return Words(asked.ground.hull.particulars.unit)


def _widest(s: Settled) -> float:
    return float(np.max(s.cut.width[s.cut.whole]))


def _narrowest(s: Settled) -> float:
    """Least of the full widths; a strake that ends in a point has none there."""
    return float(np.min(s.cut.width[s.cut.whole & (s.cut.width >= POINT_MM)]))


def _why_not_more(found: Sequence[Found], best: Found) -> str:
    """Say why a division that runs fairer was not taken: each strake more costs work."""
    fairer = [
        f
        for f in found
        if f.strakes > best.strakes and f.settled.cost < best.settled.cost and f.kept
    ]
    if not fairer:
        return ""
    one = min(fairer, key=lambda f: f.settled.cost)
    return (
        f"{one.strakes} strakes would run fairer (cost {one.settled.cost:.3g} against "
        f"{best.settled.cost:.3g}), but a strake more is more seams to caulk and planks to hang, "
        "and is reckoned dearer than that (rule weight_strake)."
    )


def _why_more(asked: Asked, found: Sequence[Found], best: Found) -> str:
    fewer = [f for f in found if f.strakes < best.strakes]
    if not fewer:
        return ""
    other = min(fewer, key=lambda f: f.score)
    if not other.kept:
        off = _words(asked).small(other.settled.over_mm)
        return f"{other.strakes} strakes cannot keep the limits (off by {off})."
    better = 100.0 * (1.0 - best.settled.cost / other.settled.cost)
    return f"{best.strakes} strakes lie {better:.0f} % fairer and evener than {other.strakes}."


def _why_stealers(asked: Asked, best: Found, found: Sequence[Found]) -> str:
    if not best.stealers:
        return ""
    if any(w.kind == "stealer" for w in asked.wishes):
        return "The stealers are as asked for."
    plain = [f for f in found if not f.stealers and f.strakes == best.strakes]
    if plain and not plain[0].kept:
        off = _words(asked).small(plain[0].settled.over_mm)
        return f"Without stealers the widths would be off the limits by {off} at the ends."
    return "Stealers let the ends keep a better width."


def _master_line(asked: Asked, s: Settled) -> str:
    """Say how fair the master line lies, against the seams on either side of it."""
    name = master_of(asked.wishes)
    if not name:
        return ""
    given = sum(w.kind == "master" and w.strake == name for w in asked.wishes)
    names = [k.name for k in strakes_of(s.division, asked.ground.hull)]
    row, sweep = names.index(name) + 1, _sweeps(s)
    beside = [sweep[r] for r in (row - 1, row + 1) if 0 < r < len(sweep) - 1]
    words = _words(asked)
    at = counted(given, "frame")
    said = f"The master line above strake {name}, given at {at} and fair between, rounds"
    said += f" {words.sweep(sweep[row])} (root mean square)"
    return f"{said}; the seams beside it {words.sweep(max(beside))}." if beside else f"{said}."


def _sweeps(s: Settled) -> Floats:
    """Root mean square of each seam's curvature (R,), 1/m; 0 for rabbet and sheer."""
    value, run = seam_curvature(s.cut.spots)
    own = np.vstack([np.ones((1, value.shape[1] + 2), bool), s.division.present()])
    there = own[:, :-2] & own[:, 1:-1] & own[:, 2:]
    mean = np.sum(np.where(there, value**2 * run, 0.0), axis=1) / np.sum(there * run, axis=1)
    each: Floats = 1000.0 * np.sqrt(mean)
    each[[0, -1]] = 0.0
    return each


def _alternative(asked: Asked, other: Found, best: Found) -> Alternative:
    a, b = other.settled, best.settled
    words = _words(asked)
    parts = [
        f"sweep {words.sweep(a.sweep_rms_per_m)} against {words.sweep(b.sweep_rms_per_m)}",
        f"widths {words.length(_narrowest(a))} to {words.length(_widest(a))}",
        f"cost {100 * (a.cost / max(b.cost, 1e-12) - 1):+.0f} %",
    ]
    blanks, own = blanks_m2(asked, a), blanks_m2(asked, b)
    saved = own - blanks
    if abs(saved) > 0.002 * own:
        part, way = 100 * abs(saved) / own, "less" if saved > 0 else "more"
        parts.append(f"about {part:.1f} % {way} timber in the blanks")
    if not other.kept:
        parts.append(f"limits off by {words.small(a.over_mm)}")
    stealers = len(other.stealers)
    head = f"{other.strakes} strakes" + (
        f", {stealers} of them {'a stealer' if stealers == 1 else 'stealers'}" if stealers else ""
    )
    return Alternative(
        other.strakes, stealers, a.cost, a.sweep_rms_per_m, _widest(a), _narrowest(a),
        f"{head}: {'; '.join(parts)}.", blanks, saved,
    )  # fmt: skip


def _limit_forces(s: Settled, k: int) -> dict[str, Floats]:
    """Sort the forces on strake k by kind of limit, (C,)."""
    high, low = s.forces.greatest[k], s.forces.least[k]
    backed = s.greatest[k] < s.task.greatest[k] - 0.01
    wished = s.task.greatest_wish[k] >= 0
    return {
        "backing out": np.where(backed, high, 0.0),
        "greatest width": np.where(~backed & ~wished, high, 0.0),
        "greatest width asked for": np.where(~backed & wished, high, 0.0),
        "least width": low,
    }


def _wish_forces(s: Settled) -> list[tuple[int, float]]:
    pairs = [*zip(s.task.girths.wish, s.forces.girths, strict=True)]
    pairs += [*zip(s.task.widths.wish, s.forces.widths, strict=True)]
    return [(int(number), abs(float(force))) for number, force in pairs]


def _gain(asked: Asked, s: Settled, force: float) -> float:
    """Part of the cost that a little ease would gain, to first order; at most all of it."""
    gain = 2.0 * force * _words(asked).ease_mm / max(s.division.whole - 1, 1)
    return min(gain / max(s.cost, 1e-4), 1.0)


def _ease(asked: Asked, what: str, part: float) -> str:
    way = "less" if what == "least width" else "more"
    return f"{_words(asked).ease} {way} would lower the cost by about {100 * part:.1f} %"


def _give_up(asked: Asked, s: Settled, force: float) -> str:
    part = 100 * _gain(asked, s, force)
    return f"{_words(asked).ease} of ease would lower the cost by about {part:.1f} %"


def _place(asked: Asked, s: Settled, off: Floats) -> tuple[int, int, str]:
    """Give where a table (S, C) is greatest: row, column, and in words."""
    k, c = (int(i) for i in np.unravel_index(int(np.argmax(off)), off.shape))
    hull = asked.ground.hull
    name, column = strakes_of(s.division, hull)[k].name, columns_of(hull)[c]
    return k, c, f"strake {name}, {frame_named(column)}"


def _off_limits(s: Settled) -> tuple[Floats, Floats]:
    """How much wider than allowed each strake is, and how much too narrow, (S, C), mm."""
    wide = np.where(s.cut.there, s.cut.width - np.minimum(s.greatest, 1e9), 0.0)
    narrow = np.where(s.cut.there, s.least - s.cut.width, 0.0)
    return wide, narrow


def _not_kept(asked: Asked, best: Found) -> Finding:
    s = best.settled
    words = _words(asked)
    wide, narrow = _off_limits(s)
    over = wide.max() >= narrow.max()
    kind, off = ("wider than allowed", wide) if over else ("too narrow", narrow)
    k, c, where = _place(asked, s, off)
    if off[k, c] < _LITTLE_MM:
        where, kind = "wishes", "held points or widths do not agree"
    says = (
        f"the limits and wishes cannot all be kept: {kind}, off by {words.small(s.over_mm)} at most"
    )
    return Finding("L021", Severity.FAULT, "lining", where, says)


def _what_to_give_up(asked: Asked, best: Found, most: int = 4) -> list[Finding]:
    """Try without each wish that pushes, and then each rule, and say what it would gain."""
    said = _other_numbers(asked, best)
    for number in _suspects(best.settled)[:most]:
        wish = asked.wishes[number]
        left = tuple(w for i, w in enumerate(asked.wishes) if i != number)
        without = tried(replace(asked, wishes=left), best.settled.division.whole, best.stealers)
        said.append(_without(asked, say(wish), wish, best, without))
    if any(f.severity is Severity.CAUTION for f in said):
        return said
    return said + _rules_to_ease(asked, best)


def _other_numbers(asked: Asked, best: Found) -> list[Finding]:
    """Where the number of strakes was asked for: the nearest number that keeps everything."""
    if not any(w.kind == "strakes" for w in asked.wishes):
        return []
    wide, narrow = _off_limits(best.settled)
    steps = (1, 2, 3, 4) if wide.max() >= narrow.max() else (-1, -2)
    left = tuple(w for w in asked.wishes if w.kind != "strakes")
    for step in steps:
        whole = best.settled.division.whole + step
        without = tried(replace(asked, wishes=left), whole, best.stealers)
        if without.kept:
            says = f"with {without.strakes} strakes everything else can be kept"
            return [Finding("L022", Severity.CAUTION, "lining", "number of strakes", says)]
    return []


def _suspects(s: Settled) -> list[int]:
    force = dict.fromkeys(range(len(s.task.wishes)), 0.0)
    for number, f in _wish_forces(s):
        force[number] += f
    marks = ((s.task.least_wish, s.forces.least), (s.task.greatest_wish, s.forces.greatest))
    for mark, push in marks:
        for number in np.unique(mark[mark >= 0]):
            force[int(number)] += float(push[mark == number].sum())
    return sorted((n for n in force if force[n] > 0), key=lambda n: -force[n])


def _without(asked: Asked, what: str, wish: Wish, best: Found, without: Found) -> Finding:
    words = _words(asked)
    if without.kept:
        says = "give this up and everything else can be kept"
        return Finding("L022", Severity.CAUTION, "lining", what, says, wish.note)
    says = (
        f"without it the rest is off by {words.small(without.settled.over_mm)} "
        f"instead of {words.small(best.settled.over_mm)}"
    )
    return Finding("L022", Severity.NOTE, "lining", what, says, wish.note)


def _rules_to_ease(asked: Asked, best: Found) -> list[Finding]:
    """Say what the rules themselves would have to be."""
    s, words = best.settled, _words(asked)
    wide, narrow = _off_limits(s)
    said = []
    for kind, way, force, off in (
        ("least", "less", s.forces.least, narrow),
        ("greatest", "more", s.forces.greatest, wide),
    ):
        most = float(off.max())
        if force.sum() > 0 and most > _LITTLE_MM:
            says = (
                f"{words.small(most)} {way} on the {kind} width would let everything be kept here"
            )
            said.append(Finding("L023", Severity.CAUTION, "lining", f"{kind}_width", says))
    return said


def _less_than_least(asked: Asked, best: Found) -> list[Finding]:
    """Where the backing out asked for strakes narrower than the least, and had to yield."""
    s, words = best.settled, _words(asked)
    hollow = np.where(s.cut.whole, s.cut.rise, 0.0)
    if hollow.max() <= asked.limits.hollow * 1.01 + 0.05:
        return []
    k, c, where = _place(asked, s, hollow)
    says = (
        f"backed out {words.small(float(hollow[k, c]))}, more than the "
        f"{words.small(asked.limits.hollow)} allowed: the least width forbids a narrower strake; "
        f"thicker stock is needed here"
    )
    return [Finding("L024", Severity.CAUTION, "lining", where, says)]


def _given_lines(asked: Asked, best: Found) -> list[Finding]:
    """Report bumps in lines given by hand: they spread to the neighbours."""
    s, words = best.settled, _words(asked)
    bump = _bumps(s)
    usual = float(np.median(bump[1:-1]))
    said = []
    for row in np.unique(s.task.girths.at):
        if not 0 < row < len(bump) - 1 or bump[row] <= max(2.5 * usual, _BUMP_PER_M):
            continue
        wish = s.task.wishes[int(s.task.girths.wish[s.task.girths.at == row][0])]
        says = (
            f"the line as given has a bump: in one place it rounds {words.sweep(bump[row])} more "
            "than on either side of it; sight along it before using it"
        )
        where = f"seam above strake {wish.strake}"
        said.append(Finding("L025", Severity.CAUTION, "lining", where, says))
    return said


def _bumps(s: Settled) -> Floats:
    """How much each seam (R,) turns in its worst place more than a twelfth of it away, 1/m."""
    value = 1000.0 * seam_curvature(s.cut.spots)[0]
    apart = max(value.shape[1] // 12, 2)
    if value.shape[1] <= 2 * apart:  # too few lines to tell a bump
        return np.zeros(len(value))
    middle = value[:, apart:-apart]
    off = np.abs(middle - (value[:, : -2 * apart] + value[:, 2 * apart :]) / 2)
    most: Floats = off.max(axis=1)
    return most
