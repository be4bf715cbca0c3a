"""The length of a crossfade."""

from typing import Annotated, Final

from pydantic import Field

FADE_LIMIT_MS: Final = 600_000
FadeMs = Annotated[int, Field(ge=0, le=FADE_LIMIT_MS, description="crossfade from what shows, ms")]
