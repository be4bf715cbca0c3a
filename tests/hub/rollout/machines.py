"""Rollout machines over three nodes, for tests."""

from hub.rollout.machine import Course, RolloutMachine
from hub.rollout.machine_timing import RolloutTiming
from schemas import Held
from tests.hub.rollout.words import SHA_A, SHA_B

REVISION = 7
OURS, OTHER = Held(revision=REVISION, sha256=SHA_A), Held(revision=REVISION, sha256=SHA_B)
BEFORE = Held(revision=6, sha256=SHA_A)
NODES = ("bay-01", "bay-02", "bay-03")
TIMING = RolloutTiming()
CANARY: tuple[tuple[str, ...], ...] = (NODES[:1], NODES[1:])


def machine_of(batches: tuple[tuple[str, ...], ...], course: Course = Course()) -> RolloutMachine:  # noqa: B008 (frozen)
    return RolloutMachine(REVISION, batches, dict.fromkeys(NODES, OURS), TIMING, course)
