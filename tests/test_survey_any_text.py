"""Whatever is typed, the answer is a survey or a list of problems, never a traceback."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from ribband.errors import InputError
from ribband.survey import Form, read_forms, read_survey
from ribband.survey.columns import LAYOUTS, OFFSET_LINES

likely = st.sampled_from(
    ["", "1", "2", "3", "stem", "port", "both", "3-7-5", "3-7-5+", "-1-0-0", "1200", "0", "12.5",
     "?", "1-2", "nan", "inf", "sheer", "rabbet", "fix", "correct", "keep", "#1", "3-6-0 @ 45",
     "yes", "ft", *OFFSET_LINES]
)  # fmt: skip
cells = st.one_of(likely, st.text(max_size=8))
QUIET = settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@st.composite
def a_form(draw: st.DrawFn, name: str) -> Form:
    names = [column.name for column in LAYOUTS[name].columns]
    if name == "offsets":
        names[2:2] = ["A", "B", "C"]
    if draw(st.booleans()):
        names = draw(st.permutations(names))
    row = st.tuples(*[cells] * len(names))
    rows = tuple(draw(st.lists(row, max_size=5)))
    return Form(name, tuple(names), rows, f"{name}.csv", tuple(range(2, len(rows) + 2)))


@st.composite
def all_forms(draw: st.DrawFn) -> dict[str, Form]:
    names = draw(st.lists(st.sampled_from(sorted(LAYOUTS)), min_size=1, max_size=5, unique=True))
    return {name: draw(a_form(name)) for name in names}


def answer(forms: dict[str, Form]) -> str:
    try:
        survey = read_survey(forms)
    except InputError as error:
        assert error.problems  # noqa: PT017 - the error is the answer looked at
        assert all(problem.wanted for problem in error.problems)  # noqa: PT017
        return "problems"
    assert survey.girths or survey.readings
    return "survey"


@given(all_forms())
@QUIET
def test_any_forms(forms: dict[str, Form]) -> None:
    assert answer(forms) in {"survey", "problems"}


@given(st.binary(max_size=400))
@QUIET
def test_any_bytes_as_csv(tmp_path: Path, raw: bytes) -> None:
    (tmp_path / "girths.csv").write_bytes(raw)
    with pytest.raises(InputError):
        read_survey(read_forms(tmp_path))


@given(st.text(alphabet='fraegithlpos,;"\n# 123-?\t\r', max_size=120))
@QUIET
def test_any_text_under_a_good_heading(tmp_path: Path, text: str) -> None:
    (tmp_path / "girths.csv").write_text("frame,position,girth\n" + text, "utf-8", newline="")
    try:
        forms = read_forms(tmp_path)
    except InputError as error:
        assert all(problem.file == "girths.csv" for problem in error.problems)  # noqa: PT017
    else:
        assert answer(forms) in {"survey", "problems"}


odd = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**12), 10**12),
    st.floats(allow_nan=False, allow_infinity=False),
    st.datetimes(datetime.datetime(1901, 1, 1), datetime.datetime(2100, 1, 1)),
    st.times(),
    st.timedeltas(datetime.timedelta(0), datetime.timedelta(1000)),
    st.text(st.characters(min_codepoint=32, exclude_categories=["Cs"]), max_size=8),
    likely,
)


@given(st.lists(st.tuples(odd, odd, odd, odd), max_size=4), st.sampled_from(["girths", "points"]))
@settings(QUIET, max_examples=60)
def test_any_cells_in_a_workbook(tmp_path: Path, rows: list[tuple[object, ...]], name: str) -> None:
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = name
    sheet.append([column.name for column in LAYOUTS[name].columns][:4])
    for row in rows:
        sheet.append(row)
    path = tmp_path / "forms.xlsx"
    book.save(path)
    try:
        forms = read_forms(path)
    except InputError as error:
        assert error.problems  # noqa: PT017
    else:
        assert answer(forms) in {"survey", "problems"}
