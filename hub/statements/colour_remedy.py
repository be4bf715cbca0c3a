"""What to write instead of something that is no colour."""

import re
from typing import Any, Final

from hub.nearest import Nearest
from schemas.colour import COLOUR_FORMS, CSS_COLOURS

_DIGITS: Final = re.compile(r"#?([0-9a-f]{6}|[0-9a-f]{3})")
_KELVIN: Final = re.compile(r"([1-9][0-9]{3,4}) ?k?")


def colour_remedy(value: Any, nearest: Nearest) -> str:  # noqa: ANN401 (whatever stands there)
    """The colour that was probably meant, in a form that counts; else all forms."""
    if value is None:
        return "write it; put it in quotes if it starts with #, which begins a comment in YAML"
    written = str(value)[:40].lower() if isinstance(value, str | int | float) else ""
    if kelvin := _KELVIN.fullmatch(written.removesuffix(".0")):
        return f"write {{kelvin: {kelvin[1]}}}"
    if digits := _DIGITS.fullmatch(written):
        doubled = digits[1] if len(digits[1]) == 6 else "".join(digit * 2 for digit in digits[1])
        return f'write "#{doubled}", in quotes'
    name = nearest.among(re.sub(r"[^a-z]", "", written), CSS_COLOURS) if isinstance(value, str) else None
    return f"did you mean {name}?" if name else f"write {COLOUR_FORMS}"
