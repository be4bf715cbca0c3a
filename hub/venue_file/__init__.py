"""The venue file: YAML with lines to a checked venue, differences, export."""
