"""An MQTT client of the hub, set up as all its connections are."""

import random
import secrets
import ssl

from paho.mqtt.enums import CallbackAPIVersion

from hub.broker.address import BrokerAddress
from hub.link.read_ahead import ReadAheadClient


def new_client(address: BrokerAddress, purpose: str) -> ReadAheadClient:
    """Not yet connected. Its id begins with `purpose` and is its own each time: a hub that was killed must not be taken
    over by its own session's leftovers."""
    client = ReadAheadClient(CallbackAPIVersion.VERSION2, client_id=f"{purpose}-{secrets.token_hex(6)}")
    client.connect_timeout = 5.0
    if address.user is not None:
        client.username_pw_set(address.user, address.secret)
    if address.encrypted:
        client.tls_set_context(ssl.create_default_context())
    # Drawn once for each client: hubs that lost a broker together then come back apart. Paho only does arithmetic.
    first_wait_s, longest_wait_s = random.uniform(0.2, 0.6), random.uniform(5.0, 8.0)  # noqa: S311
    client.reconnect_delay_set(first_wait_s, longest_wait_s)  # type: ignore[arg-type]
    return client


def end(client: ReadAheadClient) -> None:
    """Leave the broker properly and end the client's thread."""
    client.disconnect()
    client.loop_stop()
    # Paho closes its sockets when it goes: it must not wait for the garbage collector to find a cycle.
    client.on_connect = client.on_connect_fail = client.on_disconnect = None
    client.on_message = client.on_publish = None
