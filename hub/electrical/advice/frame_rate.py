"""What frame rate a data line can hold, and how to split a run that is too long for a wanted one."""

import math
from typing import Annotated, Final

from pydantic import Field

from hub.electrical.advice.answer import Advice, Question, Value
from hub.errors import InvalidError, Mistake
from schemas import PIXEL_CATALOGUE, PixelType
from schemas.bounds import OUTPUTS_PER_NODE
from schemas.contract import Id

MOST_PIXELS: Final = 65_536
AGENT_CEILING_HZ: Final = 400.0


class FrameRateQuestion(Question):
    """Pixels on one data line."""

    pixels: Annotated[int, Field(ge=1, le=MOST_PIXELS, description="Pixels of the run.")]
    pixel_type: Annotated[Id, Field(description="Key of a pixel type of the catalogue.")] = "rgb-5v-nrz800"
    wanted_hz: Annotated[float | None, Field(ge=1, le=1_000, description="Frames a second that are wanted.")] = None


def frame_rate(question: FrameRateQuestion) -> Advice:
    """The highest rate of the run; where more is wanted, over how many outputs to split it, and at which pixels.

    Raises InvalidError for a pixel type that the catalogue does not have.
    """
    kind = PIXEL_CATALOGUE.get(question.pixel_type)
    if kind is None:
        raise InvalidError(
            "the pixel type is not known",
            [
                Mistake(
                    "query.pixel_type",
                    f"the catalogue has no {question.pixel_type!r}",
                    f"use one of {', '.join(PIXEL_CATALOGUE)}",
                )
            ],
        )
    highest_hz = 1 / kind.wire_time_s(question.pixels)
    wanted_hz = question.wanted_hz
    outputs = 1 if wanted_hz is None else fewest_outputs(kind, question.pixels, wanted_hz)
    values: dict[str, Value] = {
        "wire_time_ms": round(kind.wire_time_s(question.pixels) * 1e3, 4),
        "highest_hz": _down(highest_hz),
    }
    if wanted_hz is not None:
        values["longest_run_pixels"] = longest_run(kind, wanted_hz)
    if outputs is None:
        answer = (
            f"None: a single pixel takes {kind.wire_time_s(1) * 1e3:.3g} ms with all that frames need around it, so "
            f"{wanted_hz:g} frames/s cannot be had with {kind.title}."
        )
        confirmation = f"One pixel holds {1 / kind.wire_time_s(1):.4g} frames/s."
    else:
        first = parts_of(question.pixels, outputs)
        longest = math.ceil(question.pixels / outputs)
        reached_hz = 1 / kind.wire_time_s(longest)
        values |= {
            "outputs": outputs,
            "boards": math.ceil(outputs / OUTPUTS_PER_NODE),
            "first_pixels": first,
            "longest_part_pixels": longest,
            "reached_hz": _down(reached_hz),
        }
        answer = _answer(question, outputs, first, reached_hz)
        confirmation = _confirmation(kind, question, outputs, longest)
    return Advice(
        question="What frame rate can this run hold, and how must it be split?",
        answer=answer,
        found=outputs is not None,
        values=values,
        formula="rate = 1 / (pixels × time of a pixel + what a frame needs before and after); split evenly over the "
        "fewest outputs whose longest part holds the wanted rate",
        inputs=question.inputs(),
        source=f"Times of {kind.key}: {_timing_source(kind)}.",
        confirmation=confirmation,
        cautions=[
            *_ceilings(kind, wanted_hz or highest_hz),
            "A part needs its own data line from its output to its first pixel, and the common ground beside it; "
            "switch the supply off before you cut the data line.",
            "A board sends all its outputs at once and its longest wire sets its rate.",
        ],
    )


def longest_run(kind: PixelType, wanted_hz: float) -> int:
    """The most pixels that hold `wanted_hz` on one line; 0 where not even one does."""
    low, high = 0, MOST_PIXELS
    while low < high:
        middle = (low + high + 1) // 2
        if kind.wire_time_s(middle) * wanted_hz <= 1 + 1e-9:
            low = middle
        else:
            high = middle - 1
    return low


def fewest_outputs(kind: PixelType, pixels: int, wanted_hz: float) -> int | None:
    """How many data lines the run needs to hold `wanted_hz`; None where no splitting helps."""
    longest = longest_run(kind, wanted_hz)
    return math.ceil(pixels / longest) if longest else None


def parts_of(pixels: int, outputs: int) -> list[int]:
    """First pixel of each part, the parts as even as can be, the longer ones first."""
    short, longer = divmod(pixels, outputs)
    return [place * short + min(place, longer) for place in range(outputs)]


def _answer(question: FrameRateQuestion, outputs: int, first: list[int], reached_hz: float) -> str:
    run = f"{question.pixels} pixel{'s' if question.pixels > 1 else ''}"
    if outputs == 1:
        wanted = "" if question.wanted_hz is None else f", {question.wanted_hz:g} are wanted: leave it whole"
        return f"{run} on one line hold {_down(reached_hz):g} frames/s{wanted}."
    places = ", ".join(str(pixel) for pixel in first[1:9]) + (", …" if len(first) > 9 else "")
    return (
        f"Split {run} over {outputs} outputs, cutting the data line before pixel {places}: each part then holds "
        f"{_down(reached_hz):g} frames/s."
    )


def _confirmation(kind: PixelType, question: FrameRateQuestion, outputs: int, longest: int) -> str:
    text = (
        f"{longest} pixels take {kind.wire_time_s(longest) * 1e3:.4g} ms, {1 / kind.wire_time_s(longest):.4g} frames/s."
    )
    if question.wanted_hz is None or outputs == 1:
        return text
    longer = math.ceil(question.pixels / (outputs - 1))
    fewer = "Unsplit it has" if outputs == 2 else f"Over {outputs - 1} outputs the longest part has"
    return f"{text} {fewer} {longer} and holds {1 / kind.wire_time_s(longer):.4g}."


def _ceilings(kind: PixelType, rate_hz: float) -> list[str]:
    ceilings = []
    if rate_hz > AGENT_CEILING_HZ:
        ceilings.append(f"The agent sends {AGENT_CEILING_HZ:g} frames/s at most, however short the line is.")
    if kind.refresh_hz is not None and rate_hz > kind.refresh_hz:
        ceilings.append(f"The pixel itself redraws {kind.refresh_hz:g} times a second: faster frames are not seen.")
    return ceilings


def _timing_source(kind: PixelType) -> str:
    return "the catalogue" if kind.sources is None else kind.sources.of("timing").rstrip(".")


def _down(rate_hz: float) -> float:
    """To a hundredth, never above what holds."""
    return math.floor(rate_hz * 100) / 100
