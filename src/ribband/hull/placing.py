"""Stations at a wrong position, columns exchanged and columns out as wholes, looked for together.

One mistake can look like another: a station set down wrong bulges as a column read wrong does, and
two good ones beside it look out the other way. So all are put in one order, by how much leaving
them out settles the rest, tried in earnest on a surface faired without them, and the first that
is borne out is left out; then all is looked at again. Where one station and two beside it would
explain the same thing, and neither far better, none is left out: it is said.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Generic, Protocol, TypeVar

from ribband.errors import InputError
from ribband.hull.bodily import Bodily, borne_out, in_order, standing_out
from ribband.hull.edges import Edges
from ribband.hull.leaveout import LeaveOut
from ribband.hull.misplaced import (
    Misplaced,
    left_out,
    paired,
    proven,
    settling,
    spoken_for,
    suspects,
)
from ribband.hull.patch import Patch
from ribband.hull.sections import KINDS, Points
from ribband.survey.model import Decision, Reading, bodily_key

__all__ = ["Placed", "place"]

_TRIES = 5  # stations or pairs left out in earnest
_PLAINER = 0.5  # of what an exchange of two leaves must two out as wholes leave, to be believed
_NEARLY = 1.25  # times what the best leaves unsettled

_OutOfPlace = dict[str, "Misplaced | tuple[Bodily, ...]"]


class _Faired(Protocol):
    """A fit that is begun: what stations out of place are looked for on."""

    @property
    def surface(self) -> tuple[Points, Patch, LeaveOut, Edges]: ...


B = TypeVar("B", bound=_Faired)


@dataclass(frozen=True, eq=False)
class Placed(Generic[B]):
    """A fit begun without the stations at a wrong position and those out as a whole.

    unsure : pairs that may be out as wholes, each with the one station that may be instead
    """

    begun: B
    misplaced: tuple[Misplaced, ...]
    bodily: tuple[Bodily, ...]
    unsure: Mapping[tuple[str, ...], tuple[str, ...]]


def place(
    begin: Callable[[tuple[Reading, ...]], B],
    readings: tuple[Reading, ...],
    said: dict[str, Decision],
    tolerance_mm: float,
    borne: frozenset[str] = frozenset(),
) -> Placed[B]:
    """Begin a fit, by `begin`, without stations at a wrong position or out as wholes.

    borne : stations borne out by the other side, which are not out as wholes

    Raises
    ------
    InputError : as `begin` does of all readings
    """
    search = _Search(begin, readings, tolerance_mm, begin(readings), {}, {})
    names = {r.station for r in readings}
    spoken = spoken_for(said, names)
    sure = {s for s, decision in spoken.items() if decision != "accept"}
    told = borne | {s for s in names if _told(s, readings, said)}
    tries = _TRIES
    while tries > 0:
        groups = standing_out(search.begun.surface, sure | told, tolerance_mm)
        whole = [g for group in groups if (g := search.with_fellow(group))]
        moved = suspects(search.begun.surface, sure, tolerance_mm)
        took = search.round(whole, moved, tries)
        tries = tries - took if took else 0
    return search.placed()


@dataclass(eq=False)
class _Search(Generic[B]):
    """The search as far as it has come.

    begun : the fit without what is `out`; unsure : as in `Placed`
    """

    begin: Callable[[tuple[Reading, ...]], B]
    readings: tuple[Reading, ...]
    tolerance_mm: float
    begun: B
    out: _OutOfPlace
    unsure: dict[tuple[str, ...], tuple[str, ...]]

    def round(
        self, whole: Sequence[tuple[str, ...]], moved: Sequence[tuple[str, ...]], tries: int
    ) -> int:
        """Leave out the first that is borne out; give how many were tried, 0 if none was."""
        pairs = [pair for pair in whole if len(pair) == 2]
        vain: list[tuple[str, ...]] = []
        for count, group in enumerate(_in_turn(self.begun, whole, moved)[:tries], start=1):
            found = self.tried(group, group in whole, group in moved)
            if found is None or not found.explained:
                vain += [group] if found and group in pairs else []
                continue
            near = [p for p in pairs if len(group) == 1 and self.touching(group, p)]
            rival = next((p for p in near if p in vain), None)
            best = None if rival else self.better(found, near)
            if best is None:
                self.unsure[rival or near[0]] = group
                continue
            self.out |= best.explained
            self.begun = best.without
            return count
        return 0

    def tried(self, group: tuple[str, ...], whole: bool, moved: bool) -> _Tried[B] | None:
        """Fair the surface without a station or a pair, and see what it is out by."""
        gone = {*self.out, *group}
        try:
            without = self.begin(tuple(r for r in self.readings if r.station not in gone))
        except InputError:  # too little is left to judge by
            return None
        if self.led_astray(without.surface[3]).intersection(group):
            return None
        taken = {s: [r for r in self.readings if r.station == s] for s in group}
        places = proven(without.surface, taken, self.tolerance_mm) if moved else {}
        off = _bodily(without, taken, self.tolerance_mm) if whole else {}
        return _Tried(group, without, places, off)

    def better(self, one: _Tried[B], near: Sequence[tuple[str, ...]]) -> _Tried[B] | None:
        """Choose between one station and two by it that may be out instead; None: not to be told.

        Only two whose leaving out settles the rest nearly as well are tried.
        """
        surface = self.begun.surface[:3]
        as_well = _NEARLY * settling(*surface, one.group)
        close = [pair for pair in near if settling(*surface, pair) < as_well]
        two = self.tried(close[0], whole=True, moved=False) if close else None
        if two is None or not two.off:
            return one
        if two.unrest < one.unrest / _NEARLY:
            return two
        return one if one.unrest < two.unrest / _NEARLY else None

    @cached_property
    def order(self) -> list[str]:
        """Give the stations from forward aft."""
        return list(dict.fromkeys(r.station for r in sorted(self.readings, key=lambda r: r.x_mm)))

    def led_astray(self, edges: Edges) -> set[str]:
        """Give the stations about a corner too doubtful to judge them by, and the next beyond.

        The surface is held to the rabbet, so where its corner is taken wrong good stations lie out.
        One that is itself the cause leaves the corner sure once it is left out.
        """
        x = {r.station: r.x_mm for r in self.readings}
        found: set[str] = set()
        for fore, aft in edges.astray:
            inside = [k for k, s in enumerate(self.order) if fore <= x[s] <= aft]
            before = sum(x[s] < fore for s in self.order)
            reach = (min(inside, default=before) - 1, max(inside, default=before - 1) + 1)
            found |= set(self.order[max(reach[0], 0) : reach[1] + 1])
        return found

    def touching(self, group: tuple[str, ...], pair: tuple[str, ...]) -> bool:
        """Tell whether a station is one of a pair or stands next to it."""
        at = self.order.index
        return min(abs(at(a) - at(b)) for a in group for b in pair) <= 1

    def with_fellow(self, group: tuple[str, ...]) -> tuple[str, ...]:
        """Give a station that stands out beside one left out already with that one, to be tried.

        Left out alone, the first was held where it is by the second. () where it cannot be tried.
        """
        fellows = [s for s in self.out if self.touching(group, (s,))]
        if not fellows:
            return group
        whole = [s for s in fellows if isinstance(self.out[s], tuple)]
        alone = len(group) == len(whole) == len(fellows) == 1
        return in_order(whole[0], group[0]) if alone else ()

    def placed(self) -> Placed[B]:
        """Give what was found."""
        places = {s: m for s, m in self.out.items() if isinstance(m, Misplaced)}
        whole = tuple(b for m in self.out.values() if isinstance(m, tuple) for b in m)
        left = {p: one for p, one in self.unsure.items() if not set(self.out) & {*p, *one}}
        return Placed(self.begun, paired(places), whole, left)


@dataclass(frozen=True, eq=False)
class _Tried(Generic[B]):
    """A station or a pair left out in earnest: the fit without it, and what it is out by."""

    group: tuple[str, ...]
    without: B
    moved: dict[str, Misplaced]
    off: dict[str, tuple[Bodily, ...]]

    @property
    def explained(self) -> _OutOfPlace:
        """Give what it is out by, as a whole or by its position; nothing if by neither."""
        return {**(self.off if _as_a_whole(self.off, self.moved) else self.moved)}

    @property
    def unrest(self) -> float:
        """Say how far the stations that are left lie out, left out in their turn."""
        points, patch, trial, _ = self.without.surface
        return sum(one.before_mm for one in left_out(points, patch, trial))


def _in_turn(
    begun: B, whole: Sequence[tuple[str, ...]], moved: Sequence[tuple[str, ...]]
) -> list[tuple[str, ...]]:
    """Give what is tried, one after another: first what settles the rest most, of either kind.

    Two columns exchanged stand out as wholes as well, and are tried as the pair they are.
    """
    heads = dict.fromkeys((*whole[:1], *moved[:1]))
    if len(heads) > 1:
        heads = dict.fromkeys(sorted(heads, key=lambda group: settling(*begun.surface[:3], group)))
    return list(dict.fromkeys((*heads, *whole, *moved)))


def _bodily(
    without: B, taken: dict[str, list[Reading]], tolerance_mm: float
) -> dict[str, tuple[Bodily, ...]]:
    """Tell if all stations `taken` out are out as a whole; nothing if one of them is not."""
    found = {
        station: borne_out(without.surface, readings, tolerance_mm, len(taken))
        for station, readings in taken.items()
    }
    return found if all(found.values()) else {}


def _as_a_whole(off: Mapping[str, tuple[Bodily, ...]], moved: Mapping[str, Misplaced]) -> bool:
    """Tell whether stations are out as wholes rather than at a wrong position.

    That two are exchanged leaves nothing to choose, not even by how much: it need not fit as well.
    """
    if not off or not moved:
        return bool(off)
    as_well = _PLAINER if len(moved) == 2 else 1.0
    left = sum(found[0].after_mm for found in off.values())
    return left <= as_well * sum(m.after_mm for m in moved.values())


def _told(station: str, readings: tuple[Reading, ...], said: dict[str, Decision]) -> bool:
    """Tell if the shipwright has spoken of a column as a whole, other than to leave it out."""
    sides = {r.side for r in readings if r.station == station}
    keys = {bodily_key(kind, station, side) for kind in KINDS for side in sides}
    return any(said[key].decision != "accept" for key in keys & set(said))
