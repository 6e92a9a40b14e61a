"""The handbook: its commands run, its made pages are current, it opens and is searched offline."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from html.parser import HTMLParser
from importlib import import_module
from pathlib import Path
from typing import Any
from urllib.parse import quote

import click
import pytest

from made_kept import DEMO, demo_copy
from made_server import browser
from ribband.cli import cli

HOME = Path(__file__).parents[1]
DOCS = HOME / "docs"
TOOLS = HOME / "tools"
FIRST_HOUR = DOCS / "first-hour.md"
OURS = sorted(p for p in DOCS.rglob("*.md") if p.parent.name != "made")
ON_THE_RAIL = [p for p in OURS if p.parent.name != "decisions" and p != DOCS / "index.md"]
INLINE = re.compile(r"`(ribband [^`]+)`")
PICTURE = re.compile(r"!\[[^\]]*\]\(([^)]+\.png)\)")


def tool(name: str) -> Any:
    if str(TOOLS) not in sys.path:
        sys.path.append(str(TOOLS))
    return import_module(name)


commands = tool("commands")
pages = tool("pages")


# --- the commands ------------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize("chain", commands.CHAINS)
def test_every_command_does_what_the_page_says(chain: str, tmp_path: Path) -> None:
    """All in one folder; the demo from nothing is run once for these and the tests of the verbs."""
    done = {DEMO: demo_copy(tmp_path)} if chain == "the demo" else {}
    assert not done or any(c.words[1:] == DEMO for c in commands.commands_of(FIRST_HOUR))
    troubles = commands.run_chain(commands.CHAINS[chain], tmp_path, done)
    assert not troubles, "\n\n".join(troubles)


def test_every_page_with_commands_is_in_a_chain() -> None:
    run = {page for chain in commands.CHAINS.values() for page in chain}
    assert {page for page in OURS if any(commands.commands_of(page))} <= run


@pytest.mark.parametrize("page", OURS, ids=lambda p: str(p.relative_to(DOCS)))
def test_no_command_hides_in_a_fence_that_is_not_run(page: Path) -> None:
    for fence in commands.FENCE.finditer(page.read_text("utf-8")):
        if fence["kind"] != "console":
            assert not re.search(r"^(\$ )?ribband ", fence["body"], re.M), fence["body"]


@pytest.mark.parametrize("page", [*OURS, HOME / "README.md"], ids=lambda p: p.name)
def test_every_verb_and_option_named_in_a_line_is_there(page: Path) -> None:
    for named in INLINE.findall(page.read_text("utf-8")):
        words = named.split()
        assert not unknown(words), f"{named}: {unknown(words)}"


def unknown(words: list[str]) -> str:
    """Give what is not known of a command named in a line of text."""
    if words[1].startswith("--") or words[1] == "VERB":
        return ""
    verb = cli.commands.get(words[1])
    if verb is None:
        return f"no verb {words[1]}"
    verbs = [verb, *(verb.commands.values() if isinstance(verb, click.Group) else ())]
    known = {option for one in verbs for p in one.params for option in p.opts} | {"--help"}
    return " ".join({w for w in words if w.startswith("--")} - known)


def test_a_wrong_verb_and_a_wrong_option_are_seen() -> None:
    assert unknown(["ribband", "plonk", "JOB"]) == "no verb plonk"
    assert unknown(["ribband", "plan", "JOB", "--outt"]) == "--outt"
    assert not unknown(["ribband", "line", "JOB", "set", "--who", "Ada"])


def test_a_command_that_does_something_else_is_told(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text(
        "<!-- ends with 4 -->\n```console\n$ ribband check \\\n    nothing\n```\n\n"
        "```console\n$ ribband --version\nribband 99 ...\n$ ribband check nothing\n```\n"
    )
    first, second, third = commands.commands_of(page)
    assert (first.codes, first.words[-1], second.shown) == ((4,), "nothing", "ribband 99 ...")
    assert third.line == 10
    troubles = commands.run_chain([page], tmp_path)
    assert len(troubles) == 2
    assert "99" in troubles[0]
    assert "ended with 4, not (0,)" in troubles[1]


@pytest.mark.parametrize(
    ("shown", "found", "same"),
    [
        ("...", "anything", True),
        ("a ... c", "a b c", True),
        ("a ... c", "a b c d", False),
        ("a ... c", "b c", False),
        ("a\n...\nb\n...", "a b", True),
        ("... b ... a ...", "a b", False),
        ("ab ... ba", "aba", False),
        ("12  planks", "12 planks", True),
    ],
)
def test_an_answer_shown_in_part(shown: str, found: str, same: bool) -> None:
    assert commands.as_shown(shown, found) is same


# --- pages made from the program ---------------------------------------------------------------


@pytest.mark.parametrize("name", pages.PAGES)
def test_a_made_page_is_current(name: str) -> None:
    stands = (DOCS / "made" / f"{name}.md").read_text("utf-8")
    assert stands == pages.text_of(name), "make it again: python tools/pages.py"


def test_the_table_of_rooms_is_as_the_imports_are() -> None:
    stands = (DOCS / "architecture.md").read_text("utf-8")
    assert stands == pages.with_rooms(stands), "make it again: python tools/pages.py"


def test_imports_are_found_wherever_they_stand(tmp_path: Path) -> None:
    module = tmp_path / "module.py"
    module.write_text(
        "import numpy\nfrom ribband import units\n\n\ndef f():\n    import ribband.hull.solve\n"
        "    from ribband.store.jobfile import JobFile\n"
    )
    assert pages.imported(module) == {"units", "hull", "store"}


def test_the_drawing_of_rooms_names_every_room_in_an_order_that_holds() -> None:
    used = pages.rooms()
    text = (DOCS / "architecture.md").read_text("utf-8").partition("```text\n")[2]
    drawn = [
        word
        for line in text.partition("```")[0].splitlines()
        for word in re.split(r"\s{3,}", line.strip())[0].replace("->", " ").split()
    ]
    drawn = [word for word in drawn if word in used]
    assert sorted(drawn) == sorted(used)
    for at, room in enumerate(drawn):
        assert used[room] <= set(drawn[:at]), room


def test_the_files_that_the_architecture_names_are_there() -> None:
    text = (DOCS / "architecture.md").read_text("utf-8").partition("## Where things are")[2]
    source = HOME / "src" / "ribband"
    for line in text.partition("Beside the program")[0].splitlines():
        for name in re.findall(r"`([a-z_/*.]+)`", line):
            found = any(source.glob(name)) or any(source.rglob(name)) or any(HOME.glob(name))
            assert found, name


def test_contributing_is_two_pages_and_what_it_names_is_there() -> None:
    """Two sheets of A4 hold about 110 lines."""
    text = (HOME / "CONTRIBUTING.md").read_text("utf-8")
    assert len(text.splitlines()) <= 110
    prose = re.sub(r"^```.*?^```", "", text, flags=re.M | re.S)
    named = re.findall(r"`([a-z_]+/[\w/.*-]*|[\w*]+\.py)`", prose)
    assert len(named) > 20
    for name in named:
        found = any(HOME.glob(name)) or any((HOME / "src" / "ribband").rglob(name))
        assert found or any((HOME / "tests").glob(name)), name


@pytest.mark.parametrize("page", OURS, ids=lambda p: str(p.relative_to(DOCS)))
def test_a_page_that_another_names_is_a_link(page: Path) -> None:
    assert re.findall(r"`[a-z/-]+\.md`", page.read_text("utf-8")) == []


# --- pictures ----------------------------------------------------------------------------------


def test_every_picture_shown_is_one_that_the_script_makes() -> None:
    pictures = tool("pictures")
    made = {f"{name}.png" for name in (*pictures.SHEETS, *pictures.PAGES)}
    shown = {
        Path(name).name
        for page in [*OURS, HOME / "README.md"]
        for name in PICTURE.findall(page.read_text("utf-8"))
    }
    assert shown == made
    assert {p.name for p in (DOCS / "pictures").iterdir()} == made


# --- built, from a disk ------------------------------------------------------------------------


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the handbook as `make handbook` does: every warning is an error."""
    folder = tmp_path_factory.mktemp("handbook")
    words = [sys.executable, "-m", "sphinx", "-W", "--keep-going", "-q", "-b", "html"]
    done = subprocess.run(
        [*words, "-d", folder / "doctrees", DOCS, folder / "html"],
        check=False, capture_output=True, text=True, timeout=300,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return folder / "html"


class Fetched(HTMLParser):
    """What a page fetches by itself."""

    def __init__(self) -> None:
        super().__init__()
        self.names: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        wanted = {"script": "src", "img": "src", "link": "href", "iframe": "src", "source": "src"}
        self.names += [v for k, v in attrs if v and k == wanted.get(tag)]


def test_every_page_is_built_and_fetches_only_what_stands_beside_it(built: Path) -> None:
    assert {p.relative_to(DOCS).with_suffix(".html") for p in DOCS.rglob("*.md")} <= {
        p.relative_to(built) for p in built.rglob("*.html")
    }
    for page in built.rglob("*.html"):
        fetched = Fetched()
        fetched.feed(page.read_text("utf-8"))
        for name in set(fetched.names) - {"#"}:  # a page's link to itself
            assert ":" not in name.partition("?")[0], f"{page.name}: {name}"
            assert (page.parent / name.partition("?")[0]).exists(), f"{page.name}: {name}"


def test_the_styles_name_only_files_beside_them(built: Path) -> None:
    for sheet in (built / "_static").glob("*.css"):
        for name in re.findall(r"url\([\"']?([^\"')]+)", sheet.read_text("utf-8")):
            assert (sheet.parent / name).exists(), f"{sheet.name}: {name}"


@pytest.fixture(scope="module")
def chrome() -> Iterator[Any]:
    """One browser for all that is looked at."""
    with browser() as one:
        yield one


@pytest.fixture(scope="module")
def finding(chrome: Any) -> Iterator[Any]:
    """Give a page with the network off."""
    page = chrome.new_context(offline=True).new_page()
    troubles: list[str] = []
    page.on("pageerror", lambda error: troubles.append(str(error)))
    yield page
    assert not troubles


def test_it_opens_from_a_disk_and_a_word_is_found_with_no_network(built: Path, chrome: Any) -> None:
    page = chrome.new_context(offline=True).new_page()
    asked: list[str] = []
    troubles: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.on("console", lambda m: troubles.append(m.text) if m.type == "error" else None)
    page.goto((built / "index.html").as_uri())
    rail = page.locator(".rail").bounding_box()
    assert rail is not None
    assert rail["x"] == 0
    links = page.locator(".rail .pages a").evaluate_all("all => all.map(a => a.pathname)")
    led_to = {str(Path(link).relative_to(built)) for link in links}
    assert {str(p.relative_to(DOCS).with_suffix(".html")) for p in ON_THE_RAIL} <= led_to
    page.fill("#find", "shutter")
    page.press("#find", "Enter")
    page.click("#found h2 a >> text='The order of hanging'")
    page.wait_for_selector("main h1")
    assert page.evaluate("document.fonts.ready.then(f => [...f].some(x => x.status == 'loaded'))")
    assert not troubles
    assert all(url.startswith("file://") for url in asked)


@pytest.mark.parametrize(
    ("asked", "first", "shown"),
    [
        ("L001", "made/findings", "do not add up to its girth"),
        ("2 3/8", "timber", "2 3/8 in loses about 1/8"),
        ("butt", "butts", "meet"),
        ("why", "why", "of any figure"),
        ("3-7-5", "units", "3 ft 7 5/8 in"),
        ("kerf", "laying", "kerf"),
        ('"hot time"', "glossary", "stays workable"),
        ("shutters", "hanging", "shutter"),
        ("planks.class_step", "made/rules", "planks.class_step"),
    ],
)
def test_figures_codes_and_short_words_are_found(
    built: Path, finding: Any, asked: str, first: str, shown: str
) -> None:
    """The page meant is among the first two, with the words as they stand there."""
    finding.goto(f"{(built / 'find.html').as_uri()}?q={quote(asked)}")
    pages = finding.locator("#found h2 a").evaluate_all("all => all.map(a => a.pathname)")[:2]
    assert str(built / f"{first}.html") in pages
    assert shown in finding.inner_text(f'#found section:has(h2 a[href="{first}.html"])')
    assert finding.locator("#found mark").count()


def test_what_is_nowhere_is_said_and_a_figure_is_no_part_of_another(
    built: Path, finding: Any
) -> None:
    where = (built / "find.html").as_uri()
    finding.goto(f"{where}?q=unicorn")
    assert "No page has unicorn" in finding.inner_text("#count")
    finding.goto(f"{where}?q=7-5")  # stands in 3-7-5 only
    assert "No page has 7-5" in finding.inner_text("#count")
    finding.goto(f"{where}?q={quote('<b>x</b>')}")
    assert finding.locator("main b").count() == 0


def test_the_rail_stands_at_the_page_that_is_open(built: Path, finding: Any) -> None:
    for name in ("index", "hull", "made/sources", "benchmarks"):
        finding.goto((built / f"{name}.html").as_uri())
        here = finding.locator(".rail li.current > a")
        if name != "index":  # it stands on the rail by its name alone
            box, rail = here.bounding_box(), finding.locator(".rail").bounding_box()
            assert rail["y"] <= box["y"] < box["y"] + box["height"] <= rail["y"] + rail["height"]
        assert finding.evaluate("window.scrollY") == 0


SPREAD = """() => [document.documentElement, ...document.querySelectorAll("table, pre, img")]
    .filter((own) => own.scrollWidth > own.clientWidth + 1 || own.getBoundingClientRect().right
        > document.documentElement.clientWidth + 1)
    .map((own) => own.tagName + " " + own.textContent.slice(0, 60))"""


def test_nothing_runs_off_a_printed_sheet(built: Path, finding: Any) -> None:
    """An A4 sheet within its margins is 180 mm wide, 680 of a browser's pixels."""
    finding.emulate_media(media="print")
    finding.set_viewport_size({"width": 680, "height": 1000})
    for name in ("made/sources", "architecture", "made/columns", "made/verbs", "forms", "limits"):
        finding.goto((built / f"{name}.html").as_uri())
        assert finding.evaluate(SPREAD) == [], name
