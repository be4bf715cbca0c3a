"""Every pattern, as what shows and as a mask, is the same on every way that a scene goes: file, snapshot, document."""

from hub.desired import Choices, Chosen, compile_documents, desired_payload, extent_of
from hub.rollout.snapshot import Snapshot, snapshot_document
from hub.venue_file import check_venue, read_venue, read_venue_file, write_venue
from schemas import Desired, LinearColour, TemperatureColour
from schemas.pattern import PATTERNS
from schemas.scene import Layer, Scene
from schemas.venue import Venue
from tests.hub.venue_file.test_reading import GOOD
from tests.hub.venue_file.venues import PATTERN_EXAMPLES, changed

WASH = next(one for one in PATTERN_EXAMPLES if one.pattern == "wash")
COLOURS = ("#0a0b0c", "rebeccapurple", LinearColour(linear=(0.1, 1e-7, 1.0)), TemperatureColour(kelvin=2700.5))


def _venue() -> Venue:
    """The kiosk with every example that fits a zone of it, which has rows one above another."""
    kiosk = read_venue_file(GOOD)
    extent = extent_of([*kiosk.zones[0].spans, *kiosk.zones[1].spans])
    fitting = [one for one in PATTERN_EXAMPLES if not any(one.misfits(extent))]
    assert {one.pattern for one in fitting} == set(PATTERNS)
    layers = [
        *(Layer(zone="whole", pattern=one, mask=WASH, blend="multiply") for one in fitting),
        *(Layer(zone="whole", pattern=WASH, mask=one, time_scale=-0.5, phase_s=1.25) for one in fitting),
        *(Layer(zone="whole", pattern=WASH.model_copy(update={"colour": colour})) for colour in COLOURS),
    ]
    scenes = tuple(
        Scene(id=f"part-{start}", title="Part", layers=tuple(layers[start : start + 16]))
        for start in range(0, len(layers), 16)
    )
    venue: Venue = changed(kiosk, scenes=scenes, opening_scene=None)
    return venue


def test_every_pattern_survives_every_way_that_a_scene_goes() -> None:
    venue = _venue()
    assert check_venue(venue) == []
    assert read_venue(write_venue(venue).encode()) == venue
    assert Venue.model_validate_json(venue.model_dump_json()) == venue
    snapshot = Snapshot(venue=venue, telemetry_interval_s=5.0)
    assert Snapshot.model_validate_json(snapshot_document(snapshot)[0]) == snapshot
    compiled = compile_documents(venue, Choices(Chosen(None)), 5.0)["front"]
    document = Desired.model_validate_json(desired_payload("kiosk", "front", 1, compiled, None))
    assert document.body.scenes[: len(venue.scenes)] == venue.scenes
