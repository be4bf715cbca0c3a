"""`stringcourse token new`: a token printed once, good at once."""

import json
import stat
from pathlib import Path

import pytest

from hub.api.tokens import Bearer, TokenService
from hub.database import open_engine
from tests.hub.cli.conftest import Stringcourse
from tests.hub.edge import Edge


def test_token_is_printed_alone_and_opens_the_hub(stringcourse: Stringcourse, tmp_path: Path) -> None:
    done = stringcourse("token", "new", "--data", tmp_path)
    assert done.returncode == 0
    token = done.stdout.strip()
    engine = open_engine(f"sqlite:///{tmp_path / 'hub.sqlite3'}")
    assert TokenService(engine).knows(token)
    engine.dispose()
    assert "shown once" in done.stderr
    assert json.loads(stringcourse("token", "new", "--data", tmp_path, "--json").stdout)["token"] != token


def test_token_made_beside_a_running_hub_is_good_at_once(stringcourse: Stringcourse, edge: Edge) -> None:
    token = stringcourse("token", "new", "--data", Path(str(edge.engine.url.database)).parent).stdout.strip()
    assert stringcourse("venue", "list", STRINGCOURSE_TOKEN=token).returncode == 0


def test_database_that_the_token_goes_to_is_private(stringcourse: Stringcourse, tmp_path: Path) -> None:
    assert stringcourse("token", "new", "--data", tmp_path).returncode == 0
    assert stat.S_IMODE((tmp_path / "hub.sqlite3").stat().st_mode) == 0o600


def test_token_carries_the_name_it_was_made_for(stringcourse: Stringcourse, tmp_path: Path) -> None:
    made = json.loads(stringcourse("token", "new", "--data", tmp_path, "--name", " R. Vale ", "--json").stdout)
    assert made["name"] == "R. Vale"
    engine = open_engine(f"sqlite:///{tmp_path / 'hub.sqlite3'}")
    assert TokenService(engine).bearer(made["token"]) == Bearer("R. Vale")
    engine.dispose()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--data", ".", "--name", "x" * 81), "1 to 80 characters"),
        (("--data", ".", "--name", "bell\a"), "control characters"),
        (("--data", "missing"), "there is no folder missing"),
        (("--data", ".", "--database", "nonsense"), "--database"),
        (("--data", ".", "--database", "sqlite:////proc/none/hub.sqlite3"), "--database"),
        ((), "Missing option"),
    ],
)
def test_wrong_use_is_told_and_exits_2(stringcourse: Stringcourse, options: tuple[str, ...], words: str) -> None:
    done = stringcourse("token", "new", *options)
    assert (done.returncode, words in done.stderr) == (2, True), done.stderr
    assert "Traceback" not in done.stderr
