"""Findings: rules, table, service, routes."""

from hub.health.service import HealthService

__all__ = ["HealthService"]
