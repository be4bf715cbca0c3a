"""A pixel type from readings of a meter, and how it differs from the published one. Pure.

A run of N pixels is read twice at the supply's terminals: all pixels dark, and every emitter full. Then
idle = dark amps / N, and the emitters together = (full amps - dark amps) / N. Each colour read alone gives its emitter
the same way; what was not read alone shares the rest in the published proportions.
"""

from datetime import date
from typing import Annotated, Final

from pydantic import BaseModel, Field, model_validator

from hub.errors import InvalidError, Mistake
from schemas.bounds import MAX_TEXT, MAX_TITLE
from schemas.contract import Contract
from schemas.pixel_type import EmitterCurrents, MilliAmps, PixelType, PixelTypeSources, Volts
from schemas.venue import PixelCount

MATTERS_PERCENT: Final = 10.0
"""Reels of one kind differ by about as much: common practice, no source."""

MOST_MA: Final = 200.0  # of `MilliAmps`: what the contract takes
EMITTERS: Final = {"R": "red", "G": "green", "B": "blue", "W": "white"}
ReadAmps = Annotated[float, Field(ge=0, le=1_000)]


class MeterReading(Contract):
    """What a meter showed of a run of `pixels`: amps dark, amps with every emitter full, and of each colour alone."""

    pixels: PixelCount
    volts: Annotated[Volts, Field(description="volts at the run's first pixel while every emitter is full")]
    idle_a: Annotated[ReadAmps, Field(description="amps while every pixel is dark and data is sent")]
    full_a: Annotated[ReadAmps, Field(description="amps while every emitter of every pixel is full")]
    red_a: ReadAmps | None = None
    green_a: ReadAmps | None = None
    blue_a: ReadAmps | None = None
    white_a: Annotated[ReadAmps | None, Field(description="the fourth emitter alone, not red, green and blue")] = None
    on: Annotated[date, Field(description="the day it was measured")]

    @model_validator(mode="after")
    def _draws_more_when_lit(self) -> "MeterReading":
        if self.full_a <= self.idle_a:
            raise ValueError("full_a must exceed idle_a")
        return self

    @property
    def alone_a(self) -> dict[str, float]:
        """Amps of each emitter that was read alone, idle included."""
        read = {name: getattr(self, f"{name}_a") for name in EMITTERS.values()}
        return {name: amps for name, amps in read.items() if amps is not None}


class ComparedCurrent(BaseModel):
    """One current of a pixel, as published and as measured. The difference is absent where nothing was published."""

    current: str
    published_ma: float
    measured_ma: float
    difference_percent: float | None
    matters: bool


class MeasuredPixelType(BaseModel):
    """The measured type, its currents beside the published ones, and in words whether the difference matters."""

    pixel_type: PixelType
    compared: tuple[ComparedCurrent, ...]
    verdict: str
    cautions: tuple[str, ...]


def measured_pixel_type(
    reading: MeterReading, like: PixelType, key: str | None = None, title: str | None = None
) -> MeasuredPixelType:
    """The type that `reading` tells of; what no meter shows (timing, colour order, lowest volts) is as of `like`.

    Raises InvalidError where the reading cannot be one of such pixels.
    """
    _require_possible(reading, like)
    idle_ma = _round(reading.idle_a / reading.pixels * 1e3)
    full_ma = _emitters_ma(reading, like)
    kind = like.model_copy(
        update={
            "key": key or f"{like.key[:31].rstrip('-')}-measured",
            "title": title or f"{like.title[: MAX_TITLE - 10]}, measured",
            "idle_ma": idle_ma,
            "full_ma": EmitterCurrents(**full_ma),
        }
    )
    typical_ma = min(_round(like.typical_ma * kind.full_pixel_ma / like.full_pixel_ma), MOST_MA)
    kind = kind.model_copy(update={"typical_ma": typical_ma, "sources": _sources(reading, like)})
    # Through the contract once more: a copy is not checked.
    kind = PixelType.model_validate_json(kind.model_dump_json())
    compared = _compared(kind, like)
    return MeasuredPixelType(
        pixel_type=kind,
        compared=compared,
        verdict=_verdict(kind, like, {one.current: one for one in compared}),
        cautions=tuple(_cautions(reading, like)),
    )


def _require_possible(reading: MeterReading, like: PixelType) -> None:
    mistakes = []
    if not like.full_pixel_ma:
        mistakes.append(Mistake("like", f"{like.key} publishes no currents", "name a type that does"))
    present = {EMITTERS[letter] for letter in like.colour_order}
    for name, amps in reading.alone_a.items():
        if name not in present:
            reason, remedy = f"{like.key} has no {name} emitter", "leave it out, or name the type that it is like"
            mistakes.append(Mistake(f"{name}_a", reason, remedy))
        elif amps < reading.idle_a:
            reason = f"{amps:g} A with {name} full, less than {reading.idle_a:g} A dark"
            mistakes.append(Mistake(f"{name}_a", reason, "read both again, idle included in each"))
    for field, amps in {"idle_a": reading.idle_a, "full_a": reading.full_a - reading.idle_a}.items():
        each_ma = amps / reading.pixels * 1e3
        if each_ma > MOST_MA:
            reason = f"it comes to {each_ma:.0f} mA a pixel, more than {MOST_MA:.0f}"
            mistakes.append(Mistake(field, reason, "check the number of pixels, and amps against milliamps"))
    if mistakes:
        raise InvalidError("no such pixels draw these currents", mistakes)


def _emitters_ma(reading: MeterReading, like: PixelType) -> dict[str, float]:
    published = like.full_ma.model_dump()
    names = [EMITTERS[letter] for letter in like.colour_order]
    lit_ma = (reading.full_a - reading.idle_a) / reading.pixels * 1e3
    alone_ma = {name: (amps - reading.idle_a) / reading.pixels * 1e3 for name, amps in reading.alone_a.items()}
    others = [name for name in names if name not in alone_ma]
    rest_ma = max(lit_ma - sum(alone_ma.values()), 0.0)
    if others:
        weights = {name: published[name] for name in others}
        whole = sum(weights.values())
        shared = {name: rest_ma * (weight / whole if whole else 1 / len(others)) for name, weight in weights.items()}
    else:
        # The worst case must not be below what was read with all of them full.
        raised = max(1.0, lit_ma / sum(alone_ma.values())) if any(alone_ma.values()) else 1.0
        shared = {name: ma * raised for name, ma in alone_ma.items()}
    return {name: min(_round(ma), MOST_MA) for name, ma in (alone_ma | shared).items()}


def _sources(reading: MeterReading, like: PixelType) -> PixelTypeSources:
    run = f"measured on {reading.on.isoformat()}: {reading.pixels} pixels at {reading.volts:g} V"
    alone = list(reading.alone_a)
    how = f"; {', '.join(alone)} alone too" if alone else f"; shared out over the colours as {like.key} has it"
    base = like.sources or PixelTypeSources(otherwise=f"as {like.key}")
    return base.model_copy(
        update={
            "idle_ma": f"{run}, {reading.idle_a:g} A dark"[:MAX_TEXT],
            "full_ma": f"{run}, {reading.full_a:g} A with every emitter full{how}"[:MAX_TEXT],
            "typical_ma": f"{base.of('typical_ma')}; in proportion to the measured worst case"[:MAX_TEXT],
        }
    )


def _compared(kind: PixelType, like: PixelType) -> tuple[ComparedCurrent, ...]:
    published, measured = like.full_ma.model_dump(), kind.full_ma.model_dump()
    names = [name for letter, name in EMITTERS.items() if letter in like.colour_order]
    return (
        _compare("idle", like.idle_ma, kind.idle_ma),
        *(_compare(name, published[name], measured[name]) for name in names),
        _compare("worst case", like.full_pixel_ma, kind.full_pixel_ma),
    )


def _compare(current: str, published_ma: MilliAmps, measured_ma: MilliAmps) -> ComparedCurrent:
    percent = (measured_ma / published_ma - 1) * 100 if published_ma else None
    return ComparedCurrent(
        current=current,
        published_ma=_round(published_ma),
        measured_ma=_round(measured_ma),
        difference_percent=None if percent is None else round(percent, 1),
        matters=measured_ma > 0 if percent is None else abs(percent) > MATTERS_PERCENT,
    )


def _verdict(kind: PixelType, like: PixelType, compared: dict[str, ComparedCurrent]) -> str:
    worst, idle = compared["worst case"], compared["idle"]
    percent = worst.difference_percent or 0.0
    more = "more" if percent > 0 else "less"
    said = f"At full a pixel draws {abs(percent):.0f} % {more} than published"
    if not worst.matters:
        sentence = f"{said}, which does not matter: reels of one kind differ by up to {MATTERS_PERCENT:.0f} %."
    elif percent > 0:
        sentence = (
            f"{said}, which matters: budgets, wires and fuses worked out from {like.key} are too small. Use {kind.key}."
        )
    else:
        sentence = (
            f"{said}, which matters: {like.key} is on the safe side, and dimmer under a budget than it need be. "
            f"Use {kind.key} where all the reels are this kind."
        )
    if idle.matters:
        sentence += (
            f" Dark it draws {idle.measured_ma:g} mA and not {idle.published_ma:g}: over 1,000 pixels "
            f"{idle.measured_ma:g} A and not {idle.published_ma:g}, all night."
        )
    return sentence


def _cautions(reading: MeterReading, like: PixelType) -> list[str]:
    found = []
    if reading.volts < like.minimum_volts:
        found.append(
            f"{reading.volts:g} V is below the lowest working volts ({like.minimum_volts:g} V): the current may have "
            "fallen. Measure a shorter run, or closer to its supply."
        )
    elif reading.volts > like.volts * 1.1:
        found.append(f"{reading.volts:g} V is more than a supply of {like.volts:g} V should give: check it first.")
    alone = reading.alone_a
    if len(alone) == like.emitters:
        sum_a = sum(alone.values()) - reading.idle_a * (len(alone) - 1)
        if sum_a > reading.full_a * (1 + MATTERS_PERCENT / 100):
            found.append(
                f"The colours alone add up to {sum_a:.2f} A, but all together draw {reading.full_a:g} A: the far end "
                "lacks volts when everything is full. Measure a shorter run; the colours alone were taken."
            )
    return found


def _round(milliamps: float) -> float:
    """To the microamp: finer than any meter."""
    return round(milliamps, 3)
