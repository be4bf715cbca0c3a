"""`stringcourse pattern`: what a layer may show, and what may be said of each pattern. Needs no hub."""

from typing import Annotated

import typer

from hub.cli.client import AsJson
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.printing import print_json, print_table, say
from hub.nearest import Nearest
from hub.statements import PatternView, pattern_views, scene_language
from hub.statements.table import COLUMNS, EXAMPLE_ZONE, example_layer, rows_of
from hub.venue_file import on_one_line

group = typer.Typer(
    help="Patterns: what a layer of a scene may show, with unit, range and default of each parameter. Needs no hub.",
    no_args_is_help=True,
)


@group.command("list")
def list_patterns(as_json: AsJson = False) -> None:
    """List the patterns, and what the eye sees of each."""
    if as_json:
        print_json(scene_language())
        return
    print_table(("pattern", "what the eye sees"), [(view.pattern, view.sentence) for view in pattern_views()])


@group.command()
def show(
    name: Annotated[str, typer.Argument(metavar="NAME", help="The pattern; `list` has them.", show_default=False)],
    as_json: AsJson = False,
) -> None:
    """Show one pattern: its parameters, and a layer to paste into a scene.

    Example: stringcourse pattern show wave
    """
    view = _chosen(name)
    if as_json:
        print_json(view)
        return
    say(view.sentence)
    say()
    print_table(COLUMNS, list(rows_of(view.parameters)))
    say()
    say(f"A layer, below `layers:` of a scene; put a zone of yours for {EXAMPLE_ZONE}:")
    say()
    for line in example_layer(view).splitlines():
        say(f"  {line}")


@group.command()
def layer(as_json: AsJson = False) -> None:
    """Show what a layer may state beside its zone and its pattern, and how a colour may be written."""
    language = scene_language()
    if as_json:
        print_json(language.model_dump(mode="json", include={"layer", "colour_forms"}))
        return
    print_table(COLUMNS, list(rows_of(language.layer)))
    say()
    say(f"A colour, in {len(language.colour_forms)} forms; names are those of CSS Color Module Level 4:")
    print_table(
        ("colour", "what it is"), [(on_one_line(form.example), form.sentence) for form in language.colour_forms]
    )
    say()
    fields = [row for form in language.colour_forms for row in rows_of(form.parameters)]
    print_table(COLUMNS, fields)


def _chosen(name: str) -> PatternView:
    views = {view.pattern: view for view in pattern_views()}
    if name in views:
        return views[name]
    guess = Nearest().among(name, views)
    meant = f"did you mean {guess}? There are " if guess else "use one of "
    raise CommandError(ExitCode.NOT_FOUND, f"there is no pattern {name!r}; {meant}{', '.join(views)}")
