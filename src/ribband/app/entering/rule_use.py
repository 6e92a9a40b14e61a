"""Rules and sources as they are asked for: listing them, and setting a rule of a job."""

from __future__ import annotations

from pathlib import Path

from ribband.app.entering.jobs import Taken, change, job_path
from ribband.app.entering.rules import list_rules, with_rule
from ribband.app.plan.runner import job_unit
from ribband.app.showing.answers import Answer, Listing, plain
from ribband.sources import sources
from ribband.store import JobFile

__all__ = ["rules_answer", "set_rule", "sources_answer"]


def rules_answer(path: Path | None) -> Answer:
    """List every rule: of a job, or as they are by default.

    Raises
    ------
    InputError, JobFileError
    """
    forms = {}
    if path is not None:
        with JobFile.open(job_path(path)) as job:
            forms = job.forms()
    shown = list_rules(forms.get("rules"), job_unit(forms))
    rows = tuple(
        (rule.name + " *" * rule.changed, f"{rule.value} {rule.unit}".strip(), rule.default,
         f"{rule.least} to {rule.most}" if rule.most else "", rule.source, rule.says)
        for rule in shown
    )  # fmt: skip
    columns = ("rule", "value", "default", "range", "source", "")
    return Answer(
        title="Rules" + (f" of {path}" if path else ", as they are by default"),
        listings=(Listing("* = set for this job", columns, rows),),
        data={"rules": plain(shown)},
    )


def set_rule(path: Path, name: str, value: str, who: str = "") -> Taken:
    """Set one rule of a job, as a new revision.

    Raises
    ------
    InputError : no such rule, or a value it cannot have
    JobFileError : the job cannot be opened or written
    """
    with JobFile.open(job_path(path)) as job:
        form = job.forms().get("rules")
    return change(path, {"rules": with_rule(form, name, value)}, who, f"{name} = {value}")


def sources_answer() -> Answer:
    """List the bibliography."""
    every = sources()
    rows = tuple((source.key, source.mark, str(source)) for source in every)
    return Answer(
        title="Sources",
        listings=(Listing("Key, how far it can be trusted, work", ("key", "mark", ""), rows),),
        data={"sources": plain(every)},
    )
