"""Electrical rules: copper, wires, fuses, and volts and amps of a venue as a network. Pure."""

from hub.electrical.circuits import Circuits, RunCircuit, venue_circuits
from hub.electrical.levels import Level, PixelAmps, pixel_amps

__all__ = ["Circuits", "Level", "PixelAmps", "RunCircuit", "pixel_amps", "venue_circuits"]
