"""A folder of patterns, a file or more a plank, named by the plank."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path

from ribband.drawing import dxf, pdf, svg
from ribband.drawing.bench import Bench
from ribband.drawing.patterns.paper import ROLL_MM, roll, tiles, turned
from ribband.drawing.patterns.pattern import full_size
from ribband.drawing.sheet import Sheet
from ribband.planks.model import Plank
from ribband.planks.shape_model import Shape

__all__ = ["ARCS_MM", "KINDS", "write_folder"]

Progress = Callable[[float, str], None]


ARCS_MM = 0.07  # of the outline, which is within 0.02 of the fair edge: within 0.1 in all


def _on_tiles(paper: str) -> Callable[[Sheet, Path], Path]:
    return lambda sheet, path: pdf.write(tiles(turned(sheet), paper), path)


def _on_roll(width_mm: float) -> Callable[[Sheet, Path], Path]:
    return lambda sheet, path: pdf.write(roll(turned(sheet), width_mm), path)


KINDS: dict[str, tuple[str, Callable[[Sheet, Path], Path]]] = {
    "dxf": (".dxf", dxf.write),
    "arcs": (" arcs.dxf", lambda sheet, path: dxf.write(sheet, path, ARCS_MM)),
    "svg": (".svg", svg.write),
    "roll": (" roll.pdf", _on_roll(ROLL_MM)),
    "A4": (" A4.pdf", _on_tiles("A4")),
    "A3": (" A3.pdf", _on_tiles("A3")),
    "letter": (" letter.pdf", _on_tiles("letter")),
}


def write_folder(
    planks: Iterable[tuple[Plank, Shape]],
    bench: Bench,
    folder: Path,
    kinds: Sequence[str] = ("dxf",),
    *,
    doubts: Mapping[str, Sequence[str]] | None = None,
    roll_mm: float = ROLL_MM,
    progress: Progress | None = None,
) -> list[Path]:
    """Write patterns/P7-2.dxf and the like, one a plank and kind; give the paths.

    Parameters
    ----------
    kinds : keys of `KINDS`: dxf; arcs, the same with its outline in arcs; svg; roll; A4, A3,
        letter
    roll_mm : how wide the roll is
    doubts : by plank name, what is doubtful about it

    Raises
    ------
    ValueError : a kind that is not one, or a roll too narrow
    """
    if wrong := [kind for kind in kinds if kind not in KINDS]:
        raise ValueError(f"patterns as {', '.join(KINDS)}; not {', '.join(wrong)}")
    ways = KINDS | {"roll": (KINDS["roll"][0], _on_roll(roll_mm))}
    every, paths = list(planks), []
    folder.mkdir(parents=True, exist_ok=True)
    for done, (plank, shape) in enumerate(every):
        sheet = full_size(shape, plank, bench, doubts=(doubts or {}).get(plank.name, ()))
        for kind in kinds:
            ending, write = ways[kind]
            paths.append(write(sheet, folder / f"{_file_name(plank.name)}{ending}"))
        if progress:
            progress((done + 1) / len(every), f"pattern of {plank.name}")
    return paths


def _file_name(plank: str) -> str:
    """Give the plank's name without what a file's name may not have."""
    return re.sub(r'[\\/:*?"<>|\s]+', "_", plank).strip(".") or "plank"
