"""The demo: *Marl Heron*, an invented pilot launch, from the yard's forms to the planking book."""

from __future__ import annotations

import shutil
from importlib.resources import as_file, files
from pathlib import Path

from ribband.app.plan.everything import Everything, everything
from ribband.app.plan.making import Tell
from ribband.app.plan.runner import quiet
from ribband.errors import InputError, Problem

__all__ = ["EXAMPLES", "copy_example", "demo"]

EXAMPLES = {
    "marl_heron": "a 17 m pilot launch of the 1930s, invented; the demo",
    "marl_heron_girths": "the same from girths off a tape only",
    "packet_1825": "a packet of 1825, digitised from a published drawing",
    "launch_1905": "a launch of 1905, from a printed table of offsets",
}


def demo(
    out: Path, *, seconds: float | None = None, hands: int = 1, tell: Tell = quiet
) -> Everything:
    """Copy the forms of *Marl Heron* to ``out/forms`` and make everything of them in `out`.

    `hands` is how many processes write the papers.

    Raises
    ------
    InputError, JobFileError
    """
    forms = copy_example("marl_heron", out / "forms")
    return everything(forms, out, seconds=seconds, who="the demo", hands=hands, tell=tell)


def copy_example(name: str, folder: Path) -> Path:
    """Copy the forms of an example into `folder`.

    Raises
    ------
    InputError : there is no such example
    """
    if name not in EXAMPLES:
        raise InputError([Problem("examples", 0, "", name, "one of " + ", ".join(EXAMPLES))])
    folder.mkdir(parents=True, exist_ok=True)
    with as_file(files("ribband") / "data" / "examples" / name) as example:
        for form in sorted(example.glob("*.csv")):
            shutil.copyfile(form, folder / form.name)
    return folder
