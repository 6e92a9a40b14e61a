"""Whatever bytes come, a reader answers or says why not, in time and without a traceback.

The readers are those of ``tests/fuzz/readers.py``; here hypothesis bends good files, there atheris
does it for as long as one likes (``python tests/fuzz/fuzz_readers.py NAME -max_total_time=600``).
"""

from __future__ import annotations

import importlib.util
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

FUZZ = Path(__file__).with_name("fuzz")
SECONDS = 10.0  # no reader takes longer on any of these
sys.path.insert(0, str(FUZZ))

from readers import READERS, good_seeds, said  # noqa: E402 - beside the harness, not a package

SEEDS = good_seeds()
BITS = (
    b"", b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b'"', b"'", b",", b";", b"\t", b"\r", b"\n", b"#",
    b"-1", b"nan", b"inf", b"-inf", b"1e999", b"9" * 400, b"1" + b"0" * 18, b"=1+1", b"@x",
    "٣".encode(), "３".encode(), "²".encode(), "½".encode(), "−5".encode(), "\u202e".encode(),
    b"3-7-5+", b"99999-11-7", b"[" * 4000, b"{" * 4000, b'{"$of":"ribband.findings:Finding"}',
    b'{"$of":"os:system"}', b'{"$array":9}', b"<!DOCTYPE a>", b"&a;", b"element vertex 999999999",
    b"v 1 1", b"f 1 2 999999", b"../../etc/passwd", b"\xed\xa0\x80", b"null", b"true", b"-0",
)  # fmt: skip


@st.composite
def bent(draw: st.DrawFn, name: str) -> bytes:
    """Bend a good file here and there, or make bytes up."""
    if draw(st.integers(0, 9)) == 0:
        return draw(st.binary(max_size=400))
    data = draw(st.sampled_from(SEEDS[name]))
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(data)))
        gone = draw(st.sampled_from((0, 0, 1, 2, 8, 200)))
        come = draw(st.one_of(st.sampled_from(BITS), st.binary(max_size=6)))
        data = data[:at] + come + data[at + gone :]
    return data


@pytest.mark.parametrize("name", READERS)
def test_good_bytes_are_read(name: str) -> None:
    for data in SEEDS[name]:
        assert said(name, data)


@pytest.mark.parametrize("name", READERS)
def test_bent_bytes_are_read_or_refused(name: str) -> None:
    @given(bent(name))
    @settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
    def tried(data: bytes) -> None:
        began = time.process_time()
        assert said(name, data)
        assert time.process_time() - began < SECONDS

    tried()


@pytest.mark.skipif(
    importlib.util.find_spec("atheris") is None, reason="atheris is there on Linux only"
)
def test_the_long_harness_runs(tmp_path: Path) -> None:
    words = [sys.executable, str(FUZZ / "fuzz_readers.py"), "girths.csv", "-runs=100",
             "-timeout=30", f"-artifact_prefix={tmp_path}/"]  # fmt: skip
    done = subprocess.run(words, capture_output=True, text=True, check=False, timeout=120)
    assert done.returncode == 0, done.stderr[-2000:]
    runs = re.search(r"Done (\d+) runs", done.stderr + done.stdout)
    assert runs is not None
    assert int(runs[1]) >= 100  # now and then it counts one more
