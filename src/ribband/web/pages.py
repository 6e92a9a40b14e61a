"""The pages, in the order of the work; the navigation is made from this list.

A page is a template of its name, with a style sheet and a script of its name under `static`, and
a module of its name in `api` for its data. Until it has a template it says what will be there.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

__all__ = ["PAGES", "STATIC", "TEMPLATES", "Page", "scripts_of"]

IMPORTS = re.compile(r'^(?:import|export) [^;]*?"(/static/js/[\w-]+\.js)"', re.MULTILINE)

HERE = Path(__file__).parent
TEMPLATES = HERE / "templates"
STATIC = HERE / "static"


@dataclass(frozen=True, slots=True)
class Page:
    """A page: the last part of its address, its title, and one line of what it is for.

    `things`: one of its things may be named behind its address, as /planks/P7-2.
    """

    name: str
    title: str
    says: str
    things: bool = False

    @property
    def path(self) -> str:
        """Its address on the server.

        >>> [page.path for page in PAGES[:2]]
        ['/', '/measure']
        """
        return "/" if self.name == "overview" else f"/{self.name}"

    @property
    def template(self) -> str:
        """Its template, or the plain one while it has none."""
        own = f"{self.name}.html"
        return own if (TEMPLATES / own).exists() else "coming.html"


PAGES = (
    Page("overview", "Overview", "the job on one sheet"),
    Page("measure", "Measure", "the hull as measured, and made fair"),
    Page("line-out", "Line out", "strakes, seams and stealers"),
    Page("butts", "Butts", "where the planks meet"),
    Page("planks", "Planks", "every plank, its shape and its bevels", things=True),
    Page("timber", "Timber", "boards, and planks laid on them"),
    Page("shop", "Shop", "steam, fastenings, the order of hanging"),
    Page("record", "Record", "what was hung, and as it was hung"),
    Page("history", "History", "who changed what, and going back"),
)


@lru_cache(maxsize=32)
def scripts_of(name: str) -> tuple[str, ...]:
    """List the scripts a page needs, so that a browser fetches them all at once.

    >>> scripts_of("overview")[:2]
    ('/static/js/house.js', '/static/js/job.js')
    """
    found: dict[str, None] = {}
    ahead = ["/static/js/house.js", f"/static/js/{name}.js"]
    while ahead:
        script = ahead.pop(0)
        file = STATIC / script.removeprefix("/static/")
        if script in found or not file.is_file():
            continue
        found[script] = None
        ahead[:0] = IMPORTS.findall(file.read_text("utf-8"))
    return tuple(found)
