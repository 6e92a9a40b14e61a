"""The packet of 1825 against what is printed of her.

H. I. Chapelle, The Pioneer Steamship Savannah, USNM Bulletin 228, paper 21, 1961, fig. 5: moulded
beam 27 ft, 103 ft between perpendiculars, timber and room 2 ft 0 in, plank 3 in. The offsets were
digitised from that figure; its two views agree usually within 0.15 ft.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import make_interp_spline

import ribband
from ribband.hull import fit
from ribband.hull.model import Hull
from ribband.survey import Survey, read_forms, read_survey

FOOT = 304.8
VIEWS_AGREE = 0.15  # ft, usual difference of the two views
BEAM = 27.0
DEAD_FLAT = 41.0  # ft aft of the fore perpendicular
PACKET = Path(ribband.__file__).parent / "data" / "examples" / "packet_1825"


@pytest.fixture(scope="module")
def survey() -> Survey:
    return read_survey(read_forms(PACKET))


@pytest.fixture(scope="module")
def hull(survey: Survey) -> Hull:
    return fit(survey)


def section(survey: Survey, station: str) -> np.ndarray:
    """Points (n, 2) of a station in feet, half-breadth and height, from the rabbet up."""
    yz = {(r.y_mm, r.z_mm) for r in survey.readings if r.station == station}
    return np.array(sorted(yz, key=lambda p: p[1])) / FOOT


def drawn_girth(points: np.ndarray) -> float:
    """The length of a spline of degree 3 through the points over their chords, feet."""
    chord = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    fine = make_interp_spline(chord, points, k=3)(np.linspace(0.0, chord[-1], 4001))
    return float(np.linalg.norm(np.diff(fine, axis=0), axis=1).sum())


def test_the_readings_give_the_printed_beam(survey: Survey) -> None:
    assert 2 * max(r.y_mm for r in survey.readings) / FOOT == pytest.approx(BEAM, abs=VIEWS_AGREE)


def test_frames_stand_at_the_printed_timber_and_room(survey: Survey) -> None:
    room = np.diff([mark.x_mm for mark in survey.frames]) / FOOT
    assert room == pytest.approx(2.0)
    assert len(survey.frames) == 50
    assert any(mark.x_mm / FOOT == pytest.approx(DEAD_FLAT) for mark in survey.frames)


def test_the_plank_is_the_printed_three_inches(survey: Survey) -> None:
    assert survey.particulars.planking_mm == pytest.approx(3 * 25.4)
    assert survey.particulars.measured_to == "frame"


def test_the_fair_hull_has_the_printed_beam(hull: Hull) -> None:
    assert hull.frames.xyz is not None
    beam = 2 * hull.frames.xyz[..., 1].max() / FOOT
    assert beam == pytest.approx(BEAM, abs=2 * VIEWS_AGREE)


def test_the_girth_amidships_is_that_of_the_drawn_section(hull: Hull, survey: Survey) -> None:
    """Bounds first: longer than the chord polygon, shorter than half the beam and the depth."""
    points = section(survey, "0")
    middle = int(np.argmin(abs(hull.frames.x_mm / FOOT - DEAD_FLAT)))
    girth = hull.frames.girth_mm[middle] / FOOT
    polygon = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
    assert polygon - VIEWS_AGREE < girth < BEAM / 2 + points[-1, 1]
    assert girth == pytest.approx(drawn_girth(points), abs=2 * VIEWS_AGREE)
