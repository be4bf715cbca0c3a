"""The agent's own connection on an event loop that many nodes share, in place of a thread for each."""

import asyncio
from collections.abc import Callable
from typing import TYPE_CHECKING, Final
from urllib.parse import urlsplit

from paho.mqtt.client import Client
from paho.mqtt.enums import MQTTErrorCode

from node_agent.inbox import Inbox
from node_agent.link import KEEPALIVE_S, Link, send_at_once
from schemas import NodeCredential, Presence

if TYPE_CHECKING:  # paho has it for annotations only
    from paho.mqtt.client import SocketLike

MISC_EVERY_S: Final = KEEPALIVE_S / 4


class LoopLink(Link):
    """The product's link but for who moves the bytes. It connects once: a crowd that loses connections is no measure.

    `wake` is called after anything may have arrived.
    """

    def __init__(
        self,
        wake: Callable[[], None],
        credential: NodeCredential,
        inbox: Inbox,
        next_presence: Callable[[], Presence],
        node_ms: Callable[[], float],
    ) -> None:
        super().__init__(credential, inbox, next_presence, node_ms)
        self._wake = wake
        self._url = urlsplit(credential.broker_url)
        self._loop = asyncio.get_running_loop()
        self._client_in_use: Client | None = None

    def start(self) -> None:
        client = self._client_in_use = self._client(self._next_presence())
        client.on_socket_open = self._opened
        client.on_socket_close = self._closed
        client.on_socket_register_write = self._has_to_write
        client.on_socket_unregister_write = self._has_written
        client.connect(self._url.hostname or "", self._url.port or 1883, KEEPALIVE_S)
        self._loop.call_later(MISC_EVERY_S, self._misc)

    def stop(self) -> None:
        """The broker publishes its will."""

    def _opened(self, client: Client, presence: Presence, connection: "SocketLike") -> None:
        send_at_once(client, presence, connection)
        self._loop.add_reader(connection.fileno(), self._read)

    def _closed(self, _client: Client, _presence: Presence, connection: "SocketLike") -> None:
        self._loop.remove_reader(connection.fileno())

    def _has_to_write(self, client: Client, _presence: Presence, connection: "SocketLike") -> None:
        self._loop.add_writer(connection.fileno(), client.loop_write)

    def _has_written(self, _client: Client, _presence: Presence, connection: "SocketLike") -> None:
        self._loop.remove_writer(connection.fileno())

    def _read(self) -> None:
        if self._client_in_use is not None and self._client_in_use.loop_read() is not MQTTErrorCode.MQTT_ERR_SUCCESS:
            self._client_in_use = None
        self._wake()

    def _misc(self) -> None:
        if self._client_in_use is not None:
            self._client_in_use.loop_misc()
            self._loop.call_later(MISC_EVERY_S, self._misc)
