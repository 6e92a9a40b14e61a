"""The butt rules of a sheet: each number with whose it is."""

from dataclasses import replace

from ribband.app.papers.rule_words import butt_rule_words
from ribband.butts import ButtRules, rule_sets


def test_a_set_lends_its_name_only_to_its_own_numbers() -> None:
    said = butt_rule_words(rule_sets()["lloyds-composite-1891"], "ft-in-8ths")
    assert said.startswith("Butts by common practice: adjacent strakes 4 frame spaces")
    assert said.endswith("By Lloyd's Register 1891: opposite garboards 4-6-0.")


def test_a_text_of_its_own_is_named_for_every_number_it_lays_down() -> None:
    said = butt_rule_words(rule_sets()["lake-1866"], "ft-in-8ths")
    assert said.startswith("Butts by Board of Lake Underwriters 1866: adjacent strakes 5-0-0")
    assert "common practice" not in said


def test_a_number_changed_for_the_job_is_the_jobs_own() -> None:
    changed = replace(rule_sets()["lake-1866"], between_mm=1500.0)
    assert "this job's own rule: one strake between 1500" in butt_rule_words(changed, "mm")


def test_no_rule_is_said_to_be_none() -> None:
    assert butt_rule_words(ButtRules(adjacent_spaces=0, passing=0), "mm").startswith("No rule")
