"""The API: it is what its own description says, refuses nonsense in words, and never falls over."""

from __future__ import annotations

import asyncio
import io
import json
import zipfile
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from made_client import TestClient
from made_server import Here, blank_job, browser, heron_job, open_page, served
from ribband.app.demo import copy_example
from ribband.store import JobFile
from ribband.web.server import create_app

pytestmark = pytest.mark.slow

CHECKS = [
    not_a_server_error, status_code_conformance, content_type_conformance,
    response_headers_conformance, response_schema_conformance,
]  # fmt: skip
TOO_LONG = r"/api/(work|progress)$"  # never-ending, or starts a process at every call


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Here]:
    with served(heron_job(tmp_path_factory.mktemp("job"))) as here:
        yield here


def described(here: Here) -> Any:
    with here.client() as client:
        schema = schemathesis.openapi.from_dict(client.get("/openapi.json").json())
    schema.config.update(base_url=here.address)
    return schema.exclude(path_regex=TOO_LONG)


@pytest.mark.parametrize("mode", list(GenerationMode))
def test_the_api_is_what_it_says(here: Here, mode: GenerationMode) -> None:
    """Sense and nonsense to every call there is, by a fixed seed; each answer has its time."""
    calls = [found.ok() for found in described(here).get_all_operations()]
    tried = [call for call in calls if mode.is_positive or _takes_anything(call)]
    assert len(tried) >= 8
    for operation in tried:

        @settings(
            max_examples=10, deadline=None, derandomize=True, database=None,
            phases=[Phase.generate], suppress_health_check=list(HealthCheck),
        )  # fmt: skip
        @given(case=operation.as_strategy(generation_mode=mode))
        def send(case: Any) -> None:
            case.call_and_validate(checks=CHECKS, timeout=30)

        with suppress(Unsatisfiable):  # no nonsense can be made for it that is not sense
            send()


def _takes_anything(operation: Any) -> bool:
    raw = operation.definition.raw
    return bool(raw.get("parameters") or raw.get("requestBody"))


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    job: Path = heron_job(tmp_path_factory.mktemp("planned"), last="relined")
    with TestClient(create_app(job, by_itself=False), base_url="http://127.0.0.1") as client:
        yield client


def test_every_download_is_a_file_of_its_kind(planned: TestClient, tmp_path: Path) -> None:
    begins = {"pdf": b"%PDF-", "zip": b"PK", "glb": b"glTF", "ribband": b"SQLite format 3"}
    listed = planned.get("/api/overview").json()["downloads"]
    waits = {d["name"]: d["why_not"] for d in listed if d["why_not"]}
    assert waits == {"labels": "the plan is not up to date"}  # nothing is laid on boards here
    for one in (d for d in listed if not d["why_not"]):
        answer = planned.get(f"/api/downloads/{one['name']}")
        assert answer.status_code == 200, answer.text
        assert one["file"].startswith("Marl Heron")
        assert one["file"] in answer.headers["content-disposition"].replace("%20", " ")
        assert answer.content.startswith(begins[one["file"].rpartition(".")[2]])
        if one["name"] == "tables":
            names = zipfile.ZipFile(io.BytesIO(answer.content)).namelist()
            assert {"planks.csv", "inputs/girths.csv"} <= set(names) | {"inputs/girths.csv"}
    path = tmp_path / "copy.ribband"
    path.write_bytes(answer.content)
    with JobFile.open(path) as copy:
        assert len(copy.history()) == 1


def test_a_stale_book_is_not_handed_out(here: Here) -> None:
    with here.client() as client:
        answer = client.get("/api/downloads/book")
    assert answer.status_code == 422
    assert "brought up to date first" in answer.json()["problems"][0]["wanted"]


def test_a_drawing_is_kept_for_the_next_browser(planned: TestClient) -> None:
    first = planned.get("/api/drawings/expansion.svg")
    assert first.content.startswith(b"<?xml")
    again = planned.get(
        "/api/drawings/expansion.svg", headers={"if-none-match": first.headers["etag"]}
    )
    assert (again.status_code, again.content) == (304, b"")
    other = planned.get("/api/drawings/expansion.svg?paper=A1")
    assert other.headers["etag"] != first.headers["etag"]
    assert planned.get("/api/drawings/expansion.svg?sheet=9").status_code == 422
    assert planned.get("/api/drawings/castle.svg").status_code == 422


def test_no_trouble_shows_a_traceback(planned: TestClient) -> None:
    for path in ("/api/forms/castle", "/api/nothing", "/api/history/compare?a=1&b=99"):
        answer = planned.get(path)
        assert answer.status_code in {404, 422}
        assert set(answer.json()) == {"says", "problems"}
        assert "Traceback" not in answer.text


def test_the_page_of_the_api_lists_every_call(here: Here) -> None:
    with here.client() as client:
        calls = client.get("/openapi.json").json()["paths"]
    with browser() as chrome:
        page = open_page(chrome, here.url("/api"))
        page.wait_for_selector(".call")
        shown = set(page.locator(".call summary code").all_inner_texts())
        assert shown == set(calls)
        page.get_by_label("Find").fill("history")
        assert page.locator(".call:visible").count() >= 3


def test_heavy_libraries_stay_out_of_the_server(here: Here) -> None:
    """What the pages ask of the server itself must not load a solver."""
    with here.client() as client:
        for path in ("/", "/measure", "/history", "/api/job", "/api/forms/girths", "/api/overview"):
            assert client.get(path).status_code == 200
    loaded = Path(f"/proc/{here.process.pid}/maps").read_text()
    assert not [name for name in ("scipy", "ortools", "reportlab") if f"/{name}/" in loaded]


def test_files_dropped_on_a_page_are_taken_in(tmp_path: Path) -> None:
    forms = copy_example("marl_heron", tmp_path / "forms")
    files = [("files", (p.name, p.read_bytes(), "text/csv")) for p in sorted(forms.glob("*.csv"))]
    app = create_app(blank_job(tmp_path), by_itself=False)
    with TestClient(app, base_url="http://127.0.0.1") as client:
        assert client.get("/api/job").json()["next"]["page"] == "measure"
        taken = client.post("/api/take", files=files).json()
        assert taken["revision"] == 1
        assert client.get("/api/job").json()["vessel"] == "Marl Heron"
        again = client.post("/api/take", files=files).json()
        assert again["revision"] is None
        wrong = client.post("/api/take", files=[("files", ("girths.csv", b"frame,girth\n1,x\n"))])
        assert wrong.status_code == 422
        assert any(p["file"] == "girths.csv" for p in wrong.json()["problems"])
        other = client.post("/api/take", files=[("files", ("../../castle.exe", b"x"))])
        assert other.status_code == 422
    assert not (tmp_path / "castle.exe").exists()


NOTEBOOK = Path(__file__).parents[1] / "examples" / "a-job-by-program.ipynb"


def test_the_notebook_does_what_it_says(
    here: Here, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("RIBBAND", here.address)
    cells = json.loads(NOTEBOOK.read_text("utf-8"))["cells"]
    names: dict[str, Any] = {}
    for cell in cells:
        if cell["cell_type"] == "code":
            exec("".join(cell["source"]), names)
    names["job"].close()
    said = capsys.readouterr().out
    assert "Marl Heron" in said
    assert "strakes a side" in said


def test_many_browsers_at_one_drawing_make_it_once(planned: TestClient) -> None:
    made: list[str] = []
    yard: Any = planned.app.state.yard  # type: ignore[attr-defined]

    async def make() -> bytes:
        made.append("")
        await asyncio.sleep(0.05)
        return b"drawn"

    async def asks() -> list[bytes]:
        return list(await asyncio.gather(*(yard.once("a tag", make) for _ in range(7))))

    assert asyncio.run(asks()) == [b"drawn"] * 7
    assert len(made) == 1
