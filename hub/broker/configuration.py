"""The embedded broker's configuration: who may publish and read what. Pure: values in, text out.

NATS maps an MQTT topic to a subject with `.` for `/`; ids hold neither. Retained messages, sessions and
acknowledgements are the server's own affair under `$MQTT`, for which an MQTT user needs no permission.
"""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from schemas import node_topic, take_topic
from schemas.bounds import MAX_DESIRED_BYTES
from schemas.topics import FROM_NODE, TO_NODE

HUB_USER: Final = "hub"
STORE_BYTES: Final = 2 * 1024**3
MEMORY_STORE_BYTES: Final = 128 * 1024**2
LOG_BYTES: Final = 4 * 1024**2
LOG_FILES: Final = 2


@dataclass(frozen=True, slots=True)
class BrokerUser:
    """A node's user of the broker: the bcrypt hash of its secret and whose topics it has."""

    username: str
    secret_hash: str
    venue: str
    node: str


@dataclass(frozen=True, slots=True)
class BrokerPlace:
    """Where the broker listens and keeps things. The client port is the server's own protocol: loopback, unused."""

    host: str
    mqtt_port: int
    client_port: int
    store: Path
    log: Path
    pid_file: Path


def render_configuration(place: BrokerPlace, hub_secret_hash: str, users: Iterable[BrokerUser]) -> str:
    """The configuration file's text: JSON, which NATS reads as it reads its own format, and which quotes safely."""
    hub_account = {
        "user": HUB_USER,
        "password": hub_secret_hash,
        "allowed_connection_types": ["MQTT"],
    }
    configuration = {
        "server_name": "stringcourse",
        "host": "127.0.0.1",
        "port": place.client_port,
        "pid_file": str(place.pid_file),
        "log_file": str(place.log),
        "logfile_size_limit": LOG_BYTES,
        "logfile_max_num": LOG_FILES,
        "max_payload": MAX_DESIRED_BYTES * 2,
        "max_control_line": 4096,
        "max_connections": 20_000,
        "mqtt": {"host": place.host, "port": place.mqtt_port, "ack_wait": "10s", "max_ack_pending": 1_000},
        "jetstream": {
            "store_dir": str(place.store),
            "max_file_store": STORE_BYTES,
            "max_memory_store": MEMORY_STORE_BYTES,
        },
        "authorization": {"timeout": 10, "users": [hub_account, *(_node_user(user) for user in users)]},
    }
    return json.dumps(configuration, indent=1)


def _node_user(user: BrokerUser) -> dict[str, object]:
    writes = [_subject(node_topic(user.venue, user.node, leaf)) for leaf in FROM_NODE]
    reads = [*(_subject(node_topic(user.venue, user.node, leaf)) for leaf in TO_NODE), _subject(take_topic(user.venue))]
    return {
        "user": user.username,
        "password": user.secret_hash,
        "allowed_connection_types": ["MQTT"],
        "permissions": {"publish": {"allow": writes}, "subscribe": {"allow": reads}},
    }


def _subject(topic: str) -> str:
    return topic.replace("/", ".")
