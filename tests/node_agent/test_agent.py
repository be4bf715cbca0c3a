"""Whole agents as processes, on a real broker: staging, takes, refusals, frames and telemetry."""

import itertools
import signal
import time

import pytest

from node_agent.outputs import DecodedClocked
from schemas import Budget, TakeTime
from tests.node_agent.documents import CLOCKED, PIXELS, body, channel, desired, zone
from tests.node_agent.running_agent import BLUE, GREEN, RED, HubSide, RunningAgent, first_pixel
from tests.processes import wait_until


def test_staged_revision_changes_nothing_until_its_take_and_then_starts_to_the_moment(
    agent: RunningAgent, hub: HubSide
) -> None:
    hub.bring_to_show(desired(1, body("#ff0000")))
    hub.publish_desired(desired(2, body("#00ff00")))
    wait_until(lambda: hub.has_staged(2), 5)
    assert hub.shows(1)
    at_ms = hub.publish_take(2, in_s=0.5)
    wait_until(lambda: hub.shows(2), 5)
    frames = agent.frames()
    first = next(frame for frame in frames if frame.revision == 2)
    # To the moment, unless the machine was busy elsewhere then; never before it.
    assert at_ms - 0.01 <= first.show_time_s * 1_000 < at_ms + 250
    assert first.written_at_s >= first.show_time_s
    for frame in frames:
        before = frame.show_time_s < first.show_time_s
        assert first_pixel(frame) == (RED if before else GREEN)
        assert frame.revision == (1 if before else 2)
    reported = hub.reported()
    assert reported is not None
    assert (reported.taken_at_ms, reported.staged) == (round(first.show_time_s * 1_000), None)
    assert reported.scene == "evening"


def test_frames_lie_on_the_grid_of_the_take_without_drift(agent: RunningAgent, hub: HubSide) -> None:
    hub.publish_desired(desired(1))
    wait_until(lambda: hub.has_staged(1), 5)
    at_ms = hub.publish_take(1)
    wait_until(lambda: len(agent.frames()) > 60, 10)
    times = [frame.show_time_s for frame in agent.frames()[1:]]
    slots = [(time_s - at_ms / 1_000) / 0.04 for time_s in times]
    assert slots == pytest.approx([round(slot) for slot in slots], abs=1e-3)
    assert all(later > earlier for earlier, later in itertools.pairwise(slots))


def test_take_in_the_document_is_taken_by_a_node_that_missed_the_message(agent: RunningAgent, hub: HubSide) -> None:
    document = desired(3, body("#0000ff"), take=TakeTime(at_ms=round(time.time() * 1_000) - 60_000, fade_ms=500))
    hub.publish_desired(document)
    wait_until(lambda: hub.shows(3), 5)
    assert first_pixel(agent.frames()[0]) == BLUE, "a fade whose window is over is skipped"


def test_crossfade_goes_from_what_showed_to_the_new_scene_in_linear_light(agent: RunningAgent, hub: HubSide) -> None:
    hub.bring_to_show(desired(1, body("#ff0000")))
    hub.publish_desired(desired(2, body("#0000ff")))
    wait_until(lambda: hub.has_staged(2), 5)
    at_ms = hub.publish_take(2, fade_ms=800)
    wait_until(lambda: agent.frames()[-1].show_time_s * 1_000 > at_ms + 1_000, 10)
    fading = [f for f in agent.frames() if at_ms / 1_000 <= f.show_time_s < at_ms / 1_000 + 0.8]
    assert len(fading) > 10
    for frame in fading:
        red, green, blue, _ = first_pixel(frame)
        share = (frame.show_time_s - at_ms / 1_000) / 0.8
        assert (red / 255, green, blue / 255) == pytest.approx((1 - share, 0, share), abs=0.03)
    assert first_pixel(agent.frames()[-1]) == BLUE


def test_refusal_names_revision_field_and_remedy_and_what_shows_stays(agent: RunningAgent, hub: HubSide) -> None:
    hub.bring_to_show(desired(1))
    hub.publish_desired(desired(2, body(showing="no-such-scene")))
    refusal = wait_until(hub.refusal, 5)
    assert (refusal.revision, refusal.field) == (2, "body.showing")
    assert refusal.remedy
    assert hub.shows(1)
    assert not hub.has_staged(2)
    hub.publish_take(2, in_s=0.0)
    hub.publish_desired(desired(3))
    wait_until(lambda: hub.has_staged(3), 5)
    assert hub.refusal() is None
    assert {frame.revision for frame in agent.frames()} == {1}


def test_revision_lower_than_the_one_that_shows_is_refused(hub: HubSide) -> None:
    hub.bring_to_show(desired(5))
    hub.publish_desired(desired(4, body("#00ff00"), take=TakeTime(at_ms=1)))
    refusal = wait_until(hub.refusal, 5)
    assert (refusal.revision, refusal.field) == (4, "revision")
    assert hub.shows(5)


def test_halted_rollout_is_called_off_when_the_revision_in_force_is_published_again(
    agent: RunningAgent, hub: HubSide
) -> None:
    shown = desired(1)
    hub.bring_to_show(shown)
    hub.publish_desired(desired(2, body("#00ff00")))
    wait_until(lambda: hub.has_staged(2), 5)
    hub.publish_take(2, in_s=1.5)
    hub.publish_desired(shown)
    wait_until(lambda: (r := hub.reported()) and r.staged is None, 5)
    end_s = time.time() + 2.0
    wait_until(lambda: agent.frames()[-1].show_time_s > end_s, 5)
    assert {frame.revision for frame in agent.frames()} == {1}


def test_telemetry_counts_up_from_the_birth_and_carries_the_draw_of_each_supply(hub: HubSide) -> None:
    hub.bring_to_show(desired(1, body("#ffffff")))
    wait_until(lambda: sum(t.revision == 1 for t in hub.telemetry()) >= 4, 10)
    telemetry = hub.telemetry()
    sequences = [message.sequence for message in telemetry]
    first = sequences[0]
    assert first <= 2  # the birth's own may have come before anybody listened
    assert sequences == list(range(first, first + len(sequences)))
    last = telemetry[-1]
    assert last.frame_rate_target_hz == 25
    assert last.frame_rate_hz == pytest.approx(25, rel=0.3)
    assert [supply.supply for supply in last.supplies] == ["supply-1"]
    assert last.supplies[0].amps == pytest.approx(PIXELS * 0.060, rel=0.02)
    assert last.supplies[0].highest_a <= 3.2


def test_wiring_that_changes_at_a_take_opens_and_darkens_channels(agent: RunningAgent, hub: HubSide) -> None:
    hub.bring_to_show(desired(1))
    two = body("#00ff00", channels=(channel(2, pixels=12),), zones=(zone(12, channel_number=2),))
    hub.bring_to_show(desired(2, two))
    wait_until(lambda: len(agent.frames(2)) > 3, 5)
    assert first_pixel(agent.frames(2)[-1]) == GREEN
    last = agent.frames(1)[-1]
    assert not last.decode().codes.any()


def test_clocked_run_shows_its_scene_within_the_budget(agent: RunningAgent, hub: HubSide) -> None:
    hub.bring_to_show(desired(1, body("#ffffff", channels=(channel(pixel_type=CLOCKED),))))
    wait_until(lambda: len(agent.frames()) > 5, 5)
    white = agent.frames()[-1].decode()
    assert isinstance(white, DecodedClocked)
    assert (white.codes[:, :3] == 255).all()  # 30 x 61 mA is within 3.2 A
    assert set(white.levels.tolist()) == {31}
    small = (Budget(supply="supply-1", budget_a=0.6),)
    hub.bring_to_show(desired(2, body("#ffffff", channels=(channel(pixel_type=CLOCKED),), budgets=small)))
    wait_until(lambda: sum(frame.revision == 2 for frame in agent.frames()) > 5, 5)
    held = [frame.decode().codes[:, :3].sum(dtype=int) for frame in agent.frames() if frame.revision == 2]
    amps = [PIXELS * 0.001 + int(codes) / 255 * 0.020 for codes in held]
    assert 0.5 < max(amps) <= 0.6


def test_agent_that_was_held_up_counts_late_frames_and_is_on_its_grid_again(agent: RunningAgent, hub: HubSide) -> None:
    hub.publish_desired(desired(1))
    wait_until(lambda: hub.has_staged(1), 5)
    at_ms = hub.publish_take(1)
    wait_until(lambda: len(agent.frames()) > 5, 5)
    assert agent.process is not None
    agent.process.send_signal(signal.SIGSTOP)
    held_up_s = time.time()
    wait_until(lambda: time.time() - held_up_s > 0.8, 2)
    agent.process.send_signal(signal.SIGCONT)
    wait_until(lambda: hub.telemetry()[-1].late_frames >= 15, 5)
    slot = (agent.frames()[-1].show_time_s - at_ms / 1_000) / 0.04
    assert slot == pytest.approx(round(slot), abs=1e-3)
