"""The fleet's figures for whoever collects metrics, in the OpenMetrics text format."""

from hub.metrics.service import MetricsService

__all__ = ["MetricsService"]
