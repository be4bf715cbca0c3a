"""Node credentials: issued once, kept as a hash, taken in by the embedded broker without cutting anyone."""

import secrets
import threading
import time
from collections.abc import Callable, Set
from typing import Final

import bcrypt
from sqlalchemy import Engine
from sqlmodel import Session, select

from hub.broker.configuration import BrokerUser
from hub.broker.models import NodeCredentialRecord
from schemas import NodeCredential

SECRET_BYTES: Final = 32
# 256 random bits cannot be guessed, so the hash need not be slow; the cost is paid at every connection of every node.
BCRYPT_COST: Final = 4


def broker_username(venue: str, node: str) -> str:
    """A node's user of the broker. Ids hold no dot, so that no two nodes share one."""
    return f"{venue}.{node}"


class CredentialService:
    """`broker_url` goes into the credential: where boards reach the broker. `changed` is told after an issue."""

    def __init__(self, engine: Engine, broker_url: Callable[[], str], changed: Callable[[], None]) -> None:
        self._engine = engine
        self._broker_url = broker_url
        self._changed = changed
        self._issuing = threading.Lock()

    def issue(self, venue: str, node: str) -> NodeCredential:
        """A fresh credential; the node's earlier one stops to open. The secret is told here and never again.

        The caller has checked that the node exists.
        """
        secret = secrets.token_urlsafe(SECRET_BYTES)
        username = broker_username(venue, node)
        record = NodeCredentialRecord(
            venue=venue,
            node=node,
            username=username,
            secret_hash=bcrypt.hashpw(secret.encode(), bcrypt.gensalt(BCRYPT_COST)).decode(),
            issued_at_ms=time.time_ns() // 1_000_000,
        )
        with self._issuing:
            with Session(self._engine) as session:
                session.merge(record)
                session.commit()
            self._changed()
        return NodeCredential(venue=venue, node=node, broker_url=self._broker_url(), username=username, secret=secret)

    def keep_only(self, venue: str, nodes: Set[str]) -> None:
        """Withdraw the credentials of nodes that the venue no longer has."""
        with self._issuing:
            with Session(self._engine) as session:
                records = session.exec(select(NodeCredentialRecord).where(NodeCredentialRecord.venue == venue)).all()
                gone = [record for record in records if record.node not in nodes]
                for record in gone:
                    session.delete(record)
                session.commit()
            if gone:
                self._changed()

    def users(self) -> list[BrokerUser]:
        """Every node's user, for the broker's configuration."""
        with Session(self._engine) as session:
            records = session.exec(select(NodeCredentialRecord).order_by(NodeCredentialRecord.username)).all()
        return [BrokerUser(item.username, item.secret_hash, item.venue, item.node) for item in records]
