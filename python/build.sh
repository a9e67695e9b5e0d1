#!/bin/sh
# The wheel, one for every Python from 3.10: python/build.sh puts it into target/wheels/.
set -eu
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-target}
venv=$target/wheel-venv
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
"$venv/bin/python" -m pip install --quiet --disable-pip-version-check "$(grep '^maturin==' python/requirements.txt)"
rm -rf "$target/wheels"
# By its name: `--release` would take the profile whose panics end the interpreter.
exec "$venv/bin/maturin" build --locked --manifest-path python/Cargo.toml --profile wheel --out "$target/wheels"
