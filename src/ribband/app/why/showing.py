"""Showing why a figure is what it is, in the order a shipwright asks: what, from what, by what."""

from __future__ import annotations

from pathlib import Path

from ribband.app.plan.making import Tell
from ribband.app.plan.runner import quiet
from ribband.app.showing.answers import Answer, Line, Listing, plain
from ribband.app.why.inputs import Input
from ribband.app.why.traced import Leaned, Why, why

__all__ = ["show_why", "why_answer"]


def show_why(path: Path, text: str, *, tell: Tell = quiet) -> Answer:
    """Show why a figure is what it is.

    Raises
    ------
    InputError, JobFileError
    """
    return why_answer(why(path, text, tell=tell))


def why_answer(own: Why) -> Answer:
    """Put the answer into words."""
    of = f", {own.of}" if own.of else ""
    return Answer(
        title=f"{own.thing}{of}: {own.says}",
        lines=(
            *(Line(said.what, said.value, _where(said.where, said.of)) for said in own.values),
            Line("method", own.method, own.page),
            Line("inputs", f"revision {own.revision}", f"{own.who}, {_when(own.at)}"),
        ),
        listings=(_inputs(own), _rules(own), _data(own), _steps(own)),
        notes=(f"There is none: no row of the open tables has it{of}.",) if _none(own) else (),
        findings=own.findings,
        data=plain(own),
        good=not (own.of and _none(own)),  # how dates come about may be asked before there is one
    )


def _none(own: Why) -> bool:
    """Tell whether it has no figure, where figures of such a thing stand in the tables."""
    return not own.known and own.thing not in {"rule", "finding", "source"}


def _where(where: str, of: str) -> str:
    return f"{where}: {of}" if of else where


def _when(at: str) -> str:
    return at.replace("T", " ")[:16]


def _inputs(own: Why) -> Listing:
    rows = tuple(
        (f"{one.file}{f', row {one.row}' if one.row else ''}", _typed(one), _since(one))
        for one in own.inputs
    )
    return Listing("Typed", ("cell", "as typed", "since"), rows)


def _typed(one: Input) -> str:
    return "  ".join(f"{head} {text}" for head, text in one.typed) or one.says


def _since(one: Input) -> str:
    before = " or before" if one.before else ""
    return f"revision {one.revision}{before}, {one.who}, {_when(one.at)}"


def _rules(own: Why) -> Listing:
    rows = tuple(
        (
            rule.name + " *" * rule.changed,
            rule.value,
            "" if not rule.changed else f"instead of {rule.default}",
            _marked(rule.source),
            rule.set_by or rule.says,
        )
        for rule in own.rules
    )
    return Listing("Rules (* = not our default)", ("rule", "value", "", "source", ""), rows)


def _marked(leaned: Leaned) -> str:
    if not leaned.key:
        return leaned.says
    return f"{leaned.key} ({leaned.mark})"


def _data(own: Why) -> Listing:
    rows = tuple((leaned.of, leaned.mark, leaned.says) for leaned in own.data)
    return Listing("Figures looked up", ("table", "how far read", "source"), rows)


def _steps(own: Why) -> Listing:
    rows = tuple(
        (
            step.step,
            step.key[:12],
            f"made {_when(step.at)}, revision {step.revision}, Ribband {step.version}"
            if step.at
            else "not kept for these forms",
            ", ".join(step.forms),
        )
        for step in own.steps
    )
    return Listing("Made in steps, the last gave it", ("step", "key", "", "reads"), rows)
