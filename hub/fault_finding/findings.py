"""Which findings of the hub look like which symptom, so that a search may begin from a finding."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from hub.fault_finding.symptom import Symptom
from hub.health.kinds import FindingKind

FINDINGS: Final[Mapping[FindingKind, Symptom]] = MappingProxyType(
    {
        FindingKind.SILENT: Symptom.BOARD_SILENT,
        FindingKind.FLAPPING: Symptom.BOARD_SILENT,
        FindingKind.RESTARTING: Symptom.BOARD_SILENT,
        FindingKind.UNDER_VOLTED: Symptom.BOARD_SILENT,
        FindingKind.WEAK_SIGNAL: Symptom.BOARD_SILENT,
        FindingKind.LOST_TELEMETRY: Symptom.BOARD_SILENT,
        FindingKind.OVERLOADED: Symptom.TOO_DIM,
        FindingKind.LIMITED: Symptom.TOO_DIM,
        FindingKind.SLOW: Symptom.STUTTERS,
        FindingKind.HOT: Symptom.STUTTERS,
        FindingKind.THROTTLED: Symptom.STUTTERS,
        FindingKind.SKEWED: Symptom.STUTTERS,
        FindingKind.CLOCK_UNTRUSTED: Symptom.STUTTERS,
    }
)
"""Where to begin from a finding; kinds without an entry are mended at the desk."""
