"""The forecast against closed answers, the log's lessons against known ones, and what-ifs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from made_work import work_of
from ribband.shop.work.check import check_work
from ribband.shop.work.compare import (
    Case,
    bad_weather,
    compare,
    longer_boards,
    more_gear,
    more_hands,
)
from ribband.shop.work.forecast import forecast
from ribband.shop.work.forms import Logged
from ribband.shop.work.learning import learn, learned_rates
from ribband.shop.work.model import STATES, Hand, Measure, Rate, Work
from ribband.shop.work.plan import plan_work
from ribband.shop.work.rates import default_rates, hours_of
from ribband.shop.work.rules import WorkRules
from ribband.shop.work.whole import Yard, work_out

RULES = WorkRules(dinner_minutes=30.0)
SURE = replace(RULES, lost_days=0.0, spoilt_part=0.0, rate_error=0.0)


def sure(work: Work) -> Work:
    return replace(work, rates=tuple(replace(rate, scatter=0.0) for rate in work.rates))


@pytest.fixture(scope="module")
def small():
    work = work_of(strakes=6, planks=3, hands=4)
    return work, plan_work(work, seconds=0.5)


def test_without_chance_it_is_the_plan(small) -> None:
    work, plan = small
    spread = forecast(sure(work), plan, SURE, runs=3)
    assert np.ptp(spread.days) == 0.0
    assert spread.days[0] == pytest.approx(spread.planned)
    assert spread.planned_date == plan.last_day == spread.by[0.9]
    assert (spread.late, spread.lucky) == (0.0, False)


def test_without_chance_it_is_the_plan_for_a_crew_of_differing_skills_and_days() -> None:
    crew = (
        Hand("Ann"), Hand("Bo", ("pattern", "get out", "plane"), days=(0, 2, 4)),
        Hand("Cy", ("hang", "fasten", "steam"), days=(0, 1, 2)), Hand("Di", days=(1, 3)),
    )  # fmt: skip
    work = replace(work_of(strakes=5, planks=2, hands=4), crew=crew)
    plan = plan_work(work, seconds=0.3)
    spread = forecast(sure(work), plan, SURE, runs=2)
    assert spread.days == pytest.approx([spread.planned] * 2)
    assert spread.late == 0.0


def test_days_lost_are_as_many_as_chance_says(small) -> None:
    work, plan = small
    rules = replace(SURE, lost_days=0.25)
    spread = forecast(sure(work), plan, rules, runs=4000)
    good = np.ceil(forecast(sure(work), plan, SURE, runs=1).days[0])
    assert spread.lost == pytest.approx(good * 0.25 / 0.75, rel=0.05)
    assert spread.days.var() == pytest.approx(good * 0.25 / 0.75**2, rel=0.1)


def test_spoilt_planks_are_as_many_as_chance_says(small) -> None:
    work, plan = small
    spread = forecast(work, plan, replace(SURE, spoilt_part=0.2), runs=2000)
    assert spread.spoilt == pytest.approx(0.2 * len(work.measures), rel=0.05)
    assert spread.days.mean() > forecast(work, plan, SURE, runs=2000).days.mean()


def test_one_hand_one_operation_is_a_sum() -> None:
    """With a single hand the end is the sum of the hours, whose mean and spread are known."""
    work = work_of(strakes=6, planks=3, hands=4)
    done = tuple((m.plank, "bung") for m in work.measures)
    alone = replace(work, crew=(Hand("Ann"),), done=done)
    plan = plan_work(alone, seconds=0.2)
    spread = forecast(alone, plan, SURE, runs=4000)
    base = np.array([step.end - step.start for step in plan.steps]) / plan.days.slots
    assert spread.days.mean() == pytest.approx(base.sum(), rel=0.01)
    assert spread.days.std() == pytest.approx(0.25 * np.sqrt((base**2).sum()), rel=0.06)


def test_the_same_seed_gives_the_same_spread_in_order(small) -> None:
    work, plan = small
    one, two = forecast(work, plan, runs=300, seed=4), forecast(work, plan, runs=300, seed=4)
    assert one.dates == two.dates
    assert list(one.dates) == sorted(one.dates)
    assert one.dates[-1] > one.planned_date
    assert 0.0 <= one.late <= 1.0


def test_a_hand_who_leaves_makes_it_later(small) -> None:
    work, _ = small
    crew = (*work.crew[:2], *(replace(hand, last="2027-03-05") for hand in work.crew[2:]))
    left = replace(work, crew=crew)
    plan = plan_work(left, seconds=0.5)
    assert check_work(left, plan) == ()
    spread = forecast(sure(left), plan, SURE, runs=2)
    assert spread.days[0] == pytest.approx(spread.planned, rel=0.08)


PLANK = Measure("P1-1", "port", 9.144, 1.6, 20, 9.144)
PLANKS = tuple(replace(PLANK, plank=f"P{n}-1") for n in range(1, 60))
CAULK = hours_of("caulk", PLANK, default_rates())


def a_day_each(hours: float, count: int) -> list[Logged]:
    """Log one plank caulked by Ann a day, after so many hours of work: dinner from 12 to 12:30."""
    clock = int((7.5 + hours + (0.5 if hours > 4.5 else 0.0)) * 60)
    at = f"{clock // 60:02d}:{clock % 60:02d}"
    return [
        Logged(f"P{n + 1}-1", "caulked", f"2027-{3 + n // 28:02d}-{1 + n % 28:02d} {at}", ("Ann",))
        for n in range(count)
    ]


def caulking(log: list[Logged], rules: WorkRules = RULES):
    return next(x for x in learn(log, PLANKS, default_rates(), rules) if x.operation == "caulk")


def test_nothing_logged_teaches_nothing() -> None:
    learned = learn([], PLANKS, default_rates())
    assert {x.factor for x in learned} == {1.0}
    assert {x.logged for x in learned} == {0}
    assert learned_rates(default_rates(), learned) == default_rates()


def test_few_steps_prove_little_and_many_prove_much() -> None:
    few, many = caulking(a_day_each(4.0, 2)), caulking(a_day_each(4.0, 50))
    assert (few.logged, many.logged) == (2, 50)
    assert 1.0 < few.factor < many.factor < many.raw
    assert many.factor == pytest.approx(many.raw, rel=0.05)
    assert many.error < few.error < RULES.rate_error


def test_the_guess_is_the_normal_one_by_hand() -> None:
    learned = caulking(a_day_each(4.0, 5))
    own, prior = np.log1p(0.25**2), np.log1p(0.15**2)
    mean = np.log(4.0 / CAULK) + own / 2
    assert learned.factor == pytest.approx(np.exp(mean * 5 * prior / (5 * prior + own)), rel=1e-3)
    assert learned.error == pytest.approx(np.sqrt(1 / (1 / prior + 5 / own)))


def test_made_hours_are_found_again() -> None:
    """Hours drawn about 1.4 of the rate: the factor comes back."""
    rng = np.random.default_rng(3)
    spread = np.sqrt(np.log1p(0.25**2))
    log = []
    for n in range(50):
        hours = 1.4 * CAULK * np.exp(rng.normal(-(spread**2) / 2, spread))
        log += [replace(a_day_each(hours, n + 1)[-1])]
    assert caulking(log).factor == pytest.approx(1.4, rel=0.08)


def test_a_bare_date_shares_the_day_among_its_steps() -> None:
    log = [
        Logged("P1-1", "bevelled", "2027-03-01", ("Ann",)),
        Logged("P1-1", "caulked", "2027-03-01", ("Ann",)),
    ]
    learned = {x.operation: x for x in learn(log, PLANKS, default_rates())}
    assert learned["bevel"].spent + learned["caulk"].spent == pytest.approx(RULES.day_hours)
    assert learned["bevel"].raw / learned["caulk"].raw == pytest.approx(1.0, rel=0.1)


def test_two_hands_at_a_step_bring_two_times() -> None:
    log = [Logged("P1-1", "fastened", "2027-03-01 09:00", ("Ann", "Bo"))]
    fasten = next(x for x in learn(log, PLANKS, default_rates()) if x.operation == "fasten")
    assert fasten.spent == pytest.approx(3.0)


def test_learned_rates_are_planned_by() -> None:
    learned = learn(a_day_each(6.0, 40), PLANKS, default_rates())
    rates = learned_rates(default_rates(), learned)
    assert hours_of("caulk", PLANK, rates) == pytest.approx(6.0, rel=0.06)
    assert "40 steps logged" in caulking(a_day_each(6.0, 40)).says


def test_what_ifs_go_the_way_they_must() -> None:
    work = work_of(strakes=8, planks=4, hands=3)
    base = Case("as planned", work, RULES)
    cases = [
        base, more_hands(base), more_gear(base, "steam box", 1), longer_boards(base, 14.0),
        bad_weather(base, 0.3),
    ]  # fmt: skip
    first, hands, box, boards, weather = compare(cases, seconds=0.5, runs=200)
    assert first.gained == 0.0
    assert hands.gained > 1.0
    assert box.gained > -0.5
    assert weather.gained < -2.0
    assert boards.planks == 48
    assert boards.hours < first.hours
    for case, outcome in zip(cases, (first, hands, box, boards, weather), strict=True):
        assert check_work(case.work, outcome.plan, case.rules) == ()


def test_longer_boards_keep_what_is_begun() -> None:
    work = work_of(strakes=8, planks=4)
    begun = replace(work, done=(("P1-2", "pattern"),))
    longer = longer_boards(Case("", begun, RULES), 14.0).work
    names = {m.plank for m in longer.measures}
    assert {"P1-1", "P1-2", "P1-3", "P1-4"} <= names
    assert "P2-4" not in names
    total = sum(m.length_m for m in longer.measures)
    assert total == pytest.approx(sum(m.length_m for m in work.measures))


def test_a_rate_of_the_yards_is_not_changed_in_place() -> None:
    rate = Rate("caulk", "seam metre", 0.5, 1, 0.2)
    learned_rates([rate], learn([], PLANKS, [rate]))
    assert rate.hours == 0.5


def test_a_story_of_odd_days() -> None:
    """Ten days logged, some planks out of turn, one spoilt, a hand sick: the rest is planned."""
    work = work_of(strakes=8, planks=4, hands=5)
    plan = plan_work(work, seconds=0.5)
    until = 10 * plan.days.slots
    done = [(step, n) for n, step in enumerate(plan.steps) if step.end <= until]
    state = {op: said for said, op in STATES.items()}
    log = [
        Logged(
            step.plank,
            state[step.operation],
            f"{plan.days.at(step.end, end=True):%Y-%m-%d %H:%M}",
            plan.crew_of(n),
        )
        for step, n in done
    ]
    odd = [log[k] for k in np.random.default_rng(1).permutation(len(log))]
    hung = {line.plank for line in odd if line.state == "hung"}
    out = next(p for p in (x.plank for x in odd if x.state == "got out") if p not in hung)
    odd.append(Logged(out, "spoilt", "2027-03-12 16:00", ()))
    ann = Hand("hand 1", last="2027-03-12", more=(("2027-03-22", ""),))
    yard = Yard(crew=(ann, *work.crew[1:]), log=tuple(odd))
    made = work_out(work.measures, work.hanging, yard, RULES, 2, "2027-01-01", 0.5)
    assert [f for f in made.findings if f.severity == "fault"] == []
    assert made.work.begins == "2027-03-13"
    again = {step.operation for step in made.plan.steps if step.plank == out}
    assert {"get out", "hang"} <= again
    assert "pattern" not in again
    assert not [s for s in made.plan.steps if s.plank in hung and s.operation == "hang"]
    week = {s.hand for s in made.plan.stints if s.start < 5 * made.plan.days.slots}
    assert "hand 1" not in week
    taught = next(x for x in made.learned if x.operation == "hang")
    assert taught.logged > 5
    assert 0.7 < taught.factor < 1.4  # the log was made by the rates
