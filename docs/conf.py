"""How the handbook is set: Sphinx reads the pages of this folder; nothing comes from outside.

`make handbook` builds it into `handbook/`. The look is the app's own: its tokens, and the faces of
the drawings, are copied beside the pages so that they open from a disk with no network.
"""

from __future__ import annotations

import shutil
from pathlib import Path

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
html_static_path = ["_look/handbook.css"]
html_css_files = ["tokens.css", "handbook.css"]
html_sidebars = {"**": ["whole.html"]}
html_theme_options = {"globaltoc_collapse": "false", "nosidebar": "false"}
html_show_sphinx = False
html_show_copyright = False
html_show_sourcelink = False
html_copy_source = False
html_use_index = False
html_show_search_summary = False  # a browser reads no page beside another from a disk
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


def setup(app: Sphinx) -> None:
    """Have the pages dressed when they are written; flaws of boards are set as plain text."""
    app.add_lexer("flaws", TextLexer)
    app.connect("build-finished", dress)
