# Two commands do everything on a fresh machine: `make run` and `make test`.
PYTHON ?= python3
VENV := .venv/bin
export QT_LOGGING_RULES ?= qt.qpa.*=false

.PHONY: run test lint types cover mutate torture bench judge pictures package clean

run: ; @PYTHON="$(PYTHON)" sh .ci/prepare && $(VENV)/python -m loopwright.cli.demo

test: ; @PYTHON="$(PYTHON)" sh .ci/prepare test && $(VENV)/python -m pytest -n auto --dist loadfile

lint: ; @PYTHON="$(PYTHON)" sh .ci/prepare test && $(VENV)/ruff check . && $(VENV)/ruff format --check . && $(VENV)/lint-imports

types: ; @PYTHON="$(PYTHON)" sh .ci/prepare test && $(VENV)/mypy

bench: ; @PYTHON="$(PYTHON)" sh .ci/prepare test && for f in tests/bench_*.py; do echo "== $$f"; $(VENV)/python $$f || exit 1; done

judge: ; @PYTHON="$(PYTHON)" sh .ci/prepare test && $(VENV)/python -m loopwright.judging $(if $(DATA),--data $(DATA),) && $(VENV)/python -m loopwright.judging_features

# Not part of the tests: kills, bad disks, edits in any order, a day of use, and MINUTES of fuzzing every reader in turns.
MINUTES ?= 16
torture: ; @PYTHON="$(PYTHON)" sh .ci/prepare test && $(VENV)/python -m pip install --quiet atheris osmium rasterio && for f in kill disk edits long; do $(VENV)/python tests/torture_$$f.py || exit 1; done && $(VENV)/python tests/torture_fuzz.py --minutes $(MINUTES)

# Lines and branches that tests reach in the ten rooms that think; fails where it fell. RAISE=1 lifts the floors, ROOMS="clean pacing" looks at some.
cover: ; @PYTHON="$(PYTHON)" sh .ci/prepare test && $(VENV)/python tests/cover_rooms.py $(if $(RAISE),--raise,) $(if $(ROOMS),--rooms $(ROOMS),)

# Small mistakes made in the source one at a time: does a test notice? Takes an hour or two.
mutate: ; @PYTHON="$(PYTHON)" sh .ci/prepare test && for what in kernels loops area; do $(VENV)/python tests/torture_mutate.py $$what || exit 1; done

pictures: ; @PYTHON="$(PYTHON)" sh .ci/prepare && $(VENV)/python -m loopwright.app.picture docs/pictures

package: ; @PYTHON="$(PYTHON)" sh .ci/prepare test && $(VENV)/python -m pip wheel --quiet --no-deps --wheel-dir dist . && $(VENV)/python -m pip install --quiet "pyinstaller>=6" && $(VENV)/pyinstaller --noconfirm --log-level WARN --distpath dist --workpath build .ci/loopwright.spec && dist/loopwright/loopwright warm

clean: ; rm -rf .venv out dist build
