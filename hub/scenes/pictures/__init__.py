"""Pictures of a scene on its front at night: PNG strips and contact sheets, animated GIF and WebP."""

from hub.scenes.pictures.animation import Animation, Format, gif, scene_animation, webp
from hub.scenes.pictures.front import NightFront
from hub.scenes.pictures.moments import Moments, moments_of
from hub.scenes.pictures.strip import contact_sheet, scene_strip

__all__ = [
    "Animation",
    "Format",
    "Moments",
    "NightFront",
    "contact_sheet",
    "gif",
    "moments_of",
    "scene_animation",
    "scene_strip",
    "webp",
]
