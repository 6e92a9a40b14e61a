"""What the tests of lining out share: a launch, her lining, plain rules, what is at fault."""

from __future__ import annotations

from functools import lru_cache

import made_hulls
from ribband.findings import Severity
from ribband.hull.model import Hull
from ribband.lining import LiningRules, Wish, check, line_out
from ribband.lining.model import Lining

__all__ = ["PLAIN", "faults", "launch", "lined_launch"]

PLAIN = LiningRules(garboard=1.0, first_broad=1.0, second_broad=1.0, hollow_mm=30.0)


@lru_cache(maxsize=1)
def launch() -> Hull:
    return made_hulls.launch(30, 41)


@lru_cache(maxsize=1)
def lined_launch() -> Lining:
    return line_out(launch(), LiningRules(), [Wish("strakes", 17)])


def faults(hull: Hull, rules: LiningRules, wishes: list[Wish], lining: Lining) -> list[str]:
    return [str(f) for f in check(hull, rules, wishes, lining) if f.severity is Severity.FAULT]
