"""The audit's document as one HTML page that stands alone, for the screen and for print."""

import math
from functools import cache
from importlib.resources import files
from typing import Final

from jinja2 import Environment
from markupsafe import Markup

from hub.audit.document.content import AuditDocument
from hub.audit.document.formulas import FORMULAS
from hub.audit.figures import Verdict
from hub.audit.wiring_view import Weight
from hub.paper.frame import printed_page, templates_of

MOST_FAULTS: Final = 40
MOST_NOTES: Final = 12
"""Notes that the overview lists itself: so many, or so many faults; the sheets hold all."""


def document_html(document: AuditDocument) -> str:
    """The page. What users wrote stands in it as text: the template escapes everything."""
    names = {name: getattr(document, name) for name in AuditDocument.__dataclass_fields__}
    urgent = [one for one in document.overview if one.verdict is Verdict.OVERLOADED]
    notes = document.audit.notes
    faults = sum(note.weight is Weight.FAULT for note in notes)
    first_notes = notes[: max(min(faults, MOST_FAULTS), MOST_NOTES)]
    template = _templates().get_template("audit.html.j2")
    body = template.render(names, urgent=urgent, formulas=FORMULAS, first_notes=first_notes)
    subject = document.venue.title if document.only is None else f"supply {document.only}, {document.venue.title}"
    return printed_page(title=f"Audit of {subject}", body=Markup(body), style=_style())  # noqa: S704 (autoescaped)


def number(value: float | None, digits: int = 2) -> str:
    """A number as the tables show it: a true minus sign, a dash where there is none."""
    if value is None or not math.isfinite(value):
        return "–"
    text = f"{value:.{digits}f}"
    return text.lstrip("-") if float(text) == 0 else text.replace("-", "−")


def with_code(text: str) -> Markup:
    """`text` escaped, with what stands between backticks set as something to type."""
    code = Markup("<code>{}</code>")
    return Markup("").join(code.format(part) if place % 2 else part for place, part in enumerate(text.split("`")))


@cache
def _templates() -> Environment:
    templates = templates_of("hub.audit.document")
    templates.filters |= {"number": number, "with_code": with_code}
    return templates


@cache
def _style() -> str:
    return (files("hub.audit.document") / "templates" / "audit.css").read_text(encoding="utf-8")
