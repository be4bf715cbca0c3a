"""The page of documentation on scenes: layers, colours and every pattern, from what they state."""

from jinja2 import Environment, PackageLoader, StrictUndefined

from hub.statements.language import scene_language
from hub.statements.parameter import ParameterView
from hub.statements.table import COLUMNS, ParameterRow, example_layer, rows_of
from hub.venue_file import on_one_line


def patterns_page() -> str:
    """The whole page, in Markdown."""
    # Markdown, read as text: nothing in it is HTML.
    environment = Environment(
        loader=PackageLoader("hub.statements"),
        autoescape=False,  # noqa: S701
        undefined=StrictUndefined,
        keep_trailing_newline=True,
    )
    environment.filters |= {"yaml": on_one_line, "layer": example_layer}
    language = scene_language()
    page = environment.get_template("patterns.md.j2")
    return page.render(language=language, forms=language.colour_forms, table=_table).rstrip() + "\n"


def _table(parameters: list[ParameterView]) -> str:
    rows = [COLUMNS, ("---",) * len(COLUMNS), *map(_cells, rows_of(parameters))]
    return "".join(f"| {' | '.join(row)} |\n" for row in rows)


def _cells(row: ParameterRow) -> tuple[str, ...]:
    in_words = row.default in ("required", "none") or row.default.endswith(" stops")
    default = row.default if in_words else f"`{row.default}`"
    cells = (f"`{row.name}`", row.range, row.unit, default, row.sentence)
    return tuple(cell.replace("|", "\\|").replace("*", "\\*") if "`" not in cell else cell for cell in cells)
