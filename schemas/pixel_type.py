"""What a data sheet says of one kind of pixel, as far as wiring, encoding and the power estimate need it."""

from typing import Annotated, Literal

from pydantic import Field, StringConstraints, model_validator

from schemas.contract import Contract, Id, Text, Title

MicroSeconds = Annotated[float, Field(gt=0, le=1_000)]
MilliAmps = Annotated[float, Field(ge=0, le=200)]


class NrzTiming(Contract):
    """High and low times of one bit on a single-wire data line, in microseconds, with the sheet's tolerance."""

    protocol: Literal["nrz"] = "nrz"
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


class EmitterCurrents(Contract):
    """Full-scale current of each emitter of a pixel, mA; `white` only where the pixel has a fourth emitter."""

    red: MilliAmps
    green: MilliAmps
    blue: MilliAmps
    white: MilliAmps = 0.0


class PixelType(Contract):
    """One kind of pixel. `colour_order` is the order on the wire; its length is the number of emitters."""

    key: Id
    title: Title
    volts: Annotated[float, Field(gt=0, le=60)]
    minimum_volts: Annotated[float, Field(gt=0, le=60)]
    colour_order: Annotated[str, StringConstraints(pattern=r"^[RGBW]{3,4}$")]
    bits_per_colour: Literal[8] = 8
    timing: NrzTiming
    idle_ma: MilliAmps
    full_ma: EmitterCurrents
    typical_ma: Annotated[MilliAmps, Field(description="The trade's rule of thumb for a pixel in ordinary use.")]
    source: Annotated[Text, Field(min_length=1, description="Where the values come from.")]

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
    def full_pixel_ma(self) -> float:
        """Worst case of one pixel: idle and every emitter at full scale, mA."""
        white = self.full_ma.white if "W" in self.colour_order else 0.0
        return self.idle_ma + self.full_ma.red + self.full_ma.green + self.full_ma.blue + white

    @property
    def pixel_us(self) -> float:
        """Time of one pixel on the data line, microseconds."""
        return self.emitters * self.bits_per_colour * self.timing.bit_us

    def wire_time_s(self, pixels: int) -> float:
        """Time that one frame of `pixels` occupies the data line, reset included, seconds."""
        return (pixels * self.pixel_us + self.timing.reset_us) * 1e-6
