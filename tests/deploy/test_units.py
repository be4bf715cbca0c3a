"""The service units start what the command line offers, and hold no secret."""

import re
import shlex
import shutil
import subprocess
from pathlib import Path

import pytest
import typer.main
from typer.core import TyperGroup

from hub.cli.application import application
from node_agent.cli.main import build_parser

UNITS = Path(__file__).parent.parent.parent / "deploy" / "systemd"
NODE, HUB = "stringcourse-node.service", "stringcourse-hub.service"


def settings(unit: str) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for line in (UNITS / unit).read_text(encoding="utf-8").splitlines():
        if "=" in line and not line.startswith("#"):
            key, value = line.split("=", 1)
            found.setdefault(key, []).append(value)
    return found


def test_node_unit_starts_the_agent_with_options_that_it_has() -> None:
    program, *arguments = shlex.split(settings(NODE)["ExecStart"][0])
    assert Path(program).name == "stringcourse-node"
    options = build_parser().parse_args(arguments)
    assert options.command == "start"
    assert options.credential == Path("/etc/stringcourse/node.json")


def test_hub_unit_starts_the_hub_with_options_that_it_has() -> None:
    program, command, *arguments = shlex.split(settings(HUB)["ExecStart"][0])
    assert Path(program).name == "stringcourse"
    group = typer.main.get_command(application())
    assert isinstance(group, TyperGroup)
    # Parses and does not run.
    parsed = group.commands[command].make_context(command, arguments).params
    assert str(parsed["data"]) == "${STATE_DIRECTORY}"


def test_variables_that_the_hub_unit_explains_are_those_that_the_hub_reads() -> None:
    explained = set(re.findall(r"^#\s+(STRINGCOURSE_\w+)=", (UNITS / HUB).read_text(encoding="utf-8"), re.MULTILINE))
    group = typer.main.get_command(application())
    assert isinstance(group, TyperGroup)
    assert explained == {option.envvar for option in group.commands["up"].params if option.envvar}


@pytest.mark.parametrize("unit", [NODE, HUB])
def test_unit_runs_with_no_more_than_it_needs(unit: str) -> None:
    held = settings(unit)
    assert held["User"] != ["root"]
    assert held["CapabilityBoundingSet"] == [""]
    assert held["NoNewPrivileges"] == ["yes"]
    assert held["ProtectSystem"] == ["strict"]
    assert held["UMask"] == ["0077"]
    assert "Environment" not in held, "a secret in a unit can be read by everyone"
    # Read by systemd as root before it gives the program its user; absent unless somebody wrote it.
    assert held.get("EnvironmentFile", []) == ([] if unit == NODE else ["-/etc/stringcourse/hub.env"])


def test_node_unit_lets_the_agent_ask_whether_the_clock_is_disciplined() -> None:
    """A call that the filter does not name ends the process; which of these the C library makes is its own affair."""
    held = settings(NODE)
    assert {"adjtimex", "clock_adjtime", "clock_adjtime64"} <= set(held["SystemCallFilter"][-1].split())
    assert "ProtectClock" not in held, "it forbids to ask as well as to set"


@pytest.mark.parametrize("unit", [NODE, HUB])
def test_systemd_takes_the_unit(unit: str, tmp_path: Path) -> None:
    analyze = shutil.which("systemd-analyze")
    if analyze is None:
        pytest.skip("systemd-analyze is not on this machine")
    copy = tmp_path / unit
    program = settings(unit)["ExecStart"][0].split()[0]
    # Nothing is installed in /opt here; any program that exists does for the check.
    copy.write_text((UNITS / unit).read_text(encoding="utf-8").replace(program, "/bin/true"))
    checked = subprocess.run([analyze, "verify", copy], capture_output=True, text=True, check=False)
    assert (checked.returncode, checked.stderr) == (0, "")
