"""How large a supply must be for a load, with its derating and the heat around it."""

import math
from typing import Annotated, Final

from pydantic import Field

from hub.electrical.advice.answer import CAUTIONS, Advice, Question, Value
from hub.electrical.class_2 import SOURCE as CLASS_2_SOURCE
from hub.electrical.class_2 import class_2_limit

USUAL_RATINGS_A: Final = (
    1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 80.0, 100.0,
)  # fmt: skip
"""Amps that supplies are sold with: common practice, no source."""

_CAUTIONS: Final = (
    *CAUTIONS,
    "Never join the outputs of two supplies: cut the positive rail between them, keep the negatives common.",
    "Leave the air that its sheet asks for around a supply; a closed box is hotter inside than the room.",
)


class SupplyQuestion(Question):
    """Load, and where the supply will sit."""

    load_a: Annotated[float, Field(gt=0, le=10_000, description="Amps that the pixels draw for long.")]
    volts: Annotated[float, Field(gt=0, le=60, description="Volts of the supply, DC.")]
    derating: Annotated[float, Field(gt=0, le=1, description="Part of its rating that is used for long.")] = 0.8
    ambient_c: Annotated[float, Field(ge=-40, le=90, description="Air around the supply, in its box, °C.")] = 30.0
    derates_above_c: Annotated[
        float, Field(ge=0, le=90, description="Its data sheet's temperature up to which it gives all; °C.")
    ] = 50.0
    derates_per_k: Annotated[
        float, Field(ge=0, le=1, description="Part of its rating that each kelvin above that takes away.")
    ] = 0.025


def supply_size(question: SupplyQuestion) -> Advice:
    """The next usual rating, or how many supplies where one is too large to buy."""
    left = ambient_left(question)
    values: dict[str, Value] = {"ambient_factor": round(left, 4)}
    cautions = list(_CAUTIONS)
    found = left > 0
    if not found:
        answer = (
            f"None: at {question.ambient_c:g} °C nothing is left of the rating; bring the supply to cooler air or "
            "choose one for that heat."
        )
        confirmation = f"1 − {question.derates_per_k:g} × ({question.ambient_c:g} − {question.derates_above_c:g}) ≤ 0."
    else:
        needed_a = question.load_a / (question.derating * left)
        supplies, rated_a = usual_rating(needed_a)
        values |= {
            "needed_a": round(needed_a, 3),
            "rated_a": rated_a,
            "supplies": supplies,
            "rated_w": round(rated_a * question.volts, 1),
            "usable_a": round(rated_a * question.derating * left, 3),
        }
        answer = (
            f"{f'{supplies} supplies' if supplies > 1 else 'One supply'} of {question.volts:g} V {rated_a:g} A: the "
            f"load of {question.load_a:g} A needs a rating of {needed_a:.4g} A."
        )
        cautions.insert(0, class_2_note(question.volts, rated_a))
        confirmation = _confirmation(question, left, supplies, rated_a)
    limit = class_2_limit(question.volts)
    if limit is not None:
        values |= {"class_2_limit_a": round(limit.rated_a, 3), "class_2_limit_w": round(limit.rated_w, 1)}
    return Advice(
        question="How large must the supply be for this load?",
        answer=answer,
        found=found,
        values=values,
        formula="rating ≥ load / (derating × ambient factor); ambient factor = 1 − part per kelvin × kelvins "
        "above the data sheet's temperature, between 0 and 1",
        inputs=question.inputs(),
        source="Derating to 0.8 for continuous load: common practice for a DC supply, after the 125 % of NEC 210.20(A)."
        " All up to 50 °C, then 2.5 % a kelvin: usual in data sheets, from memory; put in your own sheet's. "
        f"Usual ratings: common practice, no source. Class 2: {CLASS_2_SOURCE}.",
        confirmation=confirmation,
        cautions=cautions,
    )


def ambient_left(question: SupplyQuestion) -> float:
    """Part of the rating that the heat leaves."""
    return min(max(1 - question.derates_per_k * max(question.ambient_c - question.derates_above_c, 0.0), 0.0), 1.0)


def usual_rating(needed_a: float) -> tuple[int, float]:
    """How many supplies of which usual rating give `needed_a` together: one while one is enough."""
    supplies = max(math.ceil(needed_a / USUAL_RATINGS_A[-1] - 1e-9), 1)
    each_a = needed_a / supplies
    return supplies, next(rating for rating in USUAL_RATINGS_A if rating >= each_a * (1 - 1e-9))


def class_2_note(volts: float, rated_a: float) -> str:
    """How the rating stands to Class 2, in a sentence."""
    limit = class_2_limit(volts)
    if limit is None:
        return f"At {volts:g} V there is no Class 2."
    bound = f"{limit.rated_w:.3g} VA and {limit.rated_a:.3g} A"
    if rated_a <= limit.rated_a:
        return f"At {volts:g} V Class 2 ends at {bound}: it may be had as Class 2; its label says whether it is."
    return f"At {volts:g} V Class 2 ends at {bound}: this is above, so its wiring is not Class 2."


def _confirmation(question: SupplyQuestion, left: float, supplies: int, rated_a: float) -> str:
    usable_a = supplies * rated_a * question.derating * left
    text = f"{rated_a:g} A × {question.derating:g} × {left:.3g}{f' × {supplies}' if supplies > 1 else ''}"
    smaller = [rating for rating in USUAL_RATINGS_A if rating < rated_a]
    below = ""
    if smaller:
        below_a = supplies * smaller[-1] * question.derating * left
        below = f" The next smaller, {smaller[-1]:g} A, gives {below_a:.4g} A: fails."
    return f"{text} = {usable_a:.4g} A ≥ {question.load_a:g} A: holds.{below}"
