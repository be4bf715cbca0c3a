"""The house rules that a program can hold: who imports whom, file lengths, what stands at the top level."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

HOUSE = Path(__file__).parent.parent
ALLOWED_OF_OURS = {
    "schemas": {"schemas"},
    "node_agent": {"node_agent", "schemas"},
    "hub": {
        "hub",
        "schemas",
        "node_agent.render",
        "node_agent.power",
        "node_agent.limiter",
        "node_agent.separation",
        "node_agent.dither",
        "node_agent.frame_rate",
    },
}
BOARD_INSTALL = {"pydantic", "pydantic_core", "pydantic_extra_types", "paho", "numpy", "spidev"}
FOR_DEVELOPMENT_ONLY = {"schemas/catalogue_file.py"}
TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml",
    "hub", "node_agent", "schemas", "deploy", "tests",
}  # fmt: skip


def _sources(package: str) -> list[Path]:
    return sorted(path for path in (HOUSE / package).rglob("*.py") if "node_modules" not in path.parts)


def _imports(path: Path) -> set[str]:
    names: set[str] = set()
    for element in ast.walk(ast.parse(path.read_text())):
        if isinstance(element, ast.Import):
            names.update(alias.name for alias in element.names)
        elif isinstance(element, ast.ImportFrom) and element.module:
            names.add(element.module)
    return names


@pytest.mark.parametrize("package", sorted(ALLOWED_OF_OURS))
def test_package_imports_only_what_it_may(package: str) -> None:
    allowed = ALLOWED_OF_OURS[package]
    trespasses = [
        f"{path.relative_to(HOUSE)} imports {name}"
        for path in _sources(package)
        for name in sorted(_imports(path))
        if name.split(".")[0] in ALLOWED_OF_OURS
        and not any(name == room or name.startswith(f"{room}.") for room in allowed)
    ]
    assert trespasses == []


@pytest.mark.parametrize("package", ["schemas", "node_agent"])
def test_board_needs_no_package_beyond_its_install(package: str) -> None:
    foreign = {
        f"{path.relative_to(HOUSE)} imports {name}"
        for path in _sources(package)
        if str(path.relative_to(HOUSE)) not in FOR_DEVELOPMENT_ONLY
        for name in _imports(path)
        if name.split(".")[0] not in sys.stdlib_module_names | BOARD_INSTALL | {"schemas", "node_agent"}
    }
    assert foreign == set()


@pytest.mark.parametrize("package", ["schemas", "node_agent", "hub", "tests", "deploy"])
def test_no_file_is_longer_than_four_hundred_lines(package: str) -> None:
    long_files = {
        str(path.relative_to(HOUSE)): length
        for path in _sources(package)
        if (length := len(path.read_text().splitlines())) > 400
    }
    assert long_files == {}


def test_top_level_holds_only_what_was_agreed() -> None:
    listing = subprocess.run(["git", "ls-files"], cwd=HOUSE, capture_output=True, text=True, check=True).stdout
    tops = {line.split("/")[0] for line in listing.splitlines()}
    assert {top for top in tops if not top.startswith(".")} <= TOP_LEVEL
