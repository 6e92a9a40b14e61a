"""The example jobs: they read without a problem, and are wrong only where we say they are."""

from __future__ import annotations

import csv
import importlib
import sys
from pathlib import Path

import numpy as np
import pytest

from ribband.survey import read_forms, read_survey, typed
from ribband.units import parse_length

ROOT = Path(__file__).parents[1]
EXAMPLES = ROOT / "src" / "ribband" / "data" / "examples"
NAMES = ("marl_heron", "marl_heron_girths", "packet_1825", "launch_1905")


@pytest.fixture(scope="module")
def maker():
    """The script that makes Marl Heron; the hull's formula is beside it."""
    sys.path.insert(0, str(ROOT / "tools"))
    try:
        yield importlib.import_module("make_marl_heron")
    finally:
        sys.path.remove(str(ROOT / "tools"))


@pytest.fixture(scope="module")
def offsets() -> list[list[str]]:
    with (EXAMPLES / "marl_heron" / "offsets.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.reader(lines))


def off_by(maker, offsets) -> dict[tuple[str, str, str], float]:
    """How far each waterline and buttock cell is from the formula, mm."""
    found = {}
    sections = {name: maker.at_station(maker.mm(x)) for name, x in maker.STATIONS.items()}
    measure = {"waterline": maker.half_breadth, "buttock": maker.height}
    for line, at, *cells, _ in offsets[2:]:
        for station, text in zip(offsets[0][2:-1], cells, strict=True):
            if line in measure and text:
                true = measure[line](sections[station], maker.mm(at))
                found[line, at, station] = maker.mm(text) - true
    return found


@pytest.mark.parametrize("name", NAMES)
def test_every_form_reads_and_every_cell_is_understood(name: str) -> None:
    forms = read_forms(EXAMPLES / name)
    survey = read_survey(forms)
    assert survey.frames
    for form in forms.values():
        assert typed(form, survey.particulars.unit)[1] == ()


@pytest.mark.parametrize("name", NAMES)
def test_every_example_says_where_its_numbers_come_from(name: str) -> None:
    says = (EXAMPLES / name / "README.md").read_text("utf-8")
    assert "Source:" in says or "invented" in says


def test_marl_heron_is_made_the_same_again(maker, tmp_path: Path) -> None:
    maker.main(tmp_path)
    made = sorted(p.relative_to(tmp_path) for p in tmp_path.rglob("*.csv"))
    kept = sorted(
        p.relative_to(EXAMPLES) for name in NAMES[:2] for p in (EXAMPLES / name).glob("*.csv")
    )
    assert made == kept
    for path in made:
        assert (tmp_path / path).read_text("utf-8") == (EXAMPLES / path).read_text("utf-8")


def test_exactly_three_blunders_and_the_rest_within_a_tape(maker, offsets) -> None:
    off = off_by(maker, offsets)
    wrong = {cell for cell, mm in off.items() if abs(mm) > 10}
    assert wrong == set(maker.BLUNDERS)
    assert len(wrong) == 3
    rest = np.array([mm for cell, mm in off.items() if cell not in wrong])
    assert 0.8 < rest.std() < 2.0
    assert abs(rest).max() < 6.0


def test_exactly_two_gaps_and_both_are_reported(maker, offsets) -> None:
    sections = {name: maker.at_station(maker.mm(x)) for name, x in maker.STATIONS.items()}
    measure = {"waterline": maker.half_breadth, "buttock": maker.height}
    blank = {
        (line, at, station)
        for line, at, *cells, _ in offsets[2:]
        for station, text in zip(offsets[0][2:-1], cells, strict=True)
        if not text and line in measure
        if np.isfinite(measure[line](sections[station], maker.mm(at)))
    }
    assert blank == set(maker.GAPS)
    survey = read_survey(read_forms(EXAMPLES / "marl_heron"))
    said = [f"{f.where} {f.says}" for f in survey.findings if f.code == "S002"]
    assert len(said) == len(blank) == 2
    for line, at, station in blank:
        assert any(f"{line} {at}" in text and f"station {station}" in text for text in said)


def test_the_readme_names_each_gap_and_blunder_as_written(maker, offsets) -> None:
    says = (EXAMPLES / "marl_heron" / "README.md").read_text("utf-8")
    for line, at, station in maker.GAPS:
        assert f"| {line} {at} | {station} |" in says
    for line, at, station in maker.BLUNDERS:
        row = next(row for row in offsets if row[:2] == [line, at])
        written = row[offsets[0].index(station)].rstrip("+")
        assert f"| {line} {at} | {station} | {written} |" in says


def test_girths_have_one_gap_and_one_blunder(maker) -> None:
    survey = read_survey(read_forms(EXAMPLES / "marl_heron_girths"))
    girths = {g.frame: g.girth_mm for g in survey.girths}
    missing = {mark.name for mark in survey.frames} - set(girths)
    assert missing == {str(maker.GIRTH_GAP)}
    off = {
        n: mm - maker.girth(maker.at_station(maker.frame_x(int(n))))
        for n, mm in girths.items()
        if n != "stern"
    }
    assert [n for n, mm in off.items() if abs(mm) > 10] == [str(maker.GIRTH_BLUNDER)]


def test_marl_heron_is_a_launch_of_the_stated_size(maker) -> None:
    length, beam = (parse_length(text, "ft-in-8ths") for text in ("55-3-0", "14-1-0"))
    head, quarter = maker.surface([0.0, 1.0], 1.0)
    assert quarter[0] - head[0] == pytest.approx(length, abs=20)
    widest = max(maker.at_station(maker.frame_x(n))[:, 1].max() for n in range(1, 45))
    assert 2 * widest == pytest.approx(beam, abs=10)


def test_marl_heron_enters_the_water_at_a_seaworthy_angle(maker) -> None:
    x, _ = maker.stem(1150.0)
    near = maker.at_height(maker.at_station(x + 400.0), 1150.0)
    nearer = maker.at_height(maker.at_station(x + 50.0), 1150.0)
    assert 20 < np.degrees(np.arctan2(near - nearer, 350.0)) < 28


def test_doubtful_cells_of_the_packet_are_marked_and_reported() -> None:
    """The source marks 5 cells as doubtful and 8 as read between neighbouring curves."""
    text = (EXAMPLES / "packet_1825" / "offsets.csv").read_text("utf-8")
    assert text.count("?") == 13
    survey = read_survey(read_forms(EXAMPLES / "packet_1825"))
    assert "S003" in {f.code for f in survey.findings}


def test_the_packet_leaves_blank_what_the_drawing_does_not_show() -> None:
    with (EXAMPLES / "packet_1825" / "offsets.csv").open(encoding="utf-8", newline="") as lines:
        head, *rows = list(csv.reader(lines))
    levels = {row[1]: dict(zip(head, row, strict=True)) for row in rows if row[0] == "waterline"}
    for station in ("D", "H", "J"):
        assert [levels[at][station] for at in ("14", "15", "16", "18")] == [""] * 4
