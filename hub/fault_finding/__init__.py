"""Guided fault finding: from what is seen on a run, by questions and test patterns, to what to mend and to carry."""

from hub.fault_finding.service import FaultFindingService

__all__ = ["FaultFindingService"]
