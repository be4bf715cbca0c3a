"""Writes what is published: a JSON Schema (2020-12) of each contract, the AsyncAPI document that refers to them, the
pixel catalogue as JSON, and the page of documentation on scenes and patterns.

    python -m hub.published schemas/published            writes them
    python -m hub.published schemas/published --check    writes nothing; exit code 1 and names when any is out of date
"""

import argparse
import json
import re
import sys
from pathlib import Path
from typing import Any, Final

from pydantic.json_schema import GenerateJsonSchema

import node_agent.render  # noqa: F401 (scenes are published with the statements of all patterns)
import schemas
from hub.statements.page import patterns_page
from schemas.asyncapi import asyncapi_document
from schemas.catalogue_file import read_catalogue
from schemas.contract import Contract
from schemas.pixel_catalogue import CATALOGUE_FILE

ASYNCAPI_FILE: Final = "asyncapi.json"
PATTERNS_PAGE: Final = "patterns.md"
PUBLISHED_SUFFIXES: Final = frozenset({".json", ".md"})


def contracts() -> tuple[type[Contract], ...]:
    """Every contract of the public surface, by name."""
    public = (getattr(schemas, name) for name in sorted(schemas.__all__))
    return tuple(kind for kind in public if isinstance(kind, type) and issubclass(kind, Contract))


def schema_file(contract: type[Contract]) -> str:
    """`PixelType` is published as `pixel-type.schema.json`."""
    return f"{_kebab(contract.__name__)}.schema.json"


def published() -> dict[str, str]:
    """File names and texts of all that is published, the same every time."""
    files = {schema_file(contract): _text(_schema(contract)) for contract in contracts()}
    names = {contract: schema_file(contract) for contract in contracts()}
    files[ASYNCAPI_FILE] = _text(asyncapi_document(names))
    files[CATALOGUE_FILE] = _text([kind.model_dump(mode="json", exclude_defaults=True) for kind in read_catalogue()])
    files[PATTERNS_PAGE] = patterns_page()
    return files


def out_of_date(folder: Path) -> list[str]:
    """Names of files in `folder` that are missing, differ, or are published no longer."""
    wanted = published()
    present = {path.name for path in folder.glob("*") if path.suffix in PUBLISHED_SUFFIXES}
    changed = {name for name, text in wanted.items() if name not in present or _read(folder / name) != text}
    return sorted(changed | (present - wanted.keys()))


def write(folder: Path) -> list[str]:
    """Brings `folder` up to date and returns the names that changed. Raises OSError when it cannot be written."""
    folder.mkdir(parents=True, exist_ok=True)
    wanted = published()
    changed = out_of_date(folder)
    for name in changed:
        if name in wanted:
            (folder / name).write_text(wanted[name], encoding="utf-8")
        else:
            (folder / name).unlink()
    return changed


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(
        prog="python -m hub.published",
        description="Write the JSON Schema (2020-12) of every contract, the AsyncAPI 3 document, the pixel "
        "catalogue and the page on scenes and patterns into a folder.",
        epilog="exit codes: 0 up to date or written, 1 out of date (with --check), 2 wrong use or not writable",
    )
    parser.add_argument("folder", type=Path, help="where they are published: schemas/published in this repository")
    parser.add_argument("--check", action="store_true", help="write nothing; name the files that are out of date")
    options = parser.parse_args(arguments)
    folder: Path = options.folder
    try:
        changed = out_of_date(folder) if options.check else write(folder)
    except OSError as error:
        sys.stderr.write(f"{error.filename}: {error.strerror}\n")
        return 2
    said = "out of date" if options.check else "written"
    sys.stdout.writelines(f"{said}: {folder / name}\n" for name in changed)
    if options.check and changed:
        sys.stderr.write(f"Bring them up to date with: python -m hub.published {folder}\n")
        return 1
    return 0


def _schema(contract: type[Contract]) -> dict[str, Any]:
    return {
        "$schema": GenerateJsonSchema.schema_dialect,
        "$id": f"urn:stringcourse:schema:v1:{_kebab(contract.__name__)}",
        **contract.model_json_schema(),
    }


def _kebab(name: str) -> str:
    return re.sub(r"(?<!^)(?=[A-Z])", "-", name).lower()


def _read(path: Path) -> str:
    return path.read_text(encoding="utf-8", errors="replace")


def _text(document: dict[str, Any] | list[dict[str, Any]]) -> str:
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    sys.exit(main())
