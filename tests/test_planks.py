"""The plank list: names, cuts, sizes, volumes, weights and totals."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from made_hulls import barrel, launch, tape
from made_planking import even_lining, stepped_layout, ways_of
from ribband.butts.model import Butt, Layout
from ribband.errors import InputError
from ribband.findings import Severity
from ribband.lining.model import Strake
from ribband.planks import PlankRules, check, list_planks
from ribband.planks.solve import length_class

BOARD_FOOT_M3 = 144 * 0.0254**3
NO_ALLOWANCE = PlankRules(edge_allowance_mm=0.0, end_allowance_mm=0.0)


@dataclass(frozen=True)
class Stuff:
    """A timber of a known density."""

    kg_m3: float | None = 500.0
    name: str = "made timber"
    weight_source: str = "house"

    def density(self, moisture_percent: float) -> float | None:
        return self.kg_m3


def job(hull, strakes: int, **how):
    lining = even_lining(hull, strakes)
    ways = ways_of(hull, lining)
    return hull, lining, ways, stepped_layout(ways, **how)


@pytest.fixture(scope="module")
def drum():
    return job(barrel(radius=1000.0, length=12000.0, frames=25), 8)


@pytest.fixture(scope="module")
def boat():
    return job(launch(), 16)


def layout_of(*butts: Butt) -> Layout:
    return Layout(butts, feasible=True, goals=(), seconds=0.0, seed=0)


def test_planks_are_named_by_side_strake_and_place_from_forward(drum) -> None:
    hull, lining, ways, _ = drum
    butts = layout_of(Butt(6, 16), Butt(6, 30), Butt(0, 20))
    names = [p.name for p in list_planks(hull, lining, ways, butts).planks]
    assert names[:3] == ["P1-1", "P1-2", "P2-1"]
    assert [n for n in names if n.startswith("P7")] == ["P7-1", "P7-2", "P7-3"]
    assert names[len(names) // 2 :] == ["S" + n[1:] for n in names[: len(names) // 2]]


def test_a_plank_on_a_drum_has_the_sizes_of_its_closed_form(drum) -> None:
    hull, lining, ways, _ = drum
    row = list_planks(hull, lining, ways, layout_of(Butt(2, 24)), NO_ALLOWANCE, Stuff()).planks
    fore = next(p for p in row if p.name == "P3-1")
    width = np.pi / 2 * 1000.0 / 8
    length = hull.frames.x_mm[12]  # landing 24 is the thirteenth frame
    assert fore.length_mm == pytest.approx(length, abs=0.01)
    assert fore.width_max_mm == pytest.approx(width, rel=1e-6)
    assert fore.width_min_mm == pytest.approx(width, rel=1e-6)
    assert fore.area_m2 == pytest.approx(width * length / 1e6, rel=1e-6)
    m3 = width * length * 38.0 / 1e9
    assert fore.dressed_board_feet == pytest.approx(m3 / BOARD_FOOT_M3, rel=1e-6)
    assert fore.rough_board_feet == pytest.approx(m3 * 44 / 38 / BOARD_FOOT_M3, rel=1e-6)
    assert fore.dressed_kg == pytest.approx(500 * m3, rel=1e-6)


def test_allowances_lie_round_the_whole_plank(drum) -> None:
    hull, lining, ways, _ = drum
    rules = PlankRules(edge_allowance_mm=10.0, end_allowance_mm=100.0)
    plank = list_planks(hull, lining, ways, layout_of(), rules).planks[0]
    area = (plank.length_mm + 200.0) * (plank.width_max_mm + 20.0)
    assert plank.rough_board_feet == pytest.approx(area * 44.0 / 1e9 / BOARD_FOOT_M3, rel=1e-6)
    assert plank.dressed_board_feet == pytest.approx(
        plank.area_m2 * 0.038 / BOARD_FOOT_M3, rel=1e-9
    )


def test_ends_say_what_they_land_on(drum) -> None:
    hull, lining, ways, _ = drum
    row = list_planks(hull, lining, ways, layout_of(Butt(0, 24), Butt(0, 37))).planks
    ends = [(p.fore, p.fore_landing, p.aft, p.aft_landing) for p in row if p.name.startswith("P1-")]
    assert ends == [
        ("stem", "hood", "13", "frame"),
        ("13", "frame", "19", "block"),
        ("19", "block", "stern", "hood"),
    ]


def test_a_stealer_ends_in_its_nib(drum) -> None:
    hull, lining, ways, _ = drum
    frames = hull.frames.names
    thief = Strake("3s", "stealer", frames[11], "stern", stealer=True, nib=frames[11])
    strakes = (*lining.strakes[:3], thief, *lining.strakes[4:])
    along, width = lining.along_mm.copy(), lining.width_mm.copy()
    along[3, :12] = width[3, :12] = np.nan
    along[3] -= along[3, 12]
    length = ways.length_mm.copy()
    length[3] = np.nanmax(along[3])
    short = replace(lining, strakes=strakes, along_mm=along, width_mm=width)
    names = tuple(s.name for s in strakes)
    made = list_planks(hull, short, replace(ways, strakes=names, length_mm=length), layout_of())
    stolen = next(p for p in made.planks if p.strake == "3s")
    assert (stolen.name, stolen.fore, stolen.fore_landing) == ("P3s-1", frames[11], "nib")
    assert stolen.length_mm == pytest.approx(12000.0 - hull.frames.x_mm[11], abs=0.01)


def test_girths_alone_give_a_list_that_ends_on_frames() -> None:
    hull, lining, ways, layout = job(tape(), 12)
    made = list_planks(hull, lining, ways, layout, PlankRules(), Stuff())
    assert {p.fore_landing for p in made.planks if p.number == 1} == {"frame"}
    assert check(hull, lining, ways, layout, made) == ()


@pytest.mark.parametrize("blocks", [False, True])
def test_the_planks_of_a_launch_cover_her_side(boat, blocks: bool) -> None:
    hull, lining, ways, _ = boat
    layout = stepped_layout(ways, blocks=blocks)
    made = list_planks(hull, lining, ways, layout, PlankRules(), Stuff())
    assert check(hull, lining, ways, layout, made) == ()


def test_planks_of_a_strake_add_up_wherever_the_butts_stand(boat) -> None:
    hull, lining, ways, layout = boat
    cut = list_planks(hull, lining, ways, layout)
    whole = list_planks(hull, lining, ways, layout_of())
    for a, b in zip(cut.by_strake, whole.by_strake, strict=True):
        assert a.length_mm == pytest.approx(b.length_mm, rel=1e-12)
        # each plank has as many lines as the whole strake: the cut one is the finer sum
        assert a.area_m2 == pytest.approx(b.area_m2, rel=5e-4)


def test_staggered_sides_keep_their_own_butts(drum) -> None:
    hull, lining, ways, _ = drum
    port, starboard = layout_of(Butt(0, 20)), layout_of(Butt(0, 28))
    made = list_planks(hull, lining, ways, port, other=starboard)
    aft = {p.name: p.aft for p in made.planks if p.name in {"P1-1", "S1-1"}}
    assert aft == {"P1-1": "11", "S1-1": "15"}
    assert check(hull, lining, ways, port, made, starboard) == ()


@pytest.mark.parametrize(("hair", "least"), [(-1e-5, 0.0), (-1.0, -1.0)])
def test_a_point_is_nothing_wide_but_crossed_edges_are_not_hidden(drum, hair, least) -> None:
    hull, lining, ways, layout = drum
    width = lining.width_mm.copy()
    width[0, 0] = hair
    pointed = replace(lining, width_mm=width)
    made = list_planks(hull, pointed, ways, layout)
    assert made.planks[0].width_min_mm == least
    found = {f.code for f in check(hull, pointed, ways, layout, made)}
    assert ("P012" in found) == (least < 0)


def test_one_side_may_be_listed_alone(drum) -> None:
    hull, lining, ways, layout = drum
    made = list_planks(hull, lining, ways, layout, PlankRules(sides="starboard"))
    assert [t.of for t in made.by_side] == ["starboard"]


def test_totals_are_sums_by_side_strake_and_length(boat) -> None:
    made = list_planks(*boat, PlankRules(), Stuff())
    assert [t.of for t in made.by_side] == ["port", "starboard"]
    assert [t.of for t in made.by_strake] == [str(n) for n in range(1, 17)]
    everything = made.totals[0]
    for group in (made.by_side, made.by_strake, made.by_length):
        assert sum(t.planks for t in group) == everything.planks == len(made.planks)
        assert sum(t.rough_kg for t in group) == pytest.approx(everything.rough_kg)
    assert made.by_side[0].area_m2 == made.by_side[1].area_m2


def test_classes_of_length_are_in_the_jobs_own_unit(boat) -> None:
    hull, *rest = boat
    feet = replace(hull, particulars=replace(hull.particulars, unit="ft-in-8ths"))
    named = [t.of for t in list_planks(feet, *rest).by_length]
    assert "over 16-0-0 to 18-0-0" in named
    assert "over 5000 mm to 5500 mm" in [t.of for t in list_planks(hull, *rest).by_length]


def test_a_length_on_the_line_is_in_the_class_below() -> None:
    assert length_class(6 * 304.8, 609.6).to_mm == pytest.approx(6 * 304.8)
    assert length_class(0.0, 609.6).over_mm == 0.0


def test_thicknesses_come_from_the_rule_before_the_form(drum) -> None:
    assert list_planks(*drum).planks[0].dressed_mm == 38.0
    made = list_planks(*drum, PlankRules(dressed_mm=30.0, rough_mm=36.0))
    assert (made.planks[0].dressed_mm, made.planks[0].rough_mm) == (30.0, 36.0)


def test_no_rough_thickness_means_the_usual_over_the_dressed(drum) -> None:
    hull, *rest = drum
    bare = replace(hull, particulars=replace(hull.particulars, rough_mm=0.0))
    assert list_planks(bare, *rest).planks[0].rough_mm == 38.0 + 9.525


def test_no_thickness_means_no_volumes_and_a_caution(drum) -> None:
    hull, *rest = drum
    bare = replace(hull, particulars=replace(hull.particulars, planking_mm=0.0, rough_mm=0.0))
    made = list_planks(bare, *rest, PlankRules(), Stuff())
    assert [f.code for f in made.findings] == ["P001"]
    assert made.planks[0].dressed_kg is None
    assert made.totals[0].rough_board_feet == 0.0
    assert made.planks[0].area_m2 > 0


@pytest.mark.parametrize("species", [None, Stuff(kg_m3=None)])
def test_no_density_means_no_weights_and_a_caution(drum, species) -> None:
    made = list_planks(*drum, PlankRules(), species)
    assert made.planks[0].rough_kg is None
    assert made.totals[0].rough_kg is None
    assert "P002" in [f.code for f in made.findings]


def test_a_heavy_plank_is_pointed_out_where_weights_are_given(drum) -> None:
    made = list_planks(*drum, PlankRules(), Stuff(900.0))
    lift = next(f for f in made.findings if f.code == "P004")
    heaviest = max(made.planks, key=lambda p: p.rough_kg)
    assert heaviest.name in lift.says
    assert lift.severity is Severity.CAUTION
    assert "local safety rules" in lift.why


def test_light_planks_are_not_cried_over(drum) -> None:
    made = list_planks(*drum, PlankRules(), Stuff(50.0))
    assert "P004" not in [f.code for f in made.findings]


def test_a_weight_from_memory_is_a_caution(drum) -> None:
    unread = replace(Stuff(), weight_source="memory")
    weighed = [f for f in list_planks(*drum, PlankRules(), unread).findings if f.code == "P005"]
    assert [f.severity for f in weighed] == [Severity.CAUTION]
    assert "from memory" in weighed[0].why


def test_a_strake_that_is_not_lined_out_is_refused(drum) -> None:
    hull, lining, ways, layout = drum
    odd = replace(ways, strakes=("99", *ways.strakes[1:]))
    with pytest.raises(InputError, match="99"):
        list_planks(hull, lining, odd, layout)


@pytest.mark.parametrize("values", [{"sides": "larboard"}, {"dressed_mm": 40.0, "rough_mm": 30.0}])
def test_rules_that_make_no_sense_are_refused(values) -> None:
    with pytest.raises(InputError):
        PlankRules(**values)
