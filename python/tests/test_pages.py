"""The examples run, and so does what the page on Python shows."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[1] / "examples"


def run(*arguments: str) -> str:
    done = subprocess.run([sys.executable, *arguments], capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_the_pages_lines_work() -> None:
    page = Path("docs/python.md").read_text(encoding="utf-8")
    blocks = re.findall(r"```python\n(.*?)```", page, re.DOTALL)
    assert blocks
    for block in blocks:
        run("-c", block)


def test_a_mujoco_model_is_randomised_from_a_drawing() -> None:
    pytest.importorskip("mujoco")
    rows = run(str(EXAMPLES / "randomise_mujoco.py"), "4").splitlines()
    assert len(rows) == 5
    assert len({row for row in rows[1:]}) == 4


def test_a_robot_file_is_checked_in_a_suite_of_tests() -> None:
    said = run("-m", "pytest", "-p", "no:cacheprovider", str(EXAMPLES / "test_robot_file.py"))
    assert "2 passed" in said
