"""The yard's own figures of a timber: read, put before the table's, and marked wherever shown."""

from __future__ import annotations

import numpy as np
import pytest

from ribband.errors import InputError
from ribband.sources import cite, source
from ribband.survey.rows import Form, Row
from ribband.survey.typed import typed
from ribband.timber import PileRules, Wanted, gather, read_timbers, species_named
from ribband.timber.board_model import Board
from ribband.timber.moisture.dress import will_it_dress
from ribband.timber.moisture.settling import movement
from ribband.timber.tally.count import count

HEADER = ("timber", "density", "unit", "at", "radial", "tangential", "notes")
RING = np.array([[0.0, 0], [4000, 0], [4000, 300], [0, 300]])


def rows(*lines: str) -> tuple[Row, ...]:
    body = tuple(tuple(line.split("|")) for line in lines)
    form = Form("timbers", HEADER, body, "timbers.csv", tuple(range(2, len(body) + 2)))
    found, problems = typed(form, "mm")
    assert not problems
    return found


@pytest.mark.parametrize("at", ["0", "8", "12", "15", "30"])
@pytest.mark.parametrize("timber", ["larch", "white oak", "utile", "alder of the yard"])
def test_a_density_comes_back_at_the_moisture_it_was_weighed_at(timber: str, at: str) -> None:
    (own,) = read_timbers(rows(f"{timber}|612|kg/m3|{at}|||"))
    assert own.density(float(at)) == pytest.approx(612)
    assert source(own.weight_source).mark == "the yard's own"


def test_pounds_of_a_cubic_foot_and_the_usual_moisture() -> None:
    (own,) = read_timbers(rows("alder|36|lb/ft3||||"))
    assert own.density(12.0) == pytest.approx(36 * 0.45359237 / 0.3048**3)


def test_what_is_blank_is_the_tables_and_what_is_given_goes_before_it() -> None:
    oak = species_named("white oak")
    (heavier,) = read_timbers(rows("White  Oak|800||12|||"))
    assert (heavier.name, heavier.tangential) == (oak.name, oak.tangential)
    assert movement(heavier, "flat", 8.0, 14.0) == movement(oak, "flat", 8.0, 14.0)
    (livelier,) = read_timbers(rows("white oak||||6.0|12.0|"))
    moved = movement(livelier, "flat", 30.0, 0.0)
    assert (moved.width, moved.thickness) == (pytest.approx(-0.12), pytest.approx(-0.06))
    within = movement(livelier, "flat", 8.0, 14.0)  # where the table's coefficient would serve
    assert within.source == "yard"
    assert within.width == pytest.approx((1 - 0.12 * 16 / 30) / (1 - 0.12 * 22 / 30) - 1, abs=1e-9)
    assert livelier.density(12.0) == oak.density(12.0)


def test_the_pile_is_weighed_dressed_and_moved_by_them() -> None:
    boards = [Board("A1", RING, 60.0, "alder", 15.0, cut="flat")]
    own = read_timbers(rows("alder|500||15|4|8|"))
    wanted = Wanted("alder", 45.0, ("1",), np.array([[150.0, 150.0]]))
    blind, seen = gather(boards, wanted), gather(boards, replaced(wanted, own), PileRules())
    assert (blind.tally.kg, blind.seams, blind.dressings[0].dressing) == (None, None, None)
    assert seen.tally.kg == pytest.approx(4.0 * 0.3 * 0.06 * 500)
    assert seen.dressings[0].dressing.source == "yard"
    assert seen.seams is not None
    assert {"T001", "T011"} <= {f.code for f in blind.findings}
    codes = {f.code: f for f in seen.findings}
    assert not {"T001", "T011"} & codes.keys()
    assert cite(codes["T006"].source) == "The yard's own figure, form timbers"


def replaced(wanted: Wanted, own: tuple) -> Wanted:
    return Wanted(wanted.timber, wanted.dressed_mm, wanted.strakes, wanted.widths_mm, "mm", own)


def test_only_boards_of_that_timber_are_told_of() -> None:
    boards = [Board("A1", RING, 60.0, "larch", 15.0), Board("A2", RING, 60.0, "white oak", 15.0)]
    told = count(boards, timbers=read_timbers(rows("larch|612||15|||"))).findings
    assert [f.where for f in told if f.code == "T006"] == ["board A1"]


@pytest.mark.parametrize(
    ("lines", "column"),
    [
        (("larch|||15|||",), "density"),
        (("larch|600|||||", "European larch|610|||||"), "timber"),
        (("larch|600|||9|4|",), "radial"),
        (("larch||||8.5||",), "radial"),  # more than the table's tangential
    ],
)
def test_what_cannot_be_is_refused_with_its_cell(lines: tuple[str, ...], column: str) -> None:
    with pytest.raises(InputError) as wrong:
        read_timbers(rows(*lines))
    assert [p.column for p in wrong.value.problems] == [column]


def test_a_timber_nobody_knows_is_said_with_the_names_most_like_it() -> None:
    found = {f.code: f for f in gather([], Wanted("Douglass fir", 40.0)).findings}
    assert "Douglas-fir" in found["T007"].why
    assert "form timbers" in found["T007"].why
    for known in ("Douglas-fir", "douglas fir", "larch", ""):
        assert "T007" not in {f.code for f in gather([], Wanted(known, 40.0)).findings}
    own = read_timbers(rows("yew of the hill|670|||||"))
    seen = gather([], Wanted("Yew of the hill", 40.0, timbers=own)).findings
    assert "T007" not in {f.code for f in seen}


def test_a_board_short_by_less_than_can_be_measured_is_not_called_tight() -> None:
    oak = species_named("white oak")
    for over, tight in ((0.03, False), (-0.03, False), (-0.2, True)):
        done = will_it_dress(
            46.35 + over, 40.0, oak, "flat", moisture_from=15.0, moisture_to=15.0, barer_mm=0.4
        )
        assert (done.tight, done.dresses) == (tight, True)
        assert str(done.to_spare_mm) != "-0.0"
