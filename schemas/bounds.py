"""Every bound on what may enter the system, so that no message, file or call can be larger than planned."""

from typing import Final

MAX_TEXT: Final = 400
MAX_TITLE: Final = 80

MAX_NODES: Final = 10_000
MAX_SUPPLIES: Final = 20_000
MAX_ZONES: Final = 2_000
MAX_SPANS_PER_ZONE: Final = 2_000
MAX_PATH_POINTS: Final = 64
MAX_SCENES: Final = 64
MAX_LAYERS: Final = 16
MAX_SPOT_SPANS: Final = 64
MAX_RAMP_STOPS: Final = 16
MAX_PIXEL_TYPES: Final = 64
MAX_LEDS_PER_PIXEL: Final = 64

OUTPUTS_PER_NODE: Final = 4
MAX_PIXELS_PER_RUN: Final = 4_096
MAX_FEEDS_PER_RUN: Final = 32
MAX_ZONES_PER_NODE: Final = 128
MAX_TRIMS_PER_RUN: Final = 256
MAX_SUPPLIES_PER_GRANT: Final = OUTPUTS_PER_NODE * MAX_FEEDS_PER_RUN

MAX_DESIRED_BYTES: Final = 512 * 1024
MAX_MESSAGE_BYTES: Final = 16 * 1024
MAX_VENUE_FILE_BYTES: Final = 8 * 1024 * 1024

TELEMETRY_INTERVAL_S: Final = 5.0
