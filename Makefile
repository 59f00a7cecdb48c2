.DEFAULT_GOAL := help
PYTHON ?= python3
# Bytecode is kept even where a shell forbids it, or every command would compile its libraries anew.
unexport PYTHONDONTWRITEBYTECODE
VENV := .venv
PY := $(VENV)/bin/python
ON ?= 2026-04-12
DEMO := demo/sorrel-bank.db

help: ## list what can be asked of make
	@grep -E '^[a-z]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/'

$(VENV)/.for-use: requirements.lock pyproject.toml
	@test -x $(PY) || $(PYTHON) -m venv $(VENV)
	@echo "Setting up Nuttery in $(VENV) (once; about a minute) ..."
	@$(PY) -m pip install --quiet --no-compile --disable-pip-version-check --require-hashes -r requirements.lock
	@$(PY) -m pip install --quiet --no-compile --disable-pip-version-check --no-deps --no-build-isolation -e .
	@touch $@

$(VENV)/.for-work: requirements-dev.lock pyproject.toml
	@test -x $(PY) || $(PYTHON) -m venv $(VENV)
	@echo "Setting up Nuttery and its tests in $(VENV) (once; one or two minutes) ..."
	@$(PY) -m pip install --quiet --no-compile --disable-pip-version-check --require-hashes -r requirements-dev.lock
	@$(PY) -m pip install --quiet --no-compile --disable-pip-version-check --no-deps --no-build-isolation -e .
	@touch $(VENV)/.for-use $@

demo: $(VENV)/.for-use ## make the invented planting, print its season plan, write its season book
	@$(PY) -m nuttery demo --into demo
	@# the cuts are worked out on a second core meanwhile, and kept with the planting for the plan
	@$(PY) -m nuttery canes --planting $(DEMO) --on $(ON) >/dev/null 2>&1 & \
		$(PY) -m nuttery season --planting $(DEMO) --on $(ON); plan=$$?; wait; exit $$plan
	@$(PY) -m nuttery book --planting $(DEMO) --on $(ON) --into demo/season-book.pdf

test: $(VENV)/.for-work ## set up and pass all tests
	@$(PY) -m pytest -n 2 --dist worksteal -q

lint: $(VENV)/.for-work ## style, types and the map of rooms
	@$(VENV)/bin/ruff check .
	@$(VENV)/bin/ruff format --check .
	@$(VENV)/bin/mypy
	@$(VENV)/bin/lint-imports
	@! grep -nE '://|--(extra-)?index|--find-links' requirements*.lock

bench: $(VENV)/.for-work ## ratios against a plain baseline in the same run
	@for b in benchmarks/bench_*.py; do echo "== $$b"; $(PY) $$b || exit 1; done

serve: $(VENV)/.for-use ## look at the invented planting in a browser
	@$(PY) -m nuttery demo --into demo
	@$(PY) -m nuttery serve --planting $(DEMO)

pictures: $(VENV)/.for-work ## pictures of every page, for a person to look through
	@$(PY) benchmarks/pictures.py --into pictures

docs: $(VENV)/.for-work ## write the pages that come from the program
	@$(PY) -c "from nuttery.season.shapes import shapes; print(shapes(), end='')" > docs/methods/answers.md
	@$(PY) -c "from nuttery.exchange import notes_page; print(notes_page(), end='')" > docs/methods/notes.md

lock: ## renew both lock files (needs uv)
	@uv pip compile pyproject.toml --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header --no-annotate -q --extra install -o requirements.lock
	@uv pip compile pyproject.toml --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header --no-annotate -q --extra install --extra dev --extra shared -o requirements-dev.lock

clean: ## remove what was made here
	@rm -rf $(VENV) demo pictures benchmark-results dist build .mypy_cache .ruff_cache .pytest_cache .hypothesis
	@find . -name __pycache__ -type d -prune -exec rm -rf {} +

.PHONY: help demo test lint bench serve pictures docs lock clean
