from collections.abc import Callable, Sequence
from os import PathLike
from typing import Any, Literal, TypeAlias, TypedDict, final

import numpy as np
from numpy.typing import ArrayLike, NDArray

_Design: TypeAlias = str | PathLike[str] | dict[str, Any]
_File: TypeAlias = str | PathLike[str]
_Names: TypeAlias = str | Sequence[str] | None
_Folders: TypeAlias = str | PathLike[str] | Sequence[str | PathLike[str]] | None
_Findings: TypeAlias = dict[str, Any]
_Progress: TypeAlias = Callable[[int, int], bool | None] | None
_Distribution: TypeAlias = Literal["normal", "uniform", "triangular"]
_Limits: TypeAlias = Literal["guaranteed", "never-exceed"]
_Units: TypeAlias = Literal["joint", "motor"]
_Preset: TypeAlias = Literal["invisible", "training", "coarse"]
_Floats: TypeAlias = NDArray[np.float64]

__all__ = [
    "DesignError",
    "Linkage",
    "RefusedError",
    "RobotError",
    "UnloopError",
    "__version__",
    "builds",
    "check",
    "compare",
    "emit",
    "find",
    "fold",
    "loads",
    "map",
    "stroke",
    "tolerance",
]

__version__: str

class _Fault(TypedDict):
    message: str
    help: str | None
    code: str | None
    line: int | None
    key: str | None

class UnloopError(ValueError):
    message: str
    line: int | None
    key: str | None
    faults: list[_Fault]

class DesignError(UnloopError): ...
class RobotError(UnloopError): ...

class RefusedError(UnloopError):
    verdict: Literal["not_equivalent", "undecided"]

def check(design: _Design) -> _Findings: ...
def stroke(
    design: _Design,
    steps: int = 31,
    *,
    over: Literal["motor", "joint"] = "motor",
    at_motor: float | None = None,
    at_joint: float | None = None,
) -> _Findings: ...
def loads(design: _Design) -> _Findings: ...
def tolerance(
    design: _Design,
    samples: int = 65_536,
    seed: int = 1,
    *,
    distribution: _Distribution = "normal",
    progress: _Progress = None,
) -> _Findings: ...
def builds(
    design: _Design,
    n: int,
    seed: int = 1,
    *,
    distribution: _Distribution = "normal",
    progress: _Progress = None,
) -> dict[str, NDArray[Any]]: ...
def emit(
    design: _Design,
    to: Literal["urdf", "sdformat", "mjcf"] = "mjcf",
    model: Literal["direct", "coupled", "loop"] = "direct",
    whole: bool = False,
    *,
    anyway: bool = False,
    limits: _Limits = "guaranteed",
    actuator: _Units = "joint",
    engine_version: str | None = None,
    fit: Literal["balanced", "slope"] = "balanced",
    notes: list[str] | None = None,
) -> str: ...
def find(
    robot: _File,
    *,
    motor: _Names = None,
    child: _Names = None,
    preset: _Preset = "training",
    loops: _File | None = None,
    include_root: _Folders = None,
    include_anywhere: bool = False,
) -> _Findings: ...
def fold(
    robot: _File,
    loop: str | None = None,
    *,
    model: Literal["direct", "coupled"] = "direct",
    anyway: bool = False,
    keep_visuals: bool = False,
    limits: _Limits = "guaranteed",
    actuator: _Units = "joint",
    motor: _Names = None,
    child: _Names = None,
    preset: _Preset = "training",
    loops: _File | None = None,
    include_root: _Folders = None,
    include_anywhere: bool = False,
    notes: list[str] | None = None,
) -> str: ...
def map(
    design: _Design,
    language: Literal["c99", "rust", "python"] = "python",
    *,
    number: Literal["float", "double"] = "double",
    by: Literal["polynomial", "formula"] | None = None,
    within: float | None = None,
    beyond: Literal["hold", "tangent"] = "hold",
    header: bool = False,
    notes: list[str] | None = None,
) -> str: ...
def compare(
    design: _Design,
    robot: _File | Sequence[_File],
    *,
    limits: _Limits | None = None,
    loops: _File | None = None,
    include_root: _Folders = None,
    include_anywhere: bool = False,
) -> _Findings: ...

@final
class Linkage:
    def __new__(
        cls,
        ground: float,
        crank: float,
        coupler: float,
        rocker: float,
        *,
        zero_crank: float,
        closure: Literal["open", "crossed"] = "open",
    ) -> Linkage: ...
    @property
    def reach(self) -> tuple[float, float]: ...
    def solve(self, motor: ArrayLike) -> tuple[_Floats, _Floats, _Floats]: ...
