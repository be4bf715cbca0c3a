"""`stringcourse-node start`: the command line's errors name the fault and the remedy."""

import sys
from pathlib import Path

import pytest

from node_agent.cli import main
from node_agent.cli.start_command import CredentialError, read_credential
from schemas import NodeCredential
from tests.processes import RealProcess, wait_until

CREDENTIAL = NodeCredential(
    venue="arcade", node="bay-01", broker_url="mqtt://127.0.0.1:1", username="arcade.bay-01", secret="s" * 43
)


def _written(folder: Path, text: str, mode: int = 0o600) -> Path:
    path = folder / "credential.json"
    path.write_text(text)
    path.chmod(mode)
    return path


def test_credential_of_mode_0600_is_read(tmp_path: Path) -> None:
    assert read_credential(_written(tmp_path, CREDENTIAL.model_dump_json())) == CREDENTIAL


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o644, 0o660])
def test_credential_that_others_may_read_is_refused_with_the_remedy(tmp_path: Path, mode: int) -> None:
    with pytest.raises(CredentialError, match="chmod 600"):
        read_credential(_written(tmp_path, CREDENTIAL.model_dump_json(), mode))


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "file"),
        ("{", "file"),
        (CREDENTIAL.model_dump_json().replace("mqtt://", "http://"), "broker_url"),
        (CREDENTIAL.model_dump_json().replace("bay-01", "bay/../01"), "node"),
        (CREDENTIAL.model_dump_json().replace('"venue"', '"place"'), "venue"),
    ],
)
def test_credential_that_is_none_names_its_field_and_not_the_secret(tmp_path: Path, text: str, fault: str) -> None:
    with pytest.raises(CredentialError, match=fault) as raised:
        read_credential(_written(tmp_path, text))
    assert CREDENTIAL.secret not in str(raised.value)


def test_missing_credential_ends_with_a_message_and_exit_code_1(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["start", "--credential", str(tmp_path / "none.json"), "--state", str(tmp_path)]) == 1
    assert "none.json" in capsys.readouterr().err


def test_state_that_cannot_be_kept_ends_with_a_message_and_exit_code_1(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    credential = _written(tmp_path, CREDENTIAL.model_dump_json())
    assert main(["start", "--credential", str(credential), "--state", str(credential)]) == 1
    assert "state directory" in capsys.readouterr().err


@pytest.mark.parametrize("option", [["--outputs", "0"], ["--outputs", "9"], ["--pixel-layers-at-most", "many"]])
def test_option_out_of_range_is_a_wrong_command_line(option: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match="2"):
        main(["start", "--credential", "c", "--state", "s", *option])
    assert option[0] in capsys.readouterr().err


def test_help_teaches_with_an_example_of_each_use(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match="0"):
        main(["start", "--help"])
    text = capsys.readouterr().out
    for word in ("--credential", "--state", "--capture", "--outputs", "--pixel-layers-at-most", "rehearsal", "0600"):
        assert word in text


def test_agent_without_any_broker_waits_and_stops_when_told(tmp_path: Path) -> None:
    credential = _written(tmp_path, CREDENTIAL.model_dump_json())
    command: list[str | Path] = [Path(sys.executable).parent / "stringcourse-node", "start"]
    command += ["--credential", credential]
    command += ["--state", tmp_path / "state", "--capture", tmp_path / "capture"]
    with RealProcess(command, tmp_path / "log") as process:
        wait_until(lambda: "no connection" in process.output(), 10)
        assert process.stop() == 0
    assert process.output().count("no connection") == 1
