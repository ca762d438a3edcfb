# Run 'make' to see what there is. PORT=9000 make demo takes another port.
PORT ?= 8000
UV_VERSION := 0.9.30
PYTHON := .venv/bin/python
CHROMIUM ?= $(shell command -v chromium-headless-shell || command -v chromium || echo /usr/bin/chromium-headless-shell)
SOURCES := fleet checks reports tests manage.py
STATIC_SOURCES := $(shell find fleet checks reports -path '*/static/*' -type f)
export CHROMIUM
export LOCAL = 1
# Every process would else read the libraries' source anew.
unexport PYTHONDONTWRITEBYTECODE

help: ## Show this help
	@awk -F ':.*## ' '/^[a-z-]+:.*## / { printf "  make %-9s %s\n", $$1, $$2 }' Makefile

demo: export VAR_DIR = var/demo
demo: .venv/ready var/static.stamp ## Start the demonstration fleet with its server and worker; Ctrl-C stops it
	@$(PYTHON) manage.py serve $(PORT) --check-port
	@echo "Preparing the database ..."
	@$(PYTHON) manage.py migrate --verbosity 0
	@$(PYTHON) manage.py demo
	@$(PYTHON) manage.py serve $(PORT)

serve: .venv/ready var/static.stamp ## Start an empty installation of your own; Ctrl-C stops it
	@$(PYTHON) manage.py serve $(PORT) --check-port
	@echo "Preparing the database ..."
	@$(PYTHON) manage.py migrate --verbosity 0
	@$(PYTHON) manage.py serve $(PORT)

# Threads of the linear algebra beside the workers would only get in their way.
test browser: export OPENBLAS_NUM_THREADS = 1
SUITE = @SHUFFLE=$(SHUFFLE) $(PYTHON) -m pytest -q --dist loadfile --no-loadscope-reorder

test: .venv/ready ## Run the suite but for the browser's; SHUFFLE=7 in the order that 7 draws
	$(SUITE) -n $(or $(WORKERS),2) --ignore tests/browser

# A worker waits for its browser half of the time, so three keep two cores busy.
browser: .venv/ready chromium ## Run the browser's suite, each page and flow in Chromium; takes SHUFFLE too
	$(SUITE) -n $(or $(WORKERS),3) tests/browser

check: .venv/ready ## Run every check that needs no test, side by side: format, lint, types, layers, migrations
	@$(MAKE) --no-print-directory --output-sync --jobs lint types layers deployable

deployable: export DJANGO_SETTINGS_MODULE = fleet.settings
deployable: .venv/ready
	@LOCAL=0 VAR_DIR=var/check SECRET_KEY=$$($(PYTHON) -c 'import secrets; print(secrets.token_urlsafe(60))') $(PYTHON) -c \
	    'import django; from django.core.management import call_command as call; django.setup(); \
	    call("makemigrations", check_changes=True, dry_run=True); call("check", deploy=True, fail_level="WARNING")'

lint: .venv/ready ## Check the format and the style of code and templates
	@.venv/bin/ruff format --check $(SOURCES)
	@.venv/bin/ruff check $(SOURCES)
	@find fleet checks reports -name '*.html' -exec .venv/bin/djade --check --target-version 5.2 {} +

types: .venv/ready ## Check the types
	@.venv/bin/mypy

layers: .venv/ready ## Check that knowledge points downwards
	@.venv/bin/lint-imports

format: .venv/ready ## Put code and templates into the house's format
	@.venv/bin/ruff format $(SOURCES)
	@.venv/bin/ruff check --fix $(SOURCES)
	@find fleet checks reports -name '*.html' -exec .venv/bin/djade --target-version 5.2 {} +

map: .venv/ready ## Draw in DEVELOPERS.md who imports whom
	@$(PYTHON) tests/house/draw_map.py --write

yardstick: .venv/ready ## Measure the sizes of files and bodies beside their yardstick
	@$(PYTHON) tests/house/yardstick.py

bench: .venv/ready ## Measure speed and memory beside their peers; takes minutes
	@for script in tests/bench/bench_*.py; do \
	    echo "== $$script"; env -u OPENBLAS_CORETYPE -u OPENBLAS_L2_SIZE PYTHONPATH=. $(PYTHON) $$script || exit 1; done

secrets: ## Write .env with secrets for a deployment: make secrets HOST=register.example
	@python3 fleet/management/env_file.py $(HOST)

clean: ## Remove what can be made again; keeps var, where your data is
	rm -rf .venv .mypy_cache .ruff_cache .pytest_cache .import_linter_cache .hypothesis

.venv/ready: uv.lock pyproject.toml
	@command -v python3 >/dev/null || { echo "Install Python 3.11 or newer."; exit 1; }
	@test -x $(PYTHON) || python3 -m venv .venv || { echo "Install Python's venv (Debian: apt install python3-venv)."; exit 1; }
	@test -x .venv/bin/uv || $(PYTHON) -m pip install --quiet --disable-pip-version-check uv==$(UV_VERSION)
	@echo "Installing what it needs into .venv ..."
	@.venv/bin/uv sync --frozen --quiet
	@touch $@

var/static.stamp: .venv/ready $(STATIC_SOURCES)
	@echo "Collecting static files ..."
	@$(PYTHON) manage.py collectstatic --noinput --clear --verbosity 0 -i redoc
	@touch $@

# The build without a window takes half the processor; where it cannot be had, any other does.
chromium:
	@if [ "$(origin CHROMIUM)" = file ] && ! command -v chromium-headless-shell >/dev/null && \
	    [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
	    apt-get update -qq; export DEBIAN_FRONTEND=noninteractive; \
	    apt-get install -qq -y chromium-headless-shell || command -v chromium >/dev/null || apt-get install -qq -y chromium; \
	fi
	@test -x "$(CHROMIUM)" || { [ "$(origin CHROMIUM)" = file ] && command -v chromium >/dev/null; } || { \
	    echo "The browser tests need Chromium at $(CHROMIUM). Debian: sudo apt install chromium-headless-shell."; \
	    echo "Elsewhere: install Chromium and run 'make browser CHROMIUM=/path/to/it'."; exit 1; }

.PHONY: help demo serve test browser check deployable lint types layers format map yardstick bench secrets clean chromium
