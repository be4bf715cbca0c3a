"""The controls for the person on the spot: go, back, blackout, work light, and back to the timetable."""

from hub.controls.service import ControlService

__all__ = ["ControlService"]
