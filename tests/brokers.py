"""Real brokers for tests. Mosquitto of Debian's package on a free port, or its image where a Docker engine answers.

Another kind of broker joins by offering the same `Broker`; tests take the `broker` fixture and need not know which.
"""

import base64
import functools
import hashlib
import os
import shutil
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

from schemas import NodeCredential, node_topic, take_topic
from schemas.topics import FROM_NODE, ROOT, TO_NODE
from tests.processes import RealProcess, answers, free_port, wait_until

HUB_USER = "hub"


@dataclass(frozen=True)
class Account:
    """A user of the broker and the topic filters that it may read and write. Secrets suit `NodeCredential`."""

    username: str
    secret: str = field(default_factory=lambda: base64.urlsafe_b64encode(os.urandom(32)).decode().rstrip("="))
    reads: tuple[str, ...] = ()
    writes: tuple[str, ...] = ()


def hub_account() -> Account:
    everything = (f"{ROOT}/#",)
    return Account(HUB_USER, reads=everything, writes=everything)


def node_account(venue: str, node: str) -> Account:
    """Least authority: a node's own topics and the take."""
    return Account(
        f"{venue}.{node}",
        reads=(*(node_topic(venue, node, leaf) for leaf in TO_NODE), take_topic(venue)),
        writes=tuple(node_topic(venue, node, leaf) for leaf in FROM_NODE),
    )


class Broker(Protocol):
    """A running broker with accounts. `kill` is SIGKILL; `start` brings it back on the same port."""

    host: str
    port: int
    accounts: dict[str, Account]

    @property
    def url(self) -> str: ...
    def start(self) -> None: ...
    def kill(self) -> None: ...
    def stop(self) -> None: ...


def node_credential(broker: Broker, venue: str, node: str) -> NodeCredential:
    """The credential of a node whose account the broker has."""
    account = broker.accounts[f"{venue}.{node}"]
    return NodeCredential(
        venue=venue, node=node, broker_url=broker.url, username=account.username, secret=account.secret
    )


class Mosquitto:
    """Mosquitto as a process. Raises FileNotFoundError where it is not installed (apt-get install mosquitto)."""

    def __init__(self, folder: Path, accounts: Iterable[Account]) -> None:
        self.host = "127.0.0.1"
        self.port = free_port()
        self.accounts = {account.username: account for account in accounts}
        self._folder = folder
        self._process: RealProcess | None = None
        self._program = shutil.which("mosquitto", path=f"{os.environ.get('PATH', '')}:/usr/sbin:/usr/local/sbin")
        if self._program is None:
            raise FileNotFoundError("mosquitto is not installed; on Debian: apt-get install mosquitto")
        folder.mkdir(parents=True, exist_ok=True)

    @property
    def url(self) -> str:
        return f"mqtt://{self.host}:{self.port}"

    def start(self) -> None:
        write_mosquitto_configuration(self._folder, self._folder, self.host, self.port, self.accounts.values())
        assert self._program is not None
        process = RealProcess([self._program, "-c", self._folder / "mosquitto.conf"], self._folder / "mosquitto.log")
        self._process = process

        def listens() -> bool:
            assert process.exit_code is None, f"the broker ended: {process.output()[-2000:]}"
            return answers(self.host, self.port)

        wait_until(listens, 10, "the broker to listen")

    def kill(self) -> None:
        assert self._process is not None
        self._process.kill()

    def stop(self) -> None:
        if self._process is not None:
            self._process.stop()


class MosquittoContainer:
    """The same from its image, through testcontainers."""

    IMAGE = "eclipse-mosquitto:2"

    def __init__(self, folder: Path, accounts: Iterable[Account]) -> None:
        from testcontainers.core.container import DockerContainer

        folder.mkdir(parents=True, exist_ok=True)
        self.port = free_port()
        self.accounts = {account.username: account for account in accounts}
        inside = Path("/mosquitto/test")
        write_mosquitto_configuration(folder, inside, "0.0.0.0", 1883, self.accounts.values())  # noqa: S104 in the container
        self._container = (
            DockerContainer(self.IMAGE)
            .with_bind_ports(1883, self.port)
            .with_volume_mapping(folder, str(inside), "rw")
            .with_command(f"mosquitto -c {inside}/mosquitto.conf")
        )
        self._started = False
        self.host = "127.0.0.1"

    @property
    def url(self) -> str:
        return f"mqtt://{self.host}:{self.port}"

    def start(self) -> None:
        if self._started:
            self._container.get_wrapped_container().start()
        else:
            self._container.start()
            self._started = True
            self.host = self._container.get_container_host_ip()
        wait_until(lambda: answers(self.host, self.port), 60, "the broker to listen")

    def kill(self) -> None:
        self._container.get_wrapped_container().kill()

    def stop(self) -> None:
        if self._started:
            self._container.stop()


def make_mosquitto(folder: Path, accounts: Iterable[Account]) -> Mosquitto | MosquittoContainer:
    """Started already."""
    broker = MosquittoContainer(folder, accounts) if docker_answers() else Mosquitto(folder, accounts)
    broker.start()
    return broker


@functools.cache
def docker_answers() -> bool:
    """Whether a Docker engine answers on this machine."""
    # Asked first because Docker's client leaks a socket, which warns, where there is no engine to connect to.
    if "DOCKER_HOST" not in os.environ and not Path("/var/run/docker.sock").exists():
        return False
    import docker  # type: ignore[import-untyped]
    from docker.errors import DockerException  # type: ignore[import-untyped]

    try:
        client = docker.from_env(timeout=3)
    except DockerException:
        return False
    try:
        return bool(client.ping())
    except (DockerException, OSError):
        return False
    finally:
        client.close()


def write_mosquitto_configuration(
    folder: Path, seen_as: Path, host: str, port: int, accounts: Iterable[Account]
) -> None:
    """Configuration, password and access files in `folder`, which the broker sees as `seen_as`."""
    accounts = tuple(accounts)
    (folder / "passwords").write_text("".join(f"{a.username}:{_password_hash(a.secret)}\n" for a in accounts))
    (folder / "access").write_text("".join(_access(account) for account in accounts))
    (folder / "mosquitto.conf").write_text(
        f"listener {port} {host}\n"
        "allow_anonymous false\n"
        f"password_file {seen_as / 'passwords'}\n"
        f"acl_file {seen_as / 'access'}\n"
        "persistence false\n"
        "set_tcp_nodelay true\n"
        "max_queued_messages 10000\n"
        "log_dest stderr\n"
        "log_type error\nlog_type warning\nlog_type notice\n"
        + (f"user {os.environ.get('USER', 'root')}\n" if seen_as == folder else "")
    )


def _access(account: Account) -> str:
    lines = [f"user {account.username}"]
    lines += [f"topic read {topic}" for topic in account.reads]
    lines += [f"topic write {topic}" for topic in account.writes]
    return "\n".join(lines) + "\n\n"


def _password_hash(secret: str) -> str:
    """Mosquitto's format 7: PBKDF2 with SHA-512. Few rounds: these secrets are random and live for one test."""
    salt, rounds = os.urandom(12), 101
    key = hashlib.pbkdf2_hmac("sha512", secret.encode(), salt, rounds, 64)
    return f"$7${rounds}${base64.b64encode(salt).decode()}${base64.b64encode(key).decode()}"
