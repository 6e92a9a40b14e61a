"""Re-lining whatever hangs and however it drifted: what hangs never moves, widths add up."""

from __future__ import annotations

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from made_hung import planned, seam_off, stood
from ribband import record
from ribband.record.hung import seam_girths

STRAKES = 14


@st.composite
def hangings(draw: st.DrawFn) -> tuple[tuple[int, ...], tuple[int, ...], dict[int, float]]:
    """Strakes that hang from below and from above, one cut or none, and drift of some seams."""
    below = draw(st.integers(1, 5))
    above = draw(st.integers(0, 4))
    hung = (*range(1, below + 1), *range(STRAKES - above + 1, STRAKES + 1))
    cut = (below + 2,) if draw(st.booleans()) else ()
    seams = draw(st.sets(st.integers(1, below), min_size=1, max_size=3))
    off = {seam: draw(st.floats(-12.0, 12.0)) for seam in sorted(seams)}
    return hung, cut, off


@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(hangings())
def test_what_hangs_stays_what_is_cut_keeps_its_width_and_all_add_up(
    made: tuple[tuple[int, ...], tuple[int, ...], dict[int, float]],
) -> None:
    hung, cut, off = made
    plan = planned(STRAKES)
    points = tuple(p for seam, mm in off.items() for p in seam_off(plan, seam, mm, 5))
    got = record.reline(plan, stood(plan, hung, cut), points)
    new, old = got.lining, plan.lining
    for point in points:
        at = new.columns.index(point.frame)
        assert abs(new.upper_girth_mm[int(point.strake) - 1, at] - point.girth_mm) < 0.5
    width = np.abs(new.width_mm - old.width_mm)
    assert np.nanmax(np.where(got.standing.cut, width, 0.0)) < 0.4
    seams = seam_girths(new)
    girth = np.nansum(np.diff(seams, axis=0), axis=0)[1:-1]
    assert np.allclose(girth, plan.hull.frames.girth_mm, atol=0.01)
    assert np.nanmin(np.diff(seams, axis=0)) > -0.01  # no seam crosses another
