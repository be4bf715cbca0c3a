"""Telemetry stored in batches; highest amps per supply."""

from hub.telemetry.service import TelemetryService

__all__ = ["TelemetryService"]
