"""Whether the hub can do its work, for whoever restarts or routes around hubs: told to anyone, and told little."""

from hub.readiness.service import ReadinessService, ReadinessView

__all__ = ["ReadinessService", "ReadinessView"]
