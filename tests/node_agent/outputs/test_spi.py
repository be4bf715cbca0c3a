"""The SPI port: what is refused before anything is sent, and that a frame goes out in one piece.

No SPI port exists on a development machine: opening one is tested up to the kernel's refusal, sending on real files.
"""

import errno
import os
import threading
from pathlib import Path

import pytest

from node_agent.outputs import OutputError, SpiOutput, WireFrame, encoder_for, open_spi
from node_agent.outputs.spi import DEFAULT_BUFSIZ, check_frame_fits, read_bufsiz
from schemas import PIXEL_CATALOGUE

ENCODER = encoder_for(PIXEL_CATALOGUE["rgb-5v-nrz800"], 10)


@pytest.mark.parametrize("pin", ["spidev", "spidev0", "gpio18", "spidev0.0/../mem", "spidev9999.0"])
def test_a_pin_that_names_no_port_is_refused(pin: str) -> None:
    with pytest.raises(OutputError, match=r"names no SPI port; write spidevB\.C"):
        open_spi(pin, ENCODER)


def test_a_missing_device_is_named_with_its_remedy() -> None:
    pytest.importorskip("spidev", reason="the SPI driver is not installed")
    with pytest.raises(OutputError) as caught:
        open_spi("spidev250.7", ENCODER)
    assert str(caught.value) == (
        "pin spidev250.7: there is no /dev/spidev250.7; enable SPI in the board's configuration and restart it"
    )
    assert isinstance(caught.value.__cause__, FileNotFoundError)


def test_a_frame_longer_than_the_kernels_buffer_is_refused_before_it_could_be_split() -> None:
    check_frame_fits("spidev0.0", 4096, 4096)
    with pytest.raises(OutputError, match=r"4097 bytes does not fit .* 4096 bytes; add spidev.bufsiz=65536"):
        check_frame_fits("spidev0.0", 4097, 4096)
    with pytest.raises(OutputError, match=r"spidev.bufsiz=131072"):
        check_frame_fits("spidev0.0", 70_000, 65_536)


def test_the_kernels_buffer_is_read_from_its_setting(tmp_path: Path) -> None:
    (tmp_path / "bufsiz").write_text("32768\n")
    assert read_bufsiz(tmp_path / "bufsiz") == 32_768
    assert read_bufsiz(tmp_path / "absent") == DEFAULT_BUFSIZ


def test_a_long_frame_goes_out_in_one_write() -> None:
    # A packet pipe keeps writes apart, as transfers on a port are apart.
    reader, writer = os.pipe2(os.O_DIRECT)
    data = bytes(range(256)) * 15
    with open(reader, "rb", buffering=0) as received, open(writer, "wb", buffering=0) as port:  # noqa: PTH123 descriptors
        output = SpiOutput("spidev0.0", port)
        output.send(WireFrame(memoryview(data), 0.0, None))
        output.send(WireFrame(b"next", 0.0, None))
        assert received.read(65_536) == data
        assert received.read(65_536) == b"next"


def test_a_frame_of_clocked_pixels_goes_out_in_parts_that_the_kernel_takes() -> None:
    reader, writer = os.pipe2(os.O_DIRECT)
    data = bytes(range(250)) * 10
    with open(reader, "rb", buffering=0) as received, open(writer, "wb", buffering=0) as port:  # noqa: PTH123 descriptors
        SpiOutput("spidev0.0", port, part_bytes=1024).send(WireFrame(memoryview(data), 0.0, None))
        assert [received.read(65_536) for _ in range(3)] == [data[:1024], data[1024:2048], data[2048:]]


def test_other_threads_run_while_a_frame_goes_out() -> None:
    reader, writer = os.pipe()
    data = bytes(1_000_000)  # more than a pipe holds: the write blocks until the reader below, another thread, has read
    received = bytearray()

    def read_all() -> None:
        while len(received) < len(data):
            received.extend(os.read(reader, 65_536))

    with open(writer, "wb", buffering=0) as port:  # noqa: PTH123
        thread = threading.Thread(target=read_all)
        thread.start()
        SpiOutput("spidev0.0", port).send(WireFrame(data, 0.0, None))
        thread.join(timeout=30)
    os.close(reader)
    assert len(received) == len(data)


def test_a_refusal_while_sending_is_an_output_error_with_its_cause(tmp_path: Path) -> None:
    (tmp_path / "port").touch()
    with (
        (tmp_path / "port").open("rb", buffering=0) as port,
        pytest.raises(OutputError, match=r"pin spidev0\.0: sending failed") as caught,
    ):
        SpiOutput("spidev0.0", port).send(WireFrame(b"frame", 0.0, None))
    assert isinstance(caught.value.__cause__, OSError)
    assert caught.value.__cause__.errno == errno.EBADF


def test_a_closed_port_says_so_and_may_be_closed_again(tmp_path: Path) -> None:
    output = SpiOutput("spidev0.0", (tmp_path / "port").open("wb", buffering=0))
    output.close()
    output.close()
    with pytest.raises(OutputError, match="the port is closed; open it again"):
        output.send(WireFrame(b"frame", 0.0, None))
