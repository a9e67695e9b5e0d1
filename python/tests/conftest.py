"""The repository's own designs and robot files, and the program that Python's answers are held against."""

import os
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(autouse=True)
def in_the_repository(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.chdir(ROOT)
    yield


class Program:
    """The program as `.ci/python` builds it; `UNLOOP_PROGRAM` names it."""

    def __call__(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        command = [os.environ["UNLOOP_PROGRAM"], *arguments]
        return subprocess.run(command, capture_output=True, text=True, encoding="utf-8")


@pytest.fixture(scope="session")
def program() -> Program:
    return Program()
