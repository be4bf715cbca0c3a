"""The hub's log on standard error: lines for people, or JSON lines for programs, of libraries too.

Our own lines state their figures as `name=value` behind their words; in JSON each becomes a field of its own.
"""

import contextlib
import logging
import re
import sys
import time
from enum import StrEnum
from typing import Any, Final

import structlog
from structlog.typing import EventDict, WrappedLogger

_PLAIN: Final = "%(asctime)s.%(msecs)03dZ level=%(levelname)s part=%(name)s %(message)s"
_CHATTY: Final = ("alembic", "uvicorn")

_CONVERSION: Final = r"%[#0\- +]*\d*(?:\.\d+)?[a-zA-Z]"
_FIELD: Final = re.compile(rf"(?P<before>\s*)\b(?P<name>[a-z_]+)=(?P<value>{_CONVERSION}(?:[/:]{_CONVERSION})*)")
_ANY: Final = re.compile(rf"%%|{_CONVERSION}")

_SECRETS: Final = (
    (re.compile(r"(://[^/\s:@\"]*:)[^/\s@\"]+@"), r"\1***@"),
    (re.compile(r"(?i)\b(bearer\s+)[^\s\"\\,;]+"), r"\1***"),
)


class LogStyle(StrEnum):
    """How the log is written."""

    PLAIN = "plain"
    JSON = "json"


def begin_logs(style: LogStyle) -> None:
    """From now on everything that is logged, by whomever, goes to standard error in this style."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(_JsonLines() if style is LogStyle.JSON else _PlainLines(_PLAIN, "%Y-%m-%dT%H:%M:%S"))
    logging.basicConfig(level=logging.INFO, handlers=[handler], force=True)
    for chatty in _CHATTY:
        logging.getLogger(chatty).setLevel(logging.WARNING)


def masked(line: str) -> str:
    """Without the passwords of addresses and without tokens: a library may quote an address in an error."""
    for secret, mask in _SECRETS:
        line = secret.sub(mask, line)
    return line


def fields_of(template: str, arguments: tuple[object, ...]) -> tuple[str, dict[str, object]]:
    """The words of a message and its fields: `lost node=%s late=%d` of ("bay-01", 3) is `lost` with node and late.

    Raises TypeError or ValueError where template and arguments do not fit.
    """
    fields: dict[str, object] = {}
    words: list[str] = []
    kept: list[object] = []
    place = used = 0
    for field in _FIELD.finditer(template):
        between = template[place : field.start()]
        count = _conversions(between)
        words.append(between)
        kept += arguments[used : used + count]
        used += count
        count = _conversions(field["value"])
        given = arguments[used : used + count]
        used += count
        fields[field["name"]] = given[0] if _is_plain(given) else field["value"] % given
        place = field.end()
    words.append(template[place:])
    kept += arguments[used:]
    return "".join(words) % tuple(kept), fields


class _PlainLines(logging.Formatter):
    converter = staticmethod(time.gmtime)

    def format(self, record: logging.LogRecord) -> str:
        return masked(super().format(record))


class _JsonLines(structlog.stdlib.ProcessorFormatter):
    """One object a line: time, level, part, event, fields, and exception where there is one."""

    def __init__(self) -> None:
        super().__init__(
            pass_foreign_args=True,
            foreign_pre_chain=[
                structlog.stdlib.add_log_level,
                structlog.processors.TimeStamper(fmt="iso", utc=True, key="time"),
                _name_part_and_fields,
                structlog.processors.format_exc_info,
            ],
            processors=[
                structlog.stdlib.ProcessorFormatter.remove_processors_meta,
                structlog.processors.JSONRenderer(sort_keys=False, default=str),
            ],
        )

    def format(self, record: logging.LogRecord) -> str:
        return masked(super().format(record))


def _name_part_and_fields(_logger: WrappedLogger, _method: str, event: EventDict) -> EventDict:
    record: logging.LogRecord = event.pop("_record")
    said, arguments = event.pop("event"), event.pop("positional_args")
    told: dict[str, Any] = {"time": event.pop("time"), "level": event.pop("level"), "part": record.name}
    told["event"], told["fields"] = said, {}
    if isinstance(record.msg, str) and isinstance(arguments, tuple):
        with contextlib.suppress(TypeError, ValueError):  # not a template of ours
            told["event"], told["fields"] = fields_of(record.msg, arguments)
    return told | {**event, "_record": record}


def _conversions(text: str) -> int:
    return sum(found != "%%" for found in _ANY.findall(text))


def _is_plain(given: tuple[object, ...]) -> bool:
    return len(given) == 1 and isinstance(given[0], str | int | float)
