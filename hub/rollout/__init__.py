"""Rollouts in two steps, and the reconciler."""

from hub.rollout.machine import RolloutTiming
from hub.rollout.service import DEFAULT_FADE_MS, RolloutService, VenueSource
from hub.rollout.snapshot import InForce, Prepared
from hub.rollout.view import RolloutView

__all__ = ["DEFAULT_FADE_MS", "InForce", "Prepared", "RolloutService", "RolloutTiming", "RolloutView", "VenueSource"]
