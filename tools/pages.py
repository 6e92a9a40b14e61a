"""Write the handbook's pages that are made from the program itself: python tools/pages.py [FOLDER].

Rules from their dataclasses, columns of the open tables from their shapes, sources from the
bibliography, what the codes of findings mean from their table, the steps of a plan from their
list, every module from its own first line, verbs from the command line's own help, the API from
its OpenAPI description. They stand in `docs/made/`; the table of rooms in `docs/architecture.md`
is made from the imports. A test makes all of it again and compares.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import click

from ribband.app.entering.jobs import new_job
from ribband.app.entering.rules import LISTED, list_rules
from ribband.app.plan.steps import STEPS
from ribband.cli import cli
from ribband.cli.top import ORDER
from ribband.findings import meanings
from ribband.sources import sources
from ribband.store.table_shapes import SHAPES
from ribband.web.server import create_app

HOME = Path(__file__).parents[1]
MADE = HOME / "docs" / "made"
SOURCE = HOME / "src" / "ribband"
ARCHITECTURE = HOME / "docs" / "architecture.md"
BEGIN, END = "<!-- rooms: made by tools/pages.py -->", "<!-- end of rooms -->"
KNOWN_TO_ALL = {"400", "401", "403", "413", "421", "422", "503"}  # answers every call may give

INTRO = {
    "rules": """# Rules

Every rule of every stage, as the form `rules` names it, in millimetres and degrees. `ribband rules`
shows them in the vessel's own unit, with what is in force. The source is a key of
[the sources](sources.md), which say how far each was read.

These are defaults, not advice for a vessel: her own authority, class and surveyor come first.
""",
    "columns": """# Columns of the open tables

As `datapackage.json` describes them; what the tables are for stands in
[the open tables](../tables.md). A **bold** column is never empty. The unit is in the column's name.
""",
    "sources": """# Sources

The one bibliography, `src/ribband/data/sources.csv`. The mark says how far a source can be trusted:
*read* (the figure was seen in the work itself), *read second-hand* (seen where another quotes it),
*calculated* (from figures that were read), *from memory* (recalled, unread), *common practice*
(said in yards, written nowhere we can cite), *house* (Ribband's own).
""",
    "findings": """# Findings

What every code means that the program doubts or refuses something by, with the rules it comes
from. A code never changes its meaning. `ribband why JOB L003` says of a job whether it has one,
where, and what those rules are there. How much one matters (NOTE, CAUTION, FAULT) is said with it;
some are one or another by how far off they are. Many are of checks written apart from what they
look over: they would say that the program is wrong, and should never be seen.
""",
    "tree": """# The tree

Every module of the program by its room, in an order in which each room stands below all it imports,
with what the module says of itself. Where to look for what: [architecture](../architecture.md).
""",
    "steps": """# The steps, and what makes each stale

A plan is made in steps, in this order. Each is kept under what it was made from: the forms it
reads, the rules it goes by, the steps before it and the program itself. Change one of these and it
is stale, with all that comes after; [the job file](../job-file.md) tells how. Where a step reads
the log it goes by what bears on it only: a plank that is caulked moves no board.
""",
    "verbs": """# Every verb

What each verb's `--help` says, in the order of the work. What they have in common:
[the command line](../command-line.md).
""",
    "api": """# API

Made from `/openapi.json`, which a served job gives itself; how changes are made is told in
[the app](../app.md). Every call may also answer 400, 401, 403, 413, 421, 422 or 503, with `says` in
words and `problems`.
""",
}


def cell(text: object) -> str:
    """Make a text fit for a cell of a table; what is code in bold is left so."""
    plain = str(text).replace("|", "\\|").replace("\n", " ").strip()
    return plain if plain.startswith("**`") else plain.replace("*", "\\*")


def table(head: Sequence[str], rows: Iterable[Sequence[object]]) -> list[str]:
    """Set a table."""
    lines = [f"| {' | '.join(head)} |", "|" + "---|" * len(head)]
    return [*lines, *("| " + " | ".join(cell(c) for c in row) + " |" for row in rows), ""]


def rules_page() -> list[str]:
    """List every rule of every stage: what it is called on the form, default, range, source."""
    lines = [INTRO["rules"]]
    for stage in LISTED:
        shown = [rule for rule in list_rules(None, "mm") if rule.name.startswith(f"{stage}.")]
        rows = [
            (f"`{r.name}`", r.default, span(r.least, r.most), r.unit, r.says, f"`{r.source}`")
            for r in shown
        ]
        head = ("rule", "default", "from, to", "in", "says", "source")
        lines += [f"## {stage}", "", *table(head, rows)]
    return lines


def span(least: str, most: str) -> str:
    """Say a range in words."""
    if not least and not most:
        return ""
    return f"{least or 'any'} to {most or 'any'}"


def columns_page() -> list[str]:
    """List every open table with its columns."""
    lines = [INTRO["columns"]]
    for shape in SHAPES.values():
        rows = [
            (f"**`{c.name}`**" if c.needed else f"`{c.name}`", c.kind, said(c.says, c.one_of))
            for c in shape.columns
        ]
        key = f" Key: {', '.join(f'`{name}`' for name in shape.key)}." if shape.key else ""
        lines += [f"## {shape.name}", "", f"One row is {shape.row}.{key}", ""]
        lines += table(("column", "kind", "holds"), rows)
    return lines


def said(says: str, words: Sequence[str]) -> str:
    """Say what a column holds, with the words it may have."""
    return f"{says}: {', '.join(words)}" if words else says


def sources_page() -> list[str]:
    """List the bibliography with its marks."""
    lines = [INTRO["sources"]]
    rows = [(f"`{s.key}`", s.author, s.title, s.year, s.place, s.mark) for s in sources()]
    return [*lines, *table(("key", "author", "title", "year", "place", "mark"), rows)]


def findings_page() -> list[str]:
    """List what every code means, a table a page of the handbook."""
    lines = [INTRO["findings"]]
    for page in dict.fromkeys(own.page for own in meanings().values()):
        title = (HOME / "docs" / f"{page}.md").read_text("utf-8").splitlines()[0].lstrip("# ")
        lines += [f"## {title}", "", f"Told on [its page](../{page}.md).", ""]
        rows = [
            (f"`{own.code}`", own.means, ", ".join(f"`{rule}`" for rule in own.rules))
            for own in meanings().values()
            if own.page == page
        ]
        lines += table(("code", "means", "rules"), rows)
    return lines


def steps_page() -> list[str]:
    """List the steps of a plan: what each does, reads, goes by and comes after."""
    rows = [
        (
            f"`{step.name}`", step.does, ", ".join(step.after), ", ".join(step.forms),
            ", ".join(step.rules or tuple({step.name} & set(LISTED))),
        )
        for step in STEPS
    ]  # fmt: skip
    return [INTRO["steps"], *table(("step", "is", "after", "reads the forms", "rules"), rows)]


def verbs_page() -> list[str]:
    """Give every verb's own help, in the order of the work."""
    lines = [INTRO["verbs"]]
    for name in sorted(cli.commands, key=ORDER.index):
        verb = cli.commands[name]
        lines += [f"## {name}", "", *help_of(verb, name)]
        if isinstance(verb, click.Group):
            for under, act in verb.commands.items():
                title = f"{name} JOB {under}"
                lines += [f"### {title}", "", *help_of(act, title)]
    return lines


def help_of(verb: click.Command, name: str) -> list[str]:
    """Set the help of a verb as it is printed."""
    above = click.Context(cli, info_name="ribband", **cli.context_settings)
    with click.Context(verb, info_name=name, parent=above, terminal_width=90) as context:
        text = verb.get_help(context)
    return ["```text", *(line.rstrip() for line in text.splitlines()), "```", ""]


def api_page() -> list[str]:
    """List every call of the API, from its OpenAPI description."""
    api = described()
    lines = [INTRO["api"]]
    by_tag: dict[str, list[tuple[str, str, Mapping[str, Any]]]] = {}
    for path, calls in api["paths"].items():
        for method, call in calls.items():
            by_tag.setdefault(call.get("tags", ["other"])[0], []).append((method, path, call))
    for tag in sorted(by_tag):
        lines += [f"## {tag}", ""]
        for method, path, call in by_tag[tag]:
            lines += call_lines(method, path, call)
    lines += ["## What is sent and answered", ""]
    for name, body in sorted(api["components"]["schemas"].items()):
        lines += body_lines(name, body)
    return lines


def described() -> dict[str, Any]:
    """Give the OpenAPI description of a served job."""
    with TemporaryDirectory() as folder:
        job = new_job(Path(folder) / "job.ribband", None, "").job
        description: dict[str, Any] = create_app(job, by_itself=False).openapi()
        return description


def call_lines(method: str, path: str, call: Mapping[str, Any]) -> list[str]:
    """Set one call: what it does, what it takes, what it answers."""
    lines = [f"### {method.upper()} `{path}`", "", " ".join(call.get("description", "").split())]
    takes = [
        f"`{p['name']}` ({p['in']}{', needed' if p.get('required') else ''}: {kind(p['schema'])})"
        for p in call.get("parameters", ())
    ]
    sent = call.get("requestBody", {}).get("content", {})
    takes += [f"a body: {kind(body.get('schema', {}))}" for body in sent.values()]
    if takes:
        lines += ["", f"Takes {'; '.join(takes)}."]
    answers = [
        f"{code} {answer(told)}"
        for code, told in call["responses"].items()
        if code not in KNOWN_TO_ALL
    ]
    return [*lines, "", f"Answers {'; '.join(answers)}.", ""]


def answer(told: Mapping[str, Any]) -> str:
    """Say what an answer holds."""
    kinds = [kind(body.get("schema", {})) for body in told.get("content", {}).values()]
    says = told.get("description", "").rstrip(".")
    words = "" if says == "Successful Response" else says
    return " ".join(part for part in (words, f"({', '.join(kinds)})" if any(kinds) else "") if part)


def kind(schema: Mapping[str, Any]) -> str:
    """Say a JSON schema in a word or two; shapes by their own name."""
    if "$ref" in schema:
        return short(schema["$ref"].rpartition("/")[2])
    if "anyOf" in schema:
        return " or ".join(kind(part) for part in schema["anyOf"])
    if schema.get("type") == "array":
        return f"list of {kind(schema.get('items', {})) or 'anything'}"
    if "enum" in schema:
        return " | ".join(str(word) for word in schema["enum"])
    return str(schema.get("type", ""))


def short(name: str) -> str:
    """Leave the module off a shape's name where two rooms have one of that name."""
    return ": ".join(name.split("__")[-2:]) if "__" in name else name


def body_lines(name: str, body: Mapping[str, Any]) -> list[str]:
    """Set one shape of what is sent or answered."""
    needed = set(body.get("required", ()))
    rows = [
        (f"**`{k}`**" if k in needed else f"`{k}`", kind(v), v.get("description", ""))
        for k, v in body.get("properties", {}).items()
    ]
    words = " ".join(body.get("description", "").partition(">>>")[0].split())
    return [f"### {short(name)}", "", words, "", *table(("name", "kind", "says"), rows)]


@cache
def rooms() -> dict[str, set[str]]:
    """Give every room, a folder or a module beside them, with the rooms its modules import."""
    used: dict[str, set[str]] = {}
    for path in sorted(SOURCE.rglob("*.py")):
        room = path.relative_to(SOURCE).parts[0].removesuffix(".py")
        if not room.startswith("__"):
            used.setdefault(room, set()).update(imported(path))
    return {room: (names & used.keys()) - {room} for room, names in used.items()}


def imported(path: Path) -> set[str]:
    """Give the first names under `ribband` that a module imports, inside functions too."""
    names = []
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            names += [f"{node.module}.{alias.name}" for alias in node.names]
    return {name.split(".")[1] for name in names if name.startswith("ribband.")}


def rooms_table() -> str:
    """Set the rooms in an order in which every one stands below all it imports."""
    used = rooms()
    rows = [(f"`{room}`", purpose(room), ", ".join(sorted(used[room]))) for room in ordered(used)]
    return "\n".join(table(("room", "what it is for", "imports"), rows))


def ordered(used: Mapping[str, set[str]]) -> list[str]:
    """Order rooms so that none stands above one it imports.

    Raises
    ------
    graphlib.CycleError : there is no such order
    """
    sorter = TopologicalSorter({room: sorted(names) for room, names in sorted(used.items())})
    return list(sorter.static_order())


def tree_page() -> list[str]:
    """List every module by its room, with the first line of what it says of itself."""
    lines = [INTRO["tree"]]
    for room in ordered(rooms()):
        one = SOURCE / f"{room}.py"
        modules = [one] if one.exists() else sorted((SOURCE / room).rglob("*.py"))
        says = purpose(room)
        lines += [f"## {room}", "", f"{says[:1].upper()}{says[1:]}.", ""]
        rows = [(f"`{dotted(path)}`", first_line(path)) for path in modules]
        own = [row for row in rows if row[0] != f"`{room}`"]
        lines += table(("module", "what it is for"), own) if own else []
    return lines


def dotted(path: Path) -> str:
    """Name a module as it is imported, without the program's own name."""
    parts = path.relative_to(SOURCE).with_suffix("").parts
    return ".".join(part for part in parts if part != "__init__")


def first_line(path: Path) -> str:
    """Give the first line of what a module says of itself."""
    says = ast.get_docstring(ast.parse(path.read_text("utf-8"))) or ""
    return says.partition("\n")[0].rstrip(".")


def purpose(room: str) -> str:
    """Give the first line of what a room says of itself."""
    path = SOURCE / room / "__init__.py"
    says = first_line(path if path.exists() else SOURCE / f"{room}.py")
    return says.removeprefix(f"{room.capitalize()}: ")


def with_rooms(page: str) -> str:
    """Put the table of rooms into the page on architecture."""
    before, _, rest = page.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}\n\n{rooms_table()}\n{END}{after}"


PAGES = {
    "rules": rules_page,
    "columns": columns_page,
    "sources": sources_page,
    "findings": findings_page,
    "steps": steps_page,
    "verbs": verbs_page,
    "api": api_page,
    "tree": tree_page,
}


def text_of(name: str) -> str:
    """Give the text of a page as it should stand."""
    lines = PAGES[name]()
    note = "<!-- made by tools/pages.py from the program itself: change it there -->\n\n"
    return note + "\n".join(lines).rstrip() + "\n"


def main(folder: Path = MADE) -> None:
    """Write every page."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in PAGES:
        (folder / f"{name}.md").write_text(text_of(name), "utf-8")
    ARCHITECTURE.write_text(with_rooms(ARCHITECTURE.read_text("utf-8")), "utf-8")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
