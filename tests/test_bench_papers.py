"""Patterns, tickets, spiling and the model of a job, asked for as at the bench."""

from __future__ import annotations

import json
import re
from pathlib import Path

import ezdxf
import pypdfium2
import pytest
from click.testing import CliRunner

from made_kept import planned_copy
from ribband.app.demo import copy_example
from ribband.cli import cli
from ribband.store import JobFile


def ribband(*words: object, code: int = 0) -> str:
    result = CliRunner().invoke(cli, [str(word) for word in words], prog_name="ribband")
    assert result.exit_code == code, result.output
    assert "Traceback" not in result.output
    return result.stdout if code == 0 else result.output


CORNERS = ("fore, upper", "fore, lower", "aft, upper", "aft, lower")


@pytest.fixture(scope="module")
def heron(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return planned_copy(tmp_path_factory.mktemp("bench") / "heron.ribband", "shapes")


@pytest.fixture(scope="module")
def taped(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("taped")
    ribband("new", folder / "heron", copy_example("marl_heron_girths", folder / "forms"))
    return folder / "heron.ribband"


def test_spiling_is_said_in_the_vessels_unit(heron: Path) -> None:
    said = ribband("spiling", heron, "p7-1")
    assert "P7-1" in said
    assert " mm" not in said
    title, head, *lines = said.split("P7-1: ")[1].splitlines()
    assert "ends from square: fore " in title
    for word in ("along", "down to lower", "up to upper", "on 12 in", "hollow, in"):
        assert word in head
    named = [row.strip() for row in lines if row.strip()]
    for place, corner in zip((0, 1, -4, -3), CORNERS, strict=True):
        assert named[place].startswith(corner)  # the last lines say what minus and bevels mean
    figures = json.loads(ribband("spiling", heron, "7-1", "--json"))["spiling"]
    assert set(figures) == {"P7-1", "S7-1"}
    one = figures["P7-1"]
    assert one["corners_mm"]["aft_upper"][0] > one["along_mm"][-2]
    assert abs(one["fore_angle_rad"]) < 1.6
    assert one["along_mm"] == sorted(one["along_mm"])
    assert all(low < up for low, up in zip(one["lower_mm"], one["upper_mm"], strict=True))


def test_a_pattern_is_the_plank_at_full_size(heron: Path, tmp_path: Path) -> None:
    ribband("patterns", heron, "P7-1", "--out", tmp_path, "--as", "dxf", "--as", "A3")
    drawing = ezdxf.readfile(tmp_path / "P7-1.dxf")
    (ring,) = [e for e in drawing.modelspace().query("LWPOLYLINE") if e.closed]
    x = [point[0] for point in ring.get_points()]
    one = json.loads(ribband("spiling", heron, "P7-1", "--json"))["spiling"]["P7-1"]
    assert max(x) - min(x) == pytest.approx(one["blank_length_mm"], rel=0.02)
    assert len(pypdfium2.PdfDocument(tmp_path / "P7-1 A3.pdf")) > 2


def test_every_plank_has_its_ticket(heron: Path, tmp_path: Path) -> None:
    ribband("tickets", heron, "--out", tmp_path / "t.pdf")
    planks = json.loads(ribband("planks", heron, "--json"))["planks"]
    pages = pypdfium2.PdfDocument(tmp_path / "t.pdf")
    texts = [page.get_textpage().get_text_range() for page in pages]
    for plank in planks:
        assert sum(f"/plank/{plank['plank']}\r" in text for text in texts) == 1
    whole = [text for text in texts if "fastened" in text]  # what goes on overleaf says it once
    assert len(whole) == len(planks)
    orders = [re.search(r"(\d+) of (\d+)", text[text.index("order") :]) for text in whole]
    places = sorted(int(order[1]) for order in orders if order)
    assert places == list(range(1, len(planks) + 1))  # each plank its own place of hanging


def test_the_model_has_a_body_a_plank(heron: Path, tmp_path: Path) -> None:
    ribband("model", heron, "--out", tmp_path / "h.glb")
    blob = (tmp_path / "h.glb").read_bytes()
    head = json.loads(blob[20 : 20 + int.from_bytes(blob[12:16], "little")])
    planks = json.loads(ribband("planks", heron, "--json"))["planks"]
    assert {p["plank"] for p in planks} <= {node.get("name") for node in head["nodes"]}
    said = ribband("model", heron, "--out", tmp_path / "h.stl", code=3)
    assert ".glb or .dxf" in said


def test_a_plank_that_is_not_there_is_named(heron: Path, tmp_path: Path) -> None:
    assert "P99-1" in ribband("patterns", heron, "P99-1", "--out", tmp_path, code=3)


def test_a_stealers_plank_is_the_lists_however_it_is_typed(heron: Path, tmp_path: Path) -> None:
    """Its s is small: written large, as a whole name would be, no list would know it."""
    assert "P99s-1" in ribband("tickets", heron, "p99S-1", code=3)
    job = planned_copy(tmp_path / "heron.ribband", None)
    ribband("log", job, " p7S-1", "patterned")
    ribband("photo", job, "P7S-1", "box 3", "--name-only")
    with JobFile.open(job) as kept:
        forms = kept.forms()
    for name in ("log", "photos"):
        assert [row[0] for row in forms[name].rows] == ["P7s-1"]


@pytest.mark.parametrize("verb", ["spiling", "patterns", "tickets", "model"])
def test_girths_alone_are_refused_in_words(taped: Path, verb: str) -> None:
    assert "not girths alone" in ribband(verb, taped, code=3)
