"""The self-check of a rehearsal: what the product promises, proved on the running parts, line by line."""

import math
import os
import random
import signal
import statistics
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import httpx
import psutil

from hub.rehearsal.processes import ChildFailedError
from hub.rehearsal.rehearsal import Rehearsal

SILENT_WITHIN_S = 3.0
# No board may leave its pixels without a frame for longer, whatever dies around it.
LONGEST_GAP_S = 1.0
POWER_CUTS = 6
FULL_WHITE_FRAMES = 100


@dataclass(frozen=True, slots=True)
class Proof:
    """One promise: whether it held, and the figures measured."""

    promise: str
    held: bool
    figures: str


def prove(rehearsal: Rehearsal, started_in_s: float) -> Iterator[Proof]:
    """Each promise in turn. One that cannot even be measured counts as not held and ends the check."""
    yield Proof(
        f"{len(rehearsal.boards)} boards came up and show the opening scene",
        True,
        f"{started_in_s:.1f} s from the start",
    )
    scenes = {scene.id for scene in rehearsal.venue.scenes}
    for promise in _PROMISES:
        if not promise.scenes <= scenes or (promise.needs_slow_board and rehearsal.slow_board is None):
            continue
        try:
            held, figures = promise.measure(rehearsal)
        except (ChildFailedError, httpx.HTTPError) as error:
            yield Proof(promise.words, False, str(error))
            return
        yield Proof(promise.words, held, figures)


def prove_stopped(rehearsal: Rehearsal) -> Proof:
    """Stops the rehearsal and looks for what it may have left running."""
    parts = psutil.Process().children(recursive=True)
    began = time.monotonic()
    rehearsal.stop()
    stopped_in_s = time.monotonic() - began
    _gone, left = psutil.wait_procs(parts, timeout=2.0)
    names = ", ".join(f"{process.pid}" for process in left)
    figures = f"{len(parts)} processes stopped in {stopped_in_s:.1f} s" + (f"; left behind: {names}" if left else "")
    return Proof("stopping leaves no process behind", not left, figures)


def _take_together(rehearsal: Rehearsal) -> tuple[bool, str]:
    since_s = time.time()
    rollout = rehearsal.take("frost", fade_ms=1000)
    rehearsal.wait("every board reports the scene", rehearsal.all_in_force, 15.0)
    starts_ms = sorted(start * 1000 for start in _first_frames(rehearsal, since_s, rollout["revision"]).values())
    skew_ms = starts_ms[-1] - starts_ms[0]
    median_ms = statistics.median(starts_ms)
    late_ms = max(abs(start - median_ms) for start in starts_ms)
    held = rollout["state"] == "taken" and len(starts_ms) == len(rehearsal.boards)
    return held, (
        f"{len(starts_ms)} boards, first frames within {skew_ms:.1f} ms of each other "
        f"(farthest from the median {late_ms:.1f} ms), by the capture files' time stamps"
    )


def _refuse_together(rehearsal: Rehearsal) -> tuple[bool, str]:
    since_s = time.time()
    before = _showing(rehearsal)
    rollout = rehearsal.take("every-lamp-at-once")
    refusals = rollout["refusals"]
    changed = [node for node, showing in _showing(rehearsal).items() if showing != before[node]]
    captured = _first_frames(rehearsal, since_s, rollout["revision"])
    held = rollout["state"] == "halted" and bool(refusals) and not changed and not captured
    words = "; ".join(f"{refusal['node']}: {refusal['field']}: {refusal['reason']}" for refusal in refusals)
    return (
        held,
        f"{rollout['state']}, {len(changed)} boards changed, {len(captured)} put a frame of it on a wire; {words}",
    )


def _silent_once(rehearsal: Rehearsal) -> tuple[bool, str]:
    node = next(iter(rehearsal.boards))
    known = {finding["id"] for finding in rehearsal.findings(kind="silent", node=node)}

    def told() -> list[dict[str, Any]]:
        return [finding for finding in rehearsal.findings(kind="silent", node=node) if finding["id"] not in known]

    killed_at = time.monotonic()
    rehearsal.boards[node].kill()
    rehearsal.wait(f"{node} is found silent", lambda: bool(told()), SILENT_WITHIN_S * 3)
    told_in_s = time.monotonic() - killed_at
    rehearsal.start_board(node)
    rehearsal.wait(f"{node} is back in the scene in force", rehearsal.all_in_force, 20.0)
    rehearsal.wait("the finding ends", lambda: all(finding["ended_at_ms"] for finding in told()), 20.0)
    findings = told()
    held = told_in_s <= SILENT_WITHIN_S and len(findings) == 1
    return held, f"{node} killed: told in {told_in_s:.2f} s, {len(findings)} finding, ended when it came back by itself"


def _outlive_the_broker(rehearsal: Rehearsal) -> tuple[bool, str]:
    since_s = time.time()
    broker = rehearsal.broker_pid()
    if broker is None:
        return False, "the hub has no broker process"
    os.kill(broker, signal.SIGKILL)
    rehearsal.wait("the hub starts another broker", lambda: rehearsal.broker_pid() not in (broker, None), 20.0)
    another_since_s = time.time()
    rehearsal.wait("every board is heard again", lambda: rehearsal.all_heard_since(another_since_s), 40.0)
    back_in_s = time.time() - since_s
    rehearsal.wait("every board shows the scene in force", rehearsal.all_in_force, 20.0)
    gap_s = _longest_gap_s(rehearsal, since_s)
    return gap_s <= LONGEST_GAP_S, (
        f"all {len(rehearsal.boards)} heard again {back_in_s:.1f} s after the kill; "
        f"longest gap between frames {gap_s:.2f} s"
    )


def _outlive_the_hub(rehearsal: Rehearsal) -> tuple[bool, str]:
    node = next(iter(rehearsal.boards))
    findings = rehearsal.findings(kind="silent", node=node)
    rollouts = rehearsal.call("GET", "/rollouts", params={"limit": 20})["items"]
    since_s = time.time()
    rehearsal.hub.kill()
    rehearsal.start_hub()
    restarted_s = time.time()
    rehearsal.wait("every board is adopted again", lambda: rehearsal.all_heard_since(restarted_s), 40.0)
    back_in_s = time.time() - since_s
    rehearsal.wait("every board shows the scene in force", rehearsal.all_in_force, 20.0)
    same = (
        rehearsal.findings(kind="silent", node=node) == findings
        and rehearsal.call("GET", "/rollouts", params={"limit": 20})["items"] == rollouts
    )
    gap_s = _longest_gap_s(rehearsal, since_s)
    return same and gap_s <= LONGEST_GAP_S, (
        f"findings and rollouts {'the same' if same else 'DIFFER'}; all adopted {back_in_s:.1f} s after the kill; "
        f"longest gap between frames {gap_s:.2f} s"
    )


def _survive_power_cuts(rehearsal: Rehearsal) -> tuple[bool, str]:
    node = list(rehearsal.boards)[1]
    scenes = ("slow-tide", "evening")
    whole: list[bool] = []
    for cut in range(POWER_CUTS):
        before = rehearsal.node_states()[node]["revision_showing"]
        revision = rehearsal.begin_take(scenes[cut % 2])
        time.sleep(random.uniform(0.0, 0.4))  # noqa: S311 (a moment of no consequence)
        rehearsal.boards[node].kill()
        back_since_s = time.time()
        rehearsal.start_board(node)
        rehearsal.wait_ended(revision)
        rehearsal.wait(f"{node} shows the scene in force", rehearsal.all_in_force, 25.0)
        shown = {each["revision"] for each in rehearsal.captured([node], back_since_s)[node]["revisions"]}
        whole.append(bool(shown) and shown <= {before, revision})
    return all(whole), (
        f"{node} killed {POWER_CUTS} times while it was given a revision: {whole.count(True)} times it "
        "came back with the old one or the new one, from its first frame on"
    )


def _keep_the_budget(rehearsal: Rehearsal) -> tuple[bool, str]:
    supply = next(each for each in rehearsal.call("GET", "/audit")["supplies"] if each["rated_a"] == 4.0)
    (node,) = supply["nodes"]
    since_s = time.time()
    revision = rehearsal.take("full-white", fade_ms=500)["revision"]
    rehearsal.wait(
        f"{node} shows {FULL_WHITE_FRAMES} frames of full white",
        lambda: _frames_of(rehearsal, node, since_s, revision) >= FULL_WHITE_FRAMES,
        20.0,
    )
    highest_a = rehearsal.captured([node], since_s)[node]["highest_a"]
    supply = next(each for each in rehearsal.call("GET", "/audit")["supplies"] if each["supply"] == supply["supply"])
    # Far below the budget it would be something else than full white that was kept under it.
    used = 0.9 * supply["budget_a"] < highest_a <= supply["budget_a"] + 1e-9
    return used and supply["verdict"] == "only-under-budget", (
        f"{supply['supply']}: {supply['pixels']} pixels, {supply['rated_a']:.1f} A, budget {supply['budget_a']:.1f} A; "
        f"worst case {supply['worst_case_a']:.1f} A, typical {supply['typical_a']:.1f} A; "
        f"highest captured frame {highest_a:.3f} A. {supply['reason']}"
    )


def _first_frames(rehearsal: Rehearsal, since_s: float, revision: int) -> dict[str, float]:
    """Wall-clock time of each board's first frame of a revision, for boards that showed it."""
    return {
        node: shown["first_written_at_s"]
        for node, captured in rehearsal.captured(rehearsal.boards, since_s).items()
        for shown in captured["revisions"]
        if shown["revision"] == revision
    }


def _frames_of(rehearsal: Rehearsal, node: str, since_s: float, revision: int) -> int:
    """Frames of a revision that a board put on its wires, each channel's counted."""
    shown = rehearsal.captured([node], since_s)[node]["revisions"]
    return sum(each["frames"] for each in shown if each["revision"] == revision)


def _longest_gap_s(rehearsal: Rehearsal, since_s: float) -> float:
    """Longest time that any channel was without a frame, from `since_s` until now; endless where it never had one."""
    until_s = time.time()
    captured = rehearsal.captured(rehearsal.boards, since_s).values()
    return max(
        math.inf
        if each["last_written_at_s"] is None
        else max(each["longest_gap_s"], until_s - each["last_written_at_s"])
        for each in captured
    )


def _showing(rehearsal: Rehearsal) -> dict[str, int | None]:
    return {node: state["revision_showing"] for node, state in rehearsal.node_states().items()}


@dataclass(frozen=True, slots=True)
class _Promise:
    """What is promised, what measures it, and what a rehearsal must have for it to be measured there."""

    words: str
    measure: Callable[[Rehearsal], tuple[bool, str]]
    scenes: frozenset[str] = frozenset()
    needs_slow_board: bool = False


_PROMISES = (
    _Promise("a scene is taken by every board at one instant", _take_together, frozenset({"frost"})),
    _Promise(
        "a scene that one board refuses changes nothing anywhere",
        _refuse_together,
        frozenset({"every-lamp-at-once"}),
        needs_slow_board=True,
    ),
    _Promise("a dead board is told within 3 s, once, and needs no help to return", _silent_once),
    _Promise("the pixels outlive the broker", _outlive_the_broker),
    _Promise("the boards outlive the hub, and the hub remembers", _outlive_the_hub),
    _Promise(
        "a power cut while storing leaves the old state or the new",
        _survive_power_cuts,
        frozenset({"evening", "slow-tide"}),
    ),
    _Promise(
        "full white on a 4 A supply stays under its budget in every frame", _keep_the_budget, frozenset({"full-white"})
    ),
)
