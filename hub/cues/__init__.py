"""Cue lists in hand: an evening run cue by cue, with those that follow by themselves."""

from hub.cues.service import CueService

__all__ = ["CueService"]
