"""The table of species: what is known, who says so, and what a plank weighs."""

from __future__ import annotations

import pytest

from ribband.sources import source
from ribband.timber import Figure, Species, species, species_named


def figures(s: Species) -> list[Figure]:
    return [s.gravity_green, s.gravity_12, s.volumetric, s.radial, s.tangential]


def test_every_figure_has_a_source_and_every_gap_has_none() -> None:
    for s in species():
        for figure in figures(s):
            assert (figure.value is None) == (figure.source == "")
            if figure.source:
                assert source(figure.source).mark


def test_no_species_is_named_twice() -> None:
    names = [name.lower() for s in species() for name in (s.name, *s.also)]
    assert len(names) == len(set(names))


def test_figures_are_of_wood() -> None:
    for s in species():
        for gravity in (s.gravity_green.value, s.gravity_12.value):
            assert gravity is None or 0.25 < gravity < 1.1
        if s.radial.value is not None and s.tangential.value is not None:
            assert 1 < s.radial.value < s.tangential.value < 13
        if s.gravity_green.value and s.gravity_12.value:
            assert s.gravity_green.value < s.gravity_12.value


def test_dry_wood_is_denser_by_volume_and_wet_wood_heavier() -> None:
    fir = species_named("douglas fir coast")
    assert fir.gravity(6.0) > fir.gravity(12.0) > fir.gravity(25.0)
    assert fir.density(20.0) > fir.density(12.0) > fir.density(6.0)


def test_what_is_not_known_is_not_guessed() -> None:
    assert species_named("utile").density(12.0) is None
    nothing = Figure(None)
    green = Species("green only", (), Figure(0.5, "house"), nothing, nothing, nothing, nothing)
    assert green.density(12.0) is None
    assert green.weight_source == "house"


def test_without_shrinkage_the_figure_at_12_is_taken_as_it_stands() -> None:
    plain = species_named("western larch")
    bare = Species("larch", (), Figure(None), plain.gravity_12, *[Figure(None)] * 3)
    assert bare.density(15.0) == pytest.approx(1000 * 0.52 * 1.15)


@pytest.mark.parametrize("moisture", [-1.0, 31.0, float("nan")])
def test_moisture_outside_the_formula_is_refused(moisture: float) -> None:
    with pytest.raises(ValueError, match="0 to 30"):
        species_named("teak").density(moisture)


@pytest.mark.parametrize("said", ["Khaya", "MAHOGANY,  african", "mahogany african"])
def test_a_species_is_found_by_any_name_and_spelling(said: str) -> None:
    assert species_named(said).name == "Mahogany, African"


def test_an_unknown_species_is_none() -> None:
    assert species_named("") is None
    assert species_named("unobtainium") is None
