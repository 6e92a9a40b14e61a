"""What a plan says in short of what was found."""

from __future__ import annotations

import pytest

from ribband.app.plan.planning import _butt_lines
from ribband.butts.model import Butt, Goal, Layout


@pytest.mark.parametrize(("bound", "says"), [(1.0, "NO LAYOUT FITS"), (0.0, "it is not proved")])
def test_that_no_layout_fits_is_said_only_where_it_was_proved(bound: float, says: str) -> None:
    broken = Goal("rules relaxed", 2.0, bound, False)
    (line,) = _butt_lines(Layout((Butt(0, 3),), False, (broken,), 1.0, 0))
    assert says in line.remark
    assert ("NO LAYOUT FITS" in line.remark) == bool(bound)
    assert "the best attempt is shown" in line.remark
