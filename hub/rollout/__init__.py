"""Rollouts in two steps, and the reconciler."""
