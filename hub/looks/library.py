"""The library: one YAML file a look, beside this module."""

import json
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from hub.errors import NotFoundError
from hub.looks.look import Look
from hub.venue_file.yaml_document import parse_yaml


@cache
def looks() -> Mapping[str, Look]:
    """All looks by id, in the order of their ids. Each file is named for its look."""
    folder = files("hub.looks") / "library"
    texts = {entry.name: entry.read_bytes() for entry in folder.iterdir() if entry.name.endswith(".yaml")}
    read = [Look.model_validate_json(json.dumps(parse_yaml(texts[name]).value)) for name in sorted(texts)]
    return MappingProxyType({look.id: look for look in read})


def look_of(identifier: str) -> Look:
    """One look. Raises NotFoundError."""
    try:
        return looks()[identifier]
    except KeyError:
        raise NotFoundError("look", identifier) from None
