"""Budgets shared over nodes: who may draw how much of a supply now, moved without ever exceeding it."""

from hub.budgets.service import BudgetService

__all__ = ["BudgetService"]
