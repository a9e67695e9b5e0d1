"""A robot file under test: does it still say what the drawing says, and may its loop stay a direct joint?

    pytest test_robot_file.py
"""

from pathlib import Path

import pytest
import unloop

MODELS = Path(__file__).resolve().parents[2] / "models"
DRAWING = MODELS / "ankle.toml"


@pytest.fixture
def robot(tmp_path: Path) -> Path:
    """Your own file stands here; this one is made anew."""
    path = tmp_path / "ankle.urdf"
    path.write_text(unloop.emit(DRAWING, to="urdf", whole=True))
    return path


def test_the_drawing_allows_a_direct_joint() -> None:
    found = unloop.check(DRAWING)
    assert found["verdict"] == "equivalent", found["reason"]


def test_the_robot_file_is_in_step_with_the_drawing(robot: Path) -> None:
    found = unloop.compare(DRAWING, robot)
    rows = [row for file in found["files"] for joint in file["joints"] for row in joint["rows"]]
    assert found["answer"] == "in_step", [row for row in rows if row["outcome"] != "in_step"]
