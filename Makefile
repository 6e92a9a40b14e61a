# The commands of the house. Each does its own set-up; only Python 3.11 and a network are needed.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
# small banded matrices: threads that wait for each other only cost time
export OPENBLAS_NUM_THREADS ?= 1

.PHONY: help demo handbook test bench check lock clean
help:
	@echo "make demo   plan the Marl Heron, an invented launch, and say what to open"
	@echo "make handbook  the handbook as pages that open from the disk, into handbook/"
	@echo "make test   every test (make check is part of it)"
	@echo "make check  lint, types, layers"
	@echo "make bench  speed and accuracy, into docs/benchmarks.md"

$(BIN)/.run: lock/run.txt pyproject.toml
	test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r lock/build.txt
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r lock/run.txt
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	touch $@

$(BIN)/.dev: $(BIN)/.run lock/dev.txt
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r lock/dev.txt
	touch $@

demo: $(BIN)/.run
	$(BIN)/ribband demo --out demo --no-open

handbook: $(BIN)/.dev
	$(BIN)/python -m sphinx -W --keep-going -q -b html -d .handbook docs handbook
	@echo "open handbook/index.html"

check: $(BIN)/.dev
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/python -m pytest tests/test_layers.py

# the tests are read once first, so that no worker need compile them for itself; lint and types take
# one core for a minute, so they are looked at beside all that, and what they say stands at the end
test: $(BIN)/.dev
	@said=$$(mktemp); $(MAKE) check >$$said 2>&1 & checking=$$!; \
	$(BIN)/python -m pytest --collect-only -qq >/dev/null 2>&1; \
	$(BIN)/python -m pytest -n auto; tested=$$?; \
	wait $$checking; checked=$$?; cat $$said; rm $$said; exit $$((tested | checked))

bench: $(BIN)/.dev
	$(BIN)/python -m benchmarks

lock:
	$(BIN)/python -m pip install --quiet uv
	printf 'hatchling\neditables\n' | $(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header --no-annotate -o lock/build.txt -
	$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header --no-annotate -o lock/run.txt pyproject.toml
	$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header --no-annotate --extra dev -c lock/run.txt -o lock/dev.txt pyproject.toml

clean:
	rm -rf $(VENV) demo handbook .handbook build dist .mypy_cache .ruff_cache .pytest_cache
