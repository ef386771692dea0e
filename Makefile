# One word for each task, the same on a laptop and in CI. Needs: make and Python 3.11 or newer.
PYTHON ?= python3
SERVE ?= 1
BIN := .venv/bin

.DEFAULT_GOAL := help
.PHONY: help venv demo test browser field bench docs screens lock clean

help:
	@echo "make demo    show Backprobe on an invented fleet (SERVE=0: no web page)"
	@echo "make test    lint, types, tests and field checks: all that CI runs"
	@echo "make field   the field checks alone"
	@echo "make bench   measure speed and memory"
	@echo "make docs    write the generated parts of the docs anew"
	@echo "make screens make the pictures of docs/screens.md anew"
	@echo "make lock    resolve the dependencies anew into requirements.lock"
	@echo "make clean   remove .venv and everything else that make made"

venv:
	@PYTHON='$(PYTHON)' sh scripts/venv.sh

demo: venv
	@$(BIN)/backprobe demo
	@[ '$(SERVE)' = 0 ] || $(BIN)/backprobe serve --demo

test: venv browser
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/python -m pytest -q -n 2 --ignore=tests/browser
	$(BIN)/python -m pytest -q -n 2 tests/browser
	$(BIN)/python -m tests.field.run

browser:
	@sh scripts/chromium.sh

field: venv
	@$(BIN)/python -m tests.field.run

bench: venv
	@$(BIN)/python -m bench

docs: venv
	@$(BIN)/python -m scripts.docs

screens: venv browser
	@$(BIN)/python -m scripts.screenshots

lock:
	@PYTHON='$(PYTHON)' sh scripts/lock.sh

clean:
	rm -rf .venv build dist .mypy_cache .pytest_cache .ruff_cache .hypothesis .coverage htmlcov
	find . -path ./.git -prune -o -name __pycache__ -type d -prune -exec rm -rf {} +
