"""How the handbook is set: Sphinx reads the pages of this folder; nothing comes from outside.

`make handbook` builds it into `handbook/`. The look is the app's own: its tokens, and the faces of
the drawings, are copied beside the pages so that they open from a disk with no network. Searching
is our own as well: Sphinx's leaves out figures and short words, and shows no place. The text of
every section is written beside the pages, and `find.js` looks through it.
"""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

from docutils import nodes
from pygments.lexers.special import TextLexer
from sphinx.application import Sphinx

from ribband import __version__
from ribband.web.fonts import FACES, font_path

HERE = Path(__file__).parent
TOKENS = HERE.parent / "src" / "ribband" / "web" / "static" / "tokens.css"

project = "Ribband"
release = __version__
language = "en"
extensions = ["myst_parser"]
source_suffix = {".md": "markdown"}
root_doc = "index"
templates_path = ["_look"]
exclude_patterns = ["_look", "pictures"]
myst_heading_anchors = 4
nitpicky = True

html_theme = "basic"
html_title = "The Ribband handbook"
html_static_path = ["_look/handbook.css", "_look/rail.js", "_look/find.js"]
html_css_files = ["tokens.css", "handbook.css"]
html_js_files = [("rail.js", {"defer": "defer"})]
html_additional_pages = {"find": "find.html"}
html_sidebars = {"**": ["whole.html"]}
html_theme_options = {"globaltoc_collapse": "false", "nosidebar": "false"}
html_show_sphinx = False
html_show_copyright = False
html_show_sourcelink = False
html_copy_source = False
html_use_index = False
pygments_style = "bw"


def dress(app: Sphinx, problem: Exception | None) -> None:
    """Put the app's tokens and the faces beside the pages."""
    if problem is not None or app.builder.format != "html":
        return
    static = Path(app.outdir) / "_static"
    (static / "fonts").mkdir(exist_ok=True)
    for name in FACES:
        face = font_path(f"{name}.ttf")
        if face is not None:
            shutil.copyfile(face, static / "fonts" / f"{name}.ttf")
    text = TOKENS.read_text("utf-8").replace('url("/fonts/', 'url("fonts/')
    (static / "tokens.css").write_text(text, "utf-8")
    every = [place for name in sorted(app.env.found_docs) for place in places_of(app, name)]
    words = json.dumps(every, ensure_ascii=False, separators=(",", ":"))
    (static / "places.js").write_text(f"window.PLACES = {words};\n", "utf-8")


def places_of(app: Sphinx, name: str) -> Iterator[tuple[str, str, str, str, str]]:
    """Give every section of a page: page, its title, heading, anchor, text without its sections."""
    page = app.env.get_doctree(name)
    title = app.env.titles[name].astext()
    for section in page.findall(nodes.section):
        head = next(iter(section.findall(nodes.title))).astext()
        own = [part for part in section.children[1:] if not isinstance(part, nodes.section)]
        text = " ".join(word for part in own for word in words_of(part))
        anchor = "" if section.parent is page else section["ids"][0]
        yield name, title, head, anchor, text


def words_of(part: nodes.Node) -> Iterator[str]:
    """Give the words of a part as they are read, a paragraph, a cell or a block at a time."""
    if isinstance(part, nodes.TextElement) and not isinstance(part, nodes.Invisible):
        yield re.sub(r"\s+", " ", part.astext())
    elif isinstance(part, nodes.Element):
        for inner in part.children:
            yield from words_of(inner)


def no_search_of_its_own(app: Sphinx) -> None:
    """Leave out Sphinx's search and its index: ours stands in their place."""
    app.builder.search = False  # type: ignore[attr-defined]  # builders of HTML have it


def setup(app: Sphinx) -> None:
    """Have the pages dressed when they are written; flaws of boards are set as plain text."""
    app.add_lexer("flaws", TextLexer)
    app.connect("builder-inited", no_search_of_its_own)
    app.connect("build-finished", dress)
