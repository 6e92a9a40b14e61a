"""The command itself, its exit codes, and the options that several verbs share."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from ribband import __version__
from ribband.cli.saying import CODES, JSON_WANTED, explain

__all__ = [
    "DECIMAL", "FOLDER", "JOB", "ORDER", "PAPER", "SCALE", "SECONDS", "ShowOrAct", "cli",
    "json_option", "who_option",
]  # fmt: skip

F = TypeVar("F", bound=Callable[..., Any])
ORDER = (
    "demo", "open", "forms", "scan", "new", "take", "status", "doubts", "plan", "line", "butts",
    "planks", "rules", "tally", "seams", "lay", "order", "labels", "steaming", "fastenings",
    "caulking", "handling", "hanging", "work", "forecast", "what-if", "study", "bars", "diary",
    "log", "as-hung", "left", "repair", "photo", "record", "spiling", "patterns", "tickets", "draw",
    "book", "model", "tables", "why", "history", "compare", "undo", "redo", "check", "copies",
    "text", "sources",
)  # fmt: skip


class Verbs(click.Group):
    """The verbs in the order of the work; no traceback reaches the user."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Keep the order of the work."""
        return sorted(self.commands, key=ORDER.index)

    def invoke(self, ctx: click.Context) -> Any:
        """Run a verb and turn every error into words and an exit code."""
        if "NO_COLOR" in os.environ:
            ctx.color = False
        try:
            return super().invoke(ctx)
        except (click.ClickException, click.exceptions.Exit, click.Abort, KeyboardInterrupt):
            raise
        except Exception as error:
            if isinstance(error, OSError) and error.errno == errno.EPIPE:
                raise  # the reader went away; click knows what to do
            ctx.exit(explain(ctx, error))


class ShowOrAct(click.Group):
    """A verb that shows on its own and acts with a word after it; options may stand anywhere."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Let ``ribband rules JOB --json`` mean what it says."""
        ctx.allow_interspersed_args = not self.commands.keys() & set(args)
        return super().parse_args(ctx, args)


TOP_HELP = f"""Plank a wooden hull: from a tape's girths to a planking book.

The order of work:

\b
  1  ribband forms FORMS            blank forms to fill in at the vessel
  2  ribband new heron FORMS        a job file from the forms filled in
  3  ribband doubts heron           readings that do not lie fair; decide each
  4  ribband line heron             line out: strakes, seams, stealers
  5  ribband butts heron            butts by the rule chosen (ribband rules heron)
  6  ribband planks heron           every plank, with quantities
  7  ribband spiling heron P7-2     its flat shape; or: patterns, tickets
  8  ribband book heron             the planking book; or: draw, model, tables

Or all of it in the browser: ribband open heron.
Or all at once: ribband plan FORMS --out DIR. To see it done: ribband demo.

\b
Exit codes:
{chr(10).join(f"  {code}  {says}" for code, says in CODES.items())}

Findings marked FAULT and CAUTION are to be looked at before timber is cut. The rules of the
vessel's own authority and surveyor come before any rule here.
"""


@click.group(
    cls=Verbs,
    help=TOP_HELP,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="ribband")
def cli() -> None:
    """Hold the verbs."""


def _wants_json(ctx: click.Context, _: click.Parameter, value: bool) -> bool:
    ctx.meta[JSON_WANTED] = value
    return value


def json_option(command: F) -> F:
    """Let a verb answer in JSON."""
    return click.option(
        "--json",
        "as_json",
        is_flag=True,
        callback=_wants_json,
        help="Answer in JSON, for machines.",
    )(command)


def who_option(command: F) -> F:
    """Let the shipwright sign a change."""
    return click.option("--who", default="", help="Who makes the change; your login by default.")(
        command
    )


ONE_FILE = {".csv", ".dxf", ".glb", ".ics", ".json", ".pdf", ".png", ".svg", ".txt", ".xlsx"}


class _Folder(click.Path):
    """A folder to write into: one named as a single file is refused, unless it is there already."""

    def convert(self, value: Any, param: Any, ctx: Any) -> Any:
        """Refuse `boards.pdf`, of which a folder of that name would be made."""
        path = Path(os.fsdecode(super().convert(value, param, ctx)))
        if path.suffix.lower() in ONE_FILE and not path.is_dir():
            self.fail(
                f"'{path.name}' names a file, and a folder is wanted to put the files into, "
                f"such as '{path.with_suffix('')}'",
                param,
                ctx,
            )
        return path


FOLDER = _Folder(path_type=Path)
JOB = click.argument("job", type=click.Path(path_type=Path))
DECIMAL = click.option(
    "--decimal", type=click.Choice(["point", "comma"]), default="point", show_default=True,
    help="What the figures of the forms have for decimals; with comma they are kept with points.",
)  # fmt: skip
WHOLE = click.option(
    "--whole", "aside", is_flag=True, callback=lambda _c, _p, asked: ("renew",) if asked else (),
    help="Of the whole hull, where the form renew asks for a repair.",
)  # fmt: skip
SECONDS = click.option(
    "--seconds", type=click.FloatRange(0.1, 36000),
    help="How long the search for butts may take, 30 unless said; if said, a layout that was not "
    "proved the best is searched again.",
)  # fmt: skip
PAPER = click.option(
    "--paper", default="A3", show_default=True, help="A4, A3 ..., letter, tabloid or 900x600 (mm)."
)
SCALE = click.option("--scale", default="fit", show_default=True, help='"fit", or such as 1:20.')
