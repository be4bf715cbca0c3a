"""What patterns, layers and colours state of themselves, as people read it: editor, docs and command line share it."""

from hub.statements.language import PatternView, SceneLanguage, pattern_views, scene_language
from hub.statements.parameter import ParameterKind, ParameterView

__all__ = ["ParameterKind", "ParameterView", "PatternView", "SceneLanguage", "pattern_views", "scene_language"]
