"""A scene in a file of its own, as it would stand below `scenes:` of a venue file."""

from pathlib import Path

import node_agent.render  # noqa: F401 (loads every pattern)
from hub.venue_file.part_file import PartFile, read_part_file
from schemas.scene import Scene

SceneFile = PartFile[Scene]


def read_scene_file(file: Path) -> SceneFile:
    """The scene in a YAML file. Whether a venue has its zones is not known here. Raises as `read_part_file` does."""
    shape = "write one scene as it stands below `scenes:`, without its dash: `id:`, `title:`, `layers:`"
    return read_part_file(file, Scene, "scene", shape)
