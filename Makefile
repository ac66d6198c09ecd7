# Everything a person or a machine does with this project. `make` alone lists it.
.DEFAULT_GOAL := help
.PHONY: help demo demo-reset env test unit check fix lock migration messages bench pages papers clean

PYTHON ?= python3
BIN := .venv/bin
DEMO := .demo
PORT ?= 8460
PYTEST := $(BIN)/python -m pytest

help: ## list what can be made
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 14

# --- environments -------------------------------------------------------------------------------------------------

env: .venv/run.stamp ## build .venv with what the portal needs to run

.venv/bin/python:
	$(PYTHON) -m venv .venv

.venv/run.stamp: requirements.lock pyproject.toml | .venv/bin/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-build-isolation --no-deps --editable .
	@touch $@

.venv/test.stamp: tests/requirements.lock .venv/run.stamp
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r tests/requirements.lock
	@touch $@

# Real weather to compare our reading of it with: too large to keep, and not ours to give away.
WEATHER := .build/weather/amsterdam.epw .build/weather/po-plain.epw
WEATHER_IN_amsterdam := NLD_Amsterdam062400_IWEC.epw
WEATHER_IN_po-plain := tmy_45.000_8.000_2005_2023.epw

# The wheel leaves them out, so the source archive is fetched with the hash that the lock file has for it.
.build/weather/archive.stamp: tests/requirements.lock | .venv/test.stamp
	@mkdir -p $(@D) && rm -f $(@D)/pvlib-*.tar.gz
	@sed -n '/^pvlib==/,/[^\\]$$/p' tests/requirements.lock > $(@D)/pvlib.txt
	$(BIN)/python -m pip download --quiet --disable-pip-version-check --require-hashes --no-deps --no-binary pvlib \
		--dest $(@D) --requirement $(@D)/pvlib.txt
	@touch $@

.build/weather/%.epw: .build/weather/archive.stamp
	@archive=$$(ls $(@D)/pvlib-*.tar.gz) && \
		tar -xzOf $$archive "$$(basename $$archive .tar.gz)/tests/data/$(WEATHER_IN_$*)" > $@.part
	@mv $@.part $@

# --- the demo -----------------------------------------------------------------------------------------------------

# Only the demo makes up a secret, and keeps it, so that a restart signs nobody out.
$(DEMO)/secret: | .venv/bin/python
	@mkdir -p $(DEMO)
	@$(BIN)/python -c "import secrets; print(secrets.token_urlsafe(48))" > $@

DEMO_ENV = RILLBOOK_DATABASE_URL=sqlite:///$(CURDIR)/$(DEMO)/rillbook.db RILLBOOK_SECRET_KEY_FILE=$(CURDIR)/$(DEMO)/secret \
	RILLBOOK_BASE_URL=http://127.0.0.1:$(PORT) RILLBOOK_MAIL_FROM=desk@hollowmere.example RILLBOOK_DEMO=yes

demo: env $(DEMO)/secret ## run the demo on http://127.0.0.1:8460, with a small living world
	@$(DEMO_ENV) $(BIN)/rillbook upgrade
	@$(DEMO_ENV) $(BIN)/python -m demo_seed
	@$(DEMO_ENV) $(BIN)/rillbook serve --with-worker --host 127.0.0.1 --port $(PORT)

demo-reset: ## forget the demo's data; the next `make demo` starts over
	rm -rf $(DEMO)

# --- tests and checks ---------------------------------------------------------------------------------------------

test: .venv/test.stamp $(WEATHER) ## run every test on both databases, the browser journeys too
	.ci/needs
	$(PYTEST) -n 2 --dist worksteal --cov --cov-report=
	$(BIN)/python -m coverage report --fail-under=95

unit: .venv/test.stamp $(WEATHER) ## run the fast tests of the domain only
	$(PYTEST) -q tests/domain tests/test_architecture.py

check: .venv/test.stamp ## format, lint, types, import layers, templates
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(PYTEST) -q tests/test_architecture.py
	$(BIN)/djlint --quiet --lint portal/web/templates

fix: .venv/test.stamp ## format and mend what can be mended by itself
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

# --- for maintainers ----------------------------------------------------------------------------------------------

lock: .venv/test.stamp ## write the two lock files anew from pyproject.toml
	$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header \
		--no-annotate --no-strip-extras --group build pyproject.toml -o requirements.lock
	$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header \
		--no-annotate --no-strip-extras --group build --extra test -c requirements.lock pyproject.toml -o tests/requirements.lock

migration: .venv/test.stamp ## write a migration from what changed in the tables: make migration m="add a column"
	$(BIN)/python -m migrations.write "$(m)"

messages: .venv/test.stamp ## gather every text that people read, for translators
	@mkdir -p portal/translations
	$(BIN)/pybabel --quiet extract --mapping portal/babel.cfg --keywords N_ --keywords _ --project Rillbook \
		--output portal/translations/portal.pot .

pages: .venv/test.stamp ## take screenshots of every page into .build/pages
	.ci/needs
	$(BIN)/python -m tests.browser.screenshots .build/pages

papers: .venv/test.stamp ## write samples of every paper into .build/papers
	$(BIN)/python -m tests.documents.samples .build/papers

clean: ## remove what was built
	rm -rf .venv .build .mypy_cache .ruff_cache .pytest_cache .hypothesis .coverage*

bench: .venv/test.stamp ## measure speed as ratios within one run
	$(BIN)/python -m tests.bench.bench
