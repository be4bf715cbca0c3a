"""The audit of a venue: its supplies' figures, volts along its runs, its feeds and fuses, and what to see to."""

from hub.audit.figures import Draw, Verdict, verdict_of
from hub.audit.report import Standing, Told, audit_of, standing_of
from hub.audit.service import AuditService, amps_now
from hub.audit.view import Audit

__all__ = [
    "Audit",
    "AuditService",
    "Draw",
    "Standing",
    "Told",
    "Verdict",
    "amps_now",
    "audit_of",
    "standing_of",
    "verdict_of",
]
