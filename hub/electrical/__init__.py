"""The audit of supplies, feeds and runs."""

from hub.electrical.figures import Draw, Verdict, verdict_of
from hub.electrical.report import Standing, Told, audit_of, standing_of
from hub.electrical.service import AuditService, amps_now
from hub.electrical.view import Audit

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
