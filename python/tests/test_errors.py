"""What is wrong is said as the program says it, with its place to go on from."""

from pathlib import Path
from typing import Any

import pytest
import unloop

BAD = sorted(Path(__file__).parents[2].glob("models/bad/*.toml"))
ANKLE: dict[str, Any] = {
    "name": "ankle",
    "linkage": {"ground": "300 mm", "crank": "45 mm", "coupler": "300 mm", "rocker": "45 mm"},
    "zero": {"crank": "90 deg", "rocker": "90 deg"},
    "stroke": {"joint": ("-35 deg", "40 deg")},
}


def changed(table: str, **keys: Any) -> dict[str, Any]:
    return {**ANKLE, table: {**ANKLE.get(table, {}), **keys}}


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_a_faulty_design_earns_the_programs_whole_message(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wanted = path.with_suffix(".txt").read_text().strip()
    # A series is read from the repository's root, so that its message names the stages' files from there.
    if f"models/bad/{path.name}:" not in wanted:
        monkeypatch.chdir(path.parent)
    name = str(path.relative_to(Path.cwd()))
    if wanted.startswith("(accepted)"):
        with pytest.warns(UserWarning) as seen:
            try:
                unloop.check(name)
            except unloop.DesignError:
                pass  # A design that reads well may still not move.
        assert str(seen[0].message) == wanted.removeprefix("(accepted)").strip()
        return
    with pytest.raises(unloop.DesignError) as raised:
        unloop.check(name)
    assert str(raised.value) == wanted
    assert raised.value.faults[0]["message"] == raised.value.message


def test_a_fault_has_its_line_and_its_key() -> None:
    text = 'name = "a"\n[linkage]\nground = "300 mm"\ncrank = "-4 mm"\ncoupler = "1 mm"\nrocker = "2 mm"\n'
    with pytest.raises(unloop.DesignError) as raised:
        unloop.check(text)
    faults = {fault["key"]: fault["line"] for fault in raised.value.faults}
    assert faults["linkage.crank"] == 4
    assert isinstance(raised.value, ValueError) and isinstance(raised.value, unloop.UnloopError)


@pytest.mark.parametrize(
    ("design", "key"),
    [
        (changed("linkage", crank="-4 mm"), "linkage.crank"),
        (changed("stroke", joint=["-35 deg", "40 mm"]), "stroke.joint[1]"),
        (changed("accept", angel="1 deg"), "accept.angel"),
        (changed("zero", rocker="150 deg"), "zero.rocker"),
        (changed("linkage", coupler="212 mm"), "linkage.coupler"),
        ({**ANKLE, "robot": [{"joint": 3}]}, "robot[0].joint"),
    ],
)
def test_a_fault_of_a_dict_names_the_key_in_its_message(design: dict[str, Any], key: str) -> None:
    with pytest.raises(unloop.DesignError) as raised:
        unloop.check(design)
    assert key in [fault["key"] for fault in raised.value.faults]
    assert f"{key}: " in str(raised.value)


def test_what_is_no_design_is_a_type_error_and_names_the_key() -> None:
    for wrong in (3, None, b"name = 1\n", ["models/ankle.toml"]):
        with pytest.raises(TypeError, match="a design is a path, a text with a line break, or a dict"):
            unloop.check(wrong)  # type: ignore[arg-type]
    with pytest.raises(TypeError, match=r"linkage\.crank: .*not NoneType"):
        unloop.check(changed("linkage", crank=None))
    endless = changed("linkage")
    endless["linkage"]["crank"] = [endless]
    with pytest.raises(ValueError, match=r"linkage\.crank\[0\]\.linkage.*no design is as deep"):
        unloop.check(endless)
    with pytest.raises(TypeError, match="a robot is a path"):
        unloop.find({})  # type: ignore[arg-type]


def test_a_file_that_is_not_there_is_pythons_own_error() -> None:
    for call in (unloop.check, unloop.find):
        with pytest.raises(FileNotFoundError) as raised:
            call("models/none.toml")
        assert raised.value.filename == "models/none.toml"
    with pytest.raises(IsADirectoryError):
        unloop.check("models")


def test_a_word_that_is_no_choice_names_those_that_are() -> None:
    with pytest.raises(ValueError, match="to: there is no \"sdf\"; it is urdf, sdformat, mjcf"):
        unloop.emit(ANKLE, to="sdf")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="model"):
        unloop.fold("models/robots/leg.xml", model="loop")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="engine_version: write it like"):
        unloop.emit(ANKLE, engine_version="new")
    with pytest.raises(ValueError, match="1 to 100000000"):
        unloop.tolerance(ANKLE, 0)


def test_a_verdict_that_stands_against_a_joint_is_told_apart_from_wrong_input() -> None:
    with pytest.raises(unloop.RefusedError) as raised:
        unloop.emit("models/knee_offset.toml", "mjcf")
    assert raised.value.verdict == "not_equivalent"
    assert unloop.emit("models/knee_offset.toml", "mjcf", anyway=True)
    with pytest.raises(unloop.DesignError):
        unloop.emit(ANKLE, "mjcf", whole=True)


def test_a_faulty_robot_points_at_its_line() -> None:
    with pytest.raises(unloop.RobotError) as raised:
        unloop.find("<robot name='a'>\n<link name='b'>\n</robot>\n")
    assert raised.value.line is not None and raised.value.key is None
    with pytest.raises(unloop.RobotError, match="there is no loop \"no\"; it holds"):
        unloop.fold("models/robots/leg.xml", "no")
    with pytest.raises(unloop.RobotError, match="has no joint"):
        unloop.find("models/robots/leg.xml", motor="no")
    with pytest.raises(unloop.RobotError):
        unloop.find("models/robots/leg.urdf", loops='[[loop]]\nname = "a"\n')
