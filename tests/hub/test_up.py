"""`stringcourse up` as a real process, with its broker, a real agent and a page's event stream."""

import base64
import contextlib
import json
import os
import re
import signal
import socket
import stat
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import psutil
import pytest
from prometheus_client.openmetrics.parser import text_string_to_metric_families

from hub.broker.ready import mqtt_answers
from hub.cli.up import listen
from hub.settings import Settings
from schemas import NodeCredential
from tests.postgres import cut_connections
from tests.processes import RealProcess, wait_until
from tests.warm_process import WarmProcess, run_warm

UP: list[str | Path] = ["stringcourse", "up"]
VENUE_FILE = Path(__file__).parents[2] / "deploy" / "demo" / "1-one-run.yaml"
VENUE, NODE = "first-run", "first-board"


class RunningUp:
    """A hub process on a data folder; ports are free ones."""

    def __init__(self, data: Path, *options: str, **environment: str) -> None:
        self.data = data
        self.facts_file = data / "hub.json"
        self.facts_file.unlink(missing_ok=True)
        words = [*UP, "--data", data, "--port", "0", "--broker-port", "0", *options]
        self.process = WarmProcess(words, data.parent / f"{data.name}.log", environment)
        wait_until(self._listens, 30, "the hub to listen")
        self.facts: dict[str, Any] = json.loads(self.facts_file.read_text())
        self.url: str = self.facts["url"]

    def _listens(self) -> bool:
        assert self.process.exit_code is None, self.process.output()
        return self.facts_file.exists()

    @property
    def token(self) -> str:
        found = re.search(r"STRINGCOURSE_TOKEN=(\S+)", self.process.output())
        assert found is not None
        return found[1]

    def broker_pid(self) -> int:
        (child,) = [one for one in psutil.Process(self.process.pid).children() if "nats" in one.name()]
        return child.pid


StartUp = Callable[..., RunningUp]


@pytest.fixture
def start_up(tmp_path: Path) -> Iterator[StartUp]:
    started: list[RunningUp] = []

    def start(*options: str, **environment: str) -> RunningUp:
        running = RunningUp(tmp_path / "data", *options, **environment)
        started.append(running)
        return running

    yield start
    for running in started:
        running.process.stop()


def gone(pid: int) -> bool:
    return not psutil.pid_exists(pid) or psutil.Process(pid).status() == psutil.STATUS_ZOMBIE


def client_of(running: RunningUp, token: str) -> httpx.Client:
    return httpx.Client(
        base_url=f"{running.url}/api/v1", headers={"Authorization": f"Bearer {token}"}, timeout=20, trust_env=False
    )


def load_venue(client: httpx.Client) -> None:
    answer = client.put(
        f"/venues/{VENUE}",
        content=VENUE_FILE.read_bytes(),
        headers={"Content-Type": "application/yaml", "If-None-Match": "*"},
    )
    assert answer.is_success, answer.text


def node_state(client: httpx.Client) -> dict[str, Any]:
    (state,) = client.get(f"/venues/{VENUE}/node-states").json()["items"]
    return dict(state)


def findings(client: httpx.Client, **query: str) -> list[dict[str, Any]]:
    return list(client.get(f"/venues/{VENUE}/findings", params={"kind": "silent"} | query).json()["items"])


def test_token_is_printed_once_and_the_note_of_the_hub_is_private(start_up: StartUp) -> None:
    first = start_up()
    token = first.token
    assert stat.S_IMODE(first.facts_file.stat().st_mode) == 0o600
    assert first.facts["pid"] == first.process.pid
    assert first.process.stop() == 0
    assert not first.facts_file.exists()
    before = len(first.process.output())
    second = start_up()
    assert "STRINGCOURSE_TOKEN" not in second.process.output()[before:]
    with client_of(second, token) as client:
        assert client.get("/venues").status_code == 200


def test_second_hub_on_the_folder_is_refused_with_the_remedy(start_up: StartUp) -> None:
    running = start_up()
    second = run_warm([*UP, "--data", running.data, "--port", "0", "--broker-port", "0"])
    assert second.returncode == 6
    assert f"another hub runs on {running.data} already (process {running.process.pid})" in second.stderr
    assert "--data" in second.stderr
    assert running.facts_file.exists()


def test_hub_bound_beyond_this_machine_says_so(start_up: StartUp) -> None:
    running = start_up("--broker-host", "0.0.0.0")  # noqa: S104 (the case)
    assert "Caution: the broker can be reached from the network" in running.process.output()


def test_log_of_json_has_no_other_line_of_any_library(start_up: StartUp) -> None:
    running = start_up("--logs", "json", "--broker-host", "0.0.0.0")  # noqa: S104 (a caution is logged)
    wait_until(lambda: '"link up"' in running.process.output(), 10, "the link")
    assert running.process.stop() == 0
    lines = running.process.output().splitlines()
    said = [line for line in lines if not line.startswith("{")]
    events = [json.loads(line) for line in lines if line.startswith("{")]
    assert {"broker started", "link up"} <= {event["event"] for event in events}
    assert all(set(event) >= {"time", "level", "part", "event", "fields"} for event in events)
    assert any(event["event"].startswith("Caution: the broker can be reached") for event in events)
    for line in said:  # on standard output, for the person who started it
        assert line.startswith(
            ("Token for", "  export STRINGCOURSE_TOKEN=", "Page: ", "Next: ", "        stringcourse")
        ), line


def test_told_to_stop_with_a_page_open_it_leaves_nothing_behind(start_up: StartUp) -> None:
    running = start_up()
    broker_pid = running.broker_pid()
    with client_of(running, running.token) as client:
        load_venue(client)
        with client.stream("GET", f"/venues/{VENUE}/events", timeout=30) as stream:
            lines = stream.iter_lines()
            assert next(lines) == ": following"
            started_s = time.monotonic()
            running.process.send_signal(signal.SIGTERM)
            for _ in lines:
                pass
    assert running.process.stop() == 0
    assert time.monotonic() - started_s < 8
    assert gone(broker_pid)


def test_killed_hub_takes_its_broker_along_and_the_next_one_listens_on_the_same_mqtt_port(start_up: StartUp) -> None:
    first = start_up()
    broker_pid, port = first.broker_pid(), first.facts["broker_port"]
    first.process.kill()
    wait_until(lambda: gone(broker_pid), 10, "the broker's end")
    assert start_up().facts["broker_port"] == port


def start_agent(folder: Path, client: httpx.Client) -> RealProcess:
    credential = folder / "credential.json"
    if not credential.exists():
        issued = client.post(f"/venues/{VENUE}/nodes/{NODE}/credential")
        assert issued.status_code == 201
        assert issued.headers["Cache-Control"] == "no-store"
        credential.touch(mode=0o600)
        credential.write_text(issued.text)
    words: list[str | Path] = ["stringcourse-node", "start", "--credential", credential]
    words += ["--state", folder / "state", "--capture", folder / "capture"]
    return WarmProcess(words, folder / "agent.log")


def events_of(client: httpx.Client, heard: list[tuple[str, dict[str, Any]]], ready: threading.Event) -> None:
    """Follow the event stream until it ends, with the hub's death if need be."""
    kind = ""
    with (
        contextlib.suppress(httpx.TransportError),
        client,
        client.stream("GET", f"/venues/{VENUE}/events", timeout=None) as stream,
    ):
        for line in stream.iter_lines():
            ready.set()
            if line.startswith("event: "):
                kind = line.removeprefix("event: ")
            elif line.startswith("data: "):
                heard.append((kind, json.loads(line.removeprefix("data: "))))


def collect(running: RunningUp, token: str) -> dict[str, float]:
    """The first sample of each family of metrics."""
    answer = httpx.get(f"{running.url}/metrics", headers={"Authorization": f"Bearer {token}"}, trust_env=False)
    families = text_string_to_metric_families(answer.text)  # type: ignore[no-untyped-call]
    return {family.name: family.samples[0].value for family in families if family.samples}


def watched(running: RunningUp, token: str, seconds: int) -> list[dict[str, Any]]:
    """What `stringcourse node watch` prints in so long."""
    environment = {**os.environ, "STRINGCOURSE_TOKEN": token, "STRINGCOURSE_HUB": running.url}
    done = run_warm(["stringcourse", "node", "watch", NODE, "--seconds", str(seconds), "--json"], environment)
    assert done.returncode == 0, done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()]


def test_real_agent_is_adopted_asked_missed_and_known_again(
    start_up: StartUp, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    first = start_up()
    token = first.token
    heard: list[tuple[str, dict[str, Any]]] = []
    ready = threading.Event()
    with client_of(first, token) as client:
        load_venue(client)
        follower = threading.Thread(target=events_of, args=(client_of(first, token), heard, ready))
        follower.start()
        assert ready.wait(10)
        agent = start_agent(tmp_path, client)
        request.addfinalizer(agent.stop)
        wait_until(lambda: node_state(client)["revision_showing"] == 1, 20, "the board to show the scene")
        wait_until(lambda: node_state(client)["clock_dispersion_ms"] is not None, 20, "the clock to be known")
        assert abs(node_state(client)["clock_offset_ms"]) < 100  # one machine, one clock

        asked = client.post(f"/venues/{VENUE}/nodes/{NODE}/asks", json={"kind": "identify", "seconds": 1.0})
        assert (asked.status_code, asked.json()) == (200, {"kind": "done"})
        declined = client.post(f"/venues/{VENUE}/nodes/{NODE}/asks", json={"kind": "walk", "channel": 4})
        assert declined.status_code == 409
        assert "declines" in declined.json()["detail"]
        figures = watched(first, token, 3)
        assert len(figures) >= 3  # where the usual interval would bring one
        assert figures[-1]["board"]["start_cause"] == "first"
        assert figures[-1]["uptime_s"] > figures[0]["uptime_s"]
        collected = collect(first, token)
        assert collected["stringcourse_node_online"] == collected["stringcourse_link_up"] == 1.0
        assert 0 < collected["stringcourse_node_memory_free_ratio"] <= 1
        assert client.get("/ready", headers={"Authorization": ""}).json()["ready"]

        # The hub is killed; the board goes on, and the next hub adopts it.
        first.process.kill()
        follower.join(10)
    second = start_up()
    with client_of(second, token) as client:
        wait_until(lambda: node_state(client)["online"], 20, "the board to be adopted")
        assert findings(client) == []
        killed_s = time.time()
        agent.kill()
        (told,) = wait_until(lambda: findings(client), 3, "the finding")
        assert told["started_at_ms"] / 1000 - killed_s < 3
        asked = client.post(f"/venues/{VENUE}/nodes/{NODE}/asks", json={"kind": "identify"})
        assert asked.status_code == 409
        with start_agent(tmp_path, client):
            (ended,) = wait_until(lambda: findings(client, open="false"), 20, "the finding's end")
            assert ended["id"] == told["id"]
            wait_until(lambda: node_state(client)["revision_showing"] == 1, 10, "the right scene, by itself")
            # The broker is killed: the board goes on, and all find each other again.
            os.kill(second.broker_pid(), signal.SIGKILL)
            before_ms = time.time() * 1000
            wait_until(lambda: (node_state(client)["heard_at_ms"] or 0) > before_ms + 500, 30, "its word after that")
            assert len(findings(client)) == 1
    kinds = {kind for kind, _ in heard}
    assert {"node", "rollout"} <= kinds
    assert any(data.get("online") for kind, data in heard if kind == "node")


@pytest.mark.parametrize("database_url", ["postgresql"], indirect=True)
def test_whole_hub_lives_on_postgresql_and_goes_on_when_its_connections_are_cut(
    start_up: StartUp, database_url: str, tmp_path: Path
) -> None:
    by_option = database_url.replace("postgresql:", "postgresql+psycopg:")
    first = start_up("--database", by_option)
    with client_of(first, first.token) as client:
        load_venue(client)
        with start_agent(tmp_path, client):
            wait_until(lambda: node_state(client)["revision_showing"] == 1, 20, "the board to show the scene")
            assert cut_connections(database_url) >= 1
            scenes = client.get(f"/venues/{VENUE}/scenes").json()["items"]
            taken = client.post(f"/venues/{VENUE}/takes", json={"scene": scenes[-1]["id"], "fade_ms": 0})
            assert taken.status_code == 202, taken.text
            wait_until(lambda: node_state(client)["revision_showing"] == 2, 20, "the next scene")
        wait_until(lambda: findings(client), 10, "the finding of the stopped board")
        before = findings(client)
    assert first.process.stop() == 0
    assert not list(first.data.glob("*.sqlite3"))

    second = start_up(STRINGCOURSE_DATABASE=database_url)
    environment = {**os.environ, "STRINGCOURSE_DATABASE": database_url}
    made = run_warm(["stringcourse", "token", "new", "--data", first.data], environment)
    assert made.returncode == 0, made.stderr
    with client_of(second, made.stdout.strip()) as client:
        rollouts = client.get(f"/venues/{VENUE}/rollouts").json()["items"]
        assert [rollout["revision"] for rollout in rollouts] == [2, 1]
        assert [finding["id"] for finding in findings(client)] == [finding["id"] for finding in before]


def test_command_line_shows_nodes_and_findings_and_writes_a_private_credential(
    start_up: StartUp, tmp_path: Path
) -> None:
    running = start_up()

    def command(*words: str) -> subprocess.CompletedProcess[str]:
        environment = {**os.environ, "STRINGCOURSE_TOKEN": running.token, "STRINGCOURSE_HUB": running.url}
        return run_warm(["stringcourse", *words], environment)

    with client_of(running, running.token) as client:
        load_venue(client)
        odd_cursor = base64.urlsafe_b64encode(b"9" * 40).decode().rstrip("=")
        assert client.get(f"/venues/{VENUE}/findings", params={"cursor": odd_cursor}).status_code == 422
    listed = command("node", "list")
    assert listed.returncode == 0
    assert f"{NODE}  offline" in listed.stdout
    shown = command("node", "show", NODE, "--json")
    assert json.loads(shown.stdout)["findings"] == []
    assert command("node", "show", "bay-99").returncode == 5
    assert command("node", "list", "--venue", "elsewhere").returncode == 5
    asked = command("node", "identify", NODE)
    assert asked.returncode == 6
    assert "not connected" in asked.stderr

    file = tmp_path / "board.json"
    file.write_text("an earlier one")
    assert command("node", "credential", NODE, str(file)).returncode == 0
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    credential = NodeCredential.model_validate_json(file.read_text())
    assert mqtt_answers("127.0.0.1", running.facts["broker_port"], credential.username, credential.secret)
    assert command("node", "credential", NODE, str(tmp_path / "nowhere" / "x")).returncode == 2
    assert f"topic write stringcourse/v1/{VENUE}/node/{NODE}/reported" in command("node", "access").stdout

    findings_listed = command("finding", "list")
    assert (findings_listed.returncode, findings_listed.stdout) == (0, "no open findings\n")


def test_hub_serves_a_broker_of_the_users_own(tmp_path: Path, broker: Any) -> None:  # noqa: ANN401 (tests.brokers.Broker)
    secret = broker.accounts["hub"].secret
    own = f"mqtt://hub:{secret}@{broker.host}:{broker.port}"
    program = Path(sys.executable).parent / "stringcourse"
    words: list[str | Path] = [program, "up", "--data", tmp_path / "data", "--port", "0"]
    with RealProcess(words, tmp_path / "up.log", {"STRINGCOURSE_BROKER": own}) as process:
        wait_until(lambda: "link up" in process.output(), 20, "the link")
        assert secret not in process.output()
        assert mqtt_answers(broker.host, broker.port, "hub", secret)
        wait_until((tmp_path / "data" / "hub.json").exists, 20, "the hub to listen")
        assert json.loads((tmp_path / "data" / "hub.json").read_text())["broker_port"] is None
        assert not psutil.Process(process.pid).children()


def test_answers_do_not_wait_for_the_callers_acknowledgement(tmp_path: Path) -> None:
    with listen(Settings(data_dir=tmp_path, port=0)) as listener:
        caller = socket.create_connection(listener.getsockname(), timeout=5)
        accepted, _ = listener.accept()
        with caller, accepted:
            assert accepted.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY) != 0
