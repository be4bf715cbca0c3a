"""The embedded broker's program for tests, with the configuration that the hub generates; a `tests.brokers.Broker`."""

from collections.abc import Iterable
from pathlib import Path

import bcrypt

from hub.broker.configuration import BrokerPlace, BrokerUser, render_configuration
from hub.broker.program import nats_server_program
from hub.broker.ready import mqtt_answers
from tests.brokers import HUB_USER, Account
from tests.processes import RealProcess, free_port, wait_until


class NatsServer:
    """A NATS server as a process. Node accounts are named `venue.node`; their rights are the hub's own rules."""

    def __init__(self, folder: Path, accounts: Iterable[Account]) -> None:
        self.host = "127.0.0.1"
        self.port = free_port()
        self.accounts = {account.username: account for account in accounts}
        self._folder = folder
        self._process: RealProcess | None = None
        folder.mkdir(parents=True, exist_ok=True)

    @property
    def url(self) -> str:
        return f"mqtt://{self.host}:{self.port}"

    def start(self) -> None:
        place = BrokerPlace(
            host=self.host,
            mqtt_port=self.port,
            client_port=free_port(),
            store=self._folder / "store",
            log=self._folder / "broker.log",
            pid_file=self._folder / "broker.pid",
        )
        users = [
            BrokerUser(account.username, _hash(account.secret), *account.username.split(".", 1))
            for account in self.accounts.values()
            if account.username != HUB_USER
        ]
        hub = self.accounts[HUB_USER]
        configuration = self._folder / "broker.conf"
        configuration.write_text(render_configuration(place, _hash(hub.secret), users))
        process = RealProcess([nats_server_program(), "-c", configuration], self._folder / "broker.out")
        self._process = process

        def lets_in() -> bool:
            assert process.exit_code is None, f"the broker ended: {process.output()[-2000:]}"
            return mqtt_answers(self.host, self.port, HUB_USER, hub.secret)

        wait_until(lets_in, 20, "the broker to let the hub in")

    def kill(self) -> None:
        assert self._process is not None
        self._process.kill()

    def stop(self) -> None:
        if self._process is not None:
            self._process.stop()


def _hash(secret: str) -> str:
    return bcrypt.hashpw(secret.encode(), bcrypt.gensalt(4)).decode()
