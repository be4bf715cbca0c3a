"""The event bus and server-sent events."""
