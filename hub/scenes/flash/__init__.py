"""Flash safety: scenes held against the published thresholds of general and red flashes."""

from hub.scenes.flash.check import USUAL_DISTANCE_M, check_flashes
from hub.scenes.flash.report import FlashFinding, FlashReport, FlashVerdict

__all__ = ["USUAL_DISTANCE_M", "FlashFinding", "FlashReport", "FlashVerdict", "check_flashes"]
