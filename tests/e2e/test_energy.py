"""Kilowatt-hours of a steady scene, from a real board's agent through the broker to the API: amps × time."""

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from hub.app import Hub, create_app
from hub.running import RunningHub
from hub.settings import Settings
from tests.hub.desired.venues import row_document, venue_from
from tests.hub.edge import served
from tests.processes import RealProcess, wait_until
from tests.warm_process import WarmProcess

VENUE, NODE, SUPPLY = "arcade", "bay-0001", "psu-bay-0001"
INTERVAL_S = 0.25
# 2 × 50 pixels, red full: 100 × (0.9 mA idle + 19.7 mA), by the pixel type's figures.
STEADY_A = 100 * (0.9 + 19.7) / 1_000
VOLTS, EFFICIENCY, PER_KWH = 5.0, 0.8, 300.0


def red_venue() -> dict[str, Any]:
    """One board in steady red, within its budget of 3.2 A."""
    document = row_document(nodes=1, pixels=50)
    document["tariff"] = {"currency": "EUR", "per_kwh": PER_KWH}
    document["supplies"][0]["efficiency"] = EFFICIENCY
    wash = {"zone": "band", "pattern": {"pattern": "wash", "colour": "#ff0000"}}
    document["scenes"] = [{"id": "dusk", "title": "Dusk", "layers": [wash]}]
    return document


class Front:
    """A running hub with its API, and one agent that can be killed and started."""

    def __init__(self, hub: Hub, address: str, folder: Path) -> None:
        self.hub = hub
        self._folder = folder
        self._client = httpx.Client(
            base_url=f"{address}/api/v1/venues/{VENUE}",
            headers={"Authorization": f"Bearer {hub.tokens.make()}"},
            trust_env=False,
        )
        credential = hub.credentials.issue(VENUE, NODE)
        self._credential = folder / "credential.json"
        self._credential.write_text(credential.model_dump_json())
        self._credential.chmod(0o600)
        self.agent: RealProcess | None = None

    def start_agent(self) -> RealProcess:
        command: list[str | Path] = ["stringcourse-node", "start", "--credential", self._credential]
        command += ["--state", self._folder / "state", "--capture", self._folder / "capture"]
        self.agent = WarmProcess(command, self._folder / "agent.log")
        return self.agent

    def total(self) -> dict[str, float]:
        answer = self._client.get("/energy")
        assert answer.status_code == 200, answer.text
        total: dict[str, float] = answer.json()["total"]
        return total

    def settled(self) -> None:
        """Once the board draws what the scene does, and the hub counts it."""

        def draws() -> bool:
            states = self._client.get("/node-states").json()["items"]
            return any(abs(one["amps"] - STEADY_A) < 0.01 for state in states for one in state["supplies"])

        wait_until(draws, 30, "the steady scene")

    def close(self) -> None:
        if self.agent is not None:
            self.agent.stop(10)
        self._client.close()


@pytest.fixture
def front(tmp_path: Path) -> Iterator[Front]:
    running = RunningHub(Settings(data_dir=tmp_path / "hub", broker_port=0, telemetry_interval_s=INTERVAL_S))
    running.start()
    try:
        running.hub.inventory.load(venue_from(red_venue()))
        with served(create_app(running.hub)) as address:
            opened = Front(running.hub, address, tmp_path)
            try:
                yield opened
            finally:
                opened.close()
                running.end_streams()
    finally:
        running.stop()


def drawn_over(front: Front, seconds: float) -> tuple[dict[str, float], float]:
    """What the account grew by, and the seconds between its two readings."""
    began_s, before = time.monotonic(), front.total()
    # Time itself is what is measured here: the account is read again once it has passed.
    wait_until(lambda: time.monotonic() - began_s >= seconds, seconds + 1)
    lasted_s, after = time.monotonic() - began_s, front.total()
    return {key: after[key] - before[key] for key in after}, lasted_s


def test_energy_of_a_steady_scene_is_amps_times_time(front: Front) -> None:
    front.start_agent()
    front.settled()
    drawn, lasted_s = drawn_over(front, 10.0)
    # Each reading may lack up to an interval, its jitter and a tick: two in ten seconds are 8 %.
    tolerance = 2 * (1.2 * INTERVAL_S + 0.1) / lasted_s
    assert drawn["amp_h"] == pytest.approx(STEADY_A * lasted_s / 3_600, rel=tolerance)
    assert drawn["dc_kwh"] == pytest.approx(STEADY_A * VOLTS * lasted_s / 3.6e6, rel=tolerance)
    assert drawn["mains_kwh"] == pytest.approx(drawn["dc_kwh"] / EFFICIENCY, rel=0.01)
    assert drawn["cost"] == pytest.approx(drawn["mains_kwh"] * PER_KWH, rel=0.02)
    # Over the board's own time there is no such lag: the counter is the sum of its frames.
    assert drawn["amp_h"] / drawn["hours"] == pytest.approx(STEADY_A, rel=0.02)
    load = front.hub.load.load(VENUE)[SUPPLY]
    assert load.highest_a == pytest.approx(STEADY_A, rel=0.001)
    assert load.percentile_95_a == pytest.approx(STEADY_A, abs=4.0 * 0.005)


def test_energy_goes_on_over_a_board_that_is_killed_and_started_again(front: Front) -> None:
    front.start_agent()
    front.settled()
    wait_until(lambda: front.total()["amp_h"] > STEADY_A * 3 / 3_600, 15, "three seconds of charge")
    assert front.agent is not None
    front.agent.kill()
    counted_ah = front.total()["amp_h"]
    front.start_agent()
    wait_until(lambda: front.total()["amp_h"] > counted_ah + STEADY_A * 2 / 3_600, 30, "the new boot's charge")
    account = front.total()
    assert account["amp_h"] <= STEADY_A * account["hours"] * 1.001
