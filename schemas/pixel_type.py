"""What a data sheet says of one kind of pixel, as far as wiring, encoding and the power estimate need it."""

import math
from typing import Annotated, Literal

from pydantic import Field, StringConstraints, model_validator

from schemas.bounds import MAX_LEDS_PER_PIXEL, MAX_TEXT
from schemas.contract import Contract, Id, Title

MicroSeconds = Annotated[float, Field(gt=0, le=1_000)]
MegaHertz = Annotated[float, Field(gt=0, le=100)]
MilliAmps = Annotated[float, Field(ge=0, le=200)]
Volts = Annotated[float, Field(gt=0, le=60)]
SourceText = Annotated[
    str,
    StringConstraints(min_length=1, max_length=MAX_TEXT, pattern=r"^[^\x00-\x1f\x7f-\x9f]+$"),
    Field(description="A data sheet and its issue, 'from memory', 'measured on DATE', 'common practice, no source'."),
]
ValueName = Literal[
    "volts", "minimum_volts", "colour_order", "timing", "refresh_hz", "idle_ma", "full_ma", "typical_ma"
]


class NrzTiming(Contract):
    """Single wire: high and low times of one bit, in microseconds, with the sheet's tolerance; a long low ends a frame.

    `reset_us` is that low, at its least.
    """

    protocol: Literal["nrz"]
    t0h_us: MicroSeconds
    t0l_us: MicroSeconds
    t1h_us: MicroSeconds
    t1l_us: MicroSeconds
    tolerance_us: Annotated[float, Field(gt=0, le=1)]
    reset_us: MicroSeconds

    @property
    def bit_us(self) -> float:
        """Length of a bit: the mean of the zero's and the one's periods."""
        return (self.t0h_us + self.t0l_us + self.t1h_us + self.t1l_us) / 2

    def pixel_us(self, colour_bits: int) -> float:
        """Time of a pixel of so many bits of colour on the data line."""
        return colour_bits * self.bit_us

    def frame_us(self, pixels: int, colour_bits: int) -> float:
        """Time of a frame, reset included."""
        return pixels * self.pixel_us(colour_bits) + self.reset_us


class ClockedTiming(Contract):
    """Two wires, data and clock: a start of zero bits, then of each pixel `111`, a level and the colours, then an end.

    Each pixel hands the data on half a clock late, so the far end needs further clock after the last colour: half a bit
    a pixel. The end is `end_bits` and those, all zero.
    """

    protocol: Literal["clocked"]
    clock_mhz: Annotated[MegaHertz, Field(description="The clock to drive it with; MHz.")]
    highest_clock_mhz: Annotated[MegaHertz, Field(description="The highest clock of the data sheet; MHz.")]
    start_bits: Annotated[int, Field(ge=8, le=256, multiple_of=8)]
    level_bits: Literal[5] = 5
    end_bits: Annotated[int, Field(ge=0, le=256, multiple_of=8)]
    end_bits_per_pixel: Annotated[float, Field(ge=0, le=8)]

    @model_validator(mode="after")
    def _keeps_below_the_highest_clock(self) -> "ClockedTiming":
        if self.clock_mhz > self.highest_clock_mhz:
            raise ValueError("clock_mhz must not exceed highest_clock_mhz")
        return self

    def pixel_us(self, colour_bits: int) -> float:
        """Time of a pixel of so many bits of colour: those, and a byte of mark and level before them."""
        return (8 + colour_bits) / self.clock_mhz

    def end_bytes(self, pixels: int) -> int:
        """Bytes of zeros after the last pixel."""
        return math.ceil((self.end_bits + pixels * self.end_bits_per_pixel) / 8)

    def frame_us(self, pixels: int, colour_bits: int) -> float:
        """Time of a frame, start and end included, in whole bytes."""
        return (self.start_bits + 8 * self.end_bytes(pixels)) / self.clock_mhz + pixels * self.pixel_us(colour_bits)


Timing = Annotated[NrzTiming | ClockedTiming, Field(discriminator="protocol")]


class EmitterCurrents(Contract):
    """Full-scale current of each emitter of a pixel, mA; `white` only where the pixel has a fourth emitter."""

    red: MilliAmps
    green: MilliAmps
    blue: MilliAmps
    white: MilliAmps = 0.0


class PixelTypeSources(Contract):
    """Where each value comes from; `otherwise` of those that have no text of their own.

    `volts` speaks for `leds_per_pixel` too, `minimum_volts` for `current_below_minimum`.
    """

    otherwise: SourceText
    volts: SourceText | None = None
    minimum_volts: SourceText | None = None
    colour_order: SourceText | None = None
    timing: SourceText | None = None
    refresh_hz: SourceText | None = None
    idle_ma: SourceText | None = None
    full_ma: SourceText | None = None
    typical_ma: SourceText | None = None

    def of(self, value: ValueName) -> str:
        """The source of one value of the pixel type."""
        own: str | None = getattr(self, value)
        return own or self.otherwise


class PixelType(Contract):
    """One kind of pixel, which is one address on the data line, however many LEDs its chip drives.

    `colour_order` is the order on the wire; its length is the number of emitters. Currents are those of a whole pixel.
    """

    key: Id
    title: Title
    volts: Volts
    minimum_volts: Annotated[Volts, Field(description="The lowest volts at the pixel with which it works.")]
    current_below_minimum: Annotated[
        Literal["unspecified", "falls"], Field(description="What the data sheet says of the current below those volts.")
    ] = "unspecified"
    colour_order: Annotated[str, StringConstraints(pattern=r"^[RGBW]{3,4}$")]
    bits_per_colour: Literal[8] = 8
    leds_per_pixel: Annotated[
        int, Field(ge=1, le=MAX_LEDS_PER_PIXEL, description="LEDs that show the one colour of an address together.")
    ] = 1
    timing: Timing
    refresh_hz: Annotated[
        float | None, Field(gt=0, le=100_000, description="How often the pixel itself redraws; absent if not known.")
    ] = None
    idle_ma: MilliAmps
    full_ma: EmitterCurrents
    typical_ma: Annotated[MilliAmps, Field(description="The trade's rule of thumb for a pixel in ordinary use.")]
    sources: Annotated[
        PixelTypeSources | None, Field(description="Required in a venue; boards get the type without them.")
    ] = None

    @model_validator(mode="after")
    def _orders_each_emitter_once(self) -> "PixelType":
        if sorted(self.colour_order) not in (sorted("RGB"), sorted("RGBW")):
            raise ValueError("colour_order must name R, G and B once each, and W at most once")
        if self.minimum_volts > self.volts:
            raise ValueError("minimum_volts must not exceed volts")
        return self

    @property
    def emitters(self) -> int:
        return len(self.colour_order)

    @property
    def colour_bits(self) -> int:
        """Bits of colour that a pixel takes from the data line."""
        return self.emitters * self.bits_per_colour

    @property
    def full_pixel_ma(self) -> float:
        """Worst case of one pixel: idle and every emitter at full scale, mA."""
        white = self.full_ma.white if "W" in self.colour_order else 0.0
        return self.idle_ma + self.full_ma.red + self.full_ma.green + self.full_ma.blue + white

    @property
    def pixel_us(self) -> float:
        """Time of one pixel on the data line, microseconds."""
        return self.timing.pixel_us(self.colour_bits)

    def wire_time_s(self, pixels: int) -> float:
        """Time that one frame of `pixels` occupies the data line, all that frames need before and after included."""
        return self.timing.frame_us(pixels, self.colour_bits) * 1e-6

    def without_sources(self) -> "PixelType":
        """As boards get it."""
        return self.model_copy(update={"sources": None})
