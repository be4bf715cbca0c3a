"""The frame of every page that we print: one HTML document that stands alone, for the screen, a printer or `to_pdf`."""

from functools import cache
from importlib.metadata import version
from importlib.resources import files
from typing import Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from hub.paper.typeface import font_face_css

VERSION: Final = version("stringcourse")


def templates_of(package: str) -> Environment:
    """The templates in `package`'s folder `templates`. What users wrote is escaped in all of them."""
    return Environment(
        loader=PackageLoader(package),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def printed_page(*, title: str, body: Markup, style: str = "") -> str:
    """A whole page around `body`, which a template has escaped, with the print style, the typeface and `style`.

    An element of class `foot` is set at the foot of each printed page from where it stands on, beside the number.
    """
    return (
        _templates()
        .get_template("page.html.j2")
        .render(
            title=title,
            body=body,
            version=VERSION,
            fonts=_own(font_face_css()),
            print_style=_own(_print_style()),
            style=_own(style),
        )
    )


@cache
def _templates() -> Environment:
    return templates_of("hub.paper")


@cache
def _print_style() -> str:
    return (files("hub.paper") / "templates" / "print.css").read_text(encoding="utf-8")


def _own(style: str) -> Markup:
    # Styles are files of ours; escaping would break their quotes.
    return Markup(style)  # noqa: S704
