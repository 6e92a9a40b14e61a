"""The butt rules of a sheet in one line, each number with whose it is.

A set of rules is a text's numbers with Ribband's own for what the text leaves unsaid, so the name
of a set alone would lend an authority to numbers that are not its own.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from ribband.app.entering.rules import as_shown, shown_rules
from ribband.rulebook import Rule
from ribband.sources import source

if TYPE_CHECKING:
    from ribband.butts import ButtRules

__all__ = ["butt_rule_words"]

_WORDS = {
    "adjacent_spaces": "adjacent strakes",
    "adjacent_mm": "adjacent strakes",
    "between_spaces": "one strake between",
    "between_mm": "one strake between",
    "passing": "between butts on one frame",
    "opposite_garboard_mm": "opposite garboards",
}


def butt_rule_words(rules: ButtRules, unit: str) -> str:
    """Say which butt rules are kept and whose each is.

    unit : the job's own

    >>> from ribband.butts import ButtRules
    >>> butt_rule_words(ButtRules(passing=0), "m")
    'Butts by common practice: adjacent strakes 4 frame spaces.'
    """
    said = shown_rules({"butts": rules})["butts"]
    kept = [rule for rule in said if rule.name in _WORDS and rule.value]
    by_whom: dict[str, list[Rule]] = {}
    for rule in kept:
        by_whom.setdefault(_whose(rule), []).append(rule)
    told = ". ".join(f"By {whose}: {'; '.join(_told(own, unit))}" for whose, own in by_whom.items())
    return f"Butts b{told[1:]}." if told else "No rule of butts is asked for."


def _whose(rule: Rule) -> str:
    if not rule.source:
        return "this job's own rule"
    said = source(rule.source)
    if said.mark in {"common practice", "house"}:
        return said.mark if said.mark == "common practice" else "Ribband's own rule"
    return " ".join(part for part in (said.author, said.year) if part)


def _told(rules: Iterable[Rule], unit: str) -> list[str]:
    shown_as = ((rule, as_shown("butts", rule, unit)) for rule in rules)
    return [" ".join((_WORDS[rule.name], s.value, s.unit)).strip() for rule, s in shown_as]
