"""Scheduling instances with a known optimum, through the core of the plan of work.

Job shops: `job_shop.json`, with where each was published. Projects: j301_1 of the library PSPLIB
(Kolisch and Sprecher 1996), as kept among OR-Tools' test data, optimum 43 by the library's list;
and the General Foundry example of the critical path (15 weeks, A-C-E-G-H), as in pmcontrols 0.2.1.
"""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path
from time import process_time

import numpy as np
import pytest

from ribband.shop.work.bound import soonest_end
from ribband.shop.work.project import Link, Project, Task, Use
from ribband.shop.work.solver import Solved, solve

SHOPS = json.loads(Path(__file__).with_name("job_shop.json").read_text("utf-8"))["instances"]

# job: (duration, requests of R1 to R4, successors); 1 and 32 are the beginning and the end
J301_1 = {
    2: (8, (4, 0, 0, 0), (6, 11, 15)), 3: (4, (10, 0, 0, 0), (7, 8, 13)),
    4: (6, (0, 0, 0, 3), (5, 9, 10)), 5: (3, (3, 0, 0, 0), (20,)), 6: (8, (0, 0, 0, 8), (30,)),
    7: (5, (4, 0, 0, 0), (27,)), 8: (9, (0, 1, 0, 0), (12, 19, 27)), 9: (2, (6, 0, 0, 0), (14,)),
    10: (7, (0, 0, 0, 1), (16, 25)), 11: (9, (0, 5, 0, 0), (20, 26)), 12: (2, (0, 7, 0, 0), (14,)),
    13: (6, (4, 0, 0, 0), (17, 18)), 14: (3, (0, 8, 0, 0), (17,)), 15: (9, (3, 0, 0, 0), (25,)),
    16: (10, (0, 0, 0, 5), (21, 22)), 17: (6, (0, 0, 0, 8), (22,)), 18: (5, (0, 0, 0, 7), (20, 22)),
    19: (3, (0, 1, 0, 0), (24, 29)), 20: (7, (0, 10, 0, 0), (23, 25)), 21: (2, (0, 0, 0, 6), (28,)),
    22: (7, (2, 0, 0, 0), (23,)), 23: (2, (3, 0, 0, 0), (24,)), 24: (3, (0, 9, 0, 0), (30,)),
    25: (3, (4, 0, 0, 0), (30,)), 26: (7, (0, 0, 4, 0), (31,)), 27: (8, (0, 0, 0, 7), (28,)),
    28: (3, (0, 8, 0, 0), (31,)), 29: (7, (0, 7, 0, 0), ()), 30: (2, (0, 7, 0, 0), ()),
    31: (2, (0, 0, 2, 0), ()),
}  # fmt: skip
J301_1_CAPACITY = (12, 13, 4, 12)
FOUNDRY = {
    "A": (2, ""), "B": (3, ""), "C": (2, "A"), "D": (4, "B"), "E": (4, "C"), "F": (3, "C"),
    "G": (5, "DE"), "H": (2, "FG"),
}  # fmt: skip


def shop(name: str) -> Project:
    tasks, links = [], []
    for long, machines in zip(SHOPS[name]["durations"], SHOPS[name]["machines"], strict=True):
        for n, (d, m) in enumerate(zip(long, machines, strict=True)):
            if n:
                links.append(Link(len(tasks) - 1, len(tasks), tasks[-1].duration))
            tasks.append(Task(f"{name} {len(tasks)}", d, (Use(m, 1, 0, d),)))
    most = 1 + max(u.resource for t in tasks for u in t.uses)
    return Project(
        tuple(tasks), tuple(links), np.ones((most, sum(t.duration for t in tasks)), np.int64)
    )


def clashes(project: Project, solved: Solved) -> list[str]:
    """Count slot by slot, in the plainest way there is."""
    wrong = []
    used = np.zeros_like(project.capacity)
    for task, start in zip(project.tasks, solved.starts, strict=True):
        for use in task.uses:
            used[use.resource, start + use.begin : start + use.end] += use.amount
        if start + task.duration > solved.end:
            wrong.append(f"{task.name} ends after the end")
    if (used > project.capacity).any():
        wrong.append("a resource is used twice")
    wrong += [
        f"{project.tasks[link.after].name} begins too soon"
        for link in project.links
        if solved.starts[link.after] < solved.starts[link.before] + link.lag
    ]
    return wrong


@pytest.mark.parametrize("name", ["ft06", "la01", "la02", "la03", "la04", "la05"])
def test_small_job_shops_are_proved(name: str) -> None:
    solved = solve(shop(name), seconds=60)
    assert clashes(shop(name), solved) == []
    assert (solved.end, solved.proved) == (SHOPS[name]["optimum"], True)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["la16", "ft10"])
def test_harder_job_shops_come_near(name: str) -> None:
    optimum = SHOPS[name]["optimum"]
    enough = 1.03 * optimum / soonest_end(shop(name)) - 1  # of the bound that is known at once
    began = process_time()
    solved = solve(shop(name), seconds=60, near=enough)
    assert process_time() - began < 20.0  # both cores for ten seconds, however busy they are
    assert clashes(shop(name), solved) == []
    assert solved.bound <= optimum <= solved.end <= 1.03 * optimum


@pytest.mark.parametrize("name", SHOPS)
def test_the_bound_never_passes_the_optimum(name: str) -> None:
    assert soonest_end(shop(name)) <= SHOPS[name]["optimum"]


def test_a_project_of_the_library() -> None:
    jobs = list(J301_1)
    tasks = tuple(
        Task(str(j), d, tuple(Use(r, n, 0, d) for r, n in enumerate(wants) if n))
        for j, (d, wants, _) in J301_1.items()
    )
    links = tuple(
        Link(jobs.index(j), jobs.index(k), d) for j, (d, _, after) in J301_1.items() for k in after
    )
    capacity = np.repeat(np.array(J301_1_CAPACITY)[:, None], 158, axis=1)
    project = Project(tasks, links, capacity)
    solved = solve(project, seconds=60)
    assert clashes(project, solved) == []
    assert (solved.end, solved.proved) == (43, True)


def test_the_foundry_is_a_chain() -> None:
    names = list(FOUNDRY)
    tasks = tuple(Task(name, d) for name, (d, _) in FOUNDRY.items())
    links = tuple(
        Link(names.index(b), names.index(a), FOUNDRY[b][0])
        for a, (_, before) in FOUNDRY.items()
        for b in before
    )
    project = Project(tasks, links, np.ones((0, 40), np.int64))
    solved = solve(project)
    assert (solved.end, solved.proved) == (15, True)
    starts = dict(zip(names, solved.starts, strict=True))
    assert [starts[b] - starts[a] for a, b in pairwise("ACEGH")] == [2, 2, 4, 5]
