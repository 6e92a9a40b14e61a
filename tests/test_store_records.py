"""A result written down and read back is the same result."""

from __future__ import annotations

import json
import zlib
from dataclasses import fields, is_dataclass
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

import made_hulls
from ribband.butts.model import Butt, Goal, Layout, Ways
from ribband.findings import Finding, Severity
from ribband.lining.model import Bind, Lining, Strake
from ribband.store.record_format import Packed, pack, unpack
from ribband.survey.model import Cell, FrameMark, Girth, Particulars, Survey


def same(a: object, b: object) -> bool:
    if type(a) is not type(b):
        return False
    if isinstance(a, np.ndarray):
        return a.dtype == b.dtype and a.shape == b.shape and a.tobytes() == b.tobytes()
    if is_dataclass(a):
        return all(same(getattr(a, f.name), getattr(b, f.name)) for f in fields(a))
    if isinstance(a, (tuple, list)):
        return len(a) == len(b) and all(same(x, y) for x, y in zip(a, b, strict=True))
    if isinstance(a, dict):
        return list(a) == list(b) and all(same(a[k], b[k]) for k in a)
    return repr(a) == repr(b)  # repr tells nan from nan and 0.0 from -0.0 as == does not


text = st.text(st.characters(codec="utf-8"))
number = st.floats(allow_nan=True, allow_infinity=True)
cells = st.builds(Cell, text, st.integers(0, 10**6), text)
findings = st.builds(Finding, text, st.sampled_from(list(Severity)), text, text, text, text, text)
girths = st.builds(Girth, text, text, number, number, st.just("port"), cells, text)
surveys = st.builds(
    Survey,
    st.builds(Particulars, text, more=st.tuples(st.tuples(text, text))),
    st.lists(st.builds(FrameMark, text, number, st.none() | number), max_size=4).map(tuple),
    girths=st.lists(girths, max_size=4).map(tuple),
    findings=st.lists(findings, max_size=3).map(tuple),
)
arrays = hnp.arrays(
    st.sampled_from([np.float64, np.int64, np.bool_]),
    hnp.array_shapes(min_dims=0, max_dims=4, min_side=0, max_side=5),
)
leaves = st.none() | st.booleans() | st.integers() | number | text | st.fractions() | findings
values = st.recursive(
    leaves,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.lists(inner, max_size=4).map(tuple)
        | st.dictionaries(text, inner, max_size=4)
    ),
    max_leaves=12,
)


@given(surveys)
def test_a_survey_comes_back_the_same(survey: Survey) -> None:
    assert same(unpack(pack(survey)), survey)


@given(values)
def test_any_nest_of_values_comes_back_the_same(value: object) -> None:
    assert same(unpack(pack(value)), value)


@given(st.lists(arrays, max_size=5).map(tuple))
def test_arrays_come_back_to_the_last_bit(value: tuple[np.ndarray, ...]) -> None:
    assert same(unpack(pack(value)), value)


@given(arrays)
def test_the_words_are_standard_json(value: np.ndarray) -> None:
    def refuse(constant: str) -> None:
        raise AssertionError(constant)

    json.loads(pack((value, float("nan"), float("inf"))).words, parse_constant=refuse)


def test_whole_stage_results_come_back_the_same() -> None:
    hull = made_hulls.tape()
    a = np.array([[1.0, np.nan], [2.0, -0.0]])
    strake = Strake("6s", "bottom", "stem", "12", stealer=True, nib="12")
    lining = Lining(
        ("stem", "stern"), (strake,), a, a, a, None, None, a, a[0], a, a, True, 1.0, 0.1,
        ("because",), (Bind("least width", "frame 3", "2 mm"),),
    )  # fmt: skip
    ways = Ways(("1",), ("1",), a[0], a, np.array([[1]]), a[0], np.array([[True]]))
    layout = Layout((Butt(0, 3, True),), True, (Goal("butts", 1.0, 1.0, True),), 0.1, 0)
    for record in (hull, lining, (ways, layout)):
        assert same(unpack(pack(record)), record)


def test_fortran_order_and_numpy_numbers_come_back_equal() -> None:
    back = unpack(pack((np.asfortranarray(np.eye(3)), np.float64(2.5), np.int64(4))))
    assert np.array_equal(back[0], np.eye(3))
    assert back[1:] == (2.5, 4)
    assert unpack(pack(Fraction(7, 8))) == Fraction(7, 8)


@pytest.mark.parametrize(
    "bad", [object(), {1, 2}, b"bytes", lambda: 1, np.array([object()]), made_hulls.barrel]
)
def test_what_has_no_place_is_refused(bad: object) -> None:
    with pytest.raises(TypeError):
        pack(bad)


@pytest.mark.parametrize(
    "words",
    [
        '{"$of": "os:system", "command": "true"}',
        '{"$of": "ribband.survey.model:json.loads"}',
        '{"$of": "ribband.store.record_format:Packed", "words": "", "arrays": ""}',
        '{"$of": "ribband.hull.model:Literal"}',
        '{"$of": "ribband.findings:Finding", "code": "X"}',
        '{"$array": 3}',
        '{"$strange": 3}',
        "{}",
        '{"$of": ',
    ],
)
def test_damage_and_foreign_classes_are_refused(words: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        unpack(Packed(words, zlib.compress(b"")))


def test_a_cut_array_block_is_refused() -> None:
    packed = pack((np.arange(100.0),))
    with pytest.raises(ValueError, match=r"."):
        unpack(Packed(packed.words, packed.arrays[:-5]))
    with pytest.raises(ValueError, match=r"."):
        unpack(Packed(packed.words, zlib.compress(zlib.decompress(packed.arrays)[:200])))
