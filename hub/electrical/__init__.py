"""The audit of supplies."""

from hub.electrical.figures import Draw, Verdict, verdict_of
from hub.electrical.service import AuditService, amps_now, audit_of
from hub.electrical.view import Audit

__all__ = ["Audit", "AuditService", "Draw", "Verdict", "amps_now", "audit_of", "verdict_of"]
