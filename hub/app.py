"""Wires the rooms into one hub and one FastAPI application; holds no rules of its own."""

from dataclasses import dataclass

from fastapi import Request
from sqlalchemy import Engine

from hub.settings import Settings


@dataclass(slots=True)
class Hub:
    """The services of a running hub, as routes reach them. Each room adds its service here, by one field."""

    settings: Settings
    engine: Engine


def hub_of(request: Request) -> Hub:
    """FastAPI dependency: the hub behind this application."""
    hub: Hub = request.app.state.hub
    return hub
