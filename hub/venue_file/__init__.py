"""The venue file: YAML with lines to a checked venue, differences, export."""

from hub.venue_file.checking import check_venue, require_consistent
from hub.venue_file.difference import Change, FieldChange, difference
from hub.venue_file.reading import read_bytes, read_venue, read_venue_file
from hub.venue_file.writing import on_one_line, write_layers, write_pixel_types, write_venue

__all__ = [
    "Change",
    "FieldChange",
    "check_venue",
    "difference",
    "on_one_line",
    "read_bytes",
    "read_venue",
    "read_venue_file",
    "require_consistent",
    "write_layers",
    "write_pixel_types",
    "write_venue",
]
