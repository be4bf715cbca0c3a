"""Picture: an image laid on the elevation."""

from fractions import Fraction
from typing import Annotated, Final, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, ValidationInfo, field_validator
from pydantic_core import PydanticCustomError

from node_agent.render.image import MAX_PACKED, MAX_POINTS, MAX_SIDE, linear_image, unpacked
from node_agent.render.patterns.light import Light, TimedLight
from node_agent.render.patterns.statement import MetresPerSecond, PatternStatement, exact
from node_agent.render.placement import Placement
from schemas import Extent

NO_WIDTH_M: Final = 0.001  # a zone that is narrower has no way to travel
SUN_OVER_THE_SEA: Final = "eNoTEDEQIAVpyQSQhKp0IjDR/wMJQIRV6kGCARr6f6EAjjBlJQwCMNGGBAcgwirFI2GAiRIsLIAIqxQAXShMJw=="
"""An example, 16 columns x 6 rows."""


class Picture(PatternStatement):
    """An image laid on the elevation, stretched over the zone from left to right and from top to bottom."""

    pattern: Literal["picture"]
    columns: Annotated[int, Field(ge=1, le=MAX_SIDE, description="How many points it has across.", examples=[16])]
    rows: Annotated[
        int,
        Field(
            ge=1, le=MAX_SIDE, description=f"How many it has down; at most {MAX_POINTS} points in all.", examples=[6]
        ),
    ]
    image: Annotated[
        str,
        Field(
            max_length=MAX_PACKED,
            description="Its points, row by row from the top, as sRGB bytes, packed with zlib and written in base64.",
            examples=[SUN_OVER_THE_SEA],
            json_schema_extra={"contentMediaType": "image/x-rgb", "contentEncoding": "base64"},
        ),
    ]
    speed_m_per_s: Annotated[
        MetresPerSecond,
        Field(description="How fast it travels to the right, coming in again at the left; negative runs to the left."),
    ] = 0.0

    @field_validator("rows")
    @classmethod
    def _within_bounds(cls, rows: int, info: ValidationInfo) -> int:
        columns = info.data.get("columns", 1)
        if columns * rows > MAX_POINTS:
            reason = "{columns} columns x {rows} rows are more than {most} points"
            remedy = f"make the image smaller: with {columns} columns, {MAX_POINTS // columns} rows at most"
            given = {"columns": columns, "rows": rows, "most": MAX_POINTS, "remedy": remedy}
            raise PydanticCustomError("picture", reason, given)
        return rows

    @field_validator("image")
    @classmethod
    def _holds_its_points(cls, image: str, info: ValidationInfo) -> str:
        if {"columns", "rows"} <= info.data.keys():
            unpacked(image, info.data["columns"], info.data["rows"])
        return image

    @property
    def weight(self) -> float:
        return 1.75 if self.speed_m_per_s else 1.0

    def light(self, placement: Placement) -> TimedLight:
        travelling = TravellingPicture(self, placement)
        return travelling if self.repeats_after_s(placement.extent) else travelling.standing()

    def repeats_after_s(self, extent: Extent) -> Fraction | None:
        width_m = exact(extent.x_max_m) - exact(extent.x_min_m)
        return width_m / abs(exact(self.speed_m_per_s)) if self.speed_m_per_s and width_m > NO_WIDTH_M else None


class TravellingPicture:
    """The outer rows of points lie on the zone's upper and lower edge, columns side by side from edge to edge.

    So an image with as many rows as the zone, and as many columns as pixels in a row, is shown point by pixel. Between
    points light is mixed linearly. Each height at which there are pixels has a row of its own, mixed once; a frame
    then mixes two columns.
    """

    def __init__(self, picture: Picture, placement: Placement) -> None:
        self._columns, extent = picture.columns, placement.extent
        points = linear_image(unpacked(picture.image, picture.columns, picture.rows), picture.columns, picture.rows)
        self._across = _share(placement.x_m - extent.x_min_m, extent.x_max_m - extent.x_min_m)
        heights, self._row = np.unique(
            _share(extent.y_max_m - placement.y_m, extent.y_max_m - extent.y_min_m), return_inverse=True
        )
        above = heights * (picture.rows - 1)
        upper = np.floor(above).astype(np.intp)
        lower = np.minimum(upper + 1, picture.rows - 1)
        part = (above - upper).astype(np.float32)[:, None]
        rows = points[:, upper] + part * (points[:, lower] - points[:, upper])
        # The first two columns once more behind the last: what follows it where it comes in again.
        self._stride = picture.columns + 2
        self._table = np.take(rows, np.arange(self._stride) % picture.columns, axis=2).reshape(3, -1)
        self._row *= self._stride
        width_m = extent.x_max_m - extent.x_min_m
        self._turns_per_s = picture.speed_m_per_s / width_m if width_m > NO_WIDTH_M else 0.0
        self._place = np.empty_like(self._across)
        self._floor = np.empty_like(self._across)
        self._index = np.empty(self._across.size, dtype=np.intp)
        self._part = np.empty(self._across.size, dtype=np.float32)
        self._next = np.empty((3, self._across.size), dtype=np.float32)
        self._light = Light(np.empty((3, self._across.size), dtype=np.float32))

    def standing(self) -> Light:
        """As it stands: beyond the middle of the outer columns their light goes on."""
        np.clip(self._across * self._columns - 0.5, 0.0, self._columns - 1.0, out=self._place)
        return self._mixed()

    def evaluate(self, show_time_s: float) -> Light:
        place = self._place
        np.add(self._across, -0.5 / self._columns - show_time_s * self._turns_per_s % 1.0, out=place)
        np.floor(place, out=self._floor)
        place -= self._floor
        place *= self._columns
        return self._mixed()

    def _mixed(self) -> Light:
        """The light at `_place`, in columns from the middle of the first."""
        index, near, far = self._index, self._light.colour, self._next
        np.copyto(index, self._place, casting="unsafe")
        np.subtract(self._place, index, out=self._part, casting="unsafe")
        index += self._row
        np.take(self._table, index, axis=1, out=near, mode="clip")
        index += 1
        np.take(self._table, index, axis=1, out=far, mode="clip")
        far -= near
        far *= self._part
        near += far
        return self._light


def _share(along_m: NDArray[np.float64], length_m: float) -> NDArray[np.float64]:
    """0 to 1 along the length; the middle where there is none."""
    return np.clip(along_m / length_m, 0.0, 1.0) if length_m > 0 else np.full_like(along_m, 0.5)
