"""The planking as it stands: what the shop, the boards and the papers go by.

Planks that hang or are cut are as they were cut, on a side that was divided anew the rest is by
the newest lining, and everything else as planned. *New* planks are those that are not as planned.

Not checked here: anything; the re-lining is looked over by `check_relined`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from ribband.butts.model import Layout, Ways
from ribband.lining.model import Lining
from ribband.planks import PlankRules, Shapes
from ribband.planks.model import Plank, PlankList
from ribband.planks.solve import only_these
from ribband.record.whole import SideLeft

__all__ = ["Present", "Stands", "as_it_stands"]


@dataclass(frozen=True, slots=True, eq=False)
class Stands:
    """How far each side has come and what is left of it, as it is kept."""

    sides: tuple[SideLeft, ...]

    @property
    def anew(self) -> bool:
        """Tell whether a side was divided anew."""
        return any(one.relined for one in self.sides)


@dataclass(frozen=True, slots=True, eq=False)
class Present:
    """The planking as it stands.

    starboard : its own lining, None where both sides are of one
    starboard_shapes : its own, None where mirrored
    ways, layouts : of each side divided anew, by its name
    new : names of the planks that are not as planned
    """

    lining: Lining
    starboard: Lining | None
    planks: PlankList
    shapes: Shapes
    starboard_shapes: Shapes | None
    laid: Mapping[str, tuple[Ways, Layout]]
    new: frozenset[str]

    @property
    def shaped(self) -> bool:
        """Tell whether any plank has a flat shape; of a repair to starboard, those there alone."""
        own = self.starboard_shapes.shapes if self.starboard_shapes else ()
        return bool(self.shapes.shapes or own)

    @property
    def anew(self) -> dict[str, Lining]:
        """The linings of the sides that were divided anew."""
        own = {"port": self.lining, "starboard": self.starboard or self.lining}
        return {side: own[side] for side in self.laid}


def as_it_stands(  # noqa: PLR0917 - the plan, and what came of it
    lining: Lining,
    planks: PlankList,
    shapes: tuple[Shapes, Shapes | None],
    stands: Stands | None,
    rules: PlankRules,
    unit: str,
) -> Present:
    """Give the planking as it stands; as planned where no side was divided anew."""
    port, starboard = shapes
    if stands is None or not stands.anew:
        return Present(lining, None, planks, port, starboard, {}, frozenset())
    sides = {one.side: one for one in stands.sides}
    own = {side: one.relined.lining for side, one in sides.items() if one.relined}
    listed = tuple(p for one in stands.sides for p in _planks(one, lining))
    made = only_these(listed, rules, unit)
    return Present(
        lining=own.get("port", lining),
        starboard=own.get("starboard", lining) if "starboard" in sides else None,
        planks=PlankList(
            made.planks, made.totals, made.by_side, made.by_strake, made.by_length, planks.findings
        ),
        shapes=_shapes(port, sides.get("port")),
        starboard_shapes=_shapes(starboard or port, sides.get("starboard")),
        laid={s: (o.relined.ways, o.relined.layout) for s, o in sides.items() if o.relined},
        new=frozenset(_new(stands.sides, planks.planks)),
    )


def _planks(one: SideLeft, lining: Lining) -> list[Plank]:
    """Give the planks of a side from the keel, and from forward in each strake."""
    rows = {strake.name: row for row, strake in enumerate(lining.strakes)}
    columns = {name: column for column, name in enumerate(lining.columns)}

    def place(plank: Plank) -> tuple[int, int]:
        return rows[plank.strake], columns[plank.fore]

    return sorted((*one.done, *one.planks), key=place)


def _shapes(planned: Shapes, one: SideLeft | None) -> Shapes:
    """Put the shapes of a side's new planks in place of those planned."""
    if one is None or one.relined is None:
        return planned
    own = {f"{p.strake}-{p.number}" for p in (*one.done, *one.planks)}
    by = {shape.name: shape for shape in planned.shapes if shape.name in own}
    by |= {shape.name: shape for shape in (*one.done_shapes, *one.shapes)}
    order = sorted(by.values(), key=lambda s: (s.strake, s.number))
    return Shapes(tuple(order), planned.findings)


def _new(sides: Sequence[SideLeft], planned: Sequence[Plank]) -> Iterator[str]:
    first = {plank.name for plank in planned}
    for one in sides:
        if one.relined is not None:
            yield from one.relined.changed
            later = {f"{one.side[0].upper()}{shape.name}" for shape in one.done_shapes}
            yield from later | ({plank.name for plank in one.done} - first)
