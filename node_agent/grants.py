"""The grant that this node obeys: which messages it takes, what it keeps, and when it says that its wires obey it.

The hub counts a share as given back only once the node says so, and a node never goes back to an older grant. That
rests on four rules: a grant is kept before it is obeyed; only a higher number replaces it; a node that holds none takes
only one made for its present boot; and `on_wires` is said only when every data line has sent a frame under it.
"""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from pydantic import ValidationError

from node_agent.rejections import Rejections
from node_agent.store import StoreError
from schemas import Grant, GrantHeld

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Newer:
    """A grant to keep and to obey."""

    grant: Grant


@dataclass(frozen=True, slots=True)
class Known:
    """The grant that is held, once more: the hub may have missed that it is."""


@dataclass(frozen=True, slots=True)
class Passed:
    """A grant that is no longer, or never was, for this node as it is now: nothing is wrong with it but its time."""

    why: str


@dataclass(frozen=True, slots=True)
class Unreadable:
    """Not a grant of this node."""

    kind: str


Verdict = Newer | Known | Passed | Unreadable


def judge(payload: bytes, venue: str, node: str, held: Grant | None, boot_id: str) -> Verdict:
    """What a payload from the node's `grant` topic is worth. Never raises for anything that it may hold."""
    try:
        grant = Grant.model_validate_json(payload)
    except ValidationError:
        return Unreadable("grant: not a grant")
    if (grant.venue, grant.node) != (venue, node):
        return Unreadable("grant: for another node")
    if held is None:
        if grant.boot_id != boot_id:
            return Passed("made for another boot, and this node holds none that it could follow")
        return Newer(grant)
    if grant.number < held.number:
        return Passed(f"number {grant.number} is below {held.number}, which is held")
    return Known() if grant.number == held.number else Newer(grant)


class GrantStore(Protocol):
    """Where a grant outlives the power."""

    @property
    def grant(self) -> Grant | None: ...

    def keep_grant(self, grant: Grant) -> None:
        """Raises StoreError where it cannot be kept; the old one is kept then."""
        ...


class Grants:
    """One thread uses it, the agent's. `obey` is told each grant once it is kept; before the first, nothing lights."""

    def __init__(
        self,
        venue: str,
        node: str,
        boot_id: str,
        store: GrantStore,
        obey: Callable[[Grant], None],
        seen: Rejections,
    ) -> None:
        self._venue, self._node, self._boot_id = venue, node, boot_id
        self._store = store
        self._obey = obey
        self._rejections = seen
        self._held: Grant | None = None
        self._on_wires = 0

    @property
    def held(self) -> GrantHeld | None:
        """As it is reported."""
        if self._held is None:
            return None
        number = self._held.number
        return GrantHeld(number=number, supplies=self._held.supplies, on_wires=self._on_wires == number)

    def restore(self) -> None:
        """After a start: obeys what the store holds, before there is any network."""
        grant = self._store.grant
        if grant is None:
            return
        if (grant.venue, grant.node) != (self._venue, self._node):
            _log.warning("the grant on disk is of node %s/%s and is not obeyed", grant.venue, grant.node)
            return
        self._held = grant
        self._obey(grant)

    def receive(self, payload: bytes) -> bool:
        """A message from the node's `grant` topic. Whether there is something to report, be it once more."""
        match judge(payload, self._venue, self._node, self._held, self._boot_id):
            case Newer(grant):
                try:
                    self._store.keep_grant(grant)
                except StoreError as error:
                    _log.error("grant %d is not obeyed, for it cannot be kept: %s", grant.number, error)
                    return False
                self._held = grant
                self._obey(grant)
                _log.info("grant %d: %s", grant.number, _words(grant))
                return True
            case Known():
                return True
            case Passed(why):
                _log.debug("a grant is passed over: %s", why)
            case Unreadable(kind):
                self._rejections.add(kind)
        return False

    def reached_wires(self, number: int) -> bool:
        """Every data line has sent a frame under grant `number`. Whether there is something to report."""
        if self._held is None or number != self._held.number or self._on_wires == number:
            return False
        self._on_wires = number
        return True


def _words(grant: Grant) -> str:
    return ", ".join(f"{one.supply} {one.budget_a:g} A" for one in grant.supplies) or "nothing"
