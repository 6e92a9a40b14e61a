"""Girths held against the old planking: two tapes of the same thing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from made_surveys import taped
from ribband.findings import Finding
from ribband.hull import check, fit
from ribband.survey.model import Cell, OldWidth, Survey

STRAKES = 12
AT = ("1", "2", "9", "18", "30", "36")


def recorded(survey: Survey, at: tuple[str, ...] = AT, strakes: int = STRAKES) -> Survey:
    """Give the survey with old strakes of even width that add up to her true girths."""
    true = {girth.frame: girth.girth_mm for girth in survey.girths}
    old = tuple(
        OldWidth("both", str(n + 1), frame, true[frame] / STRAKES, 38.0, Cell("old", n, "width"))
        for frame in at
        for n in range(strakes)
    )
    return replace(survey, old_widths=old)


def typed(survey: Survey, girths: dict[str, float]) -> Survey:
    """Give the survey with some girths typed otherwise; the old widths stay."""
    now = tuple(replace(g, girth_mm=girths.get(g.frame, g.girth_mm)) for g in survey.girths)
    return replace(survey, girths=now)


def told(survey: Survey) -> list[Finding]:
    return [f for f in check(fit(survey), survey) if f.code == "H022"]


def test_widths_that_add_up_say_nothing() -> None:
    assert told(recorded(taped())) == []


@pytest.mark.parametrize("frame", ["1", "2", "36"])
def test_a_girth_near_an_end_a_foot_out_is_told_though_it_lies_fair(frame: str) -> None:
    survey = recorded(taped())
    true = {girth.frame: girth.girth_mm for girth in survey.girths}
    slipped = typed(survey, {frame: true[frame] - 304.8})
    assert frame not in {d.frame for d in fit(slipped).doubts}
    (found,) = told(slipped)
    assert f"frame {frame}, " in found.says


def test_girths_slipped_by_a_row_are_told() -> None:
    survey = recorded(taped())
    names = [girth.frame for girth in survey.girths]
    true = {girth.frame: girth.girth_mm for girth in survey.girths}
    slipped = typed(survey, {b: true[a] for a, b in zip(names[:-4], names[4:], strict=True)})
    (found,) = told(slipped)
    assert "frame 9" in found.says
    assert found.why.startswith("measure again")


def test_a_frame_with_a_strake_not_recorded_is_not_looked_at() -> None:
    survey = recorded(taped())
    short = tuple(w for w in survey.old_widths if (w.frame, w.strake) != ("9", "4"))
    assert told(replace(survey, old_widths=short)) == []
