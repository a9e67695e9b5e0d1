#!/bin/sh
# The kernel, then a tolerance study, beside the same in NumPy, in turns: benches/run.sh [--least 20]
set -eu
cd "$(dirname "$0")/.."
venv=${CARGO_TARGET_DIR:-target}/bench-venv
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
"$venv/bin/python" -m pip install --quiet --disable-pip-version-check numpy==2.4.6
cargo build --quiet --profile bench --bench against_numpy
unset OPENBLAS_CORETYPE OPENBLAS_L2_SIZE
"$venv/bin/python" benches/against_numpy.py "$@" cargo bench --quiet --bench against_numpy -- --paced
exec "$venv/bin/python" benches/study_against_numpy.py \
    cargo bench --quiet --bench against_numpy -- --paced
