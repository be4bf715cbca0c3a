"""Timetable rules: what a venue's entries mean in show time, why a scene is on, a month's calendar, iCalendar."""

from hub.timetable.compile import timed_takes
from hub.timetable.rule import RuleError, check_rule

__all__ = ["RuleError", "check_rule", "timed_takes"]
