"""The base of every contract: strict, frozen, no unknown fields, finite numbers only; and the shared field types."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from schemas.bounds import MAX_TEXT, MAX_TITLE


class Contract(BaseModel):
    """A value that crosses a boundary of the system. Enter it through JSON (`model_validate_json`)."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


Id = Annotated[
    str,
    StringConstraints(pattern=r"^[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?$", max_length=40),
    Field(description="Lower-case letters, digits and inner hyphens, 1 to 40 characters; safe in topics and paths."),
]
# No control characters: these texts reach terminals and logs.
Title = Annotated[str, StringConstraints(min_length=1, max_length=MAX_TITLE, pattern=r"^[^\x00-\x1f\x7f-\x9f]+$")]
PersonName = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=MAX_TITLE, pattern=r"^[^\x00-\x1f\x7f-\x9f]+$"),
]
Text = Annotated[str, StringConstraints(max_length=MAX_TEXT, pattern=r"^[^\x00-\x08\x0b-\x1f\x7f-\x9f]*$")]
Sha256 = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
Token = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{8,32}$")]
Revision = Annotated[int, Field(ge=1, le=2**53 - 1, description="Counts up per venue; a higher revision is newer.")]
ShowTimeMs = Annotated[int, Field(ge=0, le=2**53 - 1, description="Show time: the hub's clock, Unix epoch, ms.")]
Amps = Annotated[float, Field(ge=0, le=1_000)]
ChannelNumber = Annotated[int, Field(ge=1, le=4, description="As printed on the wiring sheet, from 1.")]
