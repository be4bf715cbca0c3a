"""Telemetry stored in batches."""

from hub.telemetry.service import TelemetryService

__all__ = ["TelemetryService"]
