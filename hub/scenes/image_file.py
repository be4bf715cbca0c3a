"""An image file made small enough for a scene: averaged in linear light, so that fine patterns stay as bright."""

import io
import warnings
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps

from hub.errors import InvalidError, Mistake
from hub.scenes.lights import srgb_codes
from node_agent.render import linear_from_srgb
from node_agent.render.image import MAX_POINTS, MAX_SIDE, packed_image
from node_agent.render.patterns.picture import Picture

FORMATS: Final = ("PNG", "JPEG", "WEBP")
MAX_FILE_BYTES: Final = 32 * 1024 * 1024
MAX_FILE_POINTS: Final = 40_000_000
"""More than cameras make. One colour of it in linear light is then 160 MB, for a moment."""

_LINEAR_OF_CODE: Final = linear_from_srgb(np.arange(256) / 255.0).astype(np.float32)


def picture_of_file(file: Path, columns: int, rows: int | None) -> Picture:
    """The pattern that shows the image, what is transparent in it as black.

    Without `rows` it has as many as keep its proportions, within what a scene may carry. Raises InvalidError where the
    file is no image, or is too large.
    """
    with _opened(file) as image:
        rows = rows or min(max(round(columns * image.height / image.width), 1), MAX_SIDE, MAX_POINTS // columns)
        if columns * rows > MAX_POINTS:
            reason = f"{columns} columns x {rows} rows are more than {MAX_POINTS} points"
            remedy = f"with {columns} columns, at most {MAX_POINTS // columns} rows"
            raise InvalidError("the picture is too large", [Mistake("rows", reason, remedy)])
        light = _averaged(image, columns, rows)
    return Picture(pattern="picture", columns=columns, rows=rows, image=packed_image(srgb_codes(light).tobytes()))


def _opened(file: Path) -> Image.Image:
    """The image, upright, as RGBA. Its size is looked at before any of it is unpacked."""
    try:
        with file.open("rb") as stream:
            content = stream.read(MAX_FILE_BYTES + 1)
    except OSError as error:
        raise _invalid(file, f"it cannot be read: {error.strerror}", "name a file that can be read") from error
    if len(content) > MAX_FILE_BYTES:
        raise _invalid(file, f"it has more than {MAX_FILE_BYTES // 1024**2} MiB", "make it smaller")
    try:
        with warnings.catch_warnings():
            # Pillow warns of images that unfold enormously; such a one is refused below, by its size.
            warnings.simplefilter("ignore")
            image = Image.open(io.BytesIO(content), formats=FORMATS)
            if image.width * image.height > MAX_FILE_POINTS:
                reason = f"its {image.width} x {image.height} points are more than {MAX_FILE_POINTS // 10**6} million"
                raise _invalid(file, reason, "make it smaller")
            return ImageOps.exif_transpose(image).convert("RGBA")
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        reason = "it is not an image that can be read"
        raise _invalid(file, reason, f"give one in {', '.join(FORMATS)} that is whole") from error


def _averaged(image: Image.Image, columns: int, rows: int) -> NDArray[np.float32]:
    """Linear RGB, shape (rows, columns, 3): each point the average of the part of the image that it stands for."""
    *colours, alpha = image.split()
    cover = np.asarray(alpha, dtype=np.float32) / np.float32(255)
    planes = []
    for colour in colours:
        light = Image.fromarray(_LINEAR_OF_CODE[np.asarray(colour)] * cover)
        planes.append(np.asarray(light.resize((columns, rows), Image.Resampling.BOX)))
    light_of_points: NDArray[np.float32] = np.clip(np.stack(planes, axis=-1), 0.0, 1.0)
    return light_of_points


def _invalid(file: Path, reason: str, remedy: str) -> InvalidError:
    return InvalidError(f"{file} cannot be made a picture", [Mistake("file", reason, remedy)])
