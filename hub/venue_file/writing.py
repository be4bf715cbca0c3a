"""A venue as the YAML that a person would write: defaults left out, short groups on one line, few quotes.

Loading what is written gives the same venue again.
"""

import io
import re
from typing import Any, Final

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq
from ruamel.yaml.scalarstring import DoubleQuotedScalarString

from schemas.venue import Venue

MOST_ON_A_LINE: Final = 100
_PLAIN: Final = re.compile(r"[A-Za-z(][A-Za-z0-9 ()._/%+°²µ×–-]*[A-Za-z0-9)._%°²-]|[A-Za-z]")
# Words that some reader of YAML takes for something else than text.
_TAKEN: Final = re.compile(r"(?i)null|true|false|yes|no|on|off|y|n|\.?nan|\.?inf")


def write_venue(venue: Venue) -> str:
    """The venue file of `venue`."""
    yaml = YAML()
    yaml.width = 120
    yaml.indent(mapping=2, sequence=4, offset=2)
    yaml.allow_unicode = True
    whole = _commented(venue.model_dump(mode="json", exclude_defaults=True), room=0)
    for collection in ("pixel_types", "supplies", "nodes", "zones", "scenes"):
        if collection in whole:
            whole.yaml_set_comment_before_after_key(collection, before="\n")
    stream = io.StringIO()
    yaml.dump(whole, stream)
    return stream.getvalue()


def _commented(value: Any, room: int = MOST_ON_A_LINE) -> Any:  # noqa: ANN401 (any JSON value)
    """`value` for ruamel.yaml; a mapping or list that fits into `room` characters goes on one line."""
    if isinstance(value, dict):
        mapping = CommentedMap((key, _commented(part)) for key, part in value.items())
        if _width(value) <= room:
            mapping.fa.set_flow_style()
        else:
            mapping.fa.set_block_style()
        return mapping
    if isinstance(value, list):
        sequence = CommentedSeq(_commented(part) for part in value)
        if _width(value) <= room:
            sequence.fa.set_flow_style()
        else:
            sequence.fa.set_block_style()
        return sequence
    if isinstance(value, str):
        plain = _PLAIN.fullmatch(value) and not _TAKEN.fullmatch(value) and "  " not in value
        return value if plain else DoubleQuotedScalarString(value)
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return int(value)
    return value


def _width(value: Any) -> int:  # noqa: ANN401 (any JSON value)
    """Characters that `value` takes on one line, about."""
    if isinstance(value, dict):
        return 2 + sum(len(key) + 4 + _width(part) for key, part in value.items())
    if isinstance(value, list):
        return 2 + sum(2 + _width(part) for part in value)
    return len(str(value))
