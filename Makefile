.DEFAULT_GOAL := help
PYTHON ?= python3
lock:
	.venv/bin/uv pip compile -q --universal --generate-hashes --no-emit-index-url --no-header --no-annotate --emit-build-options pyproject.toml -o requirements.lock
