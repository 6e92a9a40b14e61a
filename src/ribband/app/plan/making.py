"""Making each step's result: the one place where the stages are called.

*Bench*: what lies to hand when a step is made: the forms, the rules in force, the results of the
steps before it. *Made*: a step's result with everything its own checks found. Heavy stages are
imported when they are first needed.

Not checked here: whether a result is good; every stage's `check` is run and its findings kept.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from ribband.app.entering.wishes import located, spelt
from ribband.errors import InputError
from ribband.findings import Finding
from ribband.survey.rows import Form, Row

if TYPE_CHECKING:
    from ribband.butts.model import Layout, Ways
    from ribband.hull.model import Hull
    from ribband.lining.model import Lining
    from ribband.planks.model import PlankList
    from ribband.planks.opening import Opening
    from ribband.record.stands import Present
    from ribband.survey.model import Survey

__all__ = ["Bench", "Made", "Tell", "make", "on_its_boards", "rows_of"]

Tell = Callable[[float, str], None]


@dataclass(frozen=True, slots=True)
class Made:
    """A step's result and findings: its own, and what its check found."""

    result: Any
    findings: tuple[Finding, ...] = ()


def _nothing(_: str) -> None:
    """Give no result of an earlier state."""


@dataclass(slots=True)
class Bench:
    """What lies to hand; `made` fills up as steps are done."""

    forms: Mapping[str, Form]
    rules: Mapping[str, Any]
    unit: str
    seconds: float = 30.0
    seed: int = 0
    made: dict[str, Made] = field(default_factory=dict)
    before: Callable[[str], Any] = _nothing  # a step's result of an earlier state of the job
    unkept: str = ""  # why results are not kept, where there is no room for them
    _opened: dict[int, tuple[Layout, Opening]] = field(default_factory=dict)

    @property
    def survey(self) -> Survey:
        """The survey, once read."""
        survey: Survey = self.made["survey"].result
        return survey

    @property
    def hull(self) -> Hull:
        """The hull, once fair."""
        hull: Hull = self.made["hull"].result
        return hull

    @property
    def lining(self) -> Lining:
        """The lining out, once done."""
        lining: Lining = self.made["lining"].result
        return lining

    @property
    def butts(self) -> tuple[Ways, Layout, Layout | None]:
        """The butts: the problem, its answer, and starboard's own answer where staggered."""
        butts: tuple[Ways, Layout, Layout | None] = self.made["butts"].result
        return butts

    @property
    def present(self) -> Present:
        """The planking as it stands; as planned where nothing was divided anew."""
        from ribband.record.stands import as_it_stands

        stands = self.made["stands"].result if "stands" in self.made else None
        return as_it_stands(
            self.lining, self.made["planks"].result, self.made["shapes"].result, stands,
            self.rules["planks"], self.hull.particulars.unit,
        )  # fmt: skip

    def apart(self) -> Bench:
        """Give the bench without the way to earlier states, so that it can be sent elsewhere."""
        return replace(self, before=_nothing, _opened={})

    def opened(self, layout: Layout | None) -> Opening | None:
        """Give the planks' openings on the hull, once for list and shapes; None without surface."""
        from ribband.planks.opening import openings
        from ribband.planks.shapes import scarf_of

        if layout is None or not self.hull.in_space:
            return None
        if id(layout) not in self._opened:
            scarf = scarf_of(self.hull, self.rules["shapes"])
            ways = self.butts[0]
            found = openings(self.hull, self.lining, ways, layout, scarf_mm=scarf)
            self._opened[id(layout)] = layout, found  # the layout is kept, so its id stays its own
        return self._opened[id(layout)][1]


def rows_of(forms: Mapping[str, Form], name: str, unit: str) -> tuple[Row, ...]:
    """Give the typed rows of a form; none if there is no such form.

    Raises
    ------
    InputError : every cell that cannot be read
    """
    from ribband.survey import typed

    if name not in forms:
        return ()
    rows, problems = typed(forms[name], unit)
    if problems:
        raise InputError(problems)
    return rows


def make(step: str, bench: Bench, tell: Tell) -> Made:
    """Make one step's result.

    Raises
    ------
    InputError : the input cannot be used
    NotConverged : the computation did not settle
    """
    return _MAKERS[step](bench, tell)


def _survey(bench: Bench, tell: Tell) -> Made:
    from ribband.survey import read_survey

    survey = read_survey(dict(bench.forms))
    return Made(survey, survey.findings)


def _hull(bench: Bench, tell: Tell) -> Made:
    from ribband import hull as stage

    rules = bench.rules["hull"]
    hull = stage.fit(bench.survey, rules, progress=tell)
    return Made(hull, _joined(hull.findings, stage.check(hull, bench.survey, rules)))


def _lining(bench: Bench, tell: Tell) -> Made:
    from ribband import lining as stage

    rules = bench.rules["lining"]
    rows = spelt(rows_of(bench.forms, "lining", bench.unit), bench.hull.frames.names)
    wishes, old = stage.read_wishes(rows), bench.survey.old_widths
    with located(rows):
        lining = stage.line_out(bench.hull, rules, wishes, old, seed=bench.seed, progress=tell)
    told = (*stage.beside_old(lining, wishes, old), *lining.findings)
    return Made(lining, _joined(told, stage.check(bench.hull, rules, wishes, lining)))


def _butts(bench: Bench, tell: Tell) -> Made:
    from ribband import butts as stage

    rules = bench.rules["butts"]
    rows = spelt(rows_of(bench.forms, "butts", bench.unit), bench.hull.frames.names)
    stock = stage.read_stock(rows_of(bench.forms, "stock", bench.unit))
    with located(rows):
        ways = stage.ways(bench.hull, bench.lining, rules, stage.read_wishes(rows), stock)
    layout = stage.lay(ways, rules, seed=bench.seed, seconds=bench.seconds, progress=tell)
    found = _joined(layout.findings, stage.check(ways, rules, layout))
    other = None
    if rules.sides == "staggered":
        beyond = stage.other_side(ways, rules, layout)
        other = stage.lay(beyond, rules, seed=bench.seed, seconds=bench.seconds, progress=tell)
        found = _joined(found, other.findings, stage.check(beyond, rules, other))
        found = _joined(found, stage.check_sides(ways, rules, layout, other))
    return Made((ways, layout, other), found)


def _planks(bench: Bench, tell: Tell) -> Made:
    from ribband import planks as stage
    from ribband.app.plan.timbers import planking_timber

    ways, layout, other = bench.butts
    rules = bench.rules["planks"]
    species = planking_timber(bench)
    scarf = stage.scarf_of(bench.hull, bench.rules["shapes"])
    planks: PlankList = stage.list_planks(
        bench.hull, bench.lining, ways, layout, rules, species, other, scarf,
        (bench.opened(layout), bench.opened(other)),
    )  # fmt: skip
    found = stage.check(bench.hull, bench.lining, ways, layout, planks, other, scarf)
    return Made(planks, _joined(planks.findings, found))


def _shapes(bench: Bench, tell: Tell) -> Made:
    """Roll out port's planks, and starboard's own where its butts differ."""
    from ribband import planks as stage

    ways, layout, other = bench.butts
    rules, hull, lining = bench.rules["shapes"], bench.hull, bench.lining
    shapes = stage.get_shapes(hull, lining, ways, layout, rules, tell, opened=bench.opened(layout))
    shapes = stage.with_likely(hull, bench.opened(layout), shapes)
    found = _joined(shapes.findings, stage.check_shapes(hull, lining, ways, layout, rules, shapes))
    own = None
    if other is not None:
        own = stage.get_shapes(hull, lining, ways, other, rules, tell, opened=bench.opened(other))
        own = stage.with_likely(hull, bench.opened(other), own)
        checked = stage.check_shapes(hull, lining, ways, other, rules, own)
        found = _joined(found, own.findings, checked)
    return Made((shapes, own), found)


def _boards(bench: Bench, tell: Tell) -> Made:
    from ribband.app.plan.timber_steps import gather_pile

    return Made(*gather_pile(bench, tell))


def _laying(bench: Bench, tell: Tell) -> Made:
    from ribband.app.plan.timber_steps import lay_on_pile

    return Made(*lay_on_pile(bench, tell))


def _order(bench: Bench, tell: Tell) -> Made:
    from ribband.app.plan.timber_steps import buy_for

    return Made(*buy_for(bench, tell))


def _shop(bench: Bench, tell: Tell) -> Made:
    from ribband.app.plan.shop_steps import work_planks

    return Made(*work_planks(bench, tell))


def on_its_boards(bench: Bench) -> Made:
    """Give the shop's step as it is shown once planks are laid: each as heavy as its board."""
    from ribband.app.plan.shop_steps import with_boards_weights

    return Made(*with_boards_weights(bench))


def _joined(*groups: Sequence[Finding]) -> tuple[Finding, ...]:
    """Join findings, each once, in order."""
    return tuple(dict.fromkeys(finding for group in groups for finding in group))


def _hanging(bench: Bench, tell: Tell) -> Made:
    from ribband.app.plan.work_steps import hang_in_order

    return Made(*hang_in_order(bench))


def _work(bench: Bench, tell: Tell) -> Made:
    from ribband.app.plan.work_steps import plan_the_work

    return Made(*plan_the_work(bench, tell))


def _stands(bench: Bench, tell: Tell) -> Made:
    from ribband.app.plan.record_steps import see_what_stands

    return Made(see_what_stands(bench))


def _relined(bench: Bench, tell: Tell) -> Made:
    from ribband.app.plan.record_steps import divide_what_is_left

    return Made(*divide_what_is_left(bench))


def _repair(bench: Bench, tell: Tell) -> Made:
    from ribband.app.plan.repair_steps import plan_renewals

    return Made(*plan_renewals(bench))


_MAKERS: dict[str, Callable[[Bench, Tell], Made]] = {
    "survey": _survey,
    "hull": _hull,
    "lining": _lining,
    "butts": _butts,
    "planks": _planks,
    "shapes": _shapes,
    "boards": _boards,
    "stands": _stands,
    "laying": _laying,
    "order": _order,
    "shop": _shop,
    "hanging": _hanging,
    "work": _work,
    "relined": _relined,
    "repair": _repair,
}
