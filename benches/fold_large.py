"""Folds the loop of a robot file of ten megabytes: time and memory of the whole process, beside copying the file.

    cargo build --release && python3 benches/fold_large.py

The file is models/robots/leg.urdf with a chain of thousands of links behind it. Prints medians of several runs in turns."""

import resource
import shutil
import statistics
import subprocess
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ROUNDS = 9
SIZE = 10_000_000

# As dense as the 69 URDF files of example-robot-data 6.0.0 are together: 55 bytes an element, 44 an attribute,
# 1240 a link; here 58, 38 and 1213.
PART = """
    <!-- part {n} -->
    <link name="part_{n}">
        <inertial>
            <origin xyz="0.012500 0.000000 -0.150000" rpy="0 0 0"/>
            <mass value="0.532000"/>
            <inertia ixx="0.045000" ixy="0.000000" ixz="0.000000" iyy="0.046000" iyz="0.000000" izz="0.006000"/>
        </inertial>
        <visual>
            <origin xyz="0.000000 0.000000 0.000000" rpy="0 0 0"/>
            <geometry>
                <mesh filename="package://chain_description/meshes/part_{n}.stl" scale="0.001 0.001 0.001"/>
            </geometry>
            <material name="grey"/>
        </visual>
        <collision>
            <origin xyz="0.000000 0.000000 -0.150000" rpy="0 0 0"/>
            <geometry>
                <cylinder radius="0.030000" length="0.300000"/>
            </geometry>
        </collision>
    </link>

    <joint name="part_joint_{n}" type="revolute">
        <parent link="{parent}"/>
        <child link="part_{n}"/>
        <origin xyz="0.000000 0.000000 0.100000" rpy="0 0.1 0"/>
        <axis xyz="0 1 0"/>
        <limit lower="-1.000000" upper="1.000000" effort="10.000000" velocity="1.000000"/>
        <dynamics damping="0.010000" friction="0.000000"/>
    </joint>
"""


def large():
    head, tail = (ROOT / "models/robots/leg.urdf").read_text().rsplit("</robot>", 1)
    parts, size, n = [head], len(head), 0
    while size < SIZE:
        parts.append(PART.format(n=n, parent=f"part_{n - 1}" if n else "thigh"))
        size, n = size + len(parts[-1]), n + 1
    return "".join(parts) + "</robot>" + tail


def main():
    with tempfile.TemporaryDirectory() as folder:
        source, target = Path(folder, "large.urdf"), Path(folder, "folded.urdf")
        source.write_text(large())
        command = [ROOT / "target/release/unloop", "fold", source, "--loops", ROOT / "models/robots/leg.loops.toml"]
        folds, copies = [], []
        for _ in range(ROUNDS):
            start = time.perf_counter()
            subprocess.run([*command, "-o", target, "--force"], check=True, stderr=subprocess.DEVNULL)
            middle = time.perf_counter()
            shutil.copyfile(source, Path(folder, "copy.urdf"))
            folds.append(middle - start)
            copies.append(time.perf_counter() - middle)
        size = source.stat().st_size
        peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * 1024
    fold = statistics.median(folds)
    print(f"{size / 1e6:.1f} MB: folded in {1e3 * fold:.0f} ms (least {1e3 * min(folds):.0f}), "
          f"copied in {1e3 * statistics.median(copies):.0f} ms; peak memory {peak / size:.1f} times the file")


main()
