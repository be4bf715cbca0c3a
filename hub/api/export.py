"""`python -m hub.api.export FILE [--check]`: write the OpenAPI document, or exit 1 where FILE is not current."""

import argparse
import json
import sys
from pathlib import Path

from hub.app import bare_application


def document_text() -> str:
    """The document as it is committed: keys in the order of the routes, one newline at the end."""
    return json.dumps(bare_application().openapi(), indent=1, ensure_ascii=False) + "\n"


def main() -> int:
    parser = argparse.ArgumentParser(description="Write the OpenAPI document of the hub's API.")
    parser.add_argument("file", type=Path)
    parser.add_argument("--check", action="store_true", help="write nothing; exit 1 where the file is not current")
    arguments = parser.parse_args()
    text = document_text()
    if not arguments.check:
        arguments.file.write_text(text, encoding="utf-8")
    elif not arguments.file.exists() or arguments.file.read_text(encoding="utf-8") != text:
        sys.stderr.write(f"{arguments.file} is not current; run: python -m hub.api.export {arguments.file}\n")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
