"""Which fuse lies between the load and the wire."""

from typing import Annotated, Final

from pydantic import Field

from hub.electrical.advice.answer import CAUTIONS, Advice, Question, Value
from hub.electrical.advice.wire import AmbientC, LoadedConductors
from hub.electrical.ampacity import AMBIENT_C, ampacity_a
from hub.electrical.ampacity import SOURCE as AMPACITY_SOURCE
from hub.electrical.fuses import (
    HIGHEST_V,
    MOST_OF_FUSE,
    RATINGS_A,
    SOURCE,
    FuseKind,
    fitting_ratings_a,
    largest_rating_a,
    smallest_rating_a,
)
from hub.errors import InvalidError, Mistake
from schemas.wire_gauge import FINEST_GAUGE, awg_area_mm2

QUESTION: Final = "Which fuse protects this wire and carries this load?"

WireMm2 = Annotated[float | None, Field(gt=0, le=100, description="Area of one conductor, mm²; or give wire_awg.")]
WireAwg = Annotated[
    int | None,
    Field(ge=0, le=FINEST_GAUGE, description="Size of one conductor, American Wire Gauge; or give wire_mm2."),
]


class FuseQuestion(Question):
    """Load and wire."""

    load_a: Annotated[float, Field(gt=0, le=500, description="Amps that the feed carries for long.")]
    wire_mm2: WireMm2 = None
    wire_awg: WireAwg = None
    volts: Annotated[float, Field(gt=0, le=60, description="Volts of the supply, DC.")]
    kind: Annotated[FuseKind, Field(description="blade: ISO 8820-3; cartridge: 5 × 20 mm, IEC 60127-2.")] = (
        FuseKind.BLADE
    )
    ambient_c: AmbientC = AMBIENT_C
    loaded_conductors: LoadedConductors = 2


def wire_area_mm2(wire_mm2: float | None, wire_awg: int | None) -> float:
    """The area of the one size that was given. Raises InvalidError where it is none or both."""
    if wire_mm2 is not None and wire_awg is None:
        return wire_mm2
    if wire_awg is not None and wire_mm2 is None:
        return awg_area_mm2(wire_awg)
    reason = "stands beside wire_awg" if wire_mm2 is not None else "is missing, and wire_awg too"
    raise InvalidError(
        "one size of wire is needed", [Mistake("query.wire_mm2", reason, "give wire_mm2 or wire_awg, one of the two")]
    )


def fuse_between(question: FuseQuestion) -> Advice:
    """The smallest standard fuse that carries the load and protects the wire, or why there is none.

    Raises InvalidError where the wire's size is not given, or given twice.
    """
    area_mm2 = wire_area_mm2(question.wire_mm2, question.wire_awg)
    wire_a = ampacity_a(area_mm2, ambient_c=question.ambient_c, loaded_conductors=question.loaded_conductors)
    least, most = smallest_rating_a(question.load_a), largest_rating_a(wire_a, question.kind)
    fitting = fitting_ratings_a(question.load_a, wire_a, question.kind)
    too_high = question.volts > HIGHEST_V[question.kind]
    values: dict[str, Value] = {
        "smallest_rating_a": round(least, 3),
        "largest_rating_a": round(most, 3),
        "wire_ampacity_a": round(wire_a, 3),
        "wire_mm2": round(area_mm2, 4),
    }
    found = bool(fitting) and not too_high
    if found:
        values |= {"fuse_a": fitting[0], "fitting_a": list(fitting)}
        answer = (
            f"A {question.kind} fuse of {fitting[0]:g} A: it carries {question.load_a:g} A at "
            f"{question.load_a / fitting[0]:.0%} of its rating and protects a wire good for {wire_a:.3g} A."
        )
    else:
        answer = _why_none(question, least, most, wire_a, too_high)
    return Advice(
        question=QUESTION,
        answer=answer,
        found=found,
        values=values,
        formula=f"load / {MOST_OF_FUSE:g} ≤ fuse ≤ ampacity of the wire, and fuse × the multiple at which it surely "
        "blows (blade 1.35, cartridge 2.1) ≤ 1.45 × ampacity",
        inputs=question.inputs(),
        source=f"{SOURCE} {AMPACITY_SOURCE}",
        confirmation=_confirmation(question, fitting, least, most),
        cautions=[
            *CAUTIONS,
            "The fuse must be rated for DC of at least the supply's volts. A supply that limits its current below what "
            "blows the fuse never blows it.",
        ],
    )


def _why_none(question: FuseQuestion, least: float, most: float, wire_a: float, too_high: bool) -> str:
    if too_high:
        return (
            f"No {question.kind} fuse serves {question.volts:g} V: they are made for {HIGHEST_V[question.kind]:g} V DC "
            "at most; ask for another kind."
        )
    if question.load_a > wire_a:
        return (
            f"None: the wire may carry {wire_a:.3g} A and the load is {question.load_a:g} A; take a thicker wire or "
            "share the load over more feeds."
        )
    if least > most:
        return (
            f"None: {question.load_a:g} A need a {question.kind} fuse of at least {least:.3g} A, the wire allows "
            f"{most:.3g} A at most; take a thicker wire or share the load over more feeds."
        )
    return (
        f"None: no standard {question.kind} fuse lies between {least:.3g} A and {most:.3g} A; take a thicker wire or "
        "another kind of fuse."
    )


def _confirmation(question: FuseQuestion, fitting: tuple[float, ...], least: float, most: float) -> str:
    if not fitting:
        return f"Standard {question.kind} ratings: {', '.join(f'{rating:g}' for rating in RATINGS_A[question.kind])} A."
    smaller = [rating for rating in RATINGS_A[question.kind] if rating < fitting[0]]
    larger = [rating for rating in RATINGS_A[question.kind] if rating > fitting[-1]]
    below = f"The next smaller, {smaller[-1]:g} A, is below {least:.3g} A. " if smaller else ""
    above = f"The first too large, {larger[0]:g} A, is above {most:.3g} A." if larger else "No larger one is made."
    return below + above
