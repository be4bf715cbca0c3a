import pytest
from pydantic import TypeAdapter, ValidationError

from hub.nearest import Nearest
from hub.statements.colour_remedy import colour_remedy
from schemas.colour import Colour

COLOURS: TypeAdapter[Colour] = TypeAdapter(Colour)


@pytest.mark.parametrize(
    ("written", "remedy"),
    [
        ("#FFAA00", 'write "#ffaa00", in quotes'),
        ("ffaa00", 'write "#ffaa00", in quotes'),
        ("#fa0", 'write "#ffaa00", in quotes'),
        (102030, 'write "#102030", in quotes'),
        (2700, "write {kelvin: 2700}"),
        (6500.0, "write {kelvin: 6500}"),
        ("2700 K", "write {kelvin: 2700}"),
        ("Light Blue", "did you mean lightblue?"),
        ("gould", "did you mean gold?"),
        (None, "begins a comment in YAML"),
        ({"hue": 3}, "write "),
        ([255, 0, 0], "write "),
        (True, "write "),
        ("x" * 10_000, "write "),
    ],
)
def test_the_colour_that_was_meant_is_named(written: object, remedy: str) -> None:
    with pytest.raises(ValidationError):
        COLOURS.validate_python(written)
    assert remedy in colour_remedy(written, Nearest())
