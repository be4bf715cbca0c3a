"""Desired state of nodes, compiled from a venue and a scene."""

from hub.desired.choices import Choices, Chosen
from hub.desired.compile import compile_bodies
from hub.desired.document import CompiledNode, compile_documents, desired_payload, oversized_bodies, show_another
from hub.desired.flatten import extent_of
from hub.desired.join import JoinedVenue, join_bodies

__all__ = [
    "Choices",
    "Chosen",
    "CompiledNode",
    "JoinedVenue",
    "compile_bodies",
    "compile_documents",
    "desired_payload",
    "extent_of",
    "join_bodies",
    "oversized_bodies",
    "show_another",
]
