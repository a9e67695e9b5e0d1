"""May one direct joint stand in a robot model for a joint that a motor turns through a four-bar?

A design is a path (str or os.PathLike), the text of a design file (a str with a line break) or a dict; a robot is a path or
a text. What comes back are the findings of the program of the same name: dicts equal to its `--json`, texts equal to
its files. SI and radians; a figure in another unit says so in its key. What the program writes beside its answer is a
`UserWarning`; what it refuses is an `UnloopError`, whose text is the program's message (the options that it names are
keywords here).
"""

from ._map import Map
from ._unloop import (
    DesignError,
    Linkage,
    RefusedError,
    RobotError,
    UnloopError,
    __version__,
    builds,
    check,
    compare,
    emit,
    find,
    fold,
    loads,
    map,
    stroke,
    tolerance,
)

__all__ = [
    "DesignError",
    "Linkage",
    "Map",
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
