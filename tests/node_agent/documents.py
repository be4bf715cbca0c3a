"""Valid desired documents for the agent's tests: one base, changed one field at a time."""

from typing import Any

from node_agent.render.patterns.wash import Wash
from schemas import (
    PIXEL_CATALOGUE,
    Budget,
    Desired,
    DesiredBody,
    DesiredChannel,
    DesiredZone,
    Extent,
    Feed,
    Grant,
    Layer,
    PlacedSpan,
    Scene,
    TakeTime,
    body_sha256,
)
from tests.conftest import NODES, VENUE

PIXELS = 30
RGB = PIXEL_CATALOGUE["rgb-5v-nrz800"]
CLOCKED = PIXEL_CATALOGUE["rgb-5v-clocked"]


def channel(number: int = 1, pixels: int = PIXELS, **changes: Any) -> DesiredChannel:  # noqa: ANN401 any field's value
    base: dict[str, Any] = {
        "number": number,
        "pin": f"spidev0.{number - 1}",
        "pixels": pixels,
        "pixel_type": RGB,
        "feeds": (Feed(supply="supply-1", wire_mm2=1.5, length_m=2.0),),
    }
    return DesiredChannel(**(base | changes))


def zone(pixels: int = PIXELS, channel_number: int = 1, **changes: Any) -> DesiredZone:  # noqa: ANN401
    length_m = pixels / 30
    span = PlacedSpan(
        channel=channel_number,
        first=0,
        pixels=pixels,
        path=((0.0, 3.0), (length_m, 3.0)),
        start_m=0.0,
        start_index=0,
    )
    extent = Extent(length_m=length_m, pixels=pixels, x_min_m=0.0, x_max_m=length_m, y_min_m=3.0, y_max_m=3.0)
    base: dict[str, Any] = {"id": "fascia", "extent": extent, "spans": (span,)}
    return DesiredZone(**(base | changes))


def scene(colour: str = "#ff0000", identifier: str = "evening") -> Scene:
    return Scene(
        id=identifier, title="Evening", layers=(Layer(zone="fascia", pattern=Wash(pattern="wash", colour=colour)),)
    )


def body(colour: str = "#ff0000", **changes: Any) -> DesiredBody:  # noqa: ANN401
    """One channel of 30 RGB pixels in one zone, one scene of one wash, a budget of 3.2 A, 25 frames/s."""
    base: dict[str, Any] = {
        "frame_rate_limit_hz": 25.0,
        "telemetry_interval_s": 0.5,
        "channels": (channel(),),
        "budgets": (Budget(supply="supply-1", budget_a=3.2),),
        "zones": (zone(),),
        "scenes": (scene(colour),),
        "showing": "evening",
    }
    return DesiredBody(**(base | changes))


def grant(number: int = 1, amps: float = 100.0, **changes: Any) -> Grant:  # noqa: ANN401
    """Leaves the body's budget as the only limit."""
    base: dict[str, Any] = {
        "venue": VENUE,
        "node": NODES[0],
        "number": number,
        "supplies": (Budget(supply="supply-1", budget_a=amps),),
    }
    return Grant(**(base | changes))


def desired(
    revision: int,
    content: DesiredBody | None = None,
    *,
    take: TakeTime | None = None,
    **changes: Any,  # noqa: ANN401
) -> Desired:
    content = content or body()
    base: dict[str, Any] = {
        "venue": VENUE,
        "node": NODES[0],
        "revision": revision,
        "sha256": body_sha256(content),
        "body": content,
        "take": take,
    }
    return Desired(**(base | changes))
