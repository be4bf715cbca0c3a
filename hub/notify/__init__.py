"""Notification: who is told of findings, by mail, chat, webhook; told once, tried again until it arrives."""

from hub.notify.pulse import LoopPulse
from hub.notify.service import NotifyService

__all__ = ["LoopPulse", "NotifyService"]
