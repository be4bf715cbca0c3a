"""Telemetry stored in batches; highest amps per supply."""
