"""The pace of a crew as told (source key `crew-pace`), out of the plan with the default rates.

Six hands, planks of 30 ft: 18 to 20 a week, so 5000 ft in about 60 days. The default rates were
set so as to give it, and say so; what is tested is that plan, rates and crew together still do,
also where the planks are of another length or fewer are steamed.
"""

from __future__ import annotations

from datetime import date

import pytest

from made_work import work_of
from ribband.shop.work.check import check_work
from ribband.shop.work.plan import plan_work
from ribband.shop.work.rates import default_rates
from ribband.sources import source

FOOT = 0.3048


def test_six_hands_hang_18_to_20_planks_of_30_ft_a_week() -> None:
    work = work_of(strakes=12, planks=7, length_m=30 * FOOT)
    assert len(work.measures) == 168
    assert pytest.approx(5000, rel=0.01) == 168 * 30
    assert len(work.crew) == 6
    plan = plan_work(work, seconds=2.0, near=0.05)
    assert check_work(work, plan) == ()
    weeks = plan.end / plan.days.slots / 5
    assert 18 <= 168 / weeks <= 20
    took = date.fromisoformat(plan.last_day) - date.fromisoformat(plan.days.days[0])
    assert took.days + 1 == pytest.approx(60, abs=5)


def test_the_rates_say_where_they_come_from() -> None:
    assert {rate.source for rate in default_rates()} == {"crew-pace"}
    assert "so set that together they give it" in source("crew-pace").place
    assert source("crew-pace").mark == "read second-hand"
