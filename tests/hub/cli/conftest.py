"""The real command, as a process, against a real server."""

import os
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.hub.edge import Edge, open_edge
from tests.warm_process import run_warm

Finished = subprocess.CompletedProcess[str]
Stringcourse = Callable[..., Finished]


@pytest.fixture(scope="package")
def edge(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Edge]:
    with open_edge(tmp_path_factory.mktemp("edge")) as opened:
        yield opened


def run(arguments: tuple[object, ...], environment: dict[str, str], answer: str, folder: Path) -> Finished:
    inherited = {key: value for key, value in os.environ.items() if not key.startswith("STRINGCOURSE_")}
    words = ["stringcourse", *map(str, arguments)]
    return run_warm(words, inherited | {"COLUMNS": "100"} | environment, folder=folder, answer=answer)


@pytest.fixture
def stringcourse(edge: Edge, tmp_path: Path) -> Stringcourse:
    """`stringcourse("venue", "list")`: run it against the hub, with its token, in an empty folder."""

    def call(*arguments: object, answer: str = "", **environment: str) -> Finished:
        known = {"STRINGCOURSE_HUB": edge.address, "STRINGCOURSE_TOKEN": edge.token}
        return run(arguments, known | environment, answer, tmp_path)

    return call
