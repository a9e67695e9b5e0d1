"""A design's map, ready to be called: the code that `map(design, language="python")` writes."""

from os import PathLike
from types import ModuleType
from typing import Any, Literal

import numpy

from ._unloop import map as code

_SUFFIX = "_joint_from_motor"


class Map:
    """Motor angle, speed and torque to the joint's and back: rad, rad/s, N m, as the robot's software reads them.

    Arrays in, arrays out; `xp` is the array module, so that one which differentiates gives the ratio as a gradient. A
    design with several joints asks for `joint`, one of `joints`. Certified errors stand at the head of `code`.
    """

    def __init__(
        self,
        design: str | PathLike[str] | dict[str, Any],
        *,
        number: Literal["float", "double"] = "double",
        by: Literal["polynomial", "formula"] | None = None,
        within: float | None = None,
        beyond: Literal["hold", "tangent"] = "hold",
    ) -> None:
        self.code = code(design, "python", number=number, by=by, within=within, beyond=beyond)
        self._functions: dict[str, Any] = {}
        exec(compile(self.code, "<map>", "exec"), self._functions)
        self.joints = tuple(name.removesuffix(_SUFFIX) for name in self._functions if name.endswith(_SUFFIX))

    def _call(self, what: str, joint: str | None, *given: Any) -> Any:
        if joint is None and len(self.joints) > 1:
            raise ValueError(f"joint: one of {', '.join(self.joints)}")
        name = self.joints[0] if joint is None else joint
        if name not in self.joints:
            raise ValueError(f"joint: there is no {name!r}; it is one of {', '.join(self.joints)}")
        function = self._functions.get(f"{name}_{what}")
        if function is None:
            raise ValueError("two motor angles belong to one joint angle: the rocker stands still in the stroke")
        return function(*given)

    def joint_from_motor(self, motor: Any, *, joint: str | None = None, xp: ModuleType = numpy) -> Any:
        """Joint angle at a motor angle."""
        return self._call("joint_from_motor", joint, motor, xp)

    def motor_from_joint(self, angle: Any, *, joint: str | None = None, xp: ModuleType = numpy) -> Any:
        """Motor angle at a joint angle."""
        return self._call("motor_from_joint", joint, angle, xp)

    def ratio_at_motor(self, motor: Any, *, joint: str | None = None, xp: ModuleType = numpy) -> Any:
        """Motor speed per joint speed, which is joint torque per motor torque."""
        return self._call("ratio_at_motor", joint, motor, xp)

    def map(
        self, motor: Any, motor_speed: Any, motor_torque: Any, *, joint: str | None = None, xp: ModuleType = numpy
    ) -> Any:
        """Joint angle, speed, torque, and status: 0 within the stroke, 1 below, 2 above, 3 no number."""
        return self._call("map", joint, motor, motor_speed, motor_torque, xp)
