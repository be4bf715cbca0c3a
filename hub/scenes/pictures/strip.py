"""Still pictures: a scene's instants one below another, and many scenes on one sheet."""

import io
from collections.abc import Sequence
from typing import Final

from PIL import Image, ImageDraw

from hub.paper.typeface import Weight
from hub.scenes.elevation import elevation_of, points_of
from hub.scenes.lights import VenueLights
from hub.scenes.pictures.front import NightFront
from hub.scenes.pictures.lettering import SOFT_INK, letter, show_time
from hub.scenes.pictures.moments import light_at, spread, window_on
from hub.scenes.pictures.size import check_bytes, check_points
from hub.scenes.pictures.view import USUAL_PX
from schemas import Scene

_GROUND: Final = (12, 12, 14)
_EDGE_PX: Final = 12
_TITLE_PX: Final = 34
_TIME_PX: Final = 20
_ROW_PX: Final = 30


def scene_strip(lights: VenueLights, scene: Scene, *, instants: int = 6, width_px: int = USUAL_PX) -> bytes:
    """PNG: the front at `instants` show times, spread over the scene's period, each lettered with its time.

    What stands still is drawn once. Raises InvalidError for more points than a picture may have.
    """
    front = NightFront(points_of(elevation_of(lights.venue)), width_px)
    window = window_on(lights, scene)
    times_s = spread(window, instants)
    high = front.view.height_px + _TIME_PX
    check_points(width_px, high, len(times_s))
    sheet = Image.new("RGB", (width_px, _TITLE_PX + high * len(times_s)), _GROUND)
    pen = ImageDraw.Draw(sheet)
    title = f"{scene.title} · {lights.venue.title or lights.venue.id}"
    letter(pen, (_EDGE_PX, 23), title, size_px=15, room_px=width_px - 2 * _EDGE_PX, weight=Weight.SEMIBOLD)
    for number, at_s in enumerate(times_s):
        top = _TITLE_PX + high * number
        told = show_time(at_s, window.length_s) if window.length_s else "stands still"
        letter(pen, (_EDGE_PX, top + 13), told, size_px=12, room_px=width_px - 2 * _EDGE_PX, ink=SOFT_INK)
        sheet.paste(Image.fromarray(front.draw(light_at(lights, scene, at_s))), (0, top + _TIME_PX))
    return _png(sheet)


def contact_sheet(rows: Sequence[tuple[str, VenueLights, Scene]], instants: int = 8, *, front_px: int = 260) -> bytes:
    """PNG: a row a scene, its title and `instants` show times spread over its period, fronts `front_px` wide.

    Raises InvalidError for more points than a picture may have.
    """
    drawn_on: dict[int, NightFront] = {}  # by the zones that lights of one venue share
    for _, lights, _ in rows:
        if id(lights.venue.zones) not in drawn_on:
            drawn_on[id(lights.venue.zones)] = NightFront(points_of(elevation_of(lights.venue)), front_px)
    fronts = [drawn_on[id(lights.venue.zones)] for _, lights, _ in rows]
    wide = _EDGE_PX + (front_px + _EDGE_PX) * instants
    heights = [front.view.height_px + _ROW_PX + _TIME_PX for front in fronts]
    check_points(wide, sum(heights) + _EDGE_PX, 1)
    sheet = Image.new("RGB", (wide, sum(heights) + _EDGE_PX), _GROUND)
    pen = ImageDraw.Draw(sheet)
    top = 0
    for (title, lights, scene), front, height in zip(rows, fronts, heights, strict=True):
        letter(pen, (_EDGE_PX, top + 22), title, size_px=15, room_px=wide - 2 * _EDGE_PX, weight=Weight.SEMIBOLD)
        window = window_on(lights, scene)
        for number, at_s in enumerate(spread(window, instants)):
            left = _EDGE_PX + (front_px + _EDGE_PX) * number
            told = show_time(at_s, window.length_s) if window.length_s else "stands still"
            letter(pen, (left, top + _ROW_PX + 12), told, size_px=11, room_px=front_px, ink=SOFT_INK)
            drawn = front.draw(light_at(lights, scene, at_s))
            sheet.paste(Image.fromarray(drawn), (left, top + _ROW_PX + _TIME_PX))
        top += height
    return _png(sheet)


def _png(sheet: Image.Image) -> bytes:
    file = io.BytesIO()
    sheet.save(file, "PNG", optimize=False, compress_level=6)
    return check_bytes(file.getvalue())
