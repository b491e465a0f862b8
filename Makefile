# Entry needs python3, pip and make; everything else is set up here.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
DEMO_OPTIONS ?=
PYTEST_OPTIONS ?= -n 2

.PHONY: demo test check lock docs catalogues clean

demo: $(VENV)/.runtime  ## set up, build the invented farm, print its week, write sheets, serve
	$(BIN)/outpace demo $(DEMO_OPTIONS)

test: $(VENV)/.development  ## set up and run all tests
	@sh tools/system-packages
	$(BIN)/pytest $(PYTEST_OPTIONS)

check: $(VENV)/.development  ## lint, format and types
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy

docs: $(VENV)/.development  ## write the generated pages of docs/ anew
	$(BIN)/python -m tools.generated_docs

catalogues: $(VENV)/.development  ## gather the texts people read, compile their translations
	$(BIN)/python -m tools.catalogues

lock: $(BIN)/uv  ## resolve the dependencies anew
	$(BIN)/uv pip compile -q --universal --generate-hashes --no-header -p 3.11 --upgrade \
	    --extra pdf --extra excel pyproject.toml -o requirements.lock
	$(BIN)/uv pip compile -q --universal --generate-hashes --no-header -p 3.11 --upgrade -c requirements.lock \
	    --extra pdf --extra excel --extra postgres --extra dev pyproject.toml -o requirements-dev.lock

clean:  ## remove the environment and all that was made
	rm -rf $(VENV) out .pytest_cache .mypy_cache .ruff_cache

# A Python without ensurepip cannot make a venv with pip inside: virtualenv, kept to a folder of its own, can.
$(BIN)/uv: requirements-setup.lock
	@echo "setting up $(VENV)" >&2
	@$(PYTHON) -m venv $(VENV) 2>/dev/null || { \
	    $(PYTHON) -m pip install -q --target $(VENV)/bootstrap virtualenv && \
	    PYTHONPATH=$(VENV)/bootstrap $(PYTHON) -m virtualenv -q $(VENV); }
	@$(BIN)/python -m pip install -q --disable-pip-version-check --require-hashes -r requirements-setup.lock
	@touch $(BIN)/uv

$(VENV)/.runtime: $(BIN)/uv requirements.lock pyproject.toml
	@echo "installing what outpace needs" >&2
	@$(BIN)/uv pip install -q --python $(BIN)/python --require-hashes -r requirements.lock
	@$(BIN)/uv pip install -q --python $(BIN)/python --no-deps -e .
	@touch $@

$(VENV)/.development: $(VENV)/.runtime requirements-dev.lock
	@echo "installing what the tests need" >&2
	@$(BIN)/uv pip install -q --python $(BIN)/python --require-hashes -r requirements-dev.lock
	@touch $@
