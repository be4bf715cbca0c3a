"""Energy that each node drew from each supply by day, counted from the boards' own counters."""

from hub.energy.service import EnergyService

__all__ = ["EnergyService"]
