"""The shell scripts' own logic: help, wrong use, when an installation is done again. deploy/test runs them whole."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

DEPLOY = Path(__file__).parent.parent.parent / "deploy"
SCRIPTS = ["install", "quickstart", "test"]
TOOLS = ["bash", "cat", "cut", "dirname", "find", "rm", "sed", "sha256sum", "sort", "xargs"]
# Stands where the environment's interpreter would, says that all is well, and writes down what it was asked.
RECORDING_PYTHON = '#!/bin/sh\necho "$*" >> "$(dirname "$0")/asked"\n'


def run(
    script: Path, *arguments: str | Path, path: Path | None = None, **more: str
) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, **more} | ({"PATH": str(path)} if path else {})
    bash = shutil.which("bash")
    assert bash is not None
    return subprocess.run(
        [bash, script, *arguments], capture_output=True, text=True, env=environment, cwd="/", timeout=60, check=False
    )


@pytest.mark.parametrize("script", SCRIPTS)
def test_help_teaches_and_touches_nothing(script: str) -> None:
    done = run(DEPLOY / script, "--help")
    assert done.returncode == 0
    assert done.stdout.startswith(f"usage: bash deploy/{script}")
    assert done.stderr == ""


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (["--unheard-of"], "--unheard-of"),
        (["no such file.yaml"], "no such file.yaml"),
        ([DEPLOY / "demo" / "1-one-run.yaml", "second.yaml"], "second.yaml"),
    ],
)
def test_quickstart_names_what_is_wrong_before_it_installs(arguments: list[str | Path], named: str) -> None:
    done = run(DEPLOY / "quickstart", *arguments)
    assert done.returncode == 2
    assert named in done.stderr
    assert done.stdout == ""


def test_install_refuses_unknown_extras() -> None:
    done = run(DEPLOY / "install", "everything")
    assert done.returncode == 2
    assert "usage:" in done.stderr


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """What the install script looks at, in a folder whose name has a space."""
    root = tmp_path / "a project"
    for name in ("pyproject.toml", "hub/web/src/page.ts", "hub/web/dist/index.html", "hub/web/node_modules/package.js"):
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text("first")
    (root / "deploy").mkdir()
    for name in ("install", "constraints.txt"):
        shutil.copy(DEPLOY / name, root / "deploy" / name)
    return root


@pytest.fixture
def tools(tmp_path: Path) -> Path:
    """A PATH with the machine's ordinary tools and no Python at all."""
    folder = tmp_path / "tools"
    folder.mkdir()
    for tool in TOOLS:
        found = shutil.which(tool)
        assert found is not None
        (folder / tool).symlink_to(found)
    return folder


def program(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text)
    path.chmod(0o755)


def test_install_says_what_to_do_where_python_is_too_old(project: Path, tools: Path) -> None:
    program(tools / "python3", '#!/bin/sh\n[ "$1" = --version ] && echo Python 3.9.2 || exit 1\n')
    done = run(project / "deploy" / "install", path=tools)
    assert done.returncode == 1
    assert "Python 3.11 or newer is needed; python3 here is Python 3.9.2" in done.stderr
    assert "apt-get install python3" in done.stderr
    assert not (project / ".venv").exists()


def test_install_says_what_to_do_where_venv_is_missing(project: Path, tools: Path) -> None:
    program(tools / "python3", '#!/bin/sh\ncase "$2" in *ensurepip*) exit 1 ;; esac\n')
    done = run(project / "deploy" / "install", path=tools)
    assert done.returncode == 1
    assert "apt-get install python3-venv" in done.stderr
    assert not (project / ".venv").exists()


class Installation:
    def __init__(self, project: Path, tools: Path) -> None:
        self.project = project
        self.tools = tools
        program(project / ".venv/bin/python", RECORDING_PYTHON)

    def installs(self, extras: str) -> list[str]:
        """Runs the script and returns the arguments with which it called pip to install."""
        asked = self.project / ".venv/bin/asked"
        asked.unlink(missing_ok=True)
        # The stand-in needs /bin/sh's `dirname`, which is among the tools.
        done = run(self.project / "deploy" / "install", extras, path=self.tools)
        assert done.returncode == 0, done.stderr
        lines = asked.read_text().splitlines() if asked.exists() else []
        return [line for line in lines if line.startswith("-m pip install")]


@pytest.fixture
def installation(project: Path, tools: Path) -> Installation:
    return Installation(project, tools)


def test_install_uses_the_constraints_every_time(installation: Installation) -> None:
    calls = installation.installs("test")
    assert calls
    assert all("-c deploy/constraints.txt" in call for call in calls)
    assert calls[-1].endswith("-e .[hub,test]")


def test_second_install_does_nothing(installation: Installation) -> None:
    assert installation.installs("hub")
    assert installation.installs("hub") == []


def test_installation_for_tests_serves_the_hub_and_not_the_other_way_round(installation: Installation) -> None:
    installation.installs("hub")
    assert installation.installs("test")
    assert installation.installs("hub") == []


@pytest.mark.parametrize("name", ["pyproject.toml", "deploy/constraints.txt", "hub/web/src/page.ts"])
def test_change_of_what_decides_the_installation_installs_again(installation: Installation, name: str) -> None:
    installation.installs("hub")
    (installation.project / name).write_text("second")
    assert installation.installs("hub")


@pytest.mark.parametrize("name", ["hub/web/dist/index.html", "hub/web/node_modules/package.js"])
def test_what_a_build_leaves_behind_does_not_install_again(installation: Installation, name: str) -> None:
    installation.installs("hub")
    (installation.project / name).write_text("second")
    assert installation.installs("hub") == []


def test_page_that_was_deleted_is_built_again(installation: Installation) -> None:
    installation.installs("hub")
    (installation.project / "hub/web/dist/index.html").unlink()
    assert installation.installs("hub")


def test_project_that_was_moved_installs_again(installation: Installation, tools: Path) -> None:
    installation.installs("hub")
    moved = installation.project.rename(installation.project.with_name("moved"))
    done = run(moved / "deploy" / "install", "hub", path=tools)
    assert "Installing the project" in done.stdout


def test_install_that_fails_is_tried_again(installation: Installation) -> None:
    program(installation.project / ".venv/bin/python", '#!/bin/sh\ncase "$*" in *install*) exit 1 ;; esac\n')
    failed = run(installation.project / "deploy" / "install", path=installation.tools)
    assert failed.returncode != 0
    program(installation.project / ".venv/bin/python", RECORDING_PYTHON)
    assert installation.installs("hub")
