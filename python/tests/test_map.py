"""Maps from Python: the program's own code, and what it answers."""

from pathlib import Path

import numpy as np
import pytest
import unloop
from conftest import Program

KNEE = "models/knee_offset.toml"


@pytest.mark.parametrize("language", ["c99", "rust", "python"])
@pytest.mark.parametrize("number", ["float", "double"])
def test_a_map_is_the_programs_file(program: Program, language: str, number: str, tmp_path: Path) -> None:
    written = program("map", KNEE, "--in", language, "--number", number, "-o", "-")
    notes: list[str] = []
    assert unloop.map(KNEE, language, number=number, notes=notes) == written.stdout  # type: ignore[arg-type]
    assert any("joint from motor: " in note for note in notes)


def test_a_map_called_with_arrays_is_the_linkage() -> None:
    knee = unloop.Map(KNEE)
    rows = unloop.stroke(KNEE, 50)["rows"]
    motor, joint, ratio = (np.array([r[k] for r in rows]) for k in ("motor_rad", "joint_rad", "transmission_ratio"))
    inside = motor[1:-1]
    assert np.abs(knee.joint_from_motor(inside) - joint[1:-1]).max() < 1e-14
    assert np.abs(knee.motor_from_joint(joint[1:-1]) - inside).max() < 1e-13
    assert np.abs(knee.ratio_at_motor(inside) / ratio[1:-1] - 1).max() < 1e-13
    angle, speed, torque, status = knee.map(inside, 2.0, 3.0)
    assert np.abs(speed * torque - 6.0).max() < 1e-14 and not status.any()
    assert knee.map(np.array([9.0, np.nan]), 0.0, 0.0)[3].tolist() == [2, 3]


def test_a_design_with_two_joints_asks_for_one_of_them() -> None:
    ankles = unloop.Map("models/ankle.toml")
    assert ankles.joints == ("left_ankle_pitch", "right_ankle_pitch")
    with pytest.raises(ValueError, match="joint: one of left_ankle_pitch, right_ankle_pitch"):
        ankles.joint_from_motor(0.1)
    assert ankles.joint_from_motor(0.1, joint="left_ankle_pitch") == 0.1
    with pytest.raises(ValueError, match="there is no 'knee'"):
        ankles.joint_from_motor(0.1, joint="knee")


def test_a_wish_that_is_not_met_raises_the_programs_message() -> None:
    with pytest.raises(unloop.DesignError, match="no code is certified to be within"):
        unloop.map(KNEE, "c99", number="float", within=1e-12)
    with pytest.raises(ValueError, match="within: an angle above zero"):
        unloop.map(KNEE, within=-1.0)
    with pytest.raises(ValueError, match='language: there is no "ada"'):
        unloop.map(KNEE, "ada")  # type: ignore[arg-type]


def test_a_dead_point_leaves_no_way_back() -> None:
    kite = unloop.Map("tests/data/kite_turning_back.toml")
    with pytest.raises(ValueError, match="two motor angles belong to one joint angle"):
        kite.motor_from_joint(0.0)
