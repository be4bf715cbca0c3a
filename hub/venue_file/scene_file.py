"""A scene in a file of its own, as it would stand below `scenes:` of a venue file."""

import dataclasses
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

import node_agent.render  # noqa: F401 (loads every pattern)
from hub.errors import InvalidError, Mistake
from hub.validation import mistakes_of
from hub.venue_file.document import Document
from hub.venue_file.reading import read_bytes
from hub.venue_file.yaml_document import parse_yaml
from schemas.bounds import MAX_DESIRED_BYTES
from schemas.scene import Scene

_PART = re.compile(r"([^.\[\]]+)|\[(\d+)\]")


@dataclass(frozen=True, slots=True)
class SceneFile:
    """A scene and the file that it was read from."""

    scene: Scene
    document: Document

    def with_lines(self, mistakes: Sequence[Mistake], within: str) -> list[Mistake]:
        """Mistakes that someone else found in the scene, whose fields begin with `within`, at their lines here."""
        return [
            _at_its_line(dataclasses.replace(one, field=one.field.removeprefix(within)), self.document)
            for one in mistakes
        ]


def read_scene_file(file: Path) -> SceneFile:
    """The scene in a YAML file. Whether a venue has its zones is not known here.

    Raises InvalidError whose `mistakes` are all that is wrong with it, each with its line.
    """
    data = read_bytes(file)
    if len(data) > MAX_DESIRED_BYTES:
        reason = f"it has more than {MAX_DESIRED_BYTES} bytes"
        raise _invalid(file, [Mistake("file", reason, "a scene of a venue is far smaller: split it")])
    try:
        document = parse_yaml(data)
    except InvalidError as error:
        raise _invalid(file, error.mistakes) from error
    if not isinstance(document.value, dict):
        remedy = "write one scene as it stands below `scenes:`, without its dash: `id:`, `title:`, `layers:`"
        raise _invalid(file, [Mistake("file", "it is not a group of fields", remedy, document.line_of(()))])
    mistakes = list(document.mistakes)
    try:
        scene = Scene.model_validate_json(json.dumps(document.value))
    except ValidationError as error:
        found = mistakes_of(error.errors(include_url=False), Scene, document.value)
        mistakes += [_at_its_line(one, document) for one in found]
        raise _invalid(file, mistakes) from error
    if mistakes:
        raise _invalid(file, mistakes)
    return SceneFile(scene, document)


def _at_its_line(mistake: Mistake, document: Document) -> Mistake:
    where = tuple(name or int(number) for name, number in _PART.findall(mistake.field))
    return dataclasses.replace(mistake, line=document.line_of(where))


def _invalid(file: Path, mistakes: Sequence[Mistake]) -> InvalidError:
    ordered = sorted(dict.fromkeys(mistakes), key=lambda mistake: mistake.line or 0)
    count = len(ordered)
    return InvalidError(f"{file}: the scene has {count} mistake{'' if count == 1 else 's'}", ordered)
