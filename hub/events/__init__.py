"""The event bus and server-sent events."""

from hub.events.bus import Event, EventBus, Subscription

__all__ = ["Event", "EventBus", "Subscription"]
