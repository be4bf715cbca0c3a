"""The hub's MQTT connection."""

from hub.link.link import Link

__all__ = ["Link"]
