"""A running hub whose venue has a place and a time zone, shared by the tests of routes and command."""

from collections.abc import Iterator

import pytest

from schemas import Place, Venue
from tests.conftest import VENUE
from tests.hub.live_hub import LiveHub, open_live_hub
from tests.hub.timetable.planned import VIENNA


@pytest.fixture(scope="package")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveHub]:
    with open_live_hub(tmp_path_factory.mktemp("hub")) as opened:

        def placed(venue: Venue) -> Venue:
            place = Place(latitude_deg=VIENNA[0], longitude_deg=VIENNA[1])
            return venue.model_copy(update={"place": place, "time_zone": "Europe/Vienna"})

        opened.hub.inventory.change(VENUE, placed)
        yield opened
