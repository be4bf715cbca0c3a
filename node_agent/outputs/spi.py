"""The data line on a Linux SPI port: the port's data pin carries the bits, its clock those of clocked pixels only, its
select stays unwired.

The spidev package opens the port and sets it up. Frames go out by `os.write` on its file descriptor, for two reasons
found in the source of spidev 3.8: its own `writebytes2` splits what is longer than 65,535 bytes even where the kernel
would take it whole, and a pause between two transfers can pass for the reset and latch half a frame; the kernel, asked
directly, takes a frame whole or refuses it. Clocked pixels wait through a pause, so their long frames are split here.
Both release Python's global lock while the transfer runs, so a thread
that sends does not hold up the others.
"""

import contextlib
import errno
import importlib
import os
import re
from pathlib import Path
from typing import Final, Protocol

from node_agent.outputs.encoder import Encoder
from node_agent.outputs.output import OutputError, WireFrame

BUFSIZ_FILE: Final = Path("/sys/module/spidev/parameters/bufsiz")
DEFAULT_BUFSIZ: Final = 4096  # of the kernel's driver, where it does not say
_PIN: Final = re.compile(r"spidev(\d{1,3})\.(\d{1,3})")


class SpiPort(Protocol):
    """An open port, as the spidev package gives it."""

    def fileno(self) -> int: ...
    def close(self) -> None: ...


class SpiOutput:
    """Sends frames to an open port; `open_spi` opens one. The wire time is spent inside `send`.

    Frames go out whole, or in parts of at most `part_bytes`.
    """

    def __init__(self, pin: str, port: SpiPort, part_bytes: int | None = None) -> None:
        self._pin, self._port, self._part_bytes = pin, port, part_bytes
        self._descriptor: int | None = port.fileno()

    def send(self, frame: WireFrame) -> None:
        if self._descriptor is None:
            raise OutputError(f"pin {self._pin}", "the port is closed", "open it again")
        data = memoryview(frame.data)
        step = self._part_bytes or len(data)
        for first in range(0, len(data), step):
            self._write(self._descriptor, data[first : first + step])

    def close(self) -> None:
        if self._descriptor is not None:
            self._descriptor = None
            self._port.close()

    def _write(self, descriptor: int, data: memoryview) -> None:
        try:
            written = os.write(descriptor, data)
        except OSError as error:
            raise _refused(self._pin, error, len(data)) from error
        if written != len(data):
            raise OutputError(
                f"pin {self._pin}", f"the port took {written} of {len(data)} bytes", _raise_bufsiz(len(data))
            )


def open_spi(pin: str, encoder: Encoder) -> SpiOutput:
    """Opens the port that `pin` names, such as spidev0.0, for the encoder's frames.

    Raises OutputError when the pin names no port, the spidev package or the device is missing, its permissions or its
    clock do not allow it, or the kernel's buffer is too small for a frame that must go out in one transfer.
    """
    match = _PIN.fullmatch(pin)
    if match is None:
        raise OutputError(f"pin {pin}", "names no SPI port", "write spidevB.C, such as spidev0.0; `ls /dev/spidev*`")
    bufsiz = read_bufsiz(BUFSIZ_FILE)
    if encoder.in_one_piece:
        check_frame_fits(pin, encoder.frame_bytes, bufsiz)
    try:
        spidev = importlib.import_module("spidev")
    except ImportError as error:
        raise OutputError(
            f"pin {pin}", "the spidev package is not installed", "pip install 'stringcourse[board]'"
        ) from error
    port = spidev.SpiDev()
    try:
        port.open(int(match[1]), int(match[2]))
        port.mode = 0
        port.bits_per_word = 8
        port.max_speed_hz = encoder.clock_hz
    except OSError as error:
        with contextlib.suppress(OSError):
            port.close()
        raise _not_opened(pin, error, encoder.clock_hz) from error
    return SpiOutput(pin, port, None if encoder.in_one_piece else bufsiz)


def read_bufsiz(file: Path) -> int:
    """The largest transfer that the kernel's spidev driver takes in one piece, bytes."""
    try:
        return int(file.read_text())
    except (OSError, ValueError):
        return DEFAULT_BUFSIZ


def check_frame_fits(pin: str, frame_bytes: int, bufsiz: int) -> None:
    """Raises OutputError when a frame would need two transfers: the pause between them can latch half a frame."""
    if frame_bytes > bufsiz:
        raise OutputError(
            f"pin {pin}",
            f"a frame of {frame_bytes} bytes does not fit into the kernel's SPI buffer of {bufsiz} bytes",
            _raise_bufsiz(frame_bytes),
        )


def _raise_bufsiz(frame_bytes: int) -> str:
    enough = max(65_536, 1 << (frame_bytes - 1).bit_length())
    return (
        f"add spidev.bufsiz={enough} to the kernel's command line, or `options spidev bufsiz={enough}` to a file in "
        "/etc/modprobe.d, and restart the board; or use fewer pixels"
    )


def _not_opened(pin: str, error: OSError, clock_hz: int) -> OutputError:
    device, field = f"/dev/{pin}", f"pin {pin}"
    if error.errno == errno.ENOENT:
        return OutputError(field, f"there is no {device}", "enable SPI in the board's configuration and restart it")
    if error.errno in (errno.EACCES, errno.EPERM):
        return OutputError(
            field,
            f"no permission for {device}",
            f"add this user to the group that owns it (`stat -c %G {device}`) and log in again",
        )
    if error.errno == errno.ENOTTY:
        return OutputError(field, f"{device} is not an SPI port", "name another; `ls /dev/spidev*`")
    if error.errno == errno.EBUSY:
        return OutputError(field, f"{device} is in use", "stop the other program, or name another port")
    return OutputError(field, f"{device} at {clock_hz} Hz: {error.strerror}", "check that the port allows this clock")


def _refused(pin: str, error: OSError, frame_bytes: int) -> OutputError:
    if error.errno == errno.EMSGSIZE:
        return OutputError(f"pin {pin}", f"the kernel refused {frame_bytes} bytes", _raise_bufsiz(frame_bytes))
    return OutputError(f"pin {pin}", f"sending failed: {error.strerror}", "check the port and the kernel's log")
