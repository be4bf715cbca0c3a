"""Timetable rules: what a venue's entries mean in show time, why a scene is on, a month's calendar, iCalendar."""

from hub.timetable.compile import timed_takes
from hub.timetable.left_out import left_out_entries
from hub.timetable.month import month_of
from hub.timetable.rule import RuleError, check_rule
from hub.timetable.why import explain

__all__ = ["RuleError", "check_rule", "explain", "left_out_entries", "month_of", "timed_takes"]
