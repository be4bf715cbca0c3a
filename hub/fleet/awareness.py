"""State awareness: what a node's word means for its state. Pure but for the `NodeState` given.

The rules follow chapters 4 to 6 of the Sparkplug 3.0 specification, with our own payloads: a birth names boot and
session; a death counts only for the session that it names; words of another session change nothing; the first word of
a node in an unknown state, a word of another session, and a gap in the sequence numbers each ask for rebirth.

A broker publishes a will by itself, and MQTT orders only what one client publishes on one topic (3.1.1, section 4.6):
a death can overtake the birth of its own session. The death is remembered, and the late birth then counts for nothing.
"""

from enum import StrEnum

from hub.fleet.state import Boot, NodeState
from schemas import Presence, Reported, Telemetry

SEQUENCE_MODULUS = 256
_LATE = SEQUENCE_MODULUS // 2


class Verdict(StrEnum):
    """What became of a message."""

    APPLIED = "applied"
    OTHER_SESSION = "other-session"
    DEAD_SESSION = "dead-session"
    UNKNOWN_STATE = "unknown-state"


_APPLIED = Verdict.APPLIED  # a member of an enumeration is looked up slowly in Python 3.11


def apply_presence(state: NodeState, presence: Presence, now_s: float, *, retained: bool) -> Verdict:
    """Birth or death. A retained birth names the session but proves no life: the node must speak once itself."""
    named = presence.boot_id, presence.session
    if presence.state == "offline":
        state.dead_session = named
        if state.session is not None and named != (state.boot_id, state.session):
            return Verdict.OTHER_SESSION
        state.presence = presence
        state.boot_id, state.session = named
        state.agent_version = presence.agent_version
        state.online = False
        state.needs_rebirth = False
        state.died_at_s = None if retained else now_s
        return Verdict.APPLIED
    if named == state.dead_session:
        return Verdict.DEAD_SESSION
    if named != (state.boot_id, state.session):
        state.next_sequence = None
        if not retained:
            state.connections.append(now_s)
    if not retained and (not state.boots or state.boots[-1].boot_id != presence.boot_id):
        state.boots.append(Boot(presence.boot_id, now_s))
    state.dead_session = None
    state.presence = presence
    state.boot_id, state.session = named
    state.agent_version = presence.agent_version
    if retained:
        state.needs_rebirth = not state.online
        return Verdict.APPLIED
    state.born_at_s = now_s
    _speaks(state, now_s)
    state.needs_rebirth = False
    return Verdict.APPLIED


def apply_reported(state: NodeState, reported: Reported, now_s: float, *, retained: bool) -> Verdict:
    """What the node holds and shows, if its living session says so; a retained one tells what a dead node held."""
    if retained and (reported.boot_id, reported.session) == state.dead_session:
        state.reported = reported
        return Verdict.APPLIED
    verdict = _session_verdict(state, reported.boot_id, reported.session)
    if verdict is Verdict.APPLIED:
        state.reported = reported
        if not retained:
            _speaks(state, now_s)
    return verdict


def apply_telemetry(state: NodeState, telemetry: Telemetry, now_s: float, skipped: int = 0) -> Verdict:
    """A telemetry message; a gap before it is counted and asks for rebirth, the figures count all the same.

    `skipped` messages before it reached the hub and were dropped there: they are no gap. Nor is one that comes late or
    twice: its number lies half of all numbers ahead, or more.
    """
    verdict = _session_verdict(state, telemetry.boot_id, telemetry.session)
    if verdict is not _APPLIED:
        return verdict
    expected, sequence, lost = state.next_sequence, telemetry.sequence, 0
    following = (sequence + 1) % SEQUENCE_MODULUS
    if expected is not None and sequence != expected:
        lost = (sequence - expected - skipped) % SEQUENCE_MODULUS
        if lost >= _LATE:
            lost, following = 0, expected
        elif lost:
            state.sequence_gaps += 1
            state.needs_rebirth = True
    state.next_sequence = following
    state.arrivals.add(now_s, lost)
    state.telemetry = telemetry
    state.telemetry_at_s = now_s
    _speaks(state, now_s)
    return Verdict.APPLIED


def _session_verdict(state: NodeState, boot_id: str, session: int) -> Verdict:
    if (boot_id, session) == state.dead_session:
        return Verdict.DEAD_SESSION
    if state.session is None:
        state.needs_rebirth = True
        return Verdict.UNKNOWN_STATE
    if (boot_id, session) != (state.boot_id, state.session):
        state.needs_rebirth = True
        return Verdict.OTHER_SESSION
    return _APPLIED


def _speaks(state: NodeState, now_s: float) -> None:
    state.online = True
    state.heard_at_s = now_s
