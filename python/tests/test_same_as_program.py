"""What Python gets is what the program says: the same JSON, the same files, the same refusals."""

import json
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import unloop

from conftest import ROOT, Program

DESIGNS = sorted(str(path.relative_to(ROOT)) for path in ROOT.glob("models/*.toml"))
ROBOTS = sorted(
    str(path.relative_to(ROOT))
    for path in ROOT.glob("models/robots/*.*")
    if path.suffix in {".urdf", ".sdf", ".xml"}
)
LEG = {"models/robots/leg.urdf": "models/robots/leg.loops.toml"}


def told(call: Callable[[], Any]) -> tuple[Any, str]:
    """What the call gives or raises, with its warnings."""
    with warnings.catch_warnings(record=True) as seen:
        warnings.simplefilter("always")
        try:
            found: Any = call()
        except unloop.UnloopError as error:
            found = error
    return found, "\n".join(str(warning.message) for warning in seen)


def squeezed(text: str) -> str:
    """Without the rows' ends, at which the program breaks long messages."""
    return " ".join(text.replace("|", " ").split())


def hold(program: Program, arguments: list[str], call: Callable[[], Any]) -> None:
    printed = program(*arguments)
    found, warned = told(call)
    if isinstance(found, unloop.UnloopError):
        assert printed.stdout == "" and printed.returncode != 0, arguments
        assert squeezed(str(found).removeprefix("error: ")) in squeezed(printed.stderr), arguments
        assert isinstance(found, unloop.RefusedError) == (printed.returncode in (1, 3)), arguments
        return
    assert printed.stdout, (arguments, printed.stderr)
    assert found == (printed.stdout if isinstance(found, str) else json.loads(printed.stdout)), arguments
    assert squeezed(warned) in squeezed(printed.stderr), arguments


@pytest.mark.parametrize("design", DESIGNS)
def test_findings_of_a_design_equal_the_programs_json(program: Program, design: str) -> None:
    hold(program, ["check", design, "--json"], lambda: unloop.check(design))
    hold(program, ["loads", design, "--json"], lambda: unloop.loads(design))
    hold(program, ["stroke", design, "--json", "--steps", "7"], lambda: unloop.stroke(design, 7))
    hold(
        program,
        ["tolerance", design, "--json", "--samples", "999", "--seed", "5", "--distribution", "uniform"],
        lambda: unloop.tolerance(Path(design), 999, 5, distribution="uniform"),
    )


@pytest.mark.parametrize("to", ["urdf", "sdformat", "mjcf"])
@pytest.mark.parametrize("model", ["direct", "coupled", "loop"])
@pytest.mark.parametrize("design", DESIGNS)
def test_emitted_texts_are_the_programs_files(program: Program, design: str, to: Any, model: Any) -> None:
    call = ["emit", design, "--to", to, "--model", model, "-o", "-"]
    hold(program, call, lambda: unloop.emit(design, to, model))
    hold(
        program,
        [*call, "--whole", "--anyway", "--limits", "never-exceed", "--actuator", "motor"],
        lambda: unloop.emit(design, to, model, True, anyway=True, limits="never-exceed", actuator="motor"),
    )


@pytest.mark.parametrize("robot", ROBOTS)
def test_loops_found_and_folded_are_the_programs(program: Program, robot: str) -> None:
    loops = LEG.get(robot)
    stated = ["--loops", loops] if loops else []
    hold(program, ["find", robot, "--json", *stated], lambda: unloop.find(robot, loops=loops))
    hold(program, ["fold", robot, "-o", "-", *stated], lambda: unloop.fold(robot, loops=loops))
    hold(
        program,
        ["fold", robot, "-o", "-", "--anyway", "--model", "coupled", "--preset", "coarse", *stated],
        lambda: unloop.fold(robot, anyway=True, model="coupled", preset="coarse", loops=loops),
    )


def test_some_loop_is_folded_and_the_notes_are_told(program: Program) -> None:
    notes: list[str] = []
    text = unloop.fold("models/robots/leg.xml", notes=notes)
    assert text != Path("models/robots/leg.xml").read_text()
    printed = program("fold", "models/robots/leg.xml", "-o", "-").stderr
    assert all(squeezed(note) in squeezed(printed) for note in notes)


def test_a_robot_is_compared_as_by_the_program(program: Program, tmp_path: Path) -> None:
    robot = tmp_path / "ankle.urdf"
    robot.write_text(unloop.emit("models/ankle.toml", "urdf", whole=True))
    other = tmp_path / "other.urdf"
    other.write_text(robot.read_text().replace('upper="0.69', 'upper="0.79'))
    for robots in ([robot], [other], [robot, other]):
        call = ["compare", "models/ankle.toml", *map(str, robots), "--json"]
        hold(program, call, lambda: unloop.compare("models/ankle.toml", robots))
    alone = unloop.compare("models/ankle.toml", other, limits="guaranteed")
    assert alone != unloop.compare("models/ankle.toml", robot, limits="guaranteed")


def test_texts_and_dicts_say_what_their_file_says() -> None:
    tomllib = pytest.importorskip("tomllib")
    for design in DESIGNS:
        text = Path(design).read_text()
        wanted, _ = told(lambda: unloop.check(design))
        assert told(lambda: unloop.check(text))[0] == wanted
        assert told(lambda: unloop.check(tomllib.loads(text)))[0] == wanted, design
    file = "models/robots/leg.xml"
    robot = Path(file).read_text()
    assert unloop.fold(robot) == unloop.fold(Path(file))
    assert json.dumps(unloop.find(robot)).replace("<text>", file) == json.dumps(unloop.find(file))


def test_a_pose_and_even_joint_angles_are_the_programs(program: Program) -> None:
    design = "models/hip_pivots.toml"
    for keywords, options in (
        ({"over": "joint", "steps": 5}, ["--over", "joint", "--steps", "5"]),
        ({"at_motor": 1.5}, ["--at-motor", "1.5 rad"]),
        ({"at_joint": -0.25}, ["--at-joint", "-0.25 rad"]),
    ):
        told: Any = keywords
        assert unloop.stroke(design, **told) == json.loads(program("stroke", "--json", *options, design).stdout)
    with pytest.raises(unloop.DesignError, match="out of reach"):
        unloop.stroke("models/ankle.toml", at_motor=3.0)


def test_the_version_is_the_programs(program: Program) -> None:
    assert program("--version").stdout == f"unloop {unloop.__version__}\n"
