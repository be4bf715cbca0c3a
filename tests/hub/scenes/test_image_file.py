"""Images from files into scenes, written by Pillow and read back from the pattern."""

import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from hub.errors import InvalidError
from hub.scenes.image_file import MAX_FILE_BYTES, picture_of_file
from node_agent.render.image import unpacked
from node_agent.render.patterns.picture import Picture

CODES = np.random.default_rng(5).integers(0, 256, (6, 10, 3), dtype=np.uint8)


def points(picture: Picture) -> NDArray[np.uint8]:
    codes = unpacked(picture.image, picture.columns, picture.rows)
    return np.frombuffer(codes, dtype=np.uint8).reshape(picture.rows, picture.columns, 3)


@pytest.mark.parametrize("suffix", ["png", "webp"])
def test_an_image_of_the_wanted_size_keeps_every_point(tmp_path: Path, suffix: str) -> None:
    Image.fromarray(CODES).save(tmp_path / f"image.{suffix}", lossless=True)
    picture = picture_of_file(tmp_path / f"image.{suffix}", 10, None)
    assert (picture.columns, picture.rows) == (10, 6)
    np.testing.assert_array_equal(points(picture), CODES)


def test_a_photograph_is_read_upright(tmp_path: Path) -> None:
    image = Image.new("RGB", (80, 40), "black")
    image.paste("red", (0, 0, 40, 40))
    exif = Image.Exif()
    exif[0x0112] = 6  # EXIF 2.3, Orientation: row 0 is on the right
    image.save(tmp_path / "photograph.jpg", exif=exif, quality=95)
    picture = picture_of_file(tmp_path / "photograph.jpg", 2, None)
    assert (picture.columns, picture.rows) == (2, 4)
    assert points(picture)[0, 0, 0] > 240
    assert points(picture)[-1, 0, 0] < 10


def test_a_fine_pattern_keeps_its_brightness_in_linear_light(tmp_path: Path) -> None:
    board = np.indices((64, 64)).sum(axis=0) % 2 * 255
    Image.fromarray(board.astype(np.uint8)).save(tmp_path / "board.png")
    # Half of the light is 188 of 255 in sRGB (IEC 61966-2-1), not 128.
    assert set(points(picture_of_file(tmp_path / "board.png", 4, 4)).ravel()) == {188}


def test_what_is_transparent_is_black_and_half_of_it_half_the_light(tmp_path: Path) -> None:
    image = Image.new("RGBA", (3, 1), "white")
    image.putalpha(Image.frombytes("L", (3, 1), bytes((0, 128, 255))))
    image.save(tmp_path / "image.png")
    assert points(picture_of_file(tmp_path / "image.png", 3, 1))[0, :, 0].tolist() == [0, 188, 255]


def test_rows_follow_the_proportions_within_what_a_scene_carries(tmp_path: Path) -> None:
    Image.new("RGB", (10, 400)).save(tmp_path / "tall.png")
    assert [picture_of_file(tmp_path / "tall.png", columns, None).rows for columns in (1, 64, 128)] == [40, 64, 32]
    Image.new("RGB", (4_000, 10)).save(tmp_path / "wide.png")
    assert picture_of_file(tmp_path / "wide.png", 64, None).rows == 1


def _png_of(width: int, height: int) -> bytes:
    """A PNG that states a size and holds next to nothing."""
    header = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    parts = b"\x89PNG\r\n\x1a\n"
    for part in (header, b"IDAT" + zlib.compress(bytes(1_000)), b"IEND"):
        parts += struct.pack(">I", len(part) - 4) + part + struct.pack(">I", zlib.crc32(part))
    return parts


FAULTS: dict[str, tuple[Callable[[], bytes], str]] = {
    "text": (lambda: b"not an image", "it is not an image that can be read"),
    "empty": (lambda: b"", "it is not an image that can be read"),
    "GIF": (lambda: b"GIF89a" + bytes(40), "it is not an image that can be read"),
    "bomb": (lambda: _png_of(9_000, 9_000), "its 9000 x 9000 points are more than 40 million"),
    "bomb beyond Pillow's own limit": (lambda: _png_of(60_000, 60_000), "it is not an image that can be read"),
    "cut off": (lambda: _png_of(500, 500), "it is not an image that can be read"),
    "large file": (lambda: bytes(MAX_FILE_BYTES + 1), "it has more than 32 MiB"),
}


@pytest.mark.parametrize(("content", "reason"), FAULTS.values(), ids=FAULTS)
def test_what_is_no_image_is_refused(tmp_path: Path, content: Callable[[], bytes], reason: str) -> None:
    file = tmp_path / "image.png"
    file.write_bytes(content())
    with pytest.raises(InvalidError) as caught:
        picture_of_file(file, 8, None)
    (mistake,) = caught.value.mistakes
    assert (mistake.field, mistake.reason) == ("file", reason)
    assert mistake.remedy


def test_a_folder_or_nothing_there_is_refused(tmp_path: Path) -> None:
    for file in (tmp_path, tmp_path / "gone.png"):
        with pytest.raises(InvalidError, match="cannot be made a picture"):
            picture_of_file(file, 8, None)
