"""What a look is, and which roles zones may play in one."""

from typing import Annotated, Final, Literal, get_args

from pydantic import BaseModel, Field, model_validator

import node_agent.render  # noqa: F401 (loads the patterns, without which no layer can be read)
from schemas.bounds import MAX_LAYERS
from schemas.contract import Contract, Id, Text, Title
from schemas.scene import Layer

Role = Literal["front", "lines", "uprights", "openings", "accent", "ceiling", "sign"]


class LookZones(Contract):
    """Which zone plays which role. A role without a zone is left out of the scene; `front` alone is enough."""

    front: Annotated[Id, Field(description="All that is to be lit; the other roles lie within it, or beside it.")]
    lines: Annotated[Id | None, Field(description="What runs level: bands, cornices, sills, the edges of shelves.")] = (
        None
    )
    uprights: Annotated[Id | None, Field(description="What stands: pilasters, columns, corners.")] = None
    openings: Annotated[Id | None, Field(description="What one goes or looks through: arches, doors, windows.")] = None
    accent: Annotated[Id | None, Field(description="What shall be noticed first: a clock, a counter, a window.")] = None
    ceiling: Annotated[
        Id | None, Field(description="What is overhead: a foyer's ceiling, the underside of a canopy.")
    ] = None
    sign: Annotated[Id | None, Field(description="Rows of pixels one above another, close enough to be read.")] = None

    def of(self, role: Role) -> str | None:
        """The zone that plays a role."""
        zone: str | None = getattr(self, role)
        return zone


ROLES: Final[tuple[Role, ...]] = get_args(Role)


class RoleOfLook(BaseModel):
    """A role that a look has something for."""

    role: Role
    description: str
    required: bool


class LookLayer(Layer):
    """A layer over whatever zone plays the role that `zone` names."""

    zone: Role


class Look(Contract):
    """A scene for any venue: lengths are metres, and what shall scale with a zone is measured against the zone."""

    id: Id
    title: Title
    place: Annotated[Title, Field(description="The kind of place and hour that it is for.")]
    note: Annotated[Text, Field(description="What it looks like, and why one would want it.")]
    layers: Annotated[tuple[LookLayer, ...], Field(min_length=1, max_length=MAX_LAYERS)]

    @model_validator(mode="after")
    def _begins_with_the_front(self) -> "Look":
        if self.layers[0].zone != "front":
            raise ValueError("the lowest layer lies over `front`, so that every look lights all of it")
        return self

    @property
    def roles(self) -> tuple[RoleOfLook, ...]:
        """The roles that its layers name."""
        named = {layer.zone for layer in self.layers}
        return tuple(
            RoleOfLook(role=role, description=field.description or "", required=field.is_required())
            for role in ROLES
            if role in named
            for field in [LookZones.model_fields[role]]
        )
