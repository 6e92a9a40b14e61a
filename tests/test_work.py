"""The plan of work: it passes its check, the check finds what is wrong, and forms are read."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from made_work import work_of
from ribband.errors import InputError, NotConverged
from ribband.shop.work.bound import soonest_end
from ribband.shop.work.check import check_work
from ribband.shop.work.days import DayOff, Dinner
from ribband.shop.work.forms import (
    Logged,
    done_of,
    read_calendar,
    read_crew,
    read_gear,
    read_log,
    read_rates,
)
from ribband.shop.work.gear import there_is
from ribband.shop.work.learning import hours_by_operation
from ribband.shop.work.model import (
    OPERATIONS,
    Hand,
    Lack,
    Measure,
    Rate,
    Step,
    Work,
    WorkPlan,
)
from ribband.shop.work.plan import plan_work
from ribband.shop.work.project import Project, Task, Use
from ribband.shop.work.rates import default_rates, with_own
from ribband.shop.work.rules import WorkRules
from ribband.shop.work.solver import solve
from ribband.survey.rows import Row

RULES = WorkRules(dinner_minutes=30.0)


def small(**changes) -> Work:
    return replace(work_of(strakes=6, planks=3, hands=4), **changes)


def planned(work: Work, rules: WorkRules = RULES) -> WorkPlan:
    return plan_work(work, rules, seconds=0.5)


@pytest.fixture(scope="module")
def made() -> tuple[Work, WorkPlan]:
    work = small()
    return work, planned(work)


def codes(work: Work, plan: WorkPlan, rules: WorkRules = RULES) -> set[str]:
    return {finding.code for finding in check_work(work, plan, rules)}


def moved(plan: WorkPlan, pick, by: int) -> WorkPlan:
    """Move the first step picked, with its stints."""
    n = next(k for k, step in enumerate(plan.steps) if pick(step))
    step = plan.steps[n]
    steps = list(plan.steps)
    steps[n] = replace(step, start=step.start + by, end=step.end + by)
    stints = tuple(
        replace(s, start=s.start + by, end=s.end + by) if s.step == n else s for s in plan.stints
    )
    return replace(plan, steps=tuple(steps), stints=stints)


def test_a_plan_passes_its_check(made) -> None:
    work, plan = made
    assert codes(work, plan) == set()
    assert plan.bound <= plan.end
    assert {step.operation for step in plan.steps} == set(OPERATIONS)


def test_planks_without_a_flat_shape_are_spiled_when_those_they_need_are_fast(made) -> None:
    work, beforehand = made
    spiled = replace(work, measures=tuple(replace(m, spiled=True) for m in work.measures))
    assert codes(spiled, beforehand) >= {"W515"}  # patterns made on the bench are too soon
    plan = planned(spiled)
    assert codes(spiled, plan) == set()
    assert plan.end > beforehand.end
    at = {(step.plank, step.operation): step for step in plan.steps}
    for place in spiled.hanging.places:
        for need in place.needs:
            assert at[place.plank, "pattern"].start >= at[need, "fasten"].end


CREWS = {
    "skills that cross": (
        Hand("Ann", ("pattern", "get out", "hang", "fasten")),
        Hand("Bo", ("get out", "plane", "bevel", "hollow", "hang")),
        Hand("Cy", ("hang", "fasten", "bung", "caulk")),
        Hand("Di", ("plane", "bevel", "hollow", "bung", "caulk")),
        Hand("Ed"),
    ),
    "some not there": (
        Hand("Ann"), Hand("Bo", days=(0, 1, 2)), Hand("Cy", first="2027-03-08"),
        Hand("Di", last="2027-03-05"), Hand("Ed", OPERATIONS[:8]),
    ),
}  # fmt: skip


@pytest.mark.parametrize("crew", CREWS.values(), ids=CREWS.keys())
def test_crews_of_all_sorts_are_planned_right(crew) -> None:
    saturday = DayOff("2027-03-06", "2027-03-06", off=False)
    work = small(crew=crew, off=(DayOff("2027-03-03", "2027-03-04"), saturday))
    plan = planned(work)
    assert codes(work, plan) == set()
    used = plan.days.days[: -(-plan.end // plan.days.slots)]
    assert "2027-03-03" not in used
    assert "2027-03-06" in used


def test_a_sick_hand_and_one_piece_of_gear_each() -> None:
    work = small(gear={"steam box": 1, "planer": 1, "crane": 1, "staging": 2})
    plan = planned(work)
    assert codes(work, plan) == set()
    assert "W525" in codes(replace(work, gear=dict(work.gear) | {"staging": 1}), plan)


def test_what_is_logged_is_not_planned_again() -> None:
    work = small()
    first = [p.plank for p in work.hanging.places[:9]]
    done = tuple((name, op) for name in first for op in ("get out", "hang", "fasten"))
    left = replace(work, done=(*done, (work.hanging.places[12].plank, "steam")))
    plan = planned(left)
    assert codes(left, plan) == set()
    assert not [s for s in plan.steps if s.plank in first and s.operation in {"pattern", "hang"}]
    assert plan.end < planned(work).end


def test_a_hull_logged_all_on_one_side_is_brought_level() -> None:
    work = small()
    port = [p.plank for p in work.hanging.places if p.side == "port"][:7]
    left = replace(work, done=tuple((name, "fasten") for name in port))
    plan = planned(left)
    assert codes(left, plan) == set()
    hung = [s.plank[0] for s in sorted(plan.steps, key=lambda s: s.start) if s.operation == "hang"]
    assert hung[:5] == ["S"] * 5


def test_nothing_left_to_do_is_a_plan_too() -> None:
    work = small()
    plan = planned(replace(work, done=tuple((m.plank, "caulk") for m in work.measures)))
    assert (plan.steps, plan.end, plan.proved) == ((), 0, True)
    assert plan.last_day == work.begins


BREAKS = {
    "W513": lambda p: moved(p, lambda s: s.operation == "plane", -96),
    "W514": lambda p: moved(p, lambda s: s.operation == "steam", -1),
    "W511": lambda p: replace(p, steps=p.steps[1:]),
    "W512": lambda p: replace(
        p, steps=tuple(replace(s, end=s.end + 3) if s.operation == "caulk" else s for s in p.steps)
    ),
    "W527": lambda p: replace(p, bound=p.end + 1),
    "W523": lambda p: replace(p, stints=p.stints[1:]),
    "W521": lambda p: replace(p, stints=(replace(p.stints[0], hand="nobody"), *p.stints[1:])),
    "W524": lambda p: replace(
        p, stints=tuple(replace(s, hand="hand 1") for s in p.stints if s.hand != "hand 2")
    ),
}


@pytest.mark.parametrize("code", BREAKS)
def test_the_check_finds(code: str, made) -> None:
    work, plan = made
    assert code in codes(work, BREAKS[code](plan))


def test_the_check_finds_a_plank_hung_on_nothing(made) -> None:
    work, plan = made
    places = {p.plank: p for p in work.hanging.places}
    last = max((s for s in plan.steps if s.operation == "fasten"), key=lambda s: s.end).plank
    wrong = replace(places["P1-2"], needs=(last,))
    hanging = replace(
        work.hanging, places=tuple(wrong if p.plank == "P1-2" else p for p in work.hanging.places)
    )
    assert "W515" in codes(replace(work, hanging=hanging), plan)


def test_the_check_finds_sides_not_level_and_work_too_far_ahead(made) -> None:
    work, plan = made
    assert "W518" in codes(replace(work, level=0), plan)
    assert "W519" in codes(work, plan, replace(RULES, ahead=2))


def test_the_check_finds_a_day_off_and_an_absent_hand(made) -> None:
    work, plan = made
    closed = replace(work, off=(DayOff("2027-03-02", "2027-03-02"),))
    assert "W526" in codes(closed, plan)
    sick = (replace(work.crew[0], days=(0,)), *work.crew[1:])
    assert "W522" in codes(replace(work, crew=sick), plan)


def test_too_few_hands_take_longer_and_it_is_said() -> None:
    work = small(crew=(Hand("Ann"), Hand("Bo")))
    plan = planned(work)
    assert {f.code for f in plan.findings} >= {"W501"}
    assert "can hurt them" in next(f.why for f in plan.findings if f.code == "W501")
    assert codes(work, plan) == set()


def test_nobody_able_is_refused_with_every_reason() -> None:
    crew = (Hand("Ann", ("hang", "fasten")),)
    with pytest.raises(InputError) as caught:
        planned(small(crew=crew, gear={"steam box": 0, "planer": 1, "crane": 1, "staging": 1}))
    said = [problem.wanted for problem in caught.value.problems]
    assert "somebody who can caulk" in said
    assert "a steam box at least" in said


def test_a_steaming_longer_than_the_day_is_told() -> None:
    work = small()
    slow = tuple(replace(m, steam_min=600.0) if m.steam_min else m for m in work.measures)
    plan = planned(replace(work, measures=slow))
    assert "W502" in {f.code for f in plan.findings}


def test_the_yards_own_rates_stand_in_place_of_ours() -> None:
    rates = with_own([Rate("caulk", "seam metre", 2.0, 2, 0.2)])
    plan = planned(small(rates=rates))
    steps = [s for s in plan.steps if s.operation == "caulk"]
    assert all(s.hands == 2 for s in steps)
    assert steps[0].hours == pytest.approx(2.0 * 9.144)


def test_the_same_day_is_told_at_its_evening_and_its_morning(made) -> None:
    _, plan = made
    step = Step("P1-1", "hang", plan.days.slots - 12, plan.days.slots, 3, 3.0)
    assert str(plan.days.at(step.end, end=True))[11:16] == "16:00"  # half an hour of it at dinner
    assert plan.days.at(step.end).hour == 7
    assert date.fromisoformat(plan.last_day) >= date.fromisoformat(plan.days.days[0])


def row(number: int = 2, **values) -> Row:
    return Row(values, "form.csv", number, {k: str(v) for k, v in values.items()})


def test_forms_are_read() -> None:
    assert read_rates([row(operation="bung", rate=0.02, unit="frame")])[0].scatter == 0.2
    hand = read_crew([row(name="Ann", skills="all but caulk", days="mon-thu", to="2027-05-01")])[0]
    assert "caulk" not in hand.does
    assert (hand.days, hand.last) == ((0, 1, 2, 3), "2027-05-01")
    assert there_is(read_gear([row(item="planer", how_many=2)])) == (
        {"steam box": 1, "planer": 2, "crane": 1, "staging": 8}, (),
    )  # fmt: skip
    assert read_calendar([row(date="2027-12-24", to_date="2028-01-02", off=True)])[0].off
    log = read_log([row(plank="P1-1", state="hung", at="2027-03-02 11:00", by="Ann; Bo")])
    assert done_of(log) == (("P1-1", "hang"),)
    assert log[0].by == ("Ann", "Bo")


WRONG = [
    (read_rates, {"operation": "paint", "rate": 1.0, "unit": "frame"}, "operation"),
    (read_rates, {"operation": "bung", "rate": -1.0, "unit": "frame"}, "rate"),
    (read_rates, {"operation": "bung", "rate": 1.0, "unit": "mile"}, "unit"),
    (read_crew, {"name": "", "skills": "all"}, "name"),
    (read_crew, {"name": "Ann", "skills": "juggle"}, "skills"),
    (read_crew, {"name": "Ann", "days": "someday"}, "days"),
    (read_crew, {"name": "Ann", "from": "1 May"}, "from"),
    (read_crew, {"name": "Ann", "hours": "morning"}, "hours"),
    (read_crew, {"name": "Ann", "hours": "12-7:30"}, "hours"),
    (read_crew, {"name": "Ann", "hours": "7:75-12"}, "hours"),
    (read_gear, {"item": "anvil", "how_many": 1}, "item"),
    (read_gear, {"item": "planer", "how_many": 1, "from": "9 March"}, "from"),
    (read_gear, {"item": "planer", "how_many": 1, "from": "2027-03-09", "to": "2027-03-01"}, "to"),
    (read_calendar, {"date": ""}, "date"),
    (read_calendar, {"date": "2027-03-02", "to_date": "2027-03-01"}, "to_date"),
    (read_log, {"plank": "P1-1", "state": "painted"}, "state"),
    (read_log, {"plank": "P1-1", "state": "hung", "at": "noon"}, "at"),
]


@pytest.mark.parametrize(("read", "values", "column"), WRONG)
def test_wrong_cells_are_named(read, values, column: str) -> None:
    with pytest.raises(InputError) as caught:
        read([row(7, **values)])
    (problem,) = caught.value.problems
    assert (problem.row, problem.column) == (7, column)


def test_a_hand_named_again_is_back_with_the_same_skills() -> None:
    sick = [row(2, name="Ann", to="2027-03-05"), row(3, name="Ann", **{"from": "2027-03-15"})]
    (ann,) = read_crew([*sick])
    there = [ann.there(day, 0) for day in ("2027-03-05", "2027-03-08", "2027-03-15")]
    assert there == [True, False, True]
    assert ann.stays
    with pytest.raises(InputError) as caught:
        read_crew([row(2, name="Ann", skills="hang"), row(3, name="Ann", skills="all")])
    assert caught.value.problems[0].row == 3


def test_the_log_is_taken_by_its_times_whatever_the_order_of_its_rows() -> None:
    rows = [
        row(2, plank="P1-1", state="spoilt", at="2027-03-03 10:00"),
        row(3, plank="P1-1", state="got out", at="2027-03-02"),
        row(4, plank="P1-1", state="patterned", at="2027-03-01 09:00"),
    ]
    assert done_of(read_log(rows)) == (("P1-1", "pattern"),)
    blank = [*rows, row(5, plank="P2-1", state="hung")]
    assert ("P1-1", "get out") in done_of(read_log(blank))


def test_a_sick_hand_is_not_at_work_and_comes_back() -> None:
    away = Hand("Ann", last="2027-03-02", more=(("2027-03-05", ""),))
    work = small(crew=(away, Hand("Bo"), Hand("Cy"), Hand("Di")))
    plan = planned(work)
    assert codes(work, plan) == set()
    assert plan.end >= planned(small()).end
    days = {stint.start // plan.days.slots for stint in plan.stints if stint.hand == "Ann"}
    assert not days & {2, 3}
    assert 4 in days


def test_a_box_of_one_place_is_bounded_by_the_day() -> None:
    """Two hours in the box and an hour's hanging: three a day, so ten take four days."""
    tasks = tuple(Task(f"hang {n}", 36, (Use(0, 1, 0, 24),), span=(0, 36)) for n in range(10))
    breaks = tuple(96 * (n + 1) for n in range(9))
    project = Project(tasks, (), np.ones((1, 9 * 96), np.int64), breaks)
    assert soonest_end(project) == 3 * 96 + 36
    solved = solve(project, seconds=5.0)
    assert (solved.end, solved.proved) == (3 * 96 + 36, True)


def test_a_bound_by_days_holds_where_a_thing_is_wanted_at_another_time_of_each_task() -> None:
    """Two tasks of eight slots want one place in turn, so both can begin at once."""
    uses = ((Use(0, 1, 0, 4),), (Use(0, 1, 4, 8),))
    tasks = tuple(Task(f"hang {n}", 8, own, span=(0, 8)) for n, own in enumerate(uses))
    project = Project(tasks, (), np.ones((1, 96), np.int64), (48, 96))
    assert soonest_end(project) == 8
    assert (solve(project, seconds=1.0).end, solve(project, seconds=1.0).proved) == (8, True)


# ---- no plank left half hung over a night


def held_of(plan: WorkPlan, part: float) -> dict[str, tuple[int, int]]:
    """From the first touch of each plank to the slot before it is held by fastenings."""
    by = {(s.plank, s.operation): s for s in plan.steps}
    found = {}
    for (plank, operation), last in by.items():
        if operation == "fasten":
            first = by.get((plank, "steam"), by.get((plank, "hang"), last))
            done = int(np.ceil(part * (last.end - last.start) - 1e-9))
            found[plank] = (first.start, last.start + done - 1)
    return found


@pytest.mark.parametrize("part", [0.33, 1.0])
def test_no_plank_is_half_hung_or_loose_over_a_night(part: float) -> None:
    rules = replace(RULES, held_part=part)
    cold = small(measures=tuple(replace(m, steam_min=None) for m in small().measures))
    plan = planned(cold, rules)
    spans = held_of(plan, part)
    assert len(spans) == len(cold.measures)
    assert [p for p, (a, b) in spans.items() if a // plan.days.slots != b // plan.days.slots] == []
    assert plan.overnight == ()
    assert codes(cold, plan, rules) == set()
    hang = next(s for s in plan.steps if s.operation == "hang" and s.start % 96 > 50)
    late = 96 - hang.start % 96 - 1
    split = moved(moved(plan, lambda s: s is hang, late), lambda s: (s.plank, s.operation) == (
        hang.plank, "fasten"), late)  # fmt: skip
    told = {f.says for f in check_work(cold, split, rules) if f.code == "W530"}
    assert "is left half hung, or not held, over the night" in told


def test_a_hanging_longer_than_a_day_is_told_and_may_be_broken_off() -> None:
    slow = with_own([Rate("hang", "plank", 30.0, 3, 0.2)])  # ten hours for three hands
    work = small(rates=slow)
    plan = planned(work)
    told = next(f for f in plan.findings if f.code == "W529")
    assert told.says.startswith(f"{len(work.measures)} planks cannot be hung and held")
    assert set(plan.overnight) == {m.plank for m in work.measures}
    assert codes(work, plan) == set()
    assert "W530" in codes(work, replace(plan, overnight=()))
    assert "W530" in codes(small(), replace(planned(small()), overnight=("P1-1",)))


# ---- half days, and gear out of order


def test_a_hand_with_hours_of_his_own_works_within_them_only() -> None:
    (ann,) = read_crew([row(name="Ann", hours="7:30-12:00")])
    late = replace(ann, name="Bo", clock=(13.0, 18.0))
    work = small(crew=(ann, late, Hand("Cy"), Hand("Di"), Hand("Ed")))
    plan = planned(work)
    assert codes(work, plan) == set()
    for stint in plan.stints:
        begins, ends = plan.days.at(stint.start), plan.days.at(stint.end, end=True)
        if stint.hand == "Ann":
            assert (ends.hour, ends.minute) <= (12, 0)
        if stint.hand == "Bo":
            assert begins.hour >= 13
            assert ends.hour <= 16
    assert {stint.hand for stint in plan.stints} == {"Ann", "Bo", "Cy", "Di", "Ed"}
    whole = small(crew=tuple(replace(hand, clock=None) for hand in work.crew))
    assert planned(whole).end < plan.end
    earlier = replace(work, crew=(replace(ann, clock=(7.5, 8.0)), *work.crew[1:]))
    assert "W522" in codes(earlier, plan)


def test_hands_there_together_in_the_morning_only_hang_in_the_morning() -> None:
    """Three hands are wanted at hanging, and one of three goes at noon."""
    work = small(crew=(Hand("Ann", clock=(7.0, 12.0)), Hand("Bo"), Hand("Cy")))
    plan = planned(work)
    assert codes(work, plan) == set()
    hangs = [s for s in plan.steps if s.operation == "hang"]
    assert {plan.days.at(s.end, end=True).hour < 12 or (plan.days.at(s.end, end=True).hour == 12
            and not plan.days.at(s.end, end=True).minute) for s in hangs} == {True}  # fmt: skip


def test_a_box_out_of_order_steams_nothing_then_and_rows_add_up() -> None:
    rows = [row(2, item="steam box", how_many=1, to="2027-03-02"),
            row(3, item="steam box", how_many=1, **{"from": "2027-03-08"}),
            row(4, item="staging", how_many=3), row(5, item="staging", how_many=2)]  # fmt: skip
    gear, lacking = there_is(read_gear(rows))
    assert (gear["steam box"], gear["staging"]) == (1, 5)
    work = small(gear=gear, lacking=lacking)
    plan = planned(work)
    assert codes(work, plan) == set()
    steamed = {plan.days.days[s.start // 96] for s in plan.steps if s.operation == "steam"}
    assert not steamed & {"2027-03-03", "2027-03-04", "2027-03-05"}
    assert steamed
    never = replace(work, lacking=(Lack("steam box", 1),))
    assert "W525" in codes(never, plan)
    with pytest.raises(NotConverged):
        planned(never)


# ---- the dinner hour


def test_no_plank_stands_in_the_box_or_half_hung_over_dinner(made) -> None:
    work, plan = made
    noon = (12.0 - 7.5) * 12  # slots of five minutes, counted by hand
    assert plan.days.noon == noon
    by = {(s.plank, s.operation): s for s in plan.steps}
    hot = [(s.start, by[s.plank, "hang"].end) for s in plan.steps if s.operation == "steam"]
    assert hot
    for begin, end in hot:
        assert end - begin <= noon
        assert not begin % 96 < noon < (end - 1) % 96 + 1
    over = next(s for s in plan.steps if s.operation == "steam")
    begun = replace(over, start=int(noon) - 6, end=int(noon) - 6 + over.end - over.start)
    hung = replace(by[over.plank, "hang"], start=begun.end, end=begun.end + 6)
    steps = tuple({over: begun, by[over.plank, "hang"]: hung}.get(s, s) for s in plan.steps)
    told = {f.says for f in check_work(work, replace(plan, steps=steps)) if f.code == "W514"}
    assert "is steamed or hung over the dinner hour" in told


def test_the_clock_stops_for_dinner_and_hours_logged_over_it_are_not_counted(made) -> None:
    days = replace(made[1].days, dinner=Dinner(12.0, 45.0))
    assert [str(days.at(slot))[11:16] for slot in (53, 54)] == ["11:55", "12:45"]
    assert str(days.at(54, end=True))[11:16] == "12:00"
    assert replace(days, dinner=Dinner(12.0, 0.0)).pauses() == ()
    log = [Logged("P1-1", "planed", "2027-03-01 11:30", ("Ann",)),
           Logged("P1-1", "bevelled", "2027-03-01 13:30", ("Ann",))]  # fmt: skip
    plank = Measure("P1-1", "port", 9.144, 1.6, 20, 9.144)
    rules = WorkRules(dinner_minutes=60.0)
    assert hours_by_operation(log, [plank], default_rates(), rules) == pytest.approx(
        {("plane", "Ann"): 4.0, ("bevel", "Ann"): 1.0}
    )
