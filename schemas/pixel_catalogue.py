"""Pixel types that the product knows by itself.

`pixel_catalogue.yaml` is where people read and edit them. A board's install reads no YAML: `hub.published` publishes
the same as JSON, and that is read here, at the first look.
"""

from collections.abc import Iterator, Mapping
from functools import cached_property
from importlib.resources import files
from typing import Final

from pydantic import TypeAdapter

from schemas.pixel_type import PixelType

CATALOGUE_FILE: Final = "pixel-catalogue.json"
CATALOGUE: Final[TypeAdapter[tuple[PixelType, ...]]] = TypeAdapter(tuple[PixelType, ...])


class PixelCatalogue(Mapping[str, PixelType]):
    """Pixel types by key, in the order of the file."""

    def __getitem__(self, key: str) -> PixelType:
        return self._types[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._types)

    def __len__(self) -> int:
        return len(self._types)

    @cached_property
    def _types(self) -> dict[str, PixelType]:
        published = files("schemas") / "published" / CATALOGUE_FILE
        return {kind.key: kind for kind in CATALOGUE.validate_json(published.read_bytes())}


PIXEL_CATALOGUE: Final = PixelCatalogue()
