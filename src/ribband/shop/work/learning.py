"""Rates learned from the log: the yard's own hours put against what the rates say.

*Hours spent.* A hand's time from the last thing logged that day, or from the day's beginning, to
the next is what the steps logged then took. Of one who is not there all day it begins, and a bare
date ends, with his own hours, but for a day on which he was at something before them. Where
several steps were logged at once (or only the day was) it is shared among them by their rates.
Several hands at a step each bring their time. A step without a rate (steam, most often) takes its
own time all the same: it is nobody else's. So does one of a plank that is not asked for, and then
it is left out.

*Shrinking.* Few steps prove little. With n steps of an operation, each the rate times a factor
that scatters by s, and a rate that may be off by t before anything is logged, the best guess of
the logarithm of the factor is the mean logged one times n t^2 / (n t^2 + s^2), its own error left
the root of t^2 s^2 / (n t^2 + s^2). (The mean of a normal with a normal prior; all in logarithms.)

Not in it: hands who do what is not logged; their idle hours are taken for the step's.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from ribband.shop.work.forms import Logged
from ribband.shop.work.model import OPERATIONS, STATES, Hand, Measure, Rate
from ribband.shop.work.rates import hours_of, scatter_of
from ribband.shop.work.rules import WorkRules
from ribband.units import counted

__all__ = ["Learned", "hours_by_hand", "hours_by_operation", "learn", "learned_rates"]

LEAST = 0.05  # of the rate: less is a line logged late, not a step done
MOST = 20.0


@dataclass(frozen=True, slots=True)
class Learned:
    """An operation: steps logged with hours, hours by the rates and spent, the factor believed.

    `raw` is the factor of the logged steps alone; `error` how far `factor` may still be out.
    """

    operation: str
    logged: int
    rated: float
    spent: float
    raw: float
    factor: float
    error: float
    says: str


def learn(
    log: Sequence[Logged],
    measures: Iterable[Measure],
    rates: Sequence[Rate],
    rules: WorkRules = WorkRules(),  # noqa: B008 - frozen
    crew: Sequence[Hand] = (),
) -> tuple[Learned, ...]:
    """Give for each operation what the log teaches about its rate; nothing logged: factor 1."""
    spent: dict[str, list[tuple[float, float]]] = defaultdict(list)
    by = {m.plank: m for m in measures}
    for operation, rated, hours in _spent(log, by, rates, rules, crew):
        if LEAST * rated <= hours <= MOST * rated:
            spent[operation].append((rated, hours))
    return tuple(_learned(op, spent.get(op, []), rates, rules) for op in OPERATIONS)


def learned_rates(rates: Sequence[Rate], learned: Iterable[Learned]) -> tuple[Rate, ...]:
    """Give the rates with what was learned put in.

    >>> one = Learned("hang", 4, 10.0, 20.0, 2.0, 1.5, 0.1, "")
    >>> learned_rates([Rate("hang", "plank", 2.0, 3, 0.3)], [one])[0].hours
    3.0
    """
    factor = {item.operation: item.factor for item in learned}
    return tuple(replace(r, hours=r.hours * factor.get(r.operation, 1.0)) for r in rates)


def hours_by_hand(
    log: Sequence[Logged],
    measures: Iterable[Measure],
    rates: Sequence[Rate],
    rules: WorkRules = WorkRules(),  # noqa: B008 - frozen
    crew: Sequence[Hand] = (),
) -> dict[str, float]:
    """Give the hours of each hand that are logged: each day to the last step he was at.

    >>> log = [Logged("P1-1", "planed", "2027-03-02 09:30", ("Ann", "Bo"))]
    >>> plank = Measure("P1-1", "port", 9.144, 1.6, 20, 9.144)
    >>> hours_by_hand(log, [plank], [Rate("plane", "plank", 1.0, 2, 0.2)])
    {'Ann': 2.0, 'Bo': 2.0}
    """
    found: dict[str, float] = {}
    for (_, hand), hours in hours_by_operation(log, measures, rates, rules, crew).items():
        found[hand] = found.get(hand, 0.0) + hours
    return found


def hours_by_operation(
    log: Sequence[Logged],
    measures: Iterable[Measure],
    rates: Sequence[Rate],
    rules: WorkRules = WorkRules(),  # noqa: B008 - frozen
    crew: Sequence[Hand] = (),
) -> dict[tuple[str, str], float]:
    """Give the same hours by operation and hand; steps logged at once share them by their rates.

    >>> log = [Logged("P1-1", "planed", "2027-03-02 09:30", ("Ann", "Bo"))]
    >>> plank = Measure("P1-1", "port", 9.144, 1.6, 20, 9.144)
    >>> hours_by_operation(log, [plank], [Rate("plane", "plank", 1.0, 2, 0.2)])
    {('plane', 'Ann'): 2.0, ('plane', 'Bo'): 2.0}
    """
    by = {m.plank: m for m in measures}
    rated = {n: _rated(line, by, rates) for n, line in enumerate(log)}
    found: dict[tuple[str, str], float] = defaultdict(float)
    for hand, since, clock, group in _stretches(log, rules, crew):
        for n, part in _shares(group, log, rated).items():
            if log[n].plank in by:
                found[STATES[log[n].state], hand] += max(0.0, clock - since) * part
    return dict(found)


def _learned(
    operation: str, spent: Sequence[tuple[float, float]], rates: Sequence[Rate], rules: WorkRules
) -> Learned:
    scatter = max(scatter_of(operation, rates), 1e-3)
    own, prior = np.log1p(scatter**2), np.log1p(rules.rate_error**2)
    count = len(spent)
    logs = [np.log(hours / rated) + own / 2 for rated, hours in spent]  # its mean is the factor's
    raw = float(np.exp(np.mean(logs))) if logs else 1.0
    weight = count * prior / (count * prior + own)
    left = float(np.sqrt(prior * own / (count * prior + own)))
    factor = float(np.exp(weight * np.log(raw)))
    rated, took = (sum(pair[k] for pair in spent) for k in (0, 1))
    says = _words(count, raw, factor)
    return Learned(operation, count, rated, took, raw, factor, left, says)


def _words(count: int, raw: float, factor: float) -> str:
    if not count:
        return "nothing logged with hours; the rate stands"
    steps = counted(count, "step")
    return f"{steps} logged took {raw:.2f} of the rate; {factor:.2f} of it is believed"


def _spent(
    log: Sequence[Logged], measures: Mapping[str, Measure], rates: Sequence[Rate],
    rules: WorkRules, crew: Sequence[Hand],
) -> Iterator[tuple[str, float, float]]:  # fmt: skip
    """Give (operation, hours by the rates, hours spent) of every step with a hand and a time."""
    hours: dict[int, float] = defaultdict(float)
    whole: dict[int, bool] = defaultdict(lambda: True)
    rated = {n: _rated(line, measures, rates) for n, line in enumerate(log)}
    for _, since, clock, group in _stretches(log, rules, crew):
        for n, part in _shares(group, log, rated).items():
            if clock > since:
                hours[n] += (clock - since) * part
            else:
                whole[n] = False
    for n, spent in hours.items():
        if whole[n] and rated[n] > 0:
            yield STATES[log[n].state], rated[n], spent


def _rated(line: Logged, measures: Mapping[str, Measure], rates: Sequence[Rate]) -> float:
    if line.state not in STATES or line.plank not in measures:
        return 0.0
    return hours_of(STATES[line.state], measures[line.plank], rates)


def _shares(
    group: Sequence[int], log: Sequence[Logged], rated: Mapping[int, float]
) -> dict[int, float]:
    """Share a hand's time among steps logged at once: by the hours rated, evenly where none are."""
    parts = {n: rated[n] / len(log[n].by) for n in group}
    whole = sum(parts.values())
    return {n: part / whole if whole else 1.0 / len(group) for n, part in parts.items()}


def _by_hand_and_day(log: Sequence[Logged]) -> Mapping[tuple[str, str], list[int]]:
    found: dict[tuple[str, str], list[int]] = defaultdict(list)
    for n, line in enumerate(log):
        if line.at and line.by and line.state in STATES:
            for hand in line.by:
                found[hand, line.at[:10]].append(n)
    return found


def _stretches(
    log: Sequence[Logged], rules: WorkRules, crew: Sequence[Hand]
) -> Iterator[tuple[str, float, float, list[int]]]:
    """Give each hand's stretches of a day: hand, hours worked before it and by its end, lines."""
    own = {hand.name: hand.clock for hand in crew}
    for (hand, _day), lines in _by_hand_and_day(log).items():
        came, goes = _there(own.get(hand), rules)
        groups = _by_clock(log, lines, rules, goes)
        since = came if groups[0][0] > came else 0.0
        for clock, group in groups:
            yield hand, since, clock, group
            since = max(since, clock)


def _there(clock: tuple[float, float] | None, rules: WorkRules) -> tuple[float, float]:
    """Give when a hand comes and goes, in hours worked since the yard's morning."""
    if clock is None:
        return 0.0, rules.day_hours
    came, goes = (rules.dinner_hour.worked(rules.clock, at) for at in clock)
    return came, goes


def _by_clock(
    log: Sequence[Logged], lines: Sequence[int], rules: WorkRules, goes: float
) -> list[tuple[float, list[int]]]:
    """Give (hours worked by then, lines logged then) in order; a bare date is when a hand goes."""
    found: dict[float, list[int]] = defaultdict(list)
    for n in lines:
        found[_clock(log[n].at, rules, goes)].append(n)
    return sorted(found.items())


def _clock(at: str, rules: WorkRules, goes: float) -> float:
    if len(at) <= len("2027-03-01"):
        return goes
    when = datetime.fromisoformat(at)
    clock = timedelta(hours=when.hour, minutes=when.minute) / timedelta(hours=1)
    return rules.dinner_hour.worked(rules.clock, clock)
