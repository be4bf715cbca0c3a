"""What of show time survives a power cut."""

from typing import Annotated

from pydantic import Field

from schemas.contract import Contract, ShowTimeMs


class KeptClock(Contract):
    """The last show time that something vouched for, and the drift of the board's crystal where it was measured."""

    show_time_ms: ShowTimeMs
    drift_ppm: Annotated[float, Field(ge=-1_000, le=1_000)] | None = None
