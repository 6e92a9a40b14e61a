"""Fuzz one reader with atheris: ``python tests/fuzz/fuzz_readers.py NAME [libFuzzer options]``.

NAME is a reader of ``readers.py``; options such as ``-max_total_time=600``, ``-timeout=10`` (a
hang), ``-rss_limit_mb=2048`` (memory) go to libFuzzer. A folder of found inputs may be given too.
What it finds is written as ``crash-...``: make it a case of the tests and mend the reader.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["ribband.survey", "ribband.store", "readers"]):
    sys.path.insert(0, str(Path(__file__).parent))
    import readers


def main() -> None:
    """Fuzz for as long as the options say."""
    names = [word for word in sys.argv[1:] if word in readers.READERS]
    if not names:
        sys.exit("say which reader: " + ", ".join(readers.READERS))
    name = names[0]
    rest = [word for word in sys.argv[1:] if word not in names]
    with tempfile.TemporaryDirectory(prefix="ribband-seeds-") as seeds:
        for n, data in enumerate(readers.good_seeds()[name]):
            Path(seeds, str(n)).write_bytes(data)
            readers.said(name, data)  # what a reader loads when it is first used is no hang
        options = ["-timeout=10", "-rss_limit_mb=2048", "-max_len=100000", *rest, seeds]
        atheris.Setup([sys.argv[0], *options], lambda data: readers.said(name, data) and None)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
