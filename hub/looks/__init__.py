"""Looks: scenes that fit any venue. Their layers name roles, and a venue says which of its zones plays each."""

from hub.looks.library import look_of, looks
from hub.looks.look import Look, LookZones, RoleOfLook
from hub.looks.making import scene_of

__all__ = ["Look", "LookZones", "RoleOfLook", "look_of", "looks", "scene_of"]
