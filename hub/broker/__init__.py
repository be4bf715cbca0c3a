"""The broker: embedded and supervised, or the user's own; node credentials."""

from hub.broker.address import BrokerAddress, parse_broker_url
from hub.broker.credentials import CredentialService
from hub.broker.embedded import EmbeddedBroker

__all__ = ["BrokerAddress", "CredentialService", "EmbeddedBroker", "parse_broker_url"]
