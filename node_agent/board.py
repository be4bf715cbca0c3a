"""Which data outputs this board has, what they can carry, and how they are opened."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final, Protocol

from node_agent.board_figures import Tree
from node_agent.outputs import CaptureHeader, CaptureOutput, Encoder, Output, OutputError, open_spi
from node_agent.outputs.spi import BUFSIZ_FILE, check_frame_fits, read_bufsiz
from schemas import DesiredChannel
from schemas.bounds import OUTPUTS_PER_NODE

PIXEL_LAYERS_LIMIT: Final = 200_000
"""Pixels x layers that a board is trusted to render in a frame unless its owner says otherwise."""


class Board(Protocol):
    """A board as staging and the data lines see it."""

    @property
    def outputs(self) -> int: ...
    @property
    def pixel_layers_limit(self) -> int: ...
    @property
    def system(self) -> Tree:
        """By which its operating system tells figures of the board."""
        ...

    @property
    def blocks(self) -> bool:
        """Whether sending a frame takes its wire time, so that each data line needs a thread of its own."""
        ...

    def data_line(self, pin: str) -> str:
        """The data line that the pin puts its bits on: pins with the same one cannot drive a run each."""
        ...

    def check(self, pin: str, encoder: Encoder) -> None:
        """Raises OutputError where the board lacks the pin or the pin cannot take the encoder's frames."""
        ...

    def open(self, channel: DesiredChannel, encoder: Encoder) -> Output:
        """Raises OutputError where the pin cannot be opened."""
        ...


@dataclass(frozen=True, slots=True)
class SpiBoard:
    """A Linux board that drives its data lines from SPI devices."""

    outputs: int = OUTPUTS_PER_NODE
    pixel_layers_limit: int = PIXEL_LAYERS_LIMIT
    devices: Path = Path("/dev")
    bufsiz_file: Path = BUFSIZ_FILE
    blocks: bool = True
    system: Tree = Tree()  # noqa: RUF009 it holds no state

    def data_line(self, pin: str) -> str:
        """Ports of one bus, such as spidev0.0 and spidev0.1, differ in their select only, which stays unwired."""
        return pin.partition(".")[0]

    def check(self, pin: str, encoder: Encoder) -> None:
        if not (self.devices / pin).exists():
            present = sorted(path.name for path in self.devices.glob("spidev*"))
            raise OutputError(
                f"pin {pin}",
                f"this board has no {pin}; it has {', '.join(present) or 'no SPI port at all'}",
                "enable SPI in the board's configuration, or name a pin that the board has",
            )
        if encoder.in_one_piece:
            check_frame_fits(pin, encoder.frame_bytes, read_bufsiz(self.bufsiz_file))

    def open(self, channel: DesiredChannel, encoder: Encoder) -> Output:
        return open_spi(channel.pin, encoder)


@dataclass(frozen=True, slots=True)
class RehearsalBoard:
    """No board: each channel's bytes go to `channel-N.capture` in a folder, whatever the pin."""

    folder: Path
    outputs: int = OUTPUTS_PER_NODE
    pixel_layers_limit: int = PIXEL_LAYERS_LIMIT
    blocks: bool = False
    system: Tree = Tree()  # noqa: RUF009 it holds no state

    def data_line(self, pin: str) -> str:
        return pin

    def check(self, pin: str, encoder: Encoder) -> None:
        """Any pin takes any frame."""

    def open(self, channel: DesiredChannel, encoder: Encoder) -> Output:
        header = CaptureHeader(pixel_type=channel.pixel_type, pixels=channel.pixels, clock_hz=encoder.clock_hz)
        return CaptureOutput(capture_file(self.folder, channel.number), header)


def capture_file(folder: Path, channel_number: int) -> Path:
    """Where a rehearsal's channel goes."""
    return folder / f"channel-{channel_number}.capture"
