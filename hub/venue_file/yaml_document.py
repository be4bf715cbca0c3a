"""YAML as plain values with the line of each, bounded in depth and in what aliases may unfold to.

Built from ruamel.yaml's events, so that no tag can make an object, no alias a bomb, and two equal keys are seen.
Plain scalars follow the core schema of YAML 1.2: `yes` and `on` are text.
"""

import re
from dataclasses import dataclass
from typing import Any, Final

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)
from ruamel.yaml.reader import ReaderError

from hub.errors import InvalidError, Mistake
from hub.validation import field_name
from hub.venue_file.document import MAX_DEPTH, Document, Lines
from hub.venue_file.fault import Where

MAX_VALUES: Final = 2_000_000

_INTEGER = re.compile(r"[-+]?[0-9]{1,18}")
_FLOAT = re.compile(r"[-+]?(\.[0-9]{1,40}|[0-9]{1,40}(\.[0-9]{0,40})?)([eE][-+]?[0-9]{1,4})?")
_WORDS: Final[dict[str, object]] = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL")),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
    **dict.fromkeys((".nan", ".NaN", ".NAN"), float("nan")),
    **dict.fromkeys((".inf", ".Inf", ".INF", "+.inf"), float("inf")),
    "-.inf": float("-inf"),
}
_TEXT_TAG = "tag:yaml.org,2002:str"
_REMEDIES: Final = {"found unexpected ':'": 'within braces or brackets put a time of day in quotes: "18:30"'}


@dataclass(slots=True)
class _Open:
    """A mapping or a list that has begun and not ended."""

    value: dict[str, Any] | list[Any]
    lines: Lines
    anchor: str | None
    values_before: int
    key: str | None = None
    key_line: int = 0
    key_is_second: bool = False


def parse_yaml(data: bytes) -> Document:
    """The one document in `data`. Raises InvalidError, with the line, where it cannot be read at all."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _unreadable("it is not UTF-8 text", "save it as UTF-8", data.count(b"\n", 0, error.start) + 1) from error
    try:
        return _Builder().build(text)
    except ReaderError as error:
        position = error.position if isinstance(error.position, int) else 0
        raise _unreadable(
            "it has a character that YAML forbids", "remove the control character", text.count("\n", 0, position) + 1
        ) from error
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        raise _unreadable(
            f"it is not well-formed YAML: {error.problem or error.context}",
            _REMEDIES.get(
                str(error.problem), "check indentation, colons, brackets and quotes on this line and the one before"
            ),
            mark.line + 1 if mark else 1,
        ) from error
    except (YAMLError, UnicodeError, RecursionError) as error:
        raise _unreadable("it is not well-formed YAML", "check it with a YAML editor", 1) from error


class _Builder:
    def __init__(self) -> None:
        self._stack: list[_Open] = []
        self._anchors: dict[str, tuple[Any, Lines, int]] = {}
        self._values = 0
        self._mistakes: list[Mistake] = []
        self._root: Any = None
        self._root_lines = Lines(1)

    def build(self, text: str) -> Document:
        documents = 0
        for event in YAML(typ="safe").parse(text):
            line = event.start_mark.line + 1
            match event:
                case DocumentStartEvent():
                    documents += 1
                    if documents > 1:
                        raise _unreadable("it has a second document", "keep one document a file", line)
                case ScalarEvent():
                    self._take_scalar(event, line)
                case MappingStartEvent() | SequenceStartEvent():
                    self._begin(event, line)
                case MappingEndEvent() | SequenceEndEvent():
                    self._end()
                case AliasEvent():
                    if event.anchor not in self._anchors:
                        raise _unreadable(f"the alias *{event.anchor} has no anchor before it", "write it out", line)
                    value, lines, size = self._anchors[event.anchor]
                    self._place(value, Lines(line, lines.parts), size)
        return Document(self._root, self._root_lines, tuple(self._mistakes))

    def _take_scalar(self, event: ScalarEvent, line: int) -> None:
        top = self._stack[-1] if self._stack else None
        if top is not None and isinstance(top.value, dict) and top.key is None:
            self._take_key(top, str(event.value), line)
            return
        value = self._scalar(event, line)
        lines = Lines(line)
        if event.anchor:
            self._anchors[event.anchor] = (value, lines, 1)
        self._place(value, lines, 1)

    def _take_key(self, top: _Open, key: str, line: int) -> None:
        top.key, top.key_line, top.key_is_second = key, line, key in top.value
        if top.key_is_second:
            reason = f"`{key}` stands here twice; the first is on line {top.lines.parts[key].line}"
            self._mistakes.append(Mistake(field_name((*self._location(), key)), reason, "keep one of them", line))

    def _scalar(self, event: ScalarEvent, line: int) -> object:
        text = str(event.value)
        tag = str(event.ctag) if event.ctag else None
        if tag not in (None, "!", _TEXT_TAG):
            reason = "it has a tag (!…), which a venue file has no use for"
            self._mistakes.append(Mistake(field_name(self._next_location()), reason, "remove the tag", line))
            return text
        if tag is not None or not event.implicit[0]:
            return text
        if text in _WORDS:
            return _WORDS[text]
        if _INTEGER.fullmatch(text):
            return int(text)
        return float(text) if _FLOAT.fullmatch(text) else text

    def _begin(self, event: MappingStartEvent | SequenceStartEvent, line: int) -> None:
        top = self._stack[-1] if self._stack else None
        if top is not None and isinstance(top.value, dict) and top.key is None:
            raise _unreadable("a list or a group of fields stands as a key", "use a word as the key", line)
        if len(self._stack) >= MAX_DEPTH:
            raise _unreadable(f"it is nested more than {MAX_DEPTH} deep", "no part of a venue needs that depth", line)
        value: dict[str, Any] | list[Any] = {} if isinstance(event, MappingStartEvent) else []
        lines = Lines(top.key_line if top is not None and top.key is not None else line)
        self._stack.append(_Open(value, lines, event.anchor, self._values))

    def _end(self) -> None:
        ended = self._stack.pop()
        size = self._values - ended.values_before + 1
        if ended.anchor:
            self._anchors[ended.anchor] = (ended.value, ended.lines, size)
        self._place(ended.value, ended.lines, 1)

    def _place(self, value: Any, lines: Lines, size: int) -> None:  # noqa: ANN401 (any YAML value)
        self._values += size
        if self._values > MAX_VALUES:
            raise _unreadable(f"it unfolds to more than {MAX_VALUES} values", "use fewer aliases", lines.line)
        if not self._stack:
            self._root, self._root_lines = value, lines
            return
        top = self._stack[-1]
        if isinstance(top.value, list):
            top.lines.parts[len(top.value)] = lines
            top.value.append(value)
        elif top.key is not None:
            if not top.key_is_second:
                top.value[top.key] = value
                top.lines.parts[top.key] = Lines(top.key_line, lines.parts)
            top.key = None

    def _location(self) -> Where:
        """Where the innermost open value stands."""
        return tuple(
            open_value.key if open_value.key is not None else len(open_value.value) for open_value in self._stack[:-1]
        )

    def _next_location(self) -> Where:
        """Where the value that comes next will stand."""
        if not self._stack:
            return ()
        top = self._stack[-1]
        return (*self._location(), top.key if top.key is not None else len(top.value))


def _unreadable(reason: str, remedy: str, line: int) -> InvalidError:
    return InvalidError("the venue file cannot be read", [Mistake("file", reason, remedy, line)])
