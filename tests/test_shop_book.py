"""The shop's pages of the planking book."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pypdfium2 as pdfium
import pytest

import made_books
from made_shop import boat, taped
from pdf_reading import texts
from ribband.drawing.book import write
from ribband.shop import Choice, HandlingRules, Leg, ShopRules, work_shop


def words(book, folder: Path) -> str:
    path = folder / "book.pdf"
    write(book, path)
    with pdfium.PdfDocument(path) as pdf:
        return " ".join(" ".join(texts(page).split()) for page in pdf)


@pytest.fixture(scope="module")
def shop():
    choices = (Choice("iron", "spike", "galvanised iron", per_box=100, price=20.0),)
    way = (Leg("pile", "box", 9000.0, 2400.0, 2000.0),)
    rules = ShopRules(handling=HandlingRules(most_hands=4))
    return work_shop(boat(), rules, choices, path=way)


@pytest.fixture(scope="module")
def text(shop, tmp_path_factory) -> str:
    book = replace(
        made_books.book("mm"), hull=boat().hull, lining=boat().lining, planks=boat().planks,
        shop=shop, sheets={},
    )  # fmt: skip
    return words(book, tmp_path_factory.mktemp("book"))


def test_the_book_has_a_section_for_each_part_of_the_shop(text: str) -> None:
    for heading in ("In the shop", "Steaming", "Fastenings", "Caulking and bedding",
                    "Butt blocks", "Lifting and the way to the hull"):  # fmt: skip
        assert heading in text


def test_cautions_stand_where_the_numbers_are(text: str) -> None:
    assert "never seal it" in text
    assert "a guide downward only" in text


def test_planks_for_the_crane_are_named(text: str, shop) -> None:
    assert shop.handling.craned
    assert shop.handling.craned[0].name in text
    assert "not by hand: crane or tackle" in text
    assert "do not get round" in text


def test_numbers_of_fastenings_are_there(text: str, shop) -> None:
    assert f"{shop.fastenings.count} in all" in text
    assert "galvanised iron spike" in text


def test_girths_alone_say_that_bends_are_not_known(tmp_path: Path) -> None:
    book = replace(made_books.taped(), shop=work_shop(taped()))
    assert "Not known: a plank’s bend" in words(book, tmp_path)


def test_a_book_without_a_shop_says_so(tmp_path: Path) -> None:
    assert "have not been worked out" in words(made_books.taped(), tmp_path)


def test_a_weight_not_known_is_never_taken_for_a_light_one(tmp_path: Path) -> None:
    light = replace(
        taped(),
        planks=replace(
            taped().planks,
            planks=tuple(replace(p, rough_kg=None, dressed_kg=None) for p in taped().planks.planks),
        ),
    )
    said = words(replace(made_books.taped(), shop=work_shop(light)), tmp_path)
    assert "weigh one before lifting many" in said
    assert "No plank is too heavy" not in said
