"""The pixel catalogue's YAML, made into what is published of it. For development only: a board has no YAML reader."""

import json
from pathlib import Path
from typing import Final

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError

from schemas.pixel_catalogue import CATALOGUE
from schemas.pixel_type import PixelType

CATALOGUE_YAML: Final = Path(__file__).parent / "pixel_catalogue.yaml"


def read_catalogue(file: Path = CATALOGUE_YAML) -> tuple[PixelType, ...]:
    """The pixel types of a catalogue file. Raises ValueError for what is no catalogue, OSError for no file."""
    try:
        content = YAML(typ="safe", pure=True).load(file.read_text(encoding="utf-8"))
    except YAMLError as error:
        raise ValueError(f"{file.name}: {error}") from error
    kinds = CATALOGUE.validate_json(json.dumps(content))
    keys = [kind.key for kind in kinds]
    if doubled := next((key for key in keys if keys.count(key) > 1), None):
        raise ValueError(f"{file.name}: {doubled} appears twice; give each pixel type a key of its own")
    if bare := next((kind.key for kind in kinds if kind.sources is None), None):
        raise ValueError(f"{file.name}: {bare} names no sources; say where its values come from")
    return kinds
