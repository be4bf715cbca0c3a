"""The patterns, one a file: place and show time in, colour and cover out."""

from node_agent.render.patterns.light import Light, TimedLight
from node_agent.render.patterns.prepare import prepare

__all__ = ["Light", "TimedLight", "prepare"]
