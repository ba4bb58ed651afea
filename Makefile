# The two commands that most readers need are `make demo` and `make test`; DEVELOPERS.md tells of the others.
# Everything is installed into .venv; it is set up again only when pyproject.toml changes.

PYTHON ?= python3
WORKERS ?= 2
INPUTS ?= 20000
VENV := .venv
BIN := $(VENV)/bin
RUN := $(BIN)/python -m
INSTALL := PIP_DISABLE_PIP_VERSION_CHECK=1 $(RUN) pip install --quiet --editable
# With byte code written, wherever the environment says otherwise: tests start many processes of Python.
PYTEST := PYTHONDONTWRITEBYTECODE= $(RUN) pytest -n $(WORKERS) --dist worksteal

.DEFAULT_GOAL := help
.PHONY: help demo test pages check prove fuzz mutants bench wheel readme schemas clean
.DELETE_ON_ERROR:

help:  ## this list
	@awk -F ':.*## ' '/^[a-z-]+:.*## / {printf "make %-8s %s\n", $$1, $$2}' Makefile

demo: $(VENV)/.installed  ## install buildcheck into .venv and run its demo
	$(BIN)/buildcheck demo

test: $(VENV)/.installed-dev  ## all tests
	$(PYTEST)

pages: $(VENV)/.installed-dev  ## the pages in Chromium, skipped with the reason where there is none
	HYPOTHESIS_PROFILE=prove $(RUN) pytest -rs tests/pages

check: $(VENV)/.installed-dev  ## what CI runs, but for other versions
	$(BIN)/ruff check
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/buildcheck schema --check
	$(BIN)/buildcheck parts verify
	$(PYTEST) --cov --cov-branch --cov-report=term

prove: $(VENV)/.installed-dev  ## the laws and the cures, with many more generated examples, and a million odd inputs
	HYPOTHESIS_PROFILE=prove $(PYTEST) tests/laws tests/trade tests/candidates tests/test_explaining.py tests/test_jobs.py \
		tests/test_generated.py tests/test_progress.py tests/test_same_bytes.py tests/test_small_cases.py
	$(MAKE) fuzz INPUTS=1000000

fuzz: $(VENV)/.installed-dev  ## INPUTS=20000 odd inputs for the readers of files and words
	$(BIN)/python tests/fuzz.py $(INPUTS) --workers $(WORKERS)

mutants: $(VENV)/.installed-dev  ## changes that some test is to notice, hours: SAMPLE=200 SEED=1 PACKAGE=trade for some
	SAMPLE=$(SAMPLE) SEED=$(SEED) PACKAGE=$(PACKAGE) WORKERS=$(WORKERS) $(BIN)/python tests/mutants.py

bench: $(VENV)/.installed-dev  ## speed and memory; writes bench-out/figures.json
	$(BIN)/python tests/benchmarks/bench.py

wheel: $(VENV)/.installed-dev  ## dist/*.whl
	$(RUN) build --wheel --no-isolation

readme: $(VENV)/.installed-dev  ## write README.md and the pages in catalog/ again, as far as they are made
	$(BIN)/python tests/readme.py

schemas: $(VENV)/.installed  ## write schemas/ anew from the records
	$(BIN)/buildcheck schema

clean:  ## take away .venv and all that was made
	rm -rf $(VENV) dist build demo-out bench-out mutants htmlcov .coverage .coverage.* .pytest_cache .mypy_cache .ruff_cache \
		.import_linter_cache .hypothesis
	find src tests -name __pycache__ -type d -prune -exec rm -rf {} +

$(BIN)/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Python 3.11 or later is needed: make PYTHON=python3.11")'
	$(PYTHON) -m venv $(VENV)

$(VENV)/.installed: pyproject.toml | $(BIN)/python
	$(INSTALL) .
	@touch $@

$(VENV)/.installed-dev: pyproject.toml | $(BIN)/python
	$(INSTALL) '.[dev]'
	@touch $(VENV)/.installed $@
