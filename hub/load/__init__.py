"""How many amps each supply carried, and for how long: its highest and its 95th percentile, from telemetry."""

from hub.load.service import LoadService
from hub.load.table import SupplyLoad

__all__ = ["LoadService", "SupplyLoad"]
