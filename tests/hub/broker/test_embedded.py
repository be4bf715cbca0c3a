"""The embedded broker: started, supervised, reloaded without cutting anyone, never left behind."""

import json
import os
import signal
import socket
import stat
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import psutil
import pytest
from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion
from sqlalchemy import Engine

from hub.broker import CredentialService, EmbeddedBroker
from hub.broker.ready import mqtt_answers
from hub.errors import UnavailableError
from schemas import Leaf, node_topic
from tests.hub.conftest import on_each_database
from tests.processes import wait_until

VENUE = "arcade"


@pytest.fixture
def embedded(tmp_path: Path) -> Iterator[EmbeddedBroker]:
    broker = EmbeddedBroker(tmp_path / "broker", "127.0.0.1", 0, list)
    broker.start()
    yield broker
    broker.stop()


def gone(pid: int) -> bool:
    return not psutil.pid_exists(pid) or psutil.Process(pid).status() == psutil.STATUS_ZOMBIE


def test_files_with_secrets_are_private(embedded: EmbeddedBroker, tmp_path: Path) -> None:
    mode = stat.S_IMODE((tmp_path / "broker" / "broker.conf").stat().st_mode)
    assert mode == 0o600
    assert embedded.hub_secret not in (tmp_path / "broker" / "broker.conf").read_text()


def test_the_servers_own_protocol_lets_nobody_in(embedded: EmbeddedBroker, tmp_path: Path) -> None:
    port = json.loads((tmp_path / "broker" / "broker.conf").read_text())["port"]
    words = json.dumps({"user": "hub", "pass": embedded.hub_secret, "verbose": False})
    with socket.create_connection(("127.0.0.1", port), 5) as connection:
        assert connection.recv(4_096).startswith(b"INFO")
        connection.sendall(f"CONNECT {words}\r\nPING\r\n".encode())
        assert connection.recv(4_096).startswith(b"-ERR")


def test_dead_broker_comes_back_on_the_same_port(embedded: EmbeddedBroker) -> None:
    first = embedded.pid
    assert first is not None
    os.kill(first, signal.SIGKILL)
    wait_until(lambda: embedded.pid not in (None, first), 10, "a new broker process")
    wait_until(lambda: mqtt_answers("127.0.0.1", embedded.port, "hub", embedded.hub_secret), 10, "the broker to answer")
    assert embedded.restarts == 1


def test_stop_leaves_no_process(tmp_path: Path) -> None:
    broker = EmbeddedBroker(tmp_path / "broker", "127.0.0.1", 0, list)
    broker.start()
    pid = broker.pid
    assert pid is not None
    broker.stop()
    assert gone(pid)
    assert not (tmp_path / "broker" / "broker.pid").exists()


def test_port_in_use_is_refused_with_the_remedy(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        broker = EmbeddedBroker(tmp_path / "broker", "127.0.0.1", port, list)
        with pytest.raises(UnavailableError, match=rf"port {port} .* in use; .*--broker-port"):
            broker.start()


def test_store_that_cannot_be_made_is_told_with_the_brokers_own_words(tmp_path: Path) -> None:
    folder = tmp_path / "broker"
    folder.mkdir()
    (folder / "store").write_text("a file where the broker wants a folder")
    broker = EmbeddedBroker(folder, "127.0.0.1", 0, list)
    with pytest.raises(UnavailableError, match=r"did not start: .*not a directory"):
        broker.start()


_HUB = """
import sys, time
from pathlib import Path
from hub.broker import EmbeddedBroker
broker = EmbeddedBroker(Path(sys.argv[1]), "127.0.0.1", 0, list)
broker.start()
print(broker.pid, flush=True)
time.sleep(600)
"""


def started_by_another_process(folder: Path) -> tuple[subprocess.Popen[str], int]:
    hub = subprocess.Popen([sys.executable, "-c", _HUB, str(folder)], stdout=subprocess.PIPE, text=True)
    assert hub.stdout is not None
    return hub, int(hub.stdout.readline())


def test_killed_hub_leaves_no_broker_behind(tmp_path: Path) -> None:
    hub, broker_pid = started_by_another_process(tmp_path / "broker")
    with hub:
        hub.kill()
    wait_until(lambda: gone(broker_pid), 10, "the broker to end with its hub")


def test_new_hub_ends_a_broker_still_running_on_its_folder(tmp_path: Path) -> None:
    hub, broker_pid = started_by_another_process(tmp_path / "broker")
    with hub:
        broker = EmbeddedBroker(tmp_path / "broker", "127.0.0.1", 0, list)
        # The other hub's supervisor would start it again: stopped, it stands for a hub that hangs.
        hub.send_signal(signal.SIGSTOP)
        try:
            broker.start()
            assert gone(broker_pid)
            assert broker.pid is not None
        finally:
            broker.stop()
            hub.kill()


@on_each_database
def test_issued_credential_opens_at_once_and_the_earlier_one_no_more(engine: Engine, tmp_path: Path) -> None:
    broker = EmbeddedBroker(tmp_path / "broker", "127.0.0.1", 0, lambda: credentials.users())
    credentials = CredentialService(engine, lambda: f"mqtt://127.0.0.1:{broker.port}", broker.reload)
    broker.start()
    try:
        first = credentials.issue(VENUE, "bay-01")
        assert first.username == "arcade.bay-01"

        def opens(secret: str) -> bool:
            return mqtt_answers("127.0.0.1", broker.port, first.username, secret)

        wait_until(lambda: opens(first.secret), 5, "the first credential to open")
        second = credentials.issue(VENUE, "bay-01")
        wait_until(lambda: opens(second.secret), 5, "the second credential to open")
        assert not opens(first.secret)
        assert not opens("x" * 43)
        credentials.keep_only(VENUE, {"bay-02"})
        wait_until(lambda: not opens(second.secret), 5, "the withdrawn credential to be refused")
    finally:
        broker.stop()


def test_nobody_is_cut_off_while_many_credentials_are_issued(engine: Engine, tmp_path: Path) -> None:
    broker = EmbeddedBroker(tmp_path / "broker", "127.0.0.1", 0, lambda: credentials.users())
    credentials = CredentialService(engine, lambda: f"mqtt://127.0.0.1:{broker.port}", broker.reload)
    broker.start()
    first = credentials.issue(VENUE, "bay-01")
    wait_until(lambda: mqtt_answers("127.0.0.1", broker.port, first.username, first.secret), 5)
    cut: list[str] = []
    client = Client(CallbackAPIVersion.VERSION2, reconnect_on_failure=False)
    client.username_pw_set(first.username, first.secret)
    client.on_disconnect = lambda *words: cut.append(str(words[3]))
    try:
        client.connect("127.0.0.1", broker.port)
        client.loop_start()
        wait_until(client.is_connected, 5)
        issued = [credentials.issue(VENUE, f"bay-{number}") for number in range(10, 40)]

        def all_open() -> bool:
            return all(mqtt_answers("127.0.0.1", broker.port, one.username, one.secret) for one in issued)

        wait_until(all_open, 10, "every new credential to open")
        told = client.publish(node_topic(VENUE, "bay-01", Leaf.TELEMETRY), "still here", qos=1)
        wait_until(told.is_published, 5)
        assert cut == []
        assert broker.restarts == 0
    finally:
        client.disconnect()
        client.loop_stop()
        client.on_disconnect = None
        broker.stop()


@on_each_database
def test_secret_is_kept_as_a_hash_only(engine: Engine) -> None:
    credentials = CredentialService(engine, lambda: "mqtt://127.0.0.1:1883", lambda: None)
    issued = credentials.issue(VENUE, "bay-01")
    (user,) = credentials.users()
    assert issued.secret not in user.secret_hash
    assert user.secret_hash.startswith("$2b$")
