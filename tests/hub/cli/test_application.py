"""The command line as a whole: every command teaches, and the help says what exit codes mean."""

import subprocess
import sys

import pytest
import typer.main
from typer.core import TyperCommand, TyperGroup

from hub.cli.application import COMMANDS, application
from hub.cli.exit_code import MEANINGS, ExitCode
from tests.hub.cli.conftest import Stringcourse


def _commands(group: TyperGroup, path: tuple[str, ...] = ()) -> list[tuple[tuple[str, ...], TyperCommand]]:
    found: list[tuple[tuple[str, ...], TyperCommand]] = []
    for name, command in group.commands.items():
        if isinstance(command, TyperGroup):
            found += _commands(command, (*path, name))
        elif isinstance(command, TyperCommand):
            found.append(((*path, name), command))
    return found


def test_every_command_and_option_has_help() -> None:
    whole = typer.main.get_command(application())
    assert isinstance(whole, TyperGroup)
    commands = _commands(whole)
    assert len(commands) >= len(COMMANDS)
    for path, command in commands:
        assert command.help, path
        for parameter in command.params:
            assert getattr(parameter, "help", None), (path, parameter.name)


def test_help_says_what_every_exit_code_means(stringcourse: Stringcourse) -> None:
    done = stringcourse("--help")
    assert done.returncode == 0
    assert set(MEANINGS) == set(ExitCode)
    for code, meaning in MEANINGS.items():
        assert f"{code.value}: {meaning}" in done.stdout


ONE_OF_EACH_MODULE = sorted({place.partition(":")[0]: name for name, place in COMMANDS.items()}.values())


@pytest.mark.parametrize("name", ONE_OF_EACH_MODULE)
def test_command_is_found_by_itself_and_helps(name: str) -> None:
    """Started from nothing, so that its own imports must do."""
    done = subprocess.run([sys.executable, "-m", "hub.cli", name, "--help"], capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stderr) == (0, "")
    assert f"hub.cli {name}" in done.stdout
