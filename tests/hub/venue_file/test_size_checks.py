"""Scenes that would not fit the documents of the nodes are told at the layer that weighs most."""

import base64
import random
import zlib

from hub.desired import Choices, Chosen, compile_documents
from hub.venue_file import check_venue, read_venue_file
from node_agent.render.patterns.picture import Picture
from schemas.scene import Layer, Scene
from tests.hub.venue_file.test_reading import GOOD


def _picture(columns: int) -> Picture:
    """Of noise, which no packing makes smaller."""
    points = random.Random(1).randbytes(3 * columns * 60)
    image = base64.b64encode(zlib.compress(points)).decode()
    return Picture(pattern="picture", columns=columns, rows=60, image=image)


def test_pictures_that_are_too_much_for_a_node_are_told_before_they_are_rolled_out() -> None:
    venue = read_venue_file(GOOD)
    small, large = (Layer(zone="lintel", pattern=_picture(columns)) for columns in (60, 68))
    scenes = [Scene(id=f"film-{number}", title="Film", layers=(small,) * 16) for number in range(2)]
    fits = venue.model_copy(update={"scenes": (*venue.scenes, *scenes)})
    assert check_venue(fits) == []
    compile_documents(fits, Choices(Chosen(None)), 5.0)

    one_more = Scene(id="film-2", title="Film", layers=(*(small,) * 7, large))
    (mistake,) = check_venue(fits.model_copy(update={"scenes": (*fits.scenes, one_more)}))
    assert mistake.field == "scenes[3].layers[7]"
    assert "node 'front' a document of" in mistake.reason
    assert "make it smaller" in mistake.remedy
