"""What nodes, supplies and venues told over time: raw for a day, by the minute for a month, by the hour for years."""

from hub.history.levels import HistoryLevel
from hub.history.quantities import Quantity, SubjectKind
from hub.history.series import Series
from hub.history.service import HistoryService

__all__ = ["HistoryLevel", "HistoryService", "Quantity", "Series", "SubjectKind"]
