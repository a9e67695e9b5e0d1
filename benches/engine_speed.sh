#!/bin/sh
# The direct joint beside the closed loop in a physics engine, in turns: benches/engine_speed.sh
set -eu
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-target}
venv=$target/bench-engine-venv
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
"$venv/bin/python" -m pip install --quiet --disable-pip-version-check "$(grep '^mujoco==' tests/engines/requirements.txt)"
for model in direct loop; do
    cargo run --quiet --release -- emit models/ankle.toml --to mjcf --whole --model "$model" --force \
        -o "$target/bench_$model.xml" 2>/dev/null
done
exec "$venv/bin/python" benches/engine_speed.py "$target/bench_direct.xml" "$target/bench_loop.xml"
