"""Rollouts in two steps and in batches, the timetable that goes out by itself, and the reconciler."""

from hub.rollout.machine_timing import RolloutTiming
from hub.rollout.plan import DEFAULT_FADE_MS, BatchSize, HealthGates, RolloutPlan, Selection
from hub.rollout.service import RolloutService
from hub.rollout.snapshot import InForce, Prepared
from hub.rollout.venues import VenueSource
from hub.rollout.view import RolloutView

__all__ = [
    "DEFAULT_FADE_MS",
    "BatchSize",
    "HealthGates",
    "InForce",
    "Prepared",
    "RolloutPlan",
    "RolloutService",
    "RolloutTiming",
    "RolloutView",
    "Selection",
    "VenueSource",
]
