"""What the nodes said, and the one thread that applies it."""

from hub.fleet.inbox import Message
from hub.fleet.loop import FleetListener, FleetLoop, Publisher
from hub.fleet.state import FleetState, NodeState

__all__ = ["FleetListener", "FleetLoop", "FleetState", "Message", "NodeState", "Publisher"]
